"""``cropcal log done``: the jobs of a day or of a week, noted as they were planned."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from cropcal.planning.schedule.jobs import NOTED_AS, noted_jobs, used_up_batches
from cropcal.reading.text.crop_names import crops_named, nearest_crop
from cropcal.reading.text.source import shorten
from cropcal.records.journal import AS_PLANNED, Entry, EventName
from cropcal.records.plan import Job
from cropcal.season import clock, log_words
from cropcal.season.load import refuse, refuse_one
from cropcal.season.log_batches import A_BATCH_OR_CROP
from cropcal.season.log_entry import cut_number, without_day
from cropcal.season.log_words import Options
from cropcal.season.log_write import NoteContext, note_together, tell_ways_back
from cropcal.show import text
from cropcal.show.wording import title, week_of

EVENT_OF: dict[str, EventName] = {
    "sow": "sown",
    "plant": "sown",
    "transplant": "transplanted",
    "cut": "harvested",
}
"""The event by which each job is noted; thinning, clearing and chores are not."""


def jobs_to_note(
    context: NoteContext, on: date, *, week: bool = False, thing: str = ""
) -> tuple[tuple[Job, ...], tuple[Job, ...]]:
    """Return the jobs of a day, or of its week up to it, that are to be noted, and those noted already.

    Parameters
    ----------
    context
        The space with its journal and its plan.
    on
        The day.
    week
        Whether the days before it, from Monday, are meant too.
    thing
        A batch or a crop, "" for all.

    Raises
    ------
    SpaceError
        If no plan is written, it cannot be read, or there is no such batch or crop.
    """
    if context.noted.plan_problems:
        refuse(context.noted.plan_problems)
    plan = context.noted.plan()
    if plan is None:
        again = context.command("").replace("cropcal log", "cropcal plan").rstrip()
        refuse_one("done", "no plan", "a plan, whose jobs are noted", f"write one: {again}")
    first = week_of(on)[0] if week else on
    jobs = [job for job in plan.jobs if first <= job.on <= on]
    if thing:
        is_batch = any(batch.id == thing for batch in plan.batches)
        crops = () if is_batch else _crops_of_jobs(context, thing, jobs)
        jobs = [job for job in jobs if job.batch == thing or job.crop in crops]
    events = [event for event in context.journal.events if event.on <= on]
    already = noted_jobs(jobs, events)
    gone = used_up_batches(plan.batches, events, context.nurseries, context.tables.crops)
    left = [job for job in jobs if job not in already and job.batch not in gone]
    return tuple(left), already


def _crops_of_jobs(context: NoteContext, thing: str, jobs: Sequence[Job]) -> tuple[str, ...]:
    """Return the crops that a name may mean, those with jobs if there are any, or raise."""
    slugs = crops_named(thing, context.tables, {job.crop for job in jobs})
    if not slugs:
        hint = nearest_crop(thing, context.tables)
        refuse_one("CROP_OR_BATCH", f'"{shorten(thing)}"', A_BATCH_OR_CROP, hint)
    return slugs


def entry_as_planned(context: NoteContext, job: Job) -> Entry:
    """Return the line of the journal for a job that was done as planned, on its day."""
    history = context.story(job.batch)
    crop = context.tables.crops.get(job.crop)
    entry = Entry(
        on=job.on,
        event=EVENT_OF[job.job],
        batch=job.batch,
        crop=job.crop,
        bed=job.bed,
        amount=job.amount if job.unit == "g" or job.amount is None else float(round(job.amount)),
        unit=job.unit,
        note=AS_PLANNED,
    )
    return entry.model_copy(update={"cut": cut_number(entry, history, crop.cuts_max if crop else 1)})


def done(context: NoteContext, words: Sequence[str], options: Options) -> tuple[Entry, ...]:
    """Note the jobs of a day, or of its week up to it, as planned; tell each, and how to undo it."""
    only = replace(options, on=None, week=False)
    if only != Options():
        refuse_one("done", "other options", "--on or --week alone", "to note a job otherwise, name its event")
    words, on_text = without_day(context, words, options)
    on = log_words.event_day(on_text, clock.today())
    is_week = options.week or " ".join(words).casefold() in ("week", "this week")
    words = [] if is_week and not options.week else words
    left, already = jobs_to_note(context, on, week=is_week, thing=" ".join(words))
    to_note = [job for job in left if job.job in NOTED_AS]
    when = f"the week to {text.day(on)}" if is_week else text.day(on)
    if not to_note:
        _tell_nothing(context, on, when, bool(already), is_week)
        return ()
    written = note_together(
        context, [entry_as_planned(context, job) for job in to_note], f"Noted as planned, {when}:"
    )
    others = [job for job in left if job.job not in NOTED_AS]
    if others:
        words_of = "; ".join(title((job,), context.names) for job in others)
        context.tell(text.wrap(f"No note is needed of: {words_of}.", later="  "))
    unweighed = next((entry for entry in written if entry.unit == "g"), None)
    if unweighed is not None:
        fix = context.command(f"--correct {unweighed.id} {unweighed.amount:.0f}")
        context.tell(
            text.wrap(
                f"Weights are the plan's, so forecasts learn none from them. Weighed it? {fix} g", later="  "
            )
        )
    if is_week:
        _tell_days_to_come(context, on)
    tell_ways_back(context, written)
    return written


def _tell_nothing(context: NoteContext, on: date, when: str, is_noted: bool, week: bool) -> None:
    """Tell that there is nothing to note, and where there is."""
    every = "Everything planned is noted already" if is_noted else "Nothing to note was planned"
    context.tell(f"{every}: {when}.")
    if not week and any(job.job in NOTED_AS for job in jobs_to_note(context, on, week=True)[0]):
        day = "" if on == clock.today() else f" --on {on.isoformat()}"
        context.tell(f"This week has jobs that are not noted: {context.command(f'done --week{day}')}")


def _tell_days_to_come(context: NoteContext, on: date) -> None:
    """Tell on which days of the week there are jobs to come, which cannot be noted yet."""
    plan, sunday = context.noted.plan(), week_of(on)[1]
    days = {job.on for job in plan.jobs if job.job in NOTED_AS and on < job.on <= sunday} if plan else set()
    if days:
        context.tell(f"To come this week: {', '.join(text.day(day) for day in sorted(days))}.")
