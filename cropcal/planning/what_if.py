"""What-if analysis of a plan: full places, the gain of one more of each, and other plans to compare."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from cropcal.letters import NTH
from cropcal.optimize.bottleneck import TimeLimits, least_shortage
from cropcal.optimize.fixed_interval import Habit, best_rule, short_and_surplus
from cropcal.optimize.programme import FloatArray, IntArray, Task
from cropcal.optimize.solve import solve
from cropcal.planning.candidates.columns import NO_DAY, CandidateColumns
from cropcal.planning.candidates.first_weeks import first_harvest_weeks
from cropcal.planning.candidates.prepare import Prepared, prepare
from cropcal.planning.candidates.steady_supply import steady_mix
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.cyclic import best_cyclic_plan, ordinary_week_columns, weeks_are_alike
from cropcal.planning.growth.pace import Paces
from cropcal.planning.planner import SolveOptions, steady_rows, warnings
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
    solution = solve(
        task, time_limit_s=effort.time_limit_s, gap=effort.gap, stop=effort.stop, progress=effort.progress
    )
    time_limits = TimeLimits(effort.time_limit_s * REASONS, effort.stop)
    numbered = [index for index, want in enumerate(ready.space.wants) if want.is_numbered]
    bound = least_shortage(task, numbered, time_limits)
    kind, crops = _kinds(ready)
    rule = best_rule(task, kind, time.work_days)
    counted = replace(task, demand=np.where(_is_one_of(numbered, task)[:, None], task.demand, 0.0))
    names = {slug: tables.crops[slug].name for slug in crops}

    def course(name: CourseName, how: tuple[str, ...], n: IntArray) -> Course:
        short, _ = short_and_surplus(counted, n)
        _, over = short_and_surplus(task, n)
        sizes = _sowings(ready.candidates, kind // KINDS, n)
        return Course(
            name=name,
            how=how,
            short_want_weeks=short,
            surplus_want_weeks=over,
            power_cost=float(n @ task.columns.cost),
            sowings=sum(map(len, sizes)),
            same_share=_usual_size_share(sizes),
        )

    plan = course("plan", (), solution.n)
    repeating = [course("repeating", (rhythm,), n) for rhythm, n in _repeating(ready, effort)]
    first_harvests = first_harvest_weeks(
        ready.space, tables.crops, ready.assessment, task.columns, ready.serving
    )
    return Outlook(
        place=ready.space.place.name,
        start=ready.space.settings.start,
        weeks=time.weeks,
        currency=ready.space.tariff.currency if ready.space.tariff else None,
        want_weeks=int((counted.demand > 0).sum()),
        bound_want_weeks=min(bound, plan.short_want_weeks),
        proven=solution.status == "proven",
        full=_full(ready, solution.n),
        more=tuple(_more(ready, tables, paces, numbered, bound, time_limits)),
        steady=steady_rows(ready.space, ready.even, first_harvests),
        occupied=area_shares(ready, solution.n),
        courses=(
            plan,
            *repeating,
            course("plain rule", tuple(_habit_text(habit, crops, names) for habit in rule.habits), rule.n),
        ),
        nothing_grows=() if task.columns.count else warnings(ready, tables, first_harvests),
    )


KINDS = 1000
"""Step between the numbers of two crops in ``_kinds``."""


def _is_one_of(wants: list[int], task: Task) -> FloatArray:
    selected = np.zeros(len(task.demand), dtype=bool)
    selected[wants] = True
    return selected


def _kinds(ready: Prepared) -> tuple[IntArray, list[str]]:
    """Return a number for crop, spacing and cuts of each candidate, and the crops by number.

    The number is crop x ``KINDS`` + sites that each plant holds x 100 + cuts.
    """
    crops = sorted({option.grown.crop.slug for option in ready.candidates.options})
    options = ready.candidates.options
    of_option = np.array(
        [crops.index(option.grown.crop.slug) * KINDS + option.sites_each * 100 for option in options],
        dtype=np.int64,
    )
    return of_option[ready.candidates.option] + (ready.candidates.cuts != NO_DAY).sum(axis=1), crops


def _repeating(ready: Prepared, effort: SolveOptions) -> Iterator[tuple[str, IntArray]]:
    """Yield a phrase and the sites of the best cyclic plan; none where no two weeks have the same sun."""
    if not weeks_are_alike(ready):
        return
    listed = np.array([want.on is not None for want in ready.space.wants])
    best = best_cyclic_plan(
        ready.task,
        ready.candidates,
        ordinary_week_columns(ready),
        listed,
        time_limit_s=effort.time_limit_s / 2,
        stop=effort.stop,
    )
    weeks = best.period_weeks
    yield f"the same every {weeks} weeks" if weeks > 1 else "the same every week", best.solution.n


def _habit_text(habit: Habit, crops: list[str], names: dict[str, str]) -> str:
    each, cuts = divmod(habit.kind % KINDS, 100)
    often = f", cut {cuts} times" if cuts > 1 else ""
    often += f", on every {NTH[each]} site" if each > 1 else ""
    sites = f"{habit.sites} site{'s' if habit.sites > 1 else ''}"
    return f"{names[crops[habit.kind // KINDS]]}: {sites} every {habit.every_d} days{often}"


def _sowings(candidates: CandidateColumns, crop: IntArray, n: IntArray) -> list[list[int]]:
    """Return the sites sown on each sowing day, crop by crop."""
    used = np.flatnonzero(n > 0)
    sown, at = np.unique(np.column_stack([crop[used], candidates.sown[used]]), axis=0, return_inverse=True)
    sizes = np.bincount(at.ravel(), n[used], len(sown)).astype(np.int64)
    return [sizes[sown[:, 0] == crop_sown].tolist() for crop_sown in np.unique(sown[:, 0])]


def _usual_size_share(sizes: list[list[int]]) -> float:
    """Return the share of sowings that are of the crop's most usual size; 1 if nothing is sown."""
    total = sum(map(len, sizes))
    return sum(max(map(of_crop.count, of_crop)) for of_crop in sizes) / total if total else 1.0


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
