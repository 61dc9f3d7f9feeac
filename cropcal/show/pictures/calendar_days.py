"""Where the days of the calendar picture lie from left to right, in inches."""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from cropcal.records.plan import SeasonPlan
from cropcal.show.text import MONTH_NAMES

LEFT = 2.05
RIGHT = 0.25
MONTH_NAME = 0.75


@dataclass(frozen=True)
class DayScale:
    """Converts dates to inches from the left edge."""

    start: date
    end: date
    width: float

    def x(self, when: date, plus: float = 0.0) -> float:
        """Return where a day begins, or ``plus`` days later; days beyond the plan are at its edge."""
        share = ((when - self.start).days + plus) / (self.end - self.start).days
        return LEFT + min(max(share, 0.0), 1.0) * (self.width - LEFT - RIGHT)

    def holds(self, when: date) -> bool:
        """Return whether a day is one of the plan."""
        return self.start <= when < self.end


def months(days: DayScale) -> tuple[tuple[float, str], ...]:
    """Return where each month begins, with its name if there is room for it."""
    firsts = [days.start]
    while True:
        following = (firsts[-1].replace(day=1) + timedelta(days=32)).replace(day=1)
        if following >= days.end:
            break
        firsts.append(following)
    named: list[date] = []
    for first in (
        firsts[1:] if len(firsts) > 1 and days.x(firsts[1]) - days.x(firsts[0]) < MONTH_NAME else firsts
    ):
        if not named or days.x(first) - days.x(named[-1]) >= MONTH_NAME:
            named.append(first)
    with_year = {named[0], *(after for before, after in pairwise(named) if before.year != after.year)}
    return tuple(
        (days.x(first), _month_name(first, with_year=first in with_year) if first in named else "")
        for first in firsts
    )


def _month_name(first: date, *, with_year: bool) -> str:
    return MONTH_NAMES[first.month - 1] + (f" {first.year}" if with_year else "")


def weeks(days: DayScale) -> tuple[tuple[float, str], ...]:
    """Return where each Monday is, with its day of the month if there is room for it."""
    monday = days.start + timedelta(days=-days.start.weekday() % 7)
    count = (days.end - monday).days // 7 + 1
    every = math.ceil(0.19 * count / (days.width - LEFT - RIGHT))
    mondays = [monday + timedelta(weeks=week) for week in range(count)]
    return tuple(
        (days.x(one), str(one.day) if index % every == 0 else "")
        for index, one in enumerate(mondays)
        if days.holds(one)
    )


def work_days(result: SeasonPlan, days: DayScale) -> tuple[tuple[float, bool], ...]:
    """Return where each work day is, and whether there are jobs on it."""
    busy = {job.on for job in result.jobs if job.job != "check"}
    return tuple(
        (days.x(when, 0.5), when in busy) for when in sorted({*result.work_days, *busy}) if days.holds(when)
    )
