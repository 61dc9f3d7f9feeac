"""Continuations of standing batches: columns of the programme, and the plots of those it picks."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from cropcal.optimize.programme import Columns, IntArray
from cropcal.planning.candidates.columns import weekday_patterns
from cropcal.planning.candidates.eligible import Capacity, SiteGroup
from cropcal.planning.candidates.service_weeks import NEVER, ServiceWeeks
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.growth.crop_growth import GRAM_DIGITS, LAST_DAY, GrowthTable, grow, growth_table
from cropcal.planning.growth.crop_in_bed import suits_bed
from cropcal.planning.growth.pace import UNLEARNED, Paces
from cropcal.planning.growth.plugs import grow_plug
from cropcal.planning.history.calibration import stages_of
from cropcal.planning.history.observed_conditions import Conditions
from cropcal.planning.replan.standing import StandingBatch, StandingPlot
from cropcal.records.batch_history import SLIP_D
from cropcal.records.crop import Crop, CropTables, cut_at
from cropcal.science.spread import range_not_before

SOON_D = 7
"""Days from today whose jobs should stay where they are."""

CHOICES = 2
"""Work or harvest days offered to overdue plots."""

NOTHING = (0.0, 0.0, 0.0)
Cuts = tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Continuation:
    """One continuation of a site of a group, in one place: days counted from the plan's start.

    ``cuts`` are the future cuts, and ``amounts`` the yield of a site at each (median, low, high). Plants that
    are not ready before the plan ends stand until then: their one cut is the plan's end, with no yield.
    """

    place: int
    planted: int
    cuts: Cuts
    amounts: tuple[tuple[float, float, float], ...]
    staleness: float
    grown: GrowthTable


@dataclass(frozen=True, eq=False)
class PlotGroup:
    """Standing plots of a batch that are alike: in one place, with the same room and number of cuts done.

    ``place`` is where they stand or are planned to; seedlings in a nursery may still go elsewhere in the bed.
    Plots that are not ``wanted`` stand until they are ready, and count for no want (``want`` is arbitrary).
    """

    batch: StandingBatch
    want: int
    place: int
    plots: tuple[StandingPlot, ...]
    ways: tuple[Continuation, ...]
    wanted: bool = True

    @property
    def each(self) -> int:
        """Return the sites that each of its plants holds."""
        return self.plots[0].each

    def before(self, way: Continuation, time: WorkCalendar) -> tuple[StandingPlot, ...]:
        """Return the plots for which the previous plan had this continuation."""
        moves = self.batch.planned.transplant_on
        if self.batch.waits and (moves != time.date_of(way.planted) or way.place != self.place):
            return ()
        days = tuple(time.date_of(day) for day in way.cuts)
        return tuple(plot for plot in self.plots if plot.left == days)


@dataclass(frozen=True, eq=False)
class ReplanContext:
    """Capacity, calendar, first day to plan, observed conditions, crops and growth rates."""

    land: Capacity
    time: WorkCalendar
    serving: ServiceWeeks
    today: int
    clean_days: int
    conditions: Conditions
    tables: CropTables
    paces: Paces


def plot_groups(
    batches: Sequence[StandingBatch], wants: Mapping[str, int], context: ReplanContext
) -> tuple[PlotGroup, ...]:
    """Return the groups of standing plots, each with all its continuations.

    ``wants``: number of a want that takes a crop, by slug. Plants that nobody wants stand on their sites
    until they are ready, and count for nothing.
    """
    groups = []
    places, sites_taken = context.land.places, _sites_taken(batches, context.land.places)
    for batch in batches:
        plots_by_place: dict[tuple[int, int, int], list[StandingPlot]] = {}
        places_of_bed = [number for number, place in enumerate(places) if place.bed.name == batch.history.bed]
        for plot in batch.standing if places_of_bed else ():
            place = _place(plot, places_of_bed, places, sites_taken)
            plots_by_place.setdefault((place, len(plot.done), plot.each), []).append(plot)
        want = batch.planned.want if batch.planned.want >= 0 else wants.get(batch.planned.crop, -1)
        for (place, _, _), plots in sorted(plots_by_place.items()):
            ways = [
                way
                for number in (places_of_bed if batch.waits else [place])
                for way in _continuations(batch, plots, number, context)
            ]
            groups.append(PlotGroup(batch, max(want, 0), place, tuple(plots), tuple(ways), wanted=want >= 0))
    return tuple(groups)


def with_destination(
    batches: Sequence[StandingBatch], places: Sequence[SiteGroup], crops: Mapping[str, Crop]
) -> tuple[StandingBatch, ...]:
    """Return the batches; those in a nursery with no known bed are sent to the largest suitable place."""
    batches_bound = []
    for batch in batches:
        if batch.waits and batch.history.bed == batch.history.nursery:
            suitable = [place for place in places if suits_bed(crops[batch.history.crop], place.bed)]
            if suitable:
                bed = max(suitable, key=lambda place: len(place.sites)).bed.name
                was = batch.planned.model_copy(update={"bed": bed})
                batch = replace(batch, planned=was, history=batch.history.model_copy(update={"bed": bed}))
        batches_bound.append(batch)
    return tuple(batches_bound)


def _sites_taken(batches: Sequence[StandingBatch], places: Sequence[SiteGroup]) -> Counter[int]:
    """Return the sites of each place held by plants whose site is known."""
    number_of = {
        (place.bed.name, site): number for number, place in enumerate(places) for site in place.sites
    }
    return Counter(
        number_of.get((batch.history.bed, site), -1)
        for batch in batches
        if not batch.waits
        for plot in batch.standing
        for site in plot.held
    )


def _place(
    plot: StandingPlot, places_of_bed: Sequence[int], places: Sequence[SiteGroup], taken: Counter[int]
) -> int:
    """Return the number of the place, of those of the bed, in which a plot is.

    An unknown site is taken to be in the place with most room, and counted there.
    """
    known = next((number for number in places_of_bed if plot.site in places[number].sites), None)
    if known is not None:
        return known
    freest = max(places_of_bed, key=lambda number: len(places[number].sites) - taken[number])
    taken[freest] += plot.each
    return freest


def _continuations(
    batch: StandingBatch, plots: Sequence[StandingPlot], number: int, context: ReplanContext
) -> tuple[Continuation, ...]:
    """Return all continuations, in one place, of plots of one batch with the same cuts done."""
    place = context.land.places[number]
    continuations: dict[tuple[int, Cuts], Continuation] = {}
    for planted in _planting_days(batch, context):
        grown = _growth(batch, planted, place, context)
        if grown is None:
            continue
        if batch.history.emerged_on is not None or batch.history.moved_on is not None:
            grown = replace(grown, stand=1.0)  # all of them have come up
        for cuts, at, stale in _cut_days(batch, plots, grown, context):
            if any(planted <= last and cuts[-1] >= first for first, last in place.closed(context.time)):
                continue
            last = len(plots[0].done) + len(cuts) > 1
            amounts = _amounts(grown, at, chained=last) if cuts[-1] < context.time.days else (NOTHING,)
            continuations.setdefault(
                (planted, cuts), Continuation(number, planted, cuts, amounts, stale, grown)
            )
    return tuple(continuations[key] for key in sorted(continuations))


def _planting_days(batch: StandingBatch, context: ReplanContext) -> list[int]:
    """Return the days from which its site may be held: the real one, or those left for transplanting."""
    time, history = context.time, batch.history
    if not batch.waits:
        return [time.day_of(history.moved_on or history.sown_on)]
    crop, sown = context.tables.crops[history.crop], time.day_of(history.sown_on)
    work = time.work_days[time.work_days >= max(context.today, sown + crop.nursery_d)]
    due = [int(day) for day in work if day <= sown + crop.nursery_d + crop.nursery_hold_d]
    return due or [int(day) for day in work[:CHOICES]]


def _growth(
    batch: StandingBatch, planted: int, place: SiteGroup, context: ReplanContext
) -> GrowthTable | None:
    """Return the growth table of a batch with its real history, days counted from its sowing."""
    bed, time, history = place.bed.name, context.time, batch.history
    want = batch.planned.want
    wanted_g = context.serving.wants[want].cut_at(history.crop) if want >= 0 else batch.planned.cut_at_g
    crop = cut_at(context.tables.crops[history.crop], wanted_g)
    if crop.kind == "shoots":
        return grow(crop, context.tables, place.spot, None)
    if history.plug_age_d is not None:
        pace = context.paces.get((crop.slug, bed), UNLEARNED)
        spot = place.spot.shared_out(history.sites_each)
        return grow_plug(crop, context.tables, spot, history.plug_age_d, pace)
    if batch.waits:
        history = history.model_copy(update={"moved_on": time.date_of(planted)})
    if history.nursery not in context.conditions.spots:  # the nursery is no longer in the file
        history = history.model_copy(update={"nursery": None})
    conditions = context.conditions.at_place(place.spot, place.light.ppfd_umol_m2_s)
    days_ahead = LAST_DAY if place.spot.seasons else CHOICES
    spots, ends = conditions.stages(history, time.date_of(max(planted, context.today) + days_ahead))
    pace = context.paces.get((crop.slug, bed), UNLEARNED)
    stages = stages_of(crop, context.tables, history, spots, ends, pace)
    nursery = context.land.nursery_conditions.get(history.nursery or "")
    age = np.array([planted - time.day_of(history.sown_on)])
    grown = growth_table(stages, age, nursery) if stages is not None else None
    checked_on = [history.days(entry.on) for entry in history.of("not ready")]
    return (
        _delayed(grown, max(checked_on))
        if grown is not None and checked_on and not history.of("harvested")
        else grown
    )


def _delayed(grown: GrowthTable, checked: int) -> GrowthTable:
    """Return the growth table of a batch that was not ready ``checked`` days after sowing: all later."""
    low, middle, high = grown.ready_d
    ready = np.stack(range_not_before(low, middle, high, checked))
    late = round(float(ready[1, 0] - grown.ready_d[1, 0]))
    days = np.clip(np.arange(LAST_DAY + 1) - late, 0, LAST_DAY)
    masses = {name: getattr(grown, name)[..., days] for name in ("amount", "low", "high", "g_per_plant")}
    return replace(grown, ready_d=ready, late_d=late, **masses)


Choice = tuple[Cuts, tuple[int, ...], float]
"""Cut days, the days after sowing whose weight each cut has, and staleness."""


def _cut_days(
    batch: StandingBatch, plots: Sequence[StandingPlot], grown: GrowthTable, context: ReplanContext
) -> list[Choice]:
    """Return the choices of cut days from today, after the last day on which it was noted as not ready."""
    crop, time = grown.crop, context.time
    sown, done = time.day_of(batch.history.sown_on), len(plots[0].done)
    ready = ceil(grown.ready_d[1][0])
    gaps = [ceil(gap) for gap in grown.cut_gaps_d[0]] if crop.cuts_max > 1 else []
    if done:
        gap = gaps[min(done, len(gaps)) - 1] if gaps else 0
        due = time.day_of(plots[0].done[-1]) + gap
    else:
        due = sown + ready
    first = context.today
    if checked_on := batch.history.not_ready_on:
        first, due = max(first, time.day_of(checked_on) + 1), max(due, time.day_of(checked_on) + 1)
    harvest = time.harvest_days[time.harvest_days >= first]
    window = harvest[(harvest >= due - grown.early_d) & (harvest <= due + crop.window_d)]
    if not len(window):
        window = harvest[harvest >= due][:CHOICES]
    firsts = {int(day) for day in window}
    for plot in plots:  # a short slip moves no job
        day = time.day_of(plot.left[0]) if plot.left else -1
        if day in harvest and day >= due - SLIP_D:
            firsts.add(day)
    if not firsts:
        return [((time.days,), (LAST_DAY,), 0.0)]

    def single(day: int) -> Choice:
        stale = min(max((day - due) / max(crop.window_d, 1), 0.0), 1.0)
        return (day,), (ready + day - due,), stale

    choices: list[Choice] = [single(day) for day in sorted(firsts)] if not done else []
    if done:
        choices += [((begin,), (ready + begin - due,), 0.0) for begin in sorted(firsts)]
    for days_of_pattern in weekday_patterns(harvest) if crop.cuts_max > done + 1 else []:
        for begin in sorted(firsts) if done else [_first(firsts & set(days_of_pattern.tolist()), due)]:
            days, late = [begin], [begin - due]
            for number in range(done + 1, crop.cuts_max):
                then = days[-1] + gaps[number - 1]
                day = _nearest(days_of_pattern, then, crop.window_d, grown.early_d)
                if day < 0 or begin < 0:
                    break
                days.append(day)
                late.append(day - then)
                choices.append((tuple(days), tuple(ready + delay for delay in late), 0.0))
    return [choice for choice in choices if choice[0][-1] >= 0 and max(choice[1]) <= LAST_DAY]


def _first(days: set[int], due: int) -> int:
    """Return the first day from the due day on, else the last before it; -1 if there is none."""
    later = [day for day in days if day >= due]
    return min(later) if later else max(days, default=-1)


def _nearest(harvest: IntArray, due: int, window_d: int, early_d: int) -> int:
    later, earlier = harvest[harvest >= due], harvest[harvest < due]
    if len(later) and later[0] <= due + window_d:
        return int(later[0])
    return int(earlier[-1]) if len(earlier) and earlier[-1] >= due - early_d else -1


def _amounts(
    grown: GrowthTable, at: tuple[int, ...], *, chained: bool
) -> tuple[tuple[float, float, float], ...]:
    """Return the yield of a site at each cut (median, low, high): all of the plant at the last."""
    stays = 1.0 - grown.crop.cut_leaves_share if chained else 1.0
    amounts = []
    for number, day in enumerate(at):
        share = 1.0 if number == len(at) - 1 else stays
        row = [float(table[0, min(max(day, 0), LAST_DAY)]) for table in (grown.amount, grown.low, grown.high)]
        amounts.append(tuple(round(value * share, GRAM_DIGITS) for value in row) if chained else tuple(row))
    return tuple((float(middle), float(low), float(high)) for middle, low, high in amounts)


def continuation_columns(groups: Sequence[PlotGroup], context: ReplanContext) -> tuple[Columns, IntArray]:
    """Return the continuations of all groups as columns, and the group number of each column.

    Only days from today cost and hold sites.
    """
    land, today = context.land, context.today
    rows = [(number, group, way) for number, group in enumerate(groups) for way in group.ways]
    nursery_of = {bed.name: number for number, bed in enumerate(land.nurseries)}

    def column(of: Callable[[PlotGroup, Continuation], float]) -> IntArray:
        return np.array([of(group, way) for _, group, way in rows], dtype=np.int64)

    def held_from(group: PlotGroup, way: Continuation) -> int:
        return max(way.planted, today)

    def cost(group: PlotGroup, way: Continuation) -> float:
        place, nursery = land.places[way.place].bed.name, group.batch.history.nursery or ""
        wait = held_from(group, way) - today if group.batch.waits else 0
        stand = way.cuts[-1] + context.clean_days - held_from(group, way)
        return stand * group.each * land.day_cost[place] + wait * land.day_cost.get(nursery, 0.0)

    def week_of(group: PlotGroup, day: int) -> int:
        return int(context.serving.by_day(group.want, group.batch.planned.crop)[day])

    entries = [
        (number, week, amount[0], context.serving.weeks_kept(group.want, way.grown.crop.slug, day))
        for number, (_, group, way) in enumerate(rows)
        for day, amount in zip(way.cuts, way.amounts, strict=True)
        if group.wanted and amount[0] > 0 and (week := week_of(group, day)) != NEVER
    ]
    columns = Columns(
        want=column(lambda group, _: group.want),
        place=column(lambda _, way: way.place),
        nursery=column(
            lambda group, _: (
                nursery_of.get(group.batch.history.nursery or "", -1) if group.batch.waits else -1
            )
        ),
        sown=column(lambda group, way: today if group.batch.waits else held_from(group, way)),
        planted=column(held_from),
        freed=column(lambda _, way: way.cuts[-1] + context.clean_days),
        cost=np.array([cost(group, way) for _, group, way in rows]),
        staleness=np.array([way.staleness for _, _, way in rows]),
        supply_column=np.array([entry[0] for entry in entries], dtype=np.int64),
        supply_week=np.array([entry[1] for entry in entries], dtype=np.int64),
        supply_amount=np.array([entry[2] for entry in entries]),
        supply_keeps=np.array([entry[3] for entry in entries], dtype=np.int64),
        held=column(lambda group, _: group.each),
    )
    return columns, np.array([number for number, _, _ in rows], dtype=np.int64)


def planned_counts(groups: Sequence[PlotGroup], time: WorkCalendar) -> list[int]:
    """Return the plots that the previous plan had in each continuation, column by column."""
    return [len(group.before(way, time)) for group in groups for way in group.ways]


def share_out_plots(
    groups: Sequence[PlotGroup], chosen: IntArray, time: WorkCalendar
) -> list[tuple[PlotGroup, Continuation, list[StandingPlot]]]:
    """Return the plots of each chosen continuation: first those for which it was planned before."""
    shares: list[tuple[PlotGroup, Continuation, list[StandingPlot]]] = []
    at = 0
    for group in groups:
        counts = {way: int(chosen[at + number]) for number, way in enumerate(group.ways)}
        at += len(group.ways)
        left = list(group.plots)
        parts: dict[Continuation, list[StandingPlot]] = {}
        for way, count in counts.items():
            parts[way] = [plot for plot in group.before(way, time) if plot in left][:count]
            left = [plot for plot in left if not any(plot is given for given in parts[way])]
        for way, count in counts.items():
            more = count - len(parts[way])
            parts[way], left = [*parts[way], *left[:more]], left[more:]
            if parts[way]:
                shares.append((group, way, parts[way]))
    return shares
