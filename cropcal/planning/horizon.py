"""The weeks to plan from a day on: a plan has no end of its own, it always reaches its weeks ahead."""

from datetime import date, timedelta
from math import ceil

from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.replan.initial_stock import sown_on
from cropcal.planning.replan.standing import FORGOTTEN_D
from cropcal.records.replan import Begun, Horizon
from cropcal.records.space import Space

PAST_WEEKS = FORGOTTEN_D // DAYS_PER_WEEK + 1
"""Weeks before the day of planning that stay in a plan: as long as the journal alone could bring back a batch
that has ended. Older batches stay only while they stand."""


def begun_on(space: Space, begun: Begun | None) -> Space:
    """Return the space with the day on which it was begun as its start.

    Only while its file gives the same start as then. Plants listed as growing keep their sowing day.
    """
    if begun is None or begun.start != space.settings.start or begun.on <= begun.start:
        return space
    return _starting(space, begun.on, space.settings.weeks)


def seen_from(space: Space, on: date, past_weeks: int = 0) -> Space:
    """Return the space with the weeks that reach its number of weeks ahead of a day.

    Weeks stay blocks of seven days from the first start, which ``horizon`` keeps with the number of weeks.

    Parameters
    ----------
    space
        The space with the start and the weeks of its file.
    on
        The day; before the start, nothing changes but that ``horizon`` is set.
    past_weeks
        Whole weeks before that of the day which are kept, as far as there are some since the start.
    """
    first, weeks = space.first_day, space.asked_weeks
    days = max((on - first).days, 0)
    begin = max(days // DAYS_PER_WEEK - past_weeks, 0)
    until = ceil(days / DAYS_PER_WEEK) + weeks
    moved = _starting(space, first + timedelta(weeks=begin), until - begin)
    return moved.model_copy(update={"horizon": Horizon(first=first, weeks=weeks)})


def _starting(space: Space, start: date, weeks: int) -> Space:
    """Return the space with another start and number of weeks; plants that grow are as old as before."""
    growing = tuple(
        row.model_copy(update={"sown": sown_on(row, space.settings.start), "age_d": None})
        for row in space.growing
    )
    settings = space.settings.model_copy(update={"start": start, "weeks": weeks})
    return space.model_copy(update={"settings": settings, "growing": growing})
