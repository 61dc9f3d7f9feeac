"""The first page: what to do this week, what is late, what is eaten next, as rows for its template."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Literal

from cropcal.records.crop import CropTables
from cropcal.records.journal import Entry
from cropcal.records.plan import Job
from cropcal.records.space import Space
from cropcal.records.week import Week
from cropcal.records.written_plan import WrittenPlan
from cropcal.season import clock
from cropcal.season.begun import never_begun
from cropcal.season.beside import noted
from cropcal.season.care import cautions_here, dangers_of
from cropcal.season.load import fingerprint
from cropcal.season.opened import opened
from cropcal.season.this_week import week_of_plan
from cropcal.show import care_words, text
from cropcal.show.terminal.log import event_sentence
from cropcal.show.water_words import stopped_pump, week_lines
from cropcal.show.wording import (
    LOGGED_AS,
    by_day,
    crop_name,
    facts_of,
    head,
    jobs_of,
    last_sowing,
    look,
    title,
    week_of,
)

How = Literal["tick", "harvest", "read"]
EAT_DAYS = 14
EATEN_SHOWN = 6
NEAR_D = 7
"""Days ahead from which on a batch is offered for a note."""


@dataclass(frozen=True)
class JobRow:
    """One job.

    Attributes
    ----------
    key
        Its name in a form; ``name_of`` a job.
    how
        Ticked, weighed or only read: the journal has no event for it.
    head, batch, facts, due
        What to do, for which batch, with which amount where, and its planned day.
    day
        The planned day as a form takes it, "" if it lies ahead.
    planned, unit
        The planned amount of a harvest.
    is_done, done_as, entry
        Whether it is noted, in which words, and by which line of the journal; "" if none says it directly.
    """

    key: str
    how: How
    head: str
    batch: str
    facts: str
    due: str
    day: str = ""
    planned: str = ""
    unit: str = ""
    is_done: bool = False
    done_as: str = ""
    entry: str = ""


@dataclass(frozen=True)
class JobGroup:
    """Jobs under one heading; ``day`` as a form takes it, where they are of one day that has come."""

    title: str
    name: str
    rows: tuple[JobRow, ...]
    day: str = ""

    @property
    def left(self) -> int:
        """Return how many can be noted, and are not yet."""
        return sum(not row.is_done and row.how != "read" for row in self.rows)

    @property
    def is_done(self) -> bool:
        """Return whether all that can be noted is."""
        return not self.left and any(row.is_done for row in self.rows)


@dataclass(frozen=True)
class WeekPage:
    """All of the first page.

    Attributes
    ----------
    place, week, is_this_week, before, after
        The space, the week in words, whether it is today's, a day of the weeks before and after it.
    groups, idle, later
        The jobs; what to say where there are none; the next day with jobs after the week.
    looks, eat, care
        What to look at, what is eaten next: (day, what), and what to take care of at these jobs.
    dangers, notes, mistakes
        What is dangerous; what else the commands say; lines of the journal that cannot be read.
    has_plan, plan_again, noted_since
        Whether there is a plan, why it should be made again soon, and whether notes came since.
    was_begun
        The start of a space that was perhaps never begun: then planning asks.
    things
        What a note may be about: (what to type, what it is).
    """

    place: str
    week: str
    is_this_week: bool
    before: str
    after: str
    groups: tuple[JobGroup, ...] = ()
    idle: str = ""
    later: str = ""
    looks: tuple[str, ...] = ()
    eat: tuple[tuple[str, str], ...] = ()
    care: tuple[str, ...] = ()
    dangers: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    mistakes: tuple[str, ...] = ()
    has_plan: bool = True
    plan_again: str = ""
    noted_since: bool = False
    was_begun: date | None = None
    things: tuple[tuple[str, str], ...] = ()


def name_of(job: Job) -> str:
    """Return the name of a job in a form."""
    return f"{job.job}.{job.batch}.{job.on.isoformat()}"


def find_job(path: Path, name: str) -> Job | None:
    """Return the job of a name in the plan as written, None if it is not in there any more."""
    plan = noted(path).plan()
    return next((job for job in plan.jobs if name_of(job) == name), None) if plan else None


def week_page(path: Path, on: date | None = None) -> WeekPage:
    """Return the page of the week that holds a day, today's if None, from the files as they are now.

    Raises
    ------
    SpaceError
        If the space, or the plan that was written, has mistakes.
    """
    today = clock.today()
    present = opened(path)
    space, tables = present.ready(), present.tables
    journal = noted(path, today)
    plan = journal.plan()
    events = journal.journal.events
    monday, sunday = week_of(on or today)
    year = f" {sunday.year}" if monday.year == sunday.year else ""
    names = {slug: crop.name for slug, crop in tables.crops.items()}
    frame = WeekPage(
        place=text.clean(space.place.name),
        week=f"{text.span(monday, sunday)}{year}",
        is_this_week=monday <= today <= sunday,
        before=(monday - timedelta(days=7)).isoformat(),
        after=(monday + timedelta(days=7)).isoformat(),
        dangers=tuple(danger["words"] for danger in dangers_of(space, tables, events).form["hazards"]),
        notes=(*present.notes, *map(str, journal.torn())),
        mistakes=tuple(map(str, journal.problems)),
        things=_things(space, tables, events, plan, names, today),
    )
    if plan is None:
        idle = never_begun(path, journal, space, today)
        return replace(frame, has_plan=False, was_begun=space.settings.start if idle else None)
    week = week_of_plan(space, tables, plan, events, today)
    cautions = care_words.of_jobs(cautions_here(space, tables, events, today), jobs_of(week))
    stopped = (stopped_pump(stop, names) for stop in week.stopped_pumps)
    return replace(
        frame,
        care=tuple(care_words.short(caution, names) for caution in cautions),
        dangers=(*frame.dangers, *stopped),
        groups=_groups(week, names, events, today, monday, sunday),
        idle=_idle(week, monday, sunday),
        later=_later(week, names, sunday),
        looks=(*(look(item, names) for item in week.looks), *week_lines(week.water, today))
        if frame.is_this_week
        else (),
        eat=_eat(week, names, events, today),
        plan_again=_plan_again(path, plan, week),
        noted_since=plan.inputs_sha256 != fingerprint(path),
    )


def _groups(
    week: Week, names: Mapping[str, str], events: Sequence[Entry], today: date, monday: date, sunday: date
) -> tuple[JobGroup, ...]:
    """Return what is late, then the jobs from today on, day by day, then those of days that are past."""
    done = set(week.done)
    shown = [job for job in week.jobs if monday <= job.on <= sunday]
    is_this_week = monday <= today <= sunday
    late = [
        *(week.overdue if is_this_week else ()),
        *(job for job in shown if job.on < today and job not in done and job.job in LOGGED_AS),
    ]
    rest = [job for job in shown if job not in late]

    def rows(jobs: Iterable[Job]) -> tuple[JobRow, ...]:
        return tuple(_row(job, names, events, today, is_done=job in done) for job in jobs)

    groups = [JobGroup("Late, or not noted yet", "late", rows(late))] if late else []
    earlier = []
    for on, jobs in by_day(rest).items():
        if on == today:
            groups.append(JobGroup(f"Today, {text.day(on)}", "today", rows(jobs), on.isoformat()))
        elif on < today and is_this_week:
            earlier.append(JobGroup(f"Earlier: {text.day(on)}", "earlier", rows(jobs), on.isoformat()))
        else:
            groups.append(JobGroup(text.day(on), "day", rows(jobs)))
    return (*groups, *earlier)


def _row(
    job: Job, names: Mapping[str, str], events: Sequence[Entry], today: date, *, is_done: bool
) -> JobRow:
    how: How = "read" if job.job not in LOGGED_AS or not job.batch else "tick"
    notes = [text.clean(job.note)] if job.note and job.job != "chore" else []
    entry = _noted_by(job, events) if is_done else None
    return JobRow(
        key=name_of(job),
        how="harvest" if how == "tick" and job.job == "cut" else how,
        head=head(job, names),
        batch=text.clean(job.batch),
        facts=", ".join([*facts_of(job)[job.amount is not None :], *notes]),
        due=text.day(job.on),
        day=job.on.isoformat() if job.on < today else "",
        planned="" if job.amount is None else text.quantity(job.amount, job.unit),
        unit=job.unit,
        is_done=is_done,
        done_as=f"{text.day(entry.on)}: {event_sentence(entry, names)}" if entry else "",
        entry=entry.id if entry else "",
    )


def _noted_by(job: Job, events: Sequence[Entry]) -> Entry | None:
    """Return the event that says a job was done, the nearest to its day; None if only a later stage does."""
    same = [event for event in events if event.batch == job.batch and event.event == LOGGED_AS.get(job.job)]
    return min(same, key=lambda event: (abs((event.on - job.on).days), -(event.line or 0)), default=None)


def _idle(week: Week, monday: date, sunday: date) -> str:
    if monday > week.until:
        return f"The plan ended on {text.day_year(week.until)}."
    if not week.jobs:
        return "The plan has no jobs."
    if sunday < week.start:
        return f"The plan begins on {text.day_year(week.start)}: nothing to do yet."
    return "Nothing to do this week."


def _later(week: Week, names: Mapping[str, str], sunday: date) -> str:
    """Return the next day after a week that has jobs, with what to do."""
    days = by_day(job for job in week.jobs if job.on > sunday)
    return next((f"{text.day(on)}: {title(jobs, names)}" for on, jobs in days.items()), "")


def _eat(
    week: Week, names: Mapping[str, str], events: Sequence[Entry], today: date
) -> tuple[tuple[str, str], ...]:
    """Return what was cut and is still to be eaten, then what is cut next: (day, what)."""
    rows = []
    for job in week.done:
        entry = _noted_by(job, events) if job.job == "cut" else None
        if entry and job.eat_by and entry.amount is not None:
            by = job.eat_by + (entry.on - job.on)
            if by >= today >= entry.on:
                amount = f"{text.amount(entry.amount, entry.unit)} {crop_name(job.crop, names)}"
                rows.append(("Now", f"{amount}, cut {text.day(entry.on)}, eat by {text.day(by)}"))
    ahead = [
        job
        for job in week.jobs
        if job.job == "cut" and job not in week.done and today <= job.on <= today + timedelta(days=EAT_DAYS)
    ]
    for job in sorted(ahead, key=lambda job: job.on):
        likely = f", likely {text.span(*job.likely)}" if job.likely and job.likely[0] < job.likely[1] else ""
        amount = f"about {text.amount(job.amount, job.unit)} " if job.amount is not None else ""
        rows.append((text.day(job.on), f"{amount}{crop_name(job.crop, names)}{likely}"))
    return tuple(rows[:EATEN_SHOWN])


def _plan_again(path: Path, plan: WrittenPlan, week: Week) -> str:
    """Return why the plan should be made again soon, "" if there is no reason."""
    if plan.space_sha256 != fingerprint(path, space_only=True):
        return "The space was changed since this plan was made."
    if week.last_sowing:
        return last_sowing(week.last_sowing, week.on).removesuffix(" Plan again:")
    return ""


def _things(
    space: Space,
    tables: CropTables,
    events: Sequence[Entry],
    plan: WrittenPlan | None,
    names: Mapping[str, str],
    today: date,
) -> tuple[tuple[str, str], ...]:
    """Return what a note may be about, as (what to type, what it is): batches that stand, crops, beds."""
    from cropcal.planning.history.batch_history import batch_histories

    nurseries = frozenset(bed.name for bed in space.beds if bed.kind == "nursery")
    planned = {batch.id: batch for batch in plan.batches} if plan else {}
    stories = batch_histories(events, planned, nurseries, tables.crops)
    standing = [
        (
            story.batch,
            f"{crop_name(story.crop, names)}, {text.clean(story.bed)}, sown {text.day(story.sown_on)}",
        )
        for story in stories
        if story.left != 0 and story.sown_on <= today + timedelta(days=NEAR_D)
    ]
    wanted = dict.fromkeys(crop for want in space.wants for crop in want.crops)
    return (
        *standing,
        *((slug, crop_name(slug, names)) for slug in wanted),
        *((text.clean(bed.name), "bed") for bed in space.beds),
    )
