"""From a space to a programme: light, offers, ways, demand; everything before a plan is searched."""

from dataclasses import dataclass, replace

import numpy as np

from cropcal.optimize.programme import (
    Columns,
    FloatArray,
    Task,
    usual_cost,
)
from cropcal.planning.candidates.assessment import Assessment, prospect
from cropcal.planning.candidates.by_sowing_date import by_sowing
from cropcal.planning.candidates.canonical_order import canonical
from cropcal.planning.candidates.columns import (
    CandidateColumns,
    columns,
    kinds,
    ways,
)
from cropcal.planning.candidates.demand import Demand, demand, ramped_up
from cropcal.planning.candidates.eligible import Capacity, limits
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.steady_supply import SteadySupply, even_supply
from cropcal.planning.candidates.work_calendar import WorkCalendar, worktime
from cropcal.planning.growth.pace import Paces
from cropcal.planning.photoperiod.fill_hours import settled
from cropcal.records.crop import CropTables
from cropcal.records.space import Space


@dataclass(frozen=True, eq=False)
class Prepared:
    """A season to plan: the space with hours picked, what it promises, its ways, demand and programme.

    ``per_week`` is what each want is after in an ordinary week, or on its day, shape (wants,).
    """

    space: Space
    seen: Assessment
    time: WorkCalendar
    serving: ServiceWeeks
    found: CandidateColumns
    even: SteadySupply
    per_week: FloatArray
    wanted: Demand
    task: Task


def prepare(space: Space, tables: CropTables, paces: Paces | None = None) -> Prepared:
    """Return the season of a space as a programme, as if nothing grew there yet."""
    space = settled(canonical(space), tables)
    seen = prospect(space, tables, paces)
    time = worktime(space.settings)
    serving = ServiceWeeks(space.wants, tables.crops, time)
    sown = by_sowing(seen.offers, tables, seen.land, paces, time)
    found = ways(sown, time, space.settings.clean_days, limits=limits(sown, seen.land, serving))
    candidates = columns(found)
    even = even_supply(space, seen.offers, seen.land)
    per_week = np.array(
        [
            want.per_week or want.amount or target
            for want, target in zip(space.wants, even.target, strict=True)
        ]
    )
    wanted = demand(serving, per_week, candidates, frozenset(offer.want for offer in seen.offers))
    wanted = ramped_up(wanted, space.wants, candidates, even.early)
    task = replace(
        _task(candidates, wanted, seen.land),
        kind=kinds(space.wants, found),
        heads=np.array([want.unit == "heads" for want in space.wants]),
        first=np.array([want.is_numbered for want in space.wants]),
    )
    return Prepared(space, seen, time, serving, found, even, per_week, wanted, as_asked(space, task))


def as_asked(space: Space, task: Task) -> Task:
    """Return the task with nothing kept for wants of listed days: they count what keeps till then."""
    fresh = np.array([want.on is not None for want in space.wants])
    columns = task.columns
    return replace(task, columns=replace(columns, keeps=np.where(fresh[columns.want], 0, columns.keeps)))


def _task(candidates: Columns, wanted: Demand, land: Capacity) -> Task:
    reachable = np.bincount(candidates.want, minlength=len(wanted.amount)) > 0
    task = Task(
        columns=candidates,
        demand=np.where(reachable[:, None], wanted.counted, 0.0),
        sites=land.sites,
        cells=land.cells,
    )
    return replace(task, cost_unit=usual_cost(task))
