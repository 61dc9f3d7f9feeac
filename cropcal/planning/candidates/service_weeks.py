"""Limits of the calendar: the week of a want that a cut serves, and when sites are out of use."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from cropcal.optimize.programme import BoolArray, IntArray
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.records.crop import Crop
from cropcal.records.space import Bed, OutOfUse, Want

NEVER = -1
NEAREST_D = 6
"""Days before a listed day in which it may be cut even if it does not keep: the last visit (assumed)."""

Stretch = tuple[int, int]
"""First and last day."""


@dataclass(frozen=True, eq=False)
class CalendarLimits:
    """Calendar limits of an option: days counted from the plan's start.

    ``week``: the week of its want that a cut serves, by day, ``NEVER``: none. ``closed`` are the
    stretches in which its sites are out of use, ``nursery_closed`` those of the nursery.
    """

    week: IntArray
    closed: tuple[Stretch, ...] = ()
    nursery_closed: tuple[Stretch, ...] = ()


def weeks_served(want: Want, keeping_d: int | None, time: WorkCalendar) -> IntArray:
    """Return the week of a want that a cut on each day serves, shape (days,), ``NEVER``: none.

    A want by the week: the week of the day, from its first to its last day. One for listed days: the week of
    the next of them, if what is cut keeps until then; the last harvest day before serves in any case.
    """
    days = np.arange(time.days, dtype=np.int64)
    if want.on is None:
        first = 0 if want.from_ is None else time.day_of(want.from_)
        last = time.days if want.until is None else time.day_of(want.until)
        return np.where((days >= first) & (days <= last), days // DAYS_PER_WEEK, NEVER)
    week_of_day = np.full(time.days, NEVER, dtype=np.int64)
    begin = 0
    for feast in sorted(time.day_of(on) for on in want.on):
        if not 0 <= feast < time.days:
            continue
        before = time.harvest_days[time.harvest_days <= feast]
        nearest = int(before[-1]) if len(before) and before[-1] >= feast - NEAREST_D else feast
        since = max(min(feast - (keeping_d or 0), nearest), begin)
        week_of_day[since : feast + 1] = feast // DAYS_PER_WEEK
        begin = feast + 1
    return week_of_day


@dataclass(frozen=True, eq=False)
class ServiceWeeks:
    """The week that each cut serves, by want and crop."""

    wants: Sequence[Want]
    crops: Mapping[str, Crop]
    time: WorkCalendar
    _known: dict[tuple[int, str], IntArray] = field(default_factory=dict)

    def by_day(self, want: int, slug: str) -> IntArray:
        """Return the week of a want that a cut of a crop serves, by day."""
        key = (want, slug)
        if key not in self._known:
            self._known[key] = weeks_served(self.wants[want], self.crops[slug].keeping_d, self.time)
        return self._known[key]

    def week(self, want: int, slug: str, on: date) -> int:
        """Return the week of a want that a cut of a crop on a day serves, ``NEVER``: none."""
        day = self.time.day_of(on)
        return int(self.by_day(want, slug)[day]) if 0 <= day < self.time.days else NEVER

    def weeks(self, want: int) -> IntArray:
        """Return the weeks of a want that some harvest day serves."""
        served = [self.by_day(want, slug)[self.time.harvest_days] for slug in self.wants[want].crops]
        weeks_with_harvest = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *served]))
        return np.asarray(weeks_with_harvest[weeks_with_harvest != NEVER])


def closed_stretches(stretches: Sequence[OutOfUse], time: WorkCalendar) -> tuple[Stretch, ...]:
    """Return stretches out of use in days of the plan."""
    return tuple(
        (
            0 if outage.from_ is None else time.day_of(outage.from_),
            time.days if outage.until is None else time.day_of(outage.until),
        )
        for outage in stretches
    )


def out_of_use(bed: Bed, site: int) -> tuple[OutOfUse, ...]:
    """Return the stretches in which one site of a bed (number from 1) is out of use."""
    return tuple(outage for outage in bed.out_of_use if outage.sites is None or site in outage.sites)


def clear_of(held_from: IntArray, held_until: IntArray, stretches: Sequence[Stretch]) -> BoolArray:
    """Return whether each is held on no day of any of the stretches; both ends count."""
    good = np.ones(len(held_from), dtype=bool)
    for first, last in stretches:
        good &= (held_from > last) | (held_until < first)
    return good
