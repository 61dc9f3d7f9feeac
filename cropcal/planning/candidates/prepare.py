"""From a space to the programme: assessment, candidates, demand; all before a plan is searched for."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from cropcal.optimize.programme import (
    Columns,
    FloatArray,
    IntArray,
    Task,
    usual_cost,
)
from cropcal.planning.candidates.assessment import Assessment, assess
from cropcal.planning.candidates.columns import (
    CandidateColumns,
    Option,
    candidate_columns,
    programme_columns,
    sowing_days,
    variety_kinds,
)
from cropcal.planning.candidates.demand import Demand, as_far_as_sown, demand, ramped_up
from cropcal.planning.candidates.eligible import Capacity, calendar_limits
from cropcal.planning.candidates.first_weeks import promised_weeks
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.steady_supply import SteadySupply, steady_supply
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar, work_calendar
from cropcal.planning.growth.crop_growth import GrowthTable
from cropcal.planning.growth.pace import UNLEARNED, Pace, Paces
from cropcal.planning.growth.seasonal_growth import grow_sowings
from cropcal.planning.photoperiod.fill_hours import with_hours
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.base import WEEKDAYS, Record
from cropcal.records.crop import Crop, CropTables
from cropcal.records.space import Settings, Space, Want


@dataclass(frozen=True, eq=False)
class Prepared:
    """A season to plan: space with lamp hours, assessment, candidates, demand and programme.

    ``per_week`` is the amount of each want in an ordinary week, or on its day, shape (wants,). With an open
    end, ``time`` has weeks beyond those of the settings.
    """

    space: Space
    assessment: Assessment
    time: WorkCalendar
    serving: ServiceWeeks
    candidates: CandidateColumns
    even: SteadySupply
    per_week: FloatArray
    wanted: Demand
    task: Task


MOST_BEYOND_WEEKS = 10
"""Most weeks beyond the end of a plan that count for it (assumed; most crops are ready sooner)."""


def prepare(
    space: Space, tables: CropTables, paces: Paces | None = None, *, open_end: bool = False
) -> Prepared:
    """Return the season of a space as a programme, with no standing crops.

    With an open end, the weeks count too in which the last sowings are first ripe: nothing would be sown in
    the last weeks of a plan if nobody ate of it. Nothing is sown in the weeks beyond the end.
    """
    space = with_hours(canonical(space), tables)
    assessment = assess(space, tables, paces)
    time = work_calendar(space.settings, space.first_day)
    end = time.weeks
    beyond = weeks_beyond(assessment.options, len(space.wants)) * open_end
    time = replace(time, weeks=end + int(beyond.max(initial=0)))
    serving = ServiceWeeks(space.wants, tables.crops, time, space.settings.eat_within_d)
    options_by_day = with_growth_by_sowing_day(assessment.options, tables, assessment.land, paces, time)
    candidates_by_sowing = candidate_columns(
        options_by_day,
        time,
        space.settings.clean_days,
        sown_before=end * DAYS_PER_WEEK,
        limits=calendar_limits(options_by_day, assessment.land, serving),
    )
    candidates = programme_columns(candidates_by_sowing)
    even = steady_supply(space, assessment.options, assessment.land)
    per_week = np.array(
        [
            want.per_week or want.amount or target
            for want, target in zip(space.wants, even.target, strict=True)
        ]
    )
    wanted = demand(serving, per_week, candidates, frozenset(option.want for option in assessment.options))
    wanted = as_far_as_sown(wanted, candidates, end, beyond)
    wanted = ramped_up(wanted, space.wants, candidates, even.early, time.gone_weeks)
    if not time.gone_weeks:  # a season has its first harvests but once
        first = promised_weeks(candidates_by_sowing, time, len(space.wants))
        wanted = wanted.promised_from(first)
    task = replace(
        _task(candidates, wanted, assessment.land),
        kind=variety_kinds(space.wants, candidates_by_sowing),
        heads=np.array([want.unit == "heads" for want in space.wants]),
        first=np.array([want.is_numbered for want in space.wants]),
    )
    return Prepared(
        space,
        assessment,
        time,
        serving,
        candidates_by_sowing,
        even,
        per_week,
        wanted,
        task,
    )


def weeks_beyond(options: Iterable[Option], wants: int) -> IntArray:
    """Return how many weeks beyond a plan's end each want is first had from a sowing at the end, (wants,)."""
    soonest = np.full(wants, np.inf)
    for option in options:
        soonest[option.want] = min(soonest[option.want], float(option.grown.ready_d[1].min()))
    weeks = np.where(np.isfinite(soonest), soonest, 0.0) // DAYS_PER_WEEK + 1
    return np.asarray(np.minimum(weeks, MOST_BEYOND_WEEKS), dtype=np.int64)


