"""From a space to a plan: light, candidates, demand, programme, batches, jobs, bill, and how good it is."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from time import perf_counter

import numpy as np

from cropcal.optimize.bottleneck import TimeLimits, capacity_gains, least_shortage
from cropcal.optimize.carryover import best_carryover
from cropcal.optimize.highs import Progress
from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import (
    FloatArray,
    IntArray,
    Task,
)
from cropcal.optimize.solve import Solution
from cropcal.planning.candidates.assessment import Assessment, unit_costs
from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.first_weeks import first_harvest_weeks
from cropcal.planning.candidates.prepare import Prepared, prepare, without_keeping_for_listed_days
from cropcal.planning.candidates.steady_supply import SteadySupply, nursery_gain
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.growth import cautions as notes
from cropcal.planning.growth.crowding import crowded_warnings, crowdings, record_notes
from cropcal.planning.growth.pace import Paces
from cropcal.planning.power.bill import bill
from cropcal.planning.realise import PlanBuilder, RealisedPlan
from cropcal.planning.regularity import regularity, search
from cropcal.planning.replan.initial_stock import with_initial_stock
from cropcal.planning.replan.resume import resume
from cropcal.planning.risk.simulation import RandomStreams
from cropcal.planning.schedule import jobs as work
from cropcal.planning.schedule.set_aside import SetAside, set_aside
from cropcal.planning.service_level import reach_service_level
from cropcal.planning.site.air import zone_air
from cropcal.records.crop import CropTables, Unit
from cropcal.records.past import Past
from cropcal.records.plan import (
    Binding,
    Outcome,
    SeasonPlan,
    Steady,
    Supply,
)
from cropcal.records.space import Space, Want

REASONS = 0.25
"""Share of the time limit that each of the two analyses of reasons may take on top, where needed."""

TRIFLE = 0.01
"""Share of a week's grams too small to count as missing: no forecast is that exact (assumed)."""


@dataclass(frozen=True)
class SolveOptions:
    """Time limit, gap to the bound, and callbacks of a search."""

    time_limit_s: float = 60.0
    gap: float = 1e-3
    stop: Callable[[], bool] | None = None
    progress: Progress | None = None


def plan(
    space: Space,
    tables: CropTables,
    effort: SolveOptions | None = None,
    paces: Paces | None = None,
    past: Past | None = None,
    cycles: Sequence[int] = (),
) -> SeasonPlan:
    """Return the best plan found for a space, with its bill, its proof and its assumptions.

    With a past, only sowings from its day on are chosen, and standing crops are continued. With ``cycles``
    (weeks), the best plan that is the same in every cycle of one of these lengths; it ignores chances asked
    for. A space with a horizon is planned some weeks beyond it, and told up to it.
    """
    effort = effort or SolveOptions()
    ready = prepare(space, tables, paces, open_end=space.horizon is not None)
    space, assessment, time, serving, candidates = (
        ready.space,
        ready.assessment,
        ready.time,
        ready.serving,
        ready.candidates,
    )
    demand, task, steady = ready.wanted, ready.task, ready.even
    all_columns = task.columns
    known_past = with_initial_stock(past, space)
    resumed = (
        resume(known_past, space, tables, assessment, candidates, task, serving, demand, paces)
        if known_past
        else None
    )
    task = without_keeping_for_listed_days(space, resumed.task) if resumed is not None else task
    builder = PlanBuilder(space, assessment, candidates, demand, serving, resumed, RandomStreams())
    searched = search(
        ready,
        task,
        resumed.candidates if resumed is not None else candidates,
        cycles,
        time_limit_s=effort.time_limit_s,
        gap=effort.gap,
        stop=effort.stop,
        progress=effort.progress,
    )
    solution = searched.solution
    ends = perf_counter() + effort.time_limit_s

    def stopped() -> bool:
        return perf_counter() > ends or (effort.stop is not None and effort.stop())

    n, realised, service = solution.n, builder.realise(solution.n), None
    if not cycles:
        n, realised, service = reach_service_level(builder, task, n, realised, stopped)
    time = replace(time, weeks=space.settings.weeks)
    time_limits = TimeLimits(effort.time_limit_s * REASONS, effort.stop)
    kept = _kept(task, solution.kept if service is None else best_carryover(task, Weights(), n))
    first_harvests = first_harvest_weeks(space, tables.crops, assessment, all_columns, serving)
    all_jobs = work.jobs(
        realised.batches,
        realised.sites,
        space.chores,
        tables,
        ready.time,
        _air_c(space),
        set_aside(kept, realised.batches, tables, time),
    )
    supply = _supply(space, realised, demand, time, kept)
    return SeasonPlan(
        place=space.place.name,
        start=space.settings.start,
        first_day=space.first_day,
        weeks=space.settings.weeks,
        currency=space.tariff.currency if space.tariff else None,
        work_days=tuple(
            time.date_of(day) for day in sorted({*time.work_days.tolist(), *time.harvest_days.tolist()})
        ),
        batches=realised.batches,
        jobs=tuple(job for job in all_jobs if job.batch or job.on < time.date_of(time.days)),
        supply=supply,
        sites=realised.sites,
        bill=bill(space, space.settings.start, time.days),
        unit_costs=unit_costs(assessment, priced=space.tariff is not None),
        lights=assessment.lights,
        fits=assessment.verdicts,
        outcome=_outcome(space, task, solution, n, supply, steady, assessment, first_harvests, time_limits),
        warnings=warnings(ready, tables, first_harvests, paces),
        cautions=notes.cautions(),
        again=realised.again if past is not None else None,
        service=service,
        rhythm=regularity(space, task, searched, realised.batches, time),
        assumptions=(
            *notes.assumptions(
                space,
                tables,
                assessment.lights,
                nursery_gain(space, tables, assessment.land, steady, paces),
                paces,
            ),
            *record_notes(
                crowdings(space, tables, assessment.lights, notes.wanted_crops(space, tables), paces), tables
            ),
        ),
    )


