"""``cropcal log done``: the jobs of a day or of a week, noted as they were planned."""

from collections.abc import Sequence
from datetime import date

from cropcal.planning.schedule.jobs import NOTED_AS, noted_jobs, used_up_batches
from cropcal.records.journal import AS_PLANNED, Entry, EventName
from cropcal.records.plan import Job
from cropcal.season import clock, log_words
from cropcal.season.load import crop_named, refuse, refuse_one
from cropcal.season.log_context import NoteContext
from cropcal.season.log_entry import cut_number
from cropcal.season.log_words import Options
from cropcal.season.log_write import note_together, tell_ways_back
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
        batches = {batch.id for batch in plan.batches}
        crop = "" if thing in batches else _crop_of_jobs(context, thing, jobs)
        jobs = [job for job in jobs if job.batch == thing or (crop and job.crop == crop)]
    events = [event for event in context.journal.events if event.on <= on]
    already = noted_jobs(jobs, events)
    gone = used_up_batches(plan.batches, events, context.nurseries, context.tables.crops)
    left = [job for job in jobs if job not in already and job.batch not in gone]
    return tuple(left), already


def _crop_of_jobs(context: NoteContext, thing: str, jobs: Sequence[Job]) -> str:
    """Return the crop of a name, of several the one that has jobs."""
    busy = {job.crop for job in jobs if job.crop}
    return crop_named(thing, "CROP_OR_BATCH", context.tables, busy or context.here)


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
    on = log_words.event_day(options.on, clock.today())
    left, already = jobs_to_note(context, on, week=options.week, thing=" ".join(words))
    to_note = [job for job in left if job.job in NOTED_AS]
    when = f"the week to {text.day(on)}" if options.week else text.day(on)
    if not to_note:
        _tell_nothing(context, on, when, bool(already), options.week)
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
    if options.week:
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