def _task(candidates: Columns, wanted: Demand, land: Capacity) -> Task:
    reachable = np.bincount(candidates.want, minlength=len(wanted.amount)) > 0
    task = Task(
        columns=candidates,
        demand=np.where(reachable[:, None], wanted.aimed, 0.0),
        sites=land.sites,
        cells=land.cells,
    )
    return replace(task, cost_unit=usual_cost(task))


def with_growth_by_sowing_day(
    options: tuple[Option, ...], tables: CropTables, land: Capacity, paces: Paces | None, time: WorkCalendar
) -> tuple[Option, ...]:
    """Return the options with growth by sowing day where the sun comes in; the others as they are.

    An option none of whose sowings gets ready, or enough light, is left out.
    """
    growth_of: dict[tuple[Crop, int, str | None, int], GrowthTable | None] = {}
    by_sowing_day = []
    for option in options:
        grown, place = option.grown, land.places[option.place]
        nursery = land.nursery_conditions.get(grown.nursery or "")
        if (
            grown.crop.kind == "shoots"
            or grown.plug_age_d is not None
            or not (place.spot.seasons or (nursery and nursery.seasons))
        ):
            by_sowing_day.append(option)
            continue
        key = (grown.crop, option.place, grown.nursery, option.sites_each)
        if key not in growth_of:
            pace = (paces or {}).get((grown.crop.slug, place.bed.name), UNLEARNED)
            spot = place.spot.shared_out(option.sites_each)
            growth_of[key] = _rows(grown, tables, spot, nursery, pace, time)
        rows = growth_of[key]
        if rows is not None:
            by_sowing_day.append(replace(option, grown=rows))
    return tuple(by_sowing_day)


def _rows(
    grown: GrowthTable,
    tables: CropTables,
    site: GrowingConditions,
    nursery: GrowingConditions | None,
    pace: Pace,
    time: WorkCalendar,
) -> GrowthTable | None:
    """Return the growth of every sowing that work days allow, one row each."""
    sown, planted, _ = sowing_days(grown, time, time.days)
    dates = [time.date_of(int(day)) for day in sown]
    rows, good = grow_sowings(grown.crop, tables, site, nursery, pace, dates, planted - sown)
    return None if rows is None else replace(rows, sown_d=sown[good], planted_d=planted[good])


Part = TypeVar("Part", bound=Record)


def canonical(space: Space) -> Space:
    """Return the same space with zones, beds, wants and the rest by name, and the crops of a want too.

    Ties between plans that are as good are then broken by names and days. Rates keep their order: a later one
    overrides an earlier.
    """
    return space.model_copy(
        update={
            "zones": tuple(sorted(space.zones, key=lambda zone: zone.name)),
            "beds": tuple(sorted(space.beds, key=lambda bed: bed.name)),
            "fixtures": _sorted(space.fixtures),
            "readings": _sorted(space.readings),
            "loads": _sorted(space.loads),
            "wants": _sorted(_want(want) for want in space.wants),
            "chores": _sorted(space.chores),
            "settings": _settings(space.settings),
        }
    )


def _sorted(parts: Iterable[Part]) -> tuple[Part, ...]:
    return tuple(sorted(parts, key=lambda part: part.model_dump_json()))


def _want(want: Want) -> Want:
    places = {
        name: tuple(sorted(names)) for name in ("beds", "zones") if (names := getattr(want, name)) is not None
    }
    return want.model_copy(update={"crops": tuple(sorted(dict.fromkeys(want.crops))), **places})


def _settings(settings: Settings) -> Settings:
    days = {
        name: tuple(sorted(named, key=WEEKDAYS.index))
        for name in ("work_days", "harvest_days")
        if (named := getattr(settings, name)) is not None
    }
    return settings.model_copy(update={"breaks": tuple(sorted(settings.breaks)), **days})
