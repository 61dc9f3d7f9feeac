"""When a zone has no plants at all: a lamp whose hours the file leaves open is off then."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta

import numpy as np

from cropcal.optimize.programme import BoolArray, IntArray
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, work_calendar
from cropcal.planning.power.lamp_hours import lit_by_month
from cropcal.records.base import Days
from cropcal.records.hours import hours_key
from cropcal.records.plan import Batch, Job, SiteUse
from cropcal.records.space import Space

SHORTEST_DARK_D = 3
"""Fewest days for which somebody switches a lamp off (assumed)."""

A_DAY = timedelta(days=1)

DarkDays = Mapping[str, frozenset[date]]
"""Days of the plan on which the lamp of a zone is off all day, by the zone's name."""


def dark_days(space: Space, sites: Iterable[SiteUse], batches: Sequence[Batch]) -> dict[str, frozenset[date]]:
    """Return on which days of a plan the lamp of each zone is off, since nothing grows there.

    Only of zones whose hours were picked. The lamp is switched by hand, on days on which somebody is there,
    and is off only where no plant or seedling stands in four seasons of five. A zone that is never empty is
    left out.

    Parameters
    ----------
    space
        The space of the plan, with its picked hours.
    sites, batches
        The sites and batches of the plan.
    """
    picked = {assumption.key for assumption in space.assumed}
    days = space.settings.weeks * DAYS_PER_WEEK
    start = space.settings.start
    calendar = work_calendar(space.settings)
    visits = np.union1d(calendar.work_days, calendar.harvest_days)
    of_bed = {bed.name: bed.zone for bed in space.beds}
    taken = {zone.name: np.zeros(days, dtype=bool) for zone in space.zones if hours_key(zone.name) in picked}
    for bed, (first, last) in _held(sites, batches):
        if of_bed.get(bed) in taken:
            begin, end = (first - start).days, (last - start).days + 1
            taken[of_bed[bed]][max(begin, 0) : max(end, 0)] = True
    dark = {}
    for zone, is_taken in taken.items():
        off = [day for first, last in _empty(is_taken, visits) for day in range(first, last + 1)]
        if off:
            dark[zone] = frozenset(start + timedelta(days=day) for day in off)
    return dark


def _held(sites: Iterable[SiteUse], batches: Sequence[Batch]) -> Iterator[tuple[str, Days]]:
    """Yield each bed that is held, and from when until when in four seasons of five."""
    of = {batch.id: batch for batch in batches}
    for use in sites:
        batch = of.get(use.batch)
        moved = batch.moved_80 if batch is not None and batch.moved_80 is not None else ()
        cuts = [harvest.on_80[1] for harvest in batch.harvests if harvest.on_80] if batch is not None else []
        yield use.bed, (min((use.held_from, *moved)), max((use.held_until, *cuts)))
    for batch in batches:
        if batch.nursery is not None and batch.transplant_on is not None:
            yield batch.nursery, (batch.sow_on, max((batch.transplant_on, *(batch.moved_80 or ()))))


def _empty(taken: BoolArray, visits: IntArray) -> Iterator[tuple[int, int]]:
    """Yield first and last day of each stretch that is dark, between visits on which the lamp is switched."""
    edges = np.flatnonzero(np.diff(np.concatenate([[True], taken, [True]]).astype(np.int64)))
    for first, after in edges.reshape(-1, 2).tolist():
        off = 0 if first == 0 else int(visits[visits >= first - 1].min(initial=len(taken))) + 1
        on = len(taken) if after == len(taken) else int(visits[visits <= after].max(initial=-1))
        if on - off >= SHORTEST_DARK_D:
            yield off, on - 1


def lamp_jobs(space: Space, dark: DarkDays) -> tuple[Job, ...]:
    """Return the jobs of switching a lamp off over an empty zone, and on again, in the order of days.

    None where the lamp is off anyway, in the months in which the sun is enough.
    """
    start = space.settings.start
    end = start + timedelta(weeks=space.settings.weeks)
    jobs = []
    for zone, days in dark.items():
        by_month = lit_by_month(space, space.zone(zone))
        lit = {day for day in _days(start, end) if by_month[day.month - 1]}
        for first in sorted(day for day in days if day - A_DAY not in days):
            again = next((day for day in _days(first, end) if day not in days), end)
            is_switched = first - A_DAY in lit
            if is_switched:
                until = f" until {again.day} {again:%b}" if again < end else ""
                jobs.append(_job(first - A_DAY, f"switch the lamp of {zone} off: nothing grows there{until}"))
            lit_again = next((day for day in _days(again, end) if day in lit), end)
            if lit_again < end and lit_again not in days and (is_switched or lit_again == again):
                jobs.append(_job(lit_again, f"switch the lamp of {zone} on"))
    return tuple(sorted(jobs, key=lambda job: (job.on, job.note)))


def _days(first: date, end: date) -> Iterator[date]:
    """Yield the days from one to the one before another."""
    return (first + timedelta(days=day) for day in range((end - first).days))


def _job(on: date, note: str) -> Job:
    return Job(on=on, job="chore", batch="", crop="", bed="", sites="", amount=None, unit="", note=note)
