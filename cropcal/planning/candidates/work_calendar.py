"""The calendar of a plan: its work days, harvest days, weeks and breaks."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from cropcal.records.base import WEEKDAYS
from cropcal.records.space import Settings

DAYS_PER_WEEK = 7


@dataclass(frozen=True)
class WorkCalendar:
    """A plan's stretch of days, counted from 0 at its start, ``gone_weeks`` after the season's first day.

    ``most_minutes_a_day``: of work; None: as many as it takes.
    """

    start: date
    weeks: int
    breaks: tuple[tuple[date, date], ...]
    work_weekdays: tuple[str, ...]
    harvest_weekdays: tuple[str, ...]
    gone_weeks: int = 0
    most_minutes_a_day: float | None = None

    @property
    def since_the_first_day(self) -> "WorkCalendar":
        """Return the calendar from the first day of the season to the end of this one."""
        start = self.start - timedelta(weeks=self.gone_weeks)
        return replace(self, start=start, weeks=self.gone_weeks + self.weeks, gone_weeks=0)

    @property
    def days(self) -> int:
        """Return the number of days from the start to the end of the last week."""
        return self.weeks * DAYS_PER_WEEK

    @cached_property
    def in_break(self) -> NDArray[np.bool_]:
        """Return, for each day, whether nobody is there."""
        away = np.zeros(self.days, dtype=bool)
        for first, last in self.breaks:
            away[max(self.day_of(first), 0) : max(self.day_of(last) + 1, 0)] = True
        return away

    @cached_property
    def work_days(self) -> NDArray[np.int64]:
        """Return the days on which somebody sows and transplants."""
        return self._days_on(self.work_weekdays)

    @cached_property
    def harvest_days(self) -> NDArray[np.int64]:
        """Return the days on which somebody cuts."""
        return self._days_on(self.harvest_weekdays)

    @cached_property
    def weeks_without_harvest(self) -> NDArray[np.bool_]:
        """Return, for each week, whether it has no harvest day at all."""
        counts = np.bincount(self.harvest_days // DAYS_PER_WEEK, minlength=self.weeks)
        return np.asarray(counts == 0)

    def date_of(self, day: int) -> date:
        """Return the calendar date of a day number."""
        return self.start + timedelta(days=int(day))

    def day_of(self, on: date) -> int:
        """Return the day number of a calendar date."""
        return (on - self.start).days

    def _days_on(self, weekdays: tuple[str, ...]) -> NDArray[np.int64]:
        wanted = np.array([WEEKDAYS.index(name) for name in weekdays], dtype=np.int64)
        days = np.arange(self.days, dtype=np.int64)
        weekday = (days + self.start.weekday()) % DAYS_PER_WEEK
        return days[np.isin(weekday, wanted) & ~self.in_break]


def work_calendar(settings: Settings, first_day: date | None = None) -> WorkCalendar:
    """Return the calendar of a plan with these settings; ``first_day``: of the season, if that is earlier."""
    return WorkCalendar(
        start=settings.start,
        weeks=settings.weeks,
        breaks=settings.breaks,
        work_weekdays=settings.work_days,
        harvest_weekdays=settings.harvest_days or settings.work_days,
        gone_weeks=(settings.start - (first_day or settings.start)).days // DAYS_PER_WEEK,
        most_minutes_a_day=settings.most_minutes_a_day,
    )


def repeated_week(settings: Settings) -> WorkCalendar:
    """Return a long stretch of the same week over and over, without breaks, for steady supply."""
    always = work_calendar(settings)
    return WorkCalendar(
        start=always.start,
        weeks=60,
        breaks=(),
        work_weekdays=always.work_weekdays,
        harvest_weekdays=always.harvest_weekdays,
    )
