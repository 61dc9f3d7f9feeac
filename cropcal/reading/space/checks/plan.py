"""Checks of the stretch of time to plan: breaks, days to work on, and how much is sown."""

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft
from cropcal.records.base import WEEKDAYS
from cropcal.records.space import Settings

FIRST_START: Final = date(2000, 1, 1)
LAST_START: Final = date(2199, 12, 31)
"""A start outside these is a slip of the keyboard, and could run past what a calendar can hold."""


MOST_YEARS: Final = 10
"""Years from the start on in which a break or a want may lie: a plan goes on, so its first weeks are no limit
(assumed: whoever writes a later year has mistyped it)."""


def last_day(settings: Settings) -> date:
    """Return the last day that a file may name: a plan made by then reaches it."""
    return settings.start + timedelta(days=MOST_YEARS * 365)


def start_in_reach(draft: Draft) -> Iterator[Problem]:
    """Ask that the plan starts in a year that somebody could mean."""
    if "start" not in draft.settings.bad and not stretch_is_known(draft, "start"):
        yield draft.source.problem(("plan", "start"), f"a day from {FIRST_START} to {LAST_START}")


def breaks_in_order(draft: Draft) -> Iterator[Problem]:
    """Ask that a break ends no earlier than it begins, nor before the start, nor lies far ahead."""
    plan = draft.settings
    if "breaks" in plan.bad:
        return
    for place, (start, end) in enumerate(plan.record.breaks):
        path = ("plan", "breaks", place)
        if end < start:
            yield draft.source.problem(path, "a first day and then a last day", "are the two swapped?")
        elif stretch_is_known(draft) and (end < plan.record.start or start > last_day(plan.record)):
            expected = f"a break between the start, {plan.record.start}, and {last_day(plan.record)}"
            yield draft.source.problem(path, expected)


def some_work_day(draft: Draft) -> Iterator[Problem]:
    """Ask that the breaks leave a day in the first weeks on which somebody can sow."""
    plan = draft.settings
    if not stretch_is_known(draft) or not plan.bad.isdisjoint({"work_days", "breaks"}):
        return
    first = plan.record.start
    days = (first + timedelta(days=day) for day in range(7 * plan.record.weeks))
    work = (day for day in days if WEEKDAYS[day.weekday()] in plan.record.work_days)
    if plan.record.work_days and all(
        any(start <= day <= end for start, end in plan.record.breaks) for day in work
    ):
        wrong = f"the breaks leave none of the work days ({', '.join(plan.record.work_days)})"
        yield draft.source.fault(("plan", "breaks"), wrong, "shorten a break, or add a day to work_days")


def one_way_to_sow(draft: Draft) -> Iterator[Problem]:
    """Ask that a file which says how much is sown has no chance of older files beside it."""
    plan = draft.settings
    if plan.record.sow is not None and plan.record.service is not None:
        wrong = "service and sow both say how much is sown"
        yield draft.source.fault(("plan", "service"), wrong, "leave service out")


def stretch_is_known(draft: Draft, *keys: str) -> bool:
    """Return whether the plan's start (and its weeks) could be read, and the start makes sense."""
    plan = draft.settings
    return plan.bad.isdisjoint(keys or ("start", "weeks")) and FIRST_START <= plan.record.start <= LAST_START
