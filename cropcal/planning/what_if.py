"""What-if analysis of a plan: full places, the gain of one more of each, and the steady rule beside it."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from cropcal.optimize.bottleneck import TimeLimits, least_shortage
from cropcal.optimize.left_over import short_and_surplus
from cropcal.optimize.programme import FloatArray, IntArray, Task
from cropcal.optimize.solve import solve
from cropcal.planning.candidates.first_weeks import first_harvest_weeks
from cropcal.planning.candidates.prepare import Prepared, prepare
from cropcal.planning.candidates.steady_supply import steady_mix
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.choices import PlanMaker
from cropcal.planning.growth.pace import Paces
from cropcal.planning.outcome import steady_rows
from cropcal.planning.planner import SolveOptions, warnings
from cropcal.planning.realise import PlanBuilder, RealisedPlan
from cropcal.records.base import WEEKDAYS
from cropcal.records.crop import CropTables
from cropcal.records.outlook import (
    Course,
    CourseName,
    Full,
    Occupied,
    OneMore,
    Outlook,
)
from cropcal.records.space import Space, photoperiod_h

REASONS = 0.25
"""Share of the time limit for each analysis of one more of something."""
WORTH = 0.005
"""Want-weeks, or weeks' wants a week, below which one more brings nothing."""


def what_if(
    space: Space, tables: CropTables, effort: SolveOptions | None = None, paces: Paces | None = None
) -> Outlook:
    """Return the what-if analysis of a plan of this season, with no standing crops."""
    effort = effort or SolveOptions()
    ready = prepare(space, tables, paces)
    task, time = ready.task, ready.time
    solution = solve(task, time_limit_s=effort.time_limit_s, stop=effort.stop)
    time_limits = TimeLimits(effort.time_limit_s * REASONS, effort.stop)
    numbered = [index for index, want in enumerate(ready.space.wants) if want.is_numbered]
    bound = least_shortage(task, numbered, time_limits)
    counted = replace(task, demand=np.where(_is_one_of(numbered, task)[:, None], task.demand, 0.0))
    builder = PlanBuilder(
        ready.space, ready.assessment, ready.candidates, ready.wanted, ready.serving, None, ready.per_week
    )
    free = builder.realise(solution.n)
    ruled = PlanMaker(builder, task, stop=effort.stop).steady()
    steady, habits = ruled.plan.realised, ruled.habits
    short, _ = short_and_surplus(counted, solution.n)
    first_harvests = first_harvest_weeks(
        ready.space, tables.crops, ready.assessment, task.columns, ready.serving
    )
    return Outlook(
        place=ready.space.place.name,
        start=ready.space.settings.start,
        weeks=time.weeks,
        currency=ready.space.tariff.currency if ready.space.tariff else None,
        want_weeks=int((counted.demand > 0).sum()),
        forecast_short_want_weeks=short,
        bound_want_weeks=min(bound, short),
        proven=solution.status == "proven",
        full=_full(ready, solution.n),
        more=tuple(_more(ready, tables, paces, numbered, bound, time_limits)),
        steady=steady_rows(ready.space, ready.even, first_harvests, ready.wanted),
        occupied=area_shares(ready, solution.n),
        courses=(_course("plan", free, builder), _course("steady rule", steady, builder)),
        habits=habits,
        first_weekday=int(time.work_days[0] + time.start.weekday()) % 7 if len(time.work_days) else 0,
        nothing_grows=() if task.columns.count else warnings(ready, tables, first_harvests),
    )


def _is_one_of(wants: list[int], task: Task) -> FloatArray:
    selected = np.zeros(len(task.demand), dtype=bool)
    selected[wants] = True
    return selected


def _course(name: CourseName, realised: RealisedPlan, builder: PlanBuilder) -> Course:
    return Course(name=name, expected=builder.told(realised).expected, sowings=len(realised.batches))


