"""The first week of each want: the first possible, also after the plan's end, and the first promised."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from statistics import NormalDist

import numpy as np

from cropcal.optimize.programme import Columns, IntArray
from cropcal.planning.candidates.assessment import Assessment
from cropcal.planning.candidates.columns import FAR, CandidateColumns, candidate_columns, programme_columns
from cropcal.planning.candidates.eligible import calendar_limits
from cropcal.planning.candidates.service_weeks import NEVER, ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.growth.crop_growth import GrowthTable
from cropcal.records.crop import Crop
from cropcal.records.space import Space
from cropcal.science.chance import MINIMUM_SHARE
from cropcal.units import Z_80

BEYOND_WEEKS = 40
"""Weeks after the plan's end in which a first harvest is looked for: longer than any crop takes."""


PROMISED = 0.8
"""Share of growers who reach the first week that is promised."""


def promised_weeks(candidates: CandidateColumns, time: WorkCalendar, wants: int) -> IntArray:
    """Return the first week of each want that is promised, (wants,): most growers have some by then.

    It is that of the crop and sowing with which it comes soonest; the number of weeks where there is none.
    Listed days are promised as they are.
    """
    first = np.full(wants, time.weeks, dtype=np.int64)
    if not candidates.count:
        return first
    rows = [reached_d(option.grown) for option in candidates.options]
    width = max(map(len, rows))
    table = np.stack([np.pad(row, (0, width - len(row)), constant_values=FAR) for row in rows])
    day = candidates.sown + table[candidates.option, candidates.age]
    day = np.maximum(day, candidates.cuts[:, 0])
    at = np.searchsorted(time.harvest_days, day)
    want = np.array([option.want for option in candidates.options], dtype=np.int64)[candidates.option]
    inside = at < len(time.harvest_days)
    visit = time.harvest_days[at[inside]]
    week = visit // DAYS_PER_WEEK
    if candidates.limits:
        served = np.stack([limit.week for limit in candidates.limits])[candidates.option[inside], visit]
        week = np.where(served == NEVER, time.weeks, served)
    np.minimum.at(first, want[inside], week)
    return first


def reached_d(grown: GrowthTable) -> IntArray:
    """Return the days after sowing by which most growers can cut, (transplant ages,); ``FAR``: never.

    Heads count from three quarters of their weight, leaves from all of it.
    """
    z = NormalDist().inv_cdf(PROMISED) / Z_80
    if grown.stages is None:
        low, middle, high = grown.ready_d
        return np.asarray(np.ceil(middle * (high / middle) ** z), dtype=np.int64)
    share = MINIMUM_SHARE if grown.crop.unit == "heads" else 1.0
    low, middle = grown.g_per_plant[0], grown.g_per_plant[1]
    with np.errstate(divide="ignore", invalid="ignore"):
        mass = np.where(low > 0, middle * (low / middle) ** z, 0.0)
    enough = mass >= share * grown.crop.target_g
    return np.where(enough.any(axis=1), enough.argmax(axis=1), FAR)


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
            longer_season = ServiceWeeks(space.wants, crops, time, space.settings.eat_within_d)
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
