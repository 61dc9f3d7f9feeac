"""The week of the first possible harvest of each want, also after the plan's end."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from cropcal.optimize.programme import Columns
from cropcal.planning.candidates.assessment import Assessment
from cropcal.planning.candidates.columns import candidate_columns, programme_columns
from cropcal.planning.candidates.eligible import calendar_limits
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.records.crop import Crop
from cropcal.records.space import Space

BEYOND_WEEKS = 40
"""Weeks after the plan's end in which a first harvest is looked for: longer than any crop takes."""


def first_harvest_weeks(
    space: Space,
    crops: Mapping[str, Crop],
    assessment: Assessment,
    candidates: Columns,
    serving: ServiceWeeks,
) -> tuple[date | None, ...]:
    """Return the first day of the week of each want's first possible harvest; None: never here.

    It is counted from the first day of the season, also where its first weeks are over.
    """
    first_days: list[date | None] = []
    for want in range(len(space.wants)):
        week = _first(candidates, want)
        if week is None:
            options = tuple(option for option in assessment.options if option.want == want)
            time = replace(serving.time, weeks=serving.time.weeks + BEYOND_WEEKS)
            longer_season = ServiceWeeks(space.wants, crops, time)
            limits = calendar_limits(options, assessment.land, longer_season)
            clean_days = space.settings.clean_days
            week = (
                _first(programme_columns(candidate_columns(options, time, clean_days, limits=limits)), want)
                if options
                else None
            )
        gone = serving.time.gone_weeks
        first_days.append(None if week is None else serving.time.date_of((week - gone) * DAYS_PER_WEEK))
    return tuple(first_days)


def _first(candidates: Columns, want: int) -> int | None:
    weeks = candidates.supply_week[candidates.want[candidates.supply_column] == want]
    return int(weeks.min()) if len(weeks) else None