def warnings(
    ready: Prepared,
    tables: CropTables,
    first_harvests: Sequence[date | None],
    paces: Paces | None = None,
) -> tuple[str, ...]:
    """Return warnings on what keeps a want from being met, by crop, then on room, seed and air."""
    space, assessment = ready.space, ready.assessment
    crops = notes.wanted_crops(space, tables)
    return (
        *_too_slow(ready, tables, first_harvests),
        *crowded_warnings(crowdings(space, tables, assessment.lights, crops, paces), tables),
        *notes.warnings(space, tables, assessment.lights, assessment.verdicts),
    )


def _air_c(space: Space) -> dict[str, float]:
    """Return the mean air of each bed [C]."""
    air = {zone.name: zone_air(zone, space.fixtures).mean_c for zone in space.zones}
    return {bed.name: air[bed.zone] for bed in space.beds}


def _too_slow(ready: Prepared, tables: CropTables, first_harvests: Sequence[date | None]) -> tuple[str, ...]:
    """Return one sentence for each want that grows here but is ready only after the plan ends."""
    space, candidates, weeks = ready.space, ready.task.columns, ready.space.settings.weeks
    in_time = {*candidates.want[candidates.supply_column[candidates.supply_week < weeks]].tolist()}
    soonest: dict[int, float] = {}
    for option in ready.assessment.options:
        if np.any(ready.serving.weeks(option.want) < weeks):
            ready_d = float(option.grown.ready_d[1].min())
            soonest[option.want] = min(soonest.get(option.want, np.inf), ready_d)
    return tuple(
        f"{' or '.join(tables.crops[slug].name for slug in space.wants[want].crops)}: about {days:.0f} days"
        f" from sowing to the first cut here, more than a plan of {weeks} weeks has room for"
        + (
            f"; the soonest would be in the week from {first.day} {first:%b %Y}"
            if (first := first_harvests[want])
            else ""
        )
        for want, days in soonest.items()
        if want not in in_time
    )


def _kept(task: Task, kept: FloatArray) -> tuple[SetAside, ...]:
    """Return the amounts kept from week to week, want by want."""
    store, weeks = task.store, task.demand.shape[1]
    return tuple(
        SetAside(int(source) // weeks, int(source) % weeks, int(later), float(amount))
        for source, later, amount in zip(store.source, store.later, kept, strict=True)
        if amount > 0
    )


def _supply(
    space: Space, realised: RealisedPlan, demand: Demand, time: WorkCalendar, kept: tuple[SetAside, ...]
) -> tuple[Supply, ...]:
    """Return the supply of each want in each week: ready, short, over, and its chance."""
    before, later = np.zeros_like(realised.ready), np.zeros_like(realised.ready)
    for line in kept:
        later[line.want, line.week] += line.amount
        before[line.want, line.week + line.later] += line.amount
    ready = realised.ready + before - later
    chance = realised.chance
    counted = demand.counted
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
                    from_before=float(before[index, week]),
                    for_later=float(later[index, week]),
                    on=_feast(want, week, time),
                    chance=None if np.isnan(chance[index, week]) else float(chance[index, week]),
                )
            )
    return tuple(rows)


def _feast(want: Want, week: int, time: WorkCalendar) -> date | None:
    """Return the listed day of a want that lies in a week."""
    return next((on for on in want.on or () if time.day_of(on) // DAYS_PER_WEEK == week), None)


def _short(asked: float, got: float, unit: Unit) -> float:
    """Return the missing amount; a trifle of leaves by weight counts as none."""
    missing = asked - got
    return missing if missing > (TRIFLE * asked if unit == "g" else 0.0) else 0.0


def _outcome(
    space: Space,
    task: Task,
    solution: Solution,
    n: IntArray,
    supply: tuple[Supply, ...],
    steady: SteadySupply,
    assessment: Assessment,
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
    held_back: tuple[Binding, ...] = ()
    if short > never + 1e-6:
        names = [f"sites in {place.label}" for place in land.places]
        names += [f"cells in {bed.name}" for bed in land.nurseries]
        held_back = tuple(
            Binding(what=names[index], short_want_weeks_cured=cured)
            for index, cured in capacity_gains(task, numbered, time_limits)
            if cured > 0.005
        )
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
        power_cost=float(n @ task.columns.cost),
        site_day_cost=land.day_cost,
        binds=held_back,
        steady=steady_rows(space, steady, first_harvests),
        cost_unit=task.cost_unit,
    )


def steady_rows(
    space: Space, steady: SteadySupply, first_harvests: Sequence[date | None]
) -> tuple[Steady, ...]:
    """Return the steady supply of each weekly want, and its first week."""
    return tuple(
        Steady(
            want=index,
            label=want.label,
            wanted_per_week=want.per_week,
            alone_per_week=float(steady.alone[index]),
            in_mix_per_week=float(steady.mix[index]),
            unit=want.counted_in,
            first_week=first_harvests[index],
        )
        for index, want in enumerate(space.wants)
        if want.on is None
    )
