"""Minutes of work of each day of a plan; what can wait is put off to a day with time, the rest is said."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from cropcal.records.plan import Batch, Job
from cropcal.records.space import Assumption, Chore, Space
from cropcal.units import CUT_MIN, MOVE_MIN, SOW_MIN

THIN_MIN = 0.25
"""Minutes to thin a cell or a site (assumed)."""
CHORE_MIN = 10.0
"""Minutes of a chore that does not say how many (assumed)."""
EACH_MIN = {"sow": SOW_MIN, "plant": SOW_MIN, "transplant": MOVE_MIN, "cut": CUT_MIN, "thin": THIN_MIN}
"""Minutes a site or cell; clearing is part of the last cut."""
OVER_MIN = 1.0
"""Minutes beyond the most that are worth a word: they are assumed (our choice)."""
WAITS_D = 13
"""Days by which a chore, or thinning, may be put off (assumed)."""
SHOWN = 6
"""Days that are named, the longest first."""


def minutes_of(job: Job, chores: Mapping[str, float]) -> float:
    """Return the minutes of a job; ``chores`` are those of each chore by name; setting a timer takes none."""
    if job.job == "chore":
        return chores.get(job.note, 0.0)
    return EACH_MIN.get(job.job, 0.0) * _count(job)


def chore_minutes(chores: Iterable[Chore]) -> dict[str, float]:
    """Return the minutes of each chore by its name, assumed where it does not say."""
    return {chore.name: CHORE_MIN if chore.minutes is None else chore.minutes for chore in chores}


def minutes_by_day(jobs: Iterable[Job], chores: Mapping[str, float]) -> dict[date, float]:
    """Return the minutes of work of each day, days in order; checks are no work."""
    minutes: dict[date, float] = defaultdict(float)
    for job in sorted(jobs, key=lambda job: job.on):
        if job.job != "check":
            minutes[job.on] += minutes_of(job, chores)
    return dict(minutes)


def in_time(
    jobs: Iterable[Job], space: Space, batches: Iterable[Batch], work_days: Iterable[date]
) -> tuple[tuple[Job, ...], tuple[str, ...]]:
    """Return the jobs, put off from days without time for them, and what is said of days that stay too long.

    Only the days of the plan are looked at, not what is cut after its end.
    """
    jobs, most = tuple(jobs), space.settings.most_minutes_a_day
    if most is None:
        return jobs, ()
    chores, days = chore_minutes(space.chores), tuple(work_days)
    jobs = put_off(jobs, chores, batches, days, most)
    planned = (job for job in jobs if days and space.settings.start <= job.on <= days[-1])
    return jobs, too_long(planned, chores, most)


def work_notes(space: Space) -> tuple[Assumption, ...]:
    """Return what minutes a job is taken to need, where minutes a day are limited."""
    if space.settings.most_minutes_a_day is None:
        return ()
    return (
        Assumption(
            key="minutes of work",
            value=f"{SOW_MIN:g} to sow a cell, {MOVE_MIN:g} to move a seedling, {CUT_MIN:g} to cut and clear "
            f"a site, {THIN_MIN:g} to thin one, {CHORE_MIN:g} for a chore without minutes",
            why="assumed; the limit holds for the days of the plan if all grows as forecast; setting timers "
            "and filling tanks is not counted",
        ),
    )


def put_off(
    jobs: Iterable[Job],
    chores: Mapping[str, float],
    batches: Iterable[Batch],
    work_days: Iterable[date],
    most_minutes: float,
) -> tuple[Job, ...]:
    """Return the jobs with chores and thinning moved from days without time to the next that has.

    Thinning waits until the seedlings are moved at the latest. What finds no day stays where it is.
    """
    days, moved = sorted(work_days), []
    latest = {batch.id: batch.transplant_on or batch.clear_on for batch in batches}
    minutes = defaultdict(float, minutes_by_day(jobs := tuple(jobs), chores))
    for job in jobs:
        takes = minutes_of(job, chores)
        if job.job in ("chore", "thin") and takes and minutes[job.on] > most_minutes:
            last = latest.get(job.batch, date.max)
            later = (day for day in days if 0 < (day - job.on).days <= WAITS_D and day <= last)
            to = next((day for day in later if minutes[day] + takes <= most_minutes), None)
            if to is not None:
                minutes[job.on] -= takes
                minutes[to] += takes
                job = job.model_copy(update={"on": to})
        moved.append(job)
    return tuple(sorted(moved, key=lambda job: job.on))


def too_long(jobs: Iterable[Job], chores: Mapping[str, float], most_minutes: float) -> tuple[str, ...]:
    """Return a sentence on the days with more work than that, and with what kind of job; () if none."""
    jobs = tuple(jobs)
    minutes = minutes_by_day(jobs, chores)
    over = {day: taken for day, taken in minutes.items() if taken >= most_minutes + OVER_MIN}
    if not over:
        return ()
    longest = sorted(over, key=lambda day: (-over[day], day))[:SHOWN]
    named = [f"{day.day} {day:%b} {over[day]:.0f} min ({_longest(jobs, day, chores)})" for day in longest]
    more = f" and {len(over) - SHOWN} more days" if len(over) > SHOWN else ""
    return (
        f"more work than {most_minutes:g} minutes (minutes a plant assumed) on {len(over)} "
        f"day{'s' if len(over) > 1 else ''}, for it cannot wait: {', '.join(named)}{more}; one more work "
        "day, or less wanted, would help",
    )


def _longest(jobs: Iterable[Job], day: date, chores: Mapping[str, float]) -> str:
    kinds: dict[str, float] = defaultdict(float)
    for job in jobs:
        if job.on == day:
            kinds[job.job] += minutes_of(job, chores)
    kind = max(kinds, key=lambda name: kinds[name])
    return f"{kinds[kind]:.0f} of them to {'do chores' if kind == 'chore' else kind}"


def _count(job: Job) -> float:
    """Return the sites or cells of a job: those that it names, else its amount where that is a number."""
    if job.sites and not any(char.isalpha() for char in job.sites):
        runs = re.findall(r"(\d+)(?:-(\d+))?", job.sites)
        return float(sum(int(last or first) - int(first) + 1 for first, last in runs))
    return job.amount if job.amount is not None and job.unit != "g" else 1.0
