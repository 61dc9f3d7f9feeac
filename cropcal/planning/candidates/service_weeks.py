"""Limits of the calendar: the weeks of a want that a cut serves, and when sites are out of use."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np

from cropcal.optimize.programme import MOST_KEPT, BoolArray, IntArray
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.records.crop import Crop
from cropcal.records.space import Bed, OutOfUse, Want

NEVER = -1
NEAREST_D = 6
"""Days before a listed day in which a crop may be cut of which nobody knows how long it keeps (assumed)."""

Stretch = tuple[int, int]
"""First and last day."""


@dataclass(frozen=True, eq=False)
class CalendarLimits:
    """Calendar limits of an option: days counted from the plan's start.

    ``week``: the week of its want that a cut serves, by day, ``NEVER``: none; ``keeps``: the weeks after it
    in which the cut can still be eaten. ``closed`` are the stretches in which its sites are out of use,
    ``nursery_closed`` those of the nursery.
    """

    week: IntArray
    keeps: IntArray
    closed: tuple[Stretch, ...] = ()
    nursery_closed: tuple[Stretch, ...] = ()


def eaten_within_d(crop: Crop, eat_within_d: int | None) -> int | None:
    """Return the days from its cut within which a crop is to be eaten; None: nobody knows how long it keeps.

    ``eat_within_d`` is the kitchen's own rule, None if it has none: it may be shorter, never longer.
    """
    if crop.keeping_d is None or eat_within_d is None:
        return crop.keeping_d
    return min(crop.keeping_d, eat_within_d)


def weeks_served(
    want: Want, within_d: int | None, time: WorkCalendar, nearest_d: int = NEAREST_D
) -> IntArray:
    """Return the week of a want that a cut on each day serves, shape (days,), ``NEVER``: none.

    A want by the week: the week of the day, from its first to its last day. One for listed days: the week of
    the next of them, if what is cut is still to be eaten then, ``within_d`` days after its cut. If nobody
    knows how long it keeps (None), the last harvest day before serves, at most ``nearest_d`` days before.
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
        nearest = int(before[-1]) if len(before) and before[-1] >= feast - nearest_d else feast
        since = nearest if within_d is None else feast - within_d
        week_of_day[max(since, begin) : feast + 1] = feast // DAYS_PER_WEEK
        begin = feast + 1
    return week_of_day


@dataclass(frozen=True, eq=False)
class ServiceWeeks:
    """The weeks that each cut serves, by want and crop: that of its day, and later ones while it keeps.

    ``eat_within_d``: the days from its cut within which a kitchen eats all, None: as long as it keeps.
    """

    wants: Sequence[Want]
    crops: Mapping[str, Crop]
    time: WorkCalendar
    eat_within_d: int | None = None
    _known: dict[tuple[int, str], IntArray] = field(default_factory=dict)

    def by_day(self, want: int, slug: str) -> IntArray:
        """Return the week of a want that a cut of a crop serves, by day."""
        key = (want, slug)
        if key not in self._known:
            within_d = eaten_within_d(self.crops[slug], self.eat_within_d)
            nearest_d = min(NEAREST_D, NEAREST_D if self.eat_within_d is None else self.eat_within_d)
            self._known[key] = weeks_served(self.wants[want], within_d, self.time, nearest_d)
        return self._known[key]

    def keeps(self, want: int, slug: str, days: IntArray) -> IntArray:
        """Return the weeks after that of the cut in which a cut on each of some days can still be eaten.

        A later week counts if it begins before the last day of eating is over, ``MOST_KEPT`` weeks at most.
        0 for listed days: the days on which they are cut allow for it.
        """
        if self.wants[want].on is not None:
            return np.zeros_like(days)
        last = days + (eaten_within_d(self.crops[slug], self.eat_within_d) or 0)
        weeks: IntArray = last // DAYS_PER_WEEK - days // DAYS_PER_WEEK
        return np.minimum(weeks, MOST_KEPT)

    def weeks_kept(self, want: int, slug: str, day: int) -> int:
        """Return the weeks after that of the cut in which a cut on one day can still be eaten."""
        return int(self.keeps(want, slug, np.array([day]))[0])

    def eat_by(self, slug: str, on: date) -> date | None:
        """Return the last day on which a crop cut on a day is to be eaten; None: nobody knows."""
        within_d = eaten_within_d(self.crops[slug], self.eat_within_d)
        return None if within_d is None else on + timedelta(days=within_d)

    def week(self, want: int, slug: str, on: date) -> int:
        """Return the week of a want that a cut of a crop on a day serves, ``NEVER``: none."""
        day = self.time.day_of(on)
        return int(self.by_day(want, slug)[day]) if 0 <= day < self.time.days else NEVER

    def weeks(self, want: int) -> IntArray:
        """Return the weeks of a want that some harvest day serves."""
        served = [self.by_day(want, slug)[self.time.harvest_days] for slug in self.wants[want].crops]
        weeks_with_harvest = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *served]))
        return np.asarray(weeks_with_harvest[weeks_with_harvest != NEVER])

    def unkept_days(self, want: int) -> tuple[date, ...]:
        """Return its listed days before which somebody cuts, but too early for any crop to be good then."""
        harvest, served = self.time.harvest_days, self.weeks(want)
        return tuple(
            on
            for on in self.wants[want].on or ()
            if 0 <= (day := self.time.day_of(on)) < self.time.days
            and day // DAYS_PER_WEEK not in served
            and np.any((harvest <= day) & (harvest >= day - NEAREST_D))
        )


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
