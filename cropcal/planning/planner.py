"""From a space to a plan: light, candidates, demand, programme, batches, jobs, bill, and how good it is."""

from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date
from time import perf_counter

import numpy as np

from cropcal.optimize.bottleneck import TimeLimits
from cropcal.planning.candidates.assessment import Assessment, unit_costs
from cropcal.planning.candidates.first_weeks import first_harvest_weeks
from cropcal.planning.candidates.prepare import Prepared, prepare
from cropcal.planning.candidates.service_weeks import ServiceWeeks, eaten_within_d
from cropcal.planning.candidates.steady_supply import nursery_gain
from cropcal.planning.choices import PlanMaker
from cropcal.planning.growth import cautions as notes
from cropcal.planning.growth.crowding import crowded_warnings, crowdings, record_notes
from cropcal.planning.growth.pace import Paces
from cropcal.planning.luck.search import Progress
from cropcal.planning.outcome import kept_amounts, outcome_of, supply_of
from cropcal.planning.power.bill import bill
from cropcal.planning.power.bill_range import bill_range
from cropcal.planning.realise import PlanBuilder
from cropcal.planning.replan.initial_stock import with_initial_stock
from cropcal.planning.replan.resume import resume
from cropcal.planning.schedule import jobs as work
from cropcal.planning.schedule.empty_beds import dark_days, lamp_jobs
from cropcal.planning.schedule.queue import as_queue
from cropcal.planning.schedule.set_aside import eating_days
from cropcal.planning.schedule.workload import in_time, work_notes
from cropcal.planning.site.air import zone_air
from cropcal.planning.water.stops import loss_notes, loss_shares
from cropcal.planning.water.zone_water import pumps_stopped, zone_water
from cropcal.records.crop import CropTables
from cropcal.records.plan import (
    SeasonPlan,
)
from cropcal.records.space import Space
from cropcal.records.written_plan import Past

REASONS = 0.25
"""Share of the time limit that each of the two analyses of reasons may take on top, where needed."""


@dataclass(frozen=True)
class SolveOptions:
    """Time limit and callbacks of a search."""

    time_limit_s: float = 60.0
    stop: Callable[[], bool] | None = None
    progress: Progress | None = None


