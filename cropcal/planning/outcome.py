"""What a plan brings if everything grows as forecast: supply of each week, what is short, and why."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

import numpy as np

from cropcal.optimize.bottleneck import TimeLimits, least_shortage
from cropcal.optimize.programme import FloatArray, IntArray, Task
from cropcal.optimize.solve import Solution
from cropcal.planning.candidates.assessment import Assessment
from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.steady_supply import SteadySupply
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.realise import RealisedPlan, ToldPlan
from cropcal.planning.schedule.set_aside import SetAside
from cropcal.records.crop import Unit
from cropcal.records.plan import Batch, Outcome, Steady, Supply
from cropcal.records.space import Space, Want

TRIFLE = 0.01
"""Share of a week's grams too small to count as missing: no forecast is that exact (assumed)."""


def kept_amounts(task: Task, kept: FloatArray) -> tuple[SetAside, ...]:
    """Return the amounts kept from week to week, want by want."""
    store, weeks = task.store, task.demand.shape[1]
    return tuple(
        SetAside(int(source) // weeks, int(source) % weeks, int(later), float(amount))
        for source, later, amount in zip(store.source, store.later, kept, strict=True)
        if amount > 0
    )


def supply_of(
    space: Space,
    realised: RealisedPlan,
    told: ToldPlan,
    demand: Demand,
    time: WorkCalendar,
    kept: tuple[SetAside, ...],
) -> tuple[Supply, ...]:
    """Return the supply of each want in each week: ready, short, over, and its chance."""
    before, later = np.zeros_like(realised.ready), np.zeros_like(realised.ready)
    for line in kept:
        later[line.want, line.week] += line.amount
        before[line.want, line.week + line.later] += line.amount
    ready = realised.ready + before - later
    counted, aimed = demand.counted, demand.aimed
    rows = []
    for week in range(time.weeks):
        for index, want in enumerate(space.wants):
            is_counted = bool(demand.why[index, week] == "")
            asked = float(counted[index, week])
            got = round(float(ready[index, week]), 9)
            rows.append(
                Supply(
                    week=time.date_of(week * DAYS_PER_WEEK),
                    want=index,
                    label=want.label,
                    wanted=asked,
                    ready=got,
                    short=_short(asked, got, want.counted_in) if want.is_numbered else 0.0,
                    over=max(got - asked, 0.0),
                    unit=want.counted_in,
                    counted=is_counted,
                    why=str(demand.why[index, week]),
                    aimed_at=float(aimed[index, week]),
                    from_before=float(before[index, week]),
                    for_later=float(later[index, week]),
                    on=_feast(want, week, time),
                    chance=_known(told.chance[index, week]),
                    in_8_of_10=_known(told.sure[index, week]),
                )
            )
    return tuple(rows)


def _known(value: float) -> float | None:
    return None if np.isnan(value) else float(value)


def _feast(want: Want, week: int, time: WorkCalendar) -> date | None:
    """Return the listed day of a want that lies in a week."""
    return next((on for on in want.on or () if time.day_of(on) // DAYS_PER_WEEK == week), None)


def _short(asked: float, got: float, unit: Unit) -> float:
    """Return the missing amount; a trifle of leaves by weight counts as none."""
    missing = asked - got
    return missing if missing > (TRIFLE * asked if unit == "g" else 0.0) else 0.0


def outcome_of(
    space: Space,
    task: Task,
    solution: Solution,
    n: IntArray,
    all_batches: Iterable[Batch],
    supply: tuple[Supply, ...],
    steady: SteadySupply,
    assessment: Assessment,
    demand: Demand,
    first_harvests: Sequence[date | None],
    time_limits: TimeLimits,
) -> Outcome:
    """Return the outcome of the solve; only wants with a number can be short."""
    numbered = [index for index, want in enumerate(space.wants) if want.is_numbered]
    short = sum(row.short / row.wanted for row in supply if row.want in numbered and row.wanted > 0)
    told = task.demand.copy()
    told[:, space.settings.weeks :] = 0.0
    task = replace(task, demand=told)
    never = sum(
        1.0
        for row in supply
        if row.want in numbered and row.counted and not np.any(task.demand[row.want] > 0)
    )
    land = assessment.land
    return Outcome(
        status=solution.status,
        seconds=solution.seconds,
        value=solution.value,
        bound=solution.bound,
        gap=solution.gap,
        short_want_weeks=short,
        bound_want_weeks=min(least_shortage(task, numbered, time_limits) + never, short)
        if short > 0
        else 0.0,
        terms=solution.terms,
        power_cost=float(n @ task.columns.cost) + _cost_of_spares(all_batches, land.day_cost),
        site_day_cost=land.day_cost,
        steady=steady_rows(space, steady, first_harvests, demand),
        cost_unit=task.cost_unit,
    )


def _cost_of_spares(all_batches: Iterable[Batch], day_cost: Mapping[str, float]) -> float:
    """Return what the light costs of the cells that are sown to spare, until the others are moved."""
    return sum(
        (batch.cells - batch.sites) * (batch.transplant_on - batch.sow_on).days * day_cost[batch.nursery]
        for batch in all_batches
        if batch.nursery is not None and batch.transplant_on is not None and batch.cells > batch.sites
    )


def _first_counted(wanted: Demand, start: date) -> list[date | None]:
    """Return the first week of each want that counts, as a day; None: none does."""
    weeks = [np.flatnonzero(row) for row in wanted.counted > 0]
    return [start + timedelta(weeks=int(week[0])) if len(week) else None for week in weeks]


def steady_rows(
    space: Space, steady: SteadySupply, first_harvests: Sequence[date | None], wanted: Demand
) -> tuple[Steady, ...]:
    """Return the steady supply of each weekly want, and its first weeks."""
    promised = _first_counted(wanted, space.settings.start)
    return tuple(
        Steady(
            want=index,
            label=want.label,
            wanted_per_week=want.per_week,
            alone_per_week=float(steady.alone[index]),
            in_mix_per_week=float(steady.mix[index]),
            unit=want.counted_in,
            first_week=first_harvests[index],
            promised_week=promised[index],
        )
        for index, want in enumerate(space.wants)
        if want.on is None
    )