def _full(ready: Prepared, n: IntArray) -> tuple[Full, ...]:
    """Return the weeks in which each place and nursery is full on some day."""
    columns, land, time = ready.task.columns, ready.assessment.land, ready.time
    parts = [
        (place.label, columns.place == index, columns.planted, columns.freed, int(size), n * columns.held)
        for index, (place, size) in enumerate(zip(land.places, ready.task.sites, strict=True))
    ]
    parts += [
        (f"{bed.name}, cells", columns.nursery == index, columns.sown, columns.planted, bed.site_count, n)
        for index, bed in enumerate(land.nurseries)
    ]
    places = []
    for what, there, start, end, size, taken in parts:
        held = _held(start[there], end[there], taken[there], time)
        weeks = np.unique(np.flatnonzero(held >= size) // DAYS_PER_WEEK)
        places.append(
            Full(
                what=what,
                weeks=tuple(time.date_of(int(week) * DAYS_PER_WEEK) for week in weeks),
                held_share=float(held.mean() / size),
            )
        )
    return tuple(places)


def _held(start: IntArray, end: IntArray, n: IntArray, time: WorkCalendar) -> IntArray:
    change = np.zeros(time.days + 1, dtype=np.int64)
    np.add.at(change, np.clip(start, 0, time.days), n)
    np.add.at(change, np.clip(end, 0, time.days), -n)
    return np.cumsum(change)[: time.days]


def _more(
    ready: Prepared,
    tables: CropTables,
    paces: Paces | None,
    numbered: list[int],
    bound: float,
    time_limits: TimeLimits,
) -> Iterator[OneMore]:
    """Yield the gain of one more site, cell, lamp hour and work day, where there is any."""
    scale = np.where(ready.per_week > 0, ready.per_week, 1.0)

    def gain(what: str, other: Prepared, mix: FloatArray) -> Iterator[OneMore]:
        cured = bound - least_shortage(other.task, numbered, time_limits, unknown=bound) if bound > 0 else 0.0
        even = float(((mix - ready.even.mix) / scale).sum())
        if max(cured, even) > WORTH:
            yield OneMore(what=what, cured_want_weeks=max(cured, 0.0), even_shares=max(even, 0.0))

    for kind, names in (
        ("sites", [f"a site in {place.label}" for place in ready.assessment.land.places]),
        ("cells", [f"a cell in {bed.name}" for bed in ready.assessment.land.nurseries]),
    ):
        for index, name in enumerate(names):
            capacity = getattr(ready.task, kind).copy()
            capacity[index] += 1
            other = replace(ready, task=replace(ready.task, **{kind: capacity}))
            yield from gain(
                name,
                other,
                steady_mix(
                    ready.space,
                    ready.assessment.options,
                    ready.assessment.land,
                    other.task.sites,
                    other.task.cells,
                ),
            )
    for what, space in (*_hours(ready.space), *_days(ready.space)):
        other = prepare(space, tables, paces)
        yield from gain(what, other, other.even.mix)


def _hours(space: Space) -> Iterator[tuple[str, Space]]:
    """Yield the space with an hour of lamp light more in each zone in turn."""
    for at, zone in enumerate(space.zones):
        hours = photoperiod_h(zone) + 1
        if hours <= 24:
            longer = zone.model_copy(update={"lit": None, "photoperiod_h": hours})
            zones = (*space.zones[:at], longer, *space.zones[at + 1 :])
            yield f"an hour of light in {zone.name} ({hours:g} h)", space.model_copy(update={"zones": zones})


def _days(space: Space) -> Iterator[tuple[str, Space]]:
    """Yield the space with one more work day, each in turn."""
    settings = space.settings
    for day in WEEKDAYS:
        if day not in settings.work_days:
            more = {"work_days": (*settings.work_days, day)}
            if settings.harvest_days is not None and day not in settings.harvest_days:
                more["harvest_days"] = (*settings.harvest_days, day)
            yield (
                f"{day.capitalize()} as a work day",
                space.model_copy(update={"settings": settings.model_copy(update=more)}),
            )


def area_shares(ready: Prepared, n: IntArray) -> tuple[Occupied, ...]:
    """Return the sites that each want with a weekly number takes, at the yield and days of a site in a plan.

    Sites held = sites begun a day x days on the site (Little 1961, Operations Research 9:383-387, from
    memory), which holds for every stretch that begins and ends alike. Clean days count. A want of which
    nothing is grown is left out.
    """
    columns = ready.task.columns
    brings = np.bincount(columns.supply_column, columns.supply_amount, columns.count)
    rows = []
    for index, want in enumerate(ready.space.wants):
        grown = np.flatnonzero((columns.want == index) & (n > 0))
        if want.per_week is None or not len(grown):
            continue
        held = n[grown] * columns.held[grown]
        sites = int(held.sum())
        per_site = float(n[grown] @ brings[grown]) / sites
        days = float(held @ (columns.freed - columns.planted)[grown]) / sites
        rows.append(
            Occupied(
                want=index,
                label=want.label,
                per_week=want.per_week,
                per_site=per_site,
                unit=want.counted_in,
                days=days,
                sites=want.per_week / per_site * days / DAYS_PER_WEEK,
            )
        )
    return tuple(rows)