def plan(
    space: Space,
    tables: CropTables,
    effort: SolveOptions | None = None,
    paces: Paces | None = None,
    past: Past | None = None,
    *,
    steady: bool = False,
) -> SeasonPlan:
    """Return the best plan found for a space, with its bill, how good it is, and its assumptions.

    With a past, only sowings from its day on are chosen, and standing crops are continued. A ``steady``
    plan follows the tuned steady rule instead of a search, whatever choice the space makes.
    A space with a horizon is planned some weeks beyond it, and told up to it.
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
    demand, task, even = ready.wanted, ready.task, ready.even
    all_columns = task.columns
    known_past = with_initial_stock(past, space)
    resumed = (
        resume(known_past, space, tables, assessment, candidates, task, serving, demand, paces)
        if known_past
        else None
    )
    task = resumed.task if resumed is not None else task
    stops = pumps_stopped(space, tables, assessment.lights, past, paces) if past is not None else ()
    if resumed is not None:
        resumed = replace(resumed, losses=loss_shares(stops))
    builder = PlanBuilder(space, assessment, candidates, demand, serving, resumed, ready.per_week)
    ends = perf_counter() + effort.time_limit_s

    def stopped() -> bool:
        return perf_counter() > ends or (effort.stop is not None and effort.stop())

    time = replace(time, weeks=space.settings.weeks)
    making = PlanMaker(builder, task, stopped, effort.progress)
    chosen = making.steady() if steady else making.chosen(space.settings.sow_choice)
    solution, realised, told = chosen.plan.solution, chosen.plan.realised, chosen.plan.told
    dark = dark_days(space, realised.sites, told.batches)
    n = solution.n
    time_limits = TimeLimits(effort.time_limit_s * REASONS, effort.stop)
    kept = kept_amounts(task, solution.kept)
    first_harvests = first_harvest_weeks(space, tables.crops, assessment, all_columns, serving)
    all_jobs = work.jobs(
        told.batches,
        realised.sites,
        space.chores,
        tables,
        ready.time,
        _air_c(space),
        eating_days(kept, told.batches, serving),
    )
    water, tank_jobs = zone_water(space, tables, assessment.lights, told.batches, realised.sites, time, paces)
    all_jobs = tuple(sorted((*all_jobs, *lamp_jobs(space, dark), *tank_jobs), key=lambda job: job.on))
    work_days = tuple(
        time.date_of(day) for day in sorted({*time.work_days.tolist(), *time.harvest_days.tolist()})
    )
    all_jobs, too_much_work = in_time(all_jobs, space, told.batches, work_days)
    supply = supply_of(space, realised, told, demand, time, kept)
    return SeasonPlan(
        place=space.place.name,
        start=space.settings.start,
        first_day=space.first_day,
        weeks=space.settings.weeks,
        currency=space.tariff.currency if space.tariff else None,
        work_days=work_days,
        batches=told.batches,
        jobs=as_queue(
            (job for job in all_jobs if job.batch or job.on < time.date_of(time.days)),
            told.batches,
            _beds_alike(assessment),
        ),
        supply=supply,
        sites=realised.sites,
        bill=bill(space, space.settings.start, time.days, dark),
        bill_range=bill_range(space, space.settings.start, time.days, dark),
        unit_costs=unit_costs(assessment, priced=space.tariff is not None),
        lights=assessment.lights,
        fits=assessment.verdicts,
        outcome=outcome_of(
            space,
            task,
            solution,
            n,
            told.batches,
            supply,
            even,
            assessment,
            demand,
            first_harvests,
            time_limits,
        ),
        warnings=(*too_much_work, *warnings(ready, tables, first_harvests, paces)),
        cautions=notes.cautions(),
        again=realised.again if past is not None else None,
        expected=told.expected,
        habits=chosen.habits,
        choices=chosen.choices,
        searched=chosen.searched,
        sow_more=chosen.sow_more,
        water=water,
        stopped_pumps=stops,
        assumptions=(
            *notes.assumptions(
                space,
                tables,
                assessment.lights,
                nursery_gain(space, tables, assessment.land, even, paces),
                paces,
            ),
            *work_notes(space),
            *loss_notes(stops),
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
    """Return warnings on what keeps a want from being met, by crop, then on light, seed, air and room."""
    space, assessment = ready.space, ready.assessment
    crops = notes.wanted_crops(space, tables)
    kept_too_long = {want for want in range(len(space.wants)) if ready.serving.unkept_days(want)}
    hopeless = {(fit.crop, fit.bed) for fit in assessment.verdicts if fit.verdict == "no"}
    crowded = [
        row
        for row in crowdings(space, tables, assessment.lights, crops, paces)
        if (row.crop, row.bed) not in hopeless
    ]
    return (
        *_too_slow(ready, tables, kept_too_long, first_harvests),
        *(_cut_too_early(want, tables, ready.serving) for want in sorted(kept_too_long)),
        *notes.warnings(space, tables, assessment.lights, assessment.verdicts),
        *crowded_warnings(crowded, tables),
    )


def _beds_alike(assessment: Assessment) -> frozenset[str]:
    """Return the beds of pots all of whose sites have like light."""
    places = Counter(place.bed.name for place in assessment.land.places if place.bed.kind == "sites")
    return frozenset(name for name, count in places.items() if count == 1)


def _air_c(space: Space) -> dict[str, float]:
    """Return the mean air of each bed [C]."""
    air = {zone.name: zone_air(zone, space.fixtures).mean_c for zone in space.zones}
    return {bed.name: air[bed.zone] for bed in space.beds}


def _too_slow(
    ready: Prepared, tables: CropTables, but: Collection[int], first_harvests: Sequence[date | None]
) -> tuple[str, ...]:
    """Return one sentence for each want, ``but`` some, that grows here but is ready only after the end."""
    space, candidates, weeks = ready.space, ready.task.columns, ready.space.settings.weeks
    in_time = {*candidates.want[candidates.supply_column[candidates.supply_week < weeks]].tolist()}
    soonest: dict[int, float] = {}
    for option in ready.assessment.options:
        if option.want not in but and np.any(ready.serving.weeks(option.want) < weeks):
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


def _cut_too_early(number: int, tables: CropTables, serving: ServiceWeeks) -> str:
    """Return a sentence on the listed days of a want for which every harvest day is too early."""
    want = serving.wants[number]
    days = [f"{on:%a} {on.day} {on:%b}" for on in serving.unkept_days(number)]
    within_d = max(eaten_within_d(tables.crops[slug], serving.eat_within_d) or 0 for slug in want.crops)
    names = " or ".join(tables.crops[slug].name for slug in want.crops)
    return (
        f"{names} for {' and '.join(days)}: must be eaten within {within_d} day{'' if within_d == 1 else 's'}"
        " of the cut, but the last harvest day before is earlier; add a day to harvest_days under [plan]"
    )
