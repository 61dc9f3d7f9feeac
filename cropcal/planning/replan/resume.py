"""Planning again: the same programme, with standing crops as columns that are sown already."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date, timedelta

import numpy as np

from cropcal.optimize.programme import (
    Columns,
    FloatArray,
    IntArray,
    PreviousPlan,
    Task,
    usual_cost,
)
from cropcal.planning.candidates.assessment import Assessment
from cropcal.planning.candidates.columns import (
    NO_DAY,
    CandidateColumns,
    variety_kinds,
    variety_numbers,
)
from cropcal.planning.candidates.columns import programme_columns as way_columns
from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.growth.pace import Paces
from cropcal.planning.history.observed_conditions import observed_conditions
from cropcal.planning.history.past_settings import past_conditions
from cropcal.planning.replan.changes import plan_changes
from cropcal.planning.replan.consumed import (
    cut_already,
    stock_columns,
    stored_after_week,
    with_keeping_weeks,
)
from cropcal.planning.replan.continuations import (
    SOON_D,
    Continuation,
    PlotGroup,
    ReplanContext,
    continuation_columns,
    planned_counts,
    plot_groups,
    share_out_plots,
    with_destination,
)
from cropcal.planning.replan.continued import continued_batch, continued_hold
from cropcal.planning.replan.standing import StandingBatch, StandingPlot, standing_batches
from cropcal.planning.schedule.batches import (
    Earlier,
    Hold,
    batches,
    in_order,
    site_uses,
)
from cropcal.planning.schedule.spares import NO_SPARE, CellsSown, with_cells
from cropcal.planning.site.bed_light import lux_factors
from cropcal.records.crop import CropTables
from cropcal.records.plan import Batch, SiteUse
from cropcal.records.replan import Replan, TakenDone
from cropcal.records.space import Space, Want
from cropcal.records.written_plan import Past

CHANGE_WEIGHT, CHANGE_WEIGHT_SOON = 12.0, 20.0
"""Weight of moving a site that brings all of a week's want (100 is a week without), and the weight if one of
its jobs is due in the next days. Both are above the weight of a week's want too many (10): a planned sowing
is not dropped because late plants fill its week, for forecasts miss and it is the reserve (assumed)."""
CHANGE_WEIGHT_LEAST = 0.05
UNREADY_WEIGHT = 0.1
"""Weight of giving up plants that are not ready before the plan ends, as a share of the usual: they stay for
the next plan, but give way to what is wanted in this one (assumed)."""


@dataclass(frozen=True, eq=False)
class Continued:
    """Batches, uses of sites and changes of a plan that goes on; what stands, and what new columns hold."""

    batches: tuple[Batch, ...]
    sites: tuple[SiteUse, ...]
    again: Replan
    parts: tuple[tuple[PlotGroup, Continuation, list[StandingPlot]], ...]
    holds: tuple[Hold, ...]


@dataclass(frozen=True, eq=False)
class Resumed:
    """A task that resumes from a day, and what is needed to make a plan of its solution.

    Its columns are the continuations of each group, the stock already harvested, and the candidates of new
    sowings, in that order. ``losses``: share of a batch that is taken to be lost, though nobody noted it, by
    its id.
    """

    past: Past
    context: ReplanContext
    standing: tuple[StandingBatch, ...]
    taken_done: tuple[TakenDone, ...]
    groups: tuple[PlotGroup, ...]
    candidates: CandidateColumns
    earlier: Earlier
    task: Task
    losses: Mapping[str, float] = field(default_factory=dict)

    def finish(self, n: IntArray, cells: CellsSown = NO_SPARE) -> "Continued":
        """Return all batches by sowing, the uses of sites, the changes, and what stands.

        ``cells`` are those of the sowings still to come where some are spare.
        """
        context, past = self.context, self.past
        new_n = n[len(n) - self.candidates.count :]
        parts = share_out_plots(self.groups, n, context.time)
        fresh, holds = batches(self.candidates, new_n, context.land.places, context.time, self.earlier)
        continued_holds = [continued_hold(group, way, plots, context) for group, way, plots in parts]
        ended = [use for standing_batch in self.standing for use in standing_batch.uses()]
        dropped = [use for group in self.groups for use in _given_up(group, parts, context)]
        uses = site_uses([*continued_holds, *holds], context.land.places, context.time, context.clean_days)
        sites = in_order([*uses, *ended, *dropped])
        continued = [
            continued_batch(
                standing_batch, [part for part in parts if part[0].batch is standing_batch], context
            )
            for standing_batch in self.standing
        ]
        fresh = with_cells(fresh, cells, context.time.start)
        number_before = {batch.id: number for number, batch in enumerate(past.batches)}
        all_batches = sorted(
            [*continued, *fresh],
            key=lambda batch: (batch.sow_on, number_before.get(batch.id, len(number_before)), batch.id),
        )
        reached = max((row.week + timedelta(weeks=1) for row in past.supply), default=date.max)
        revisions = plan_changes(
            past.batches, self.standing, all_batches, parts, self.groups, context.time, reached
        )
        replanned = Replan(
            on=past.on, compared=bool(past.batches), revisions=revisions, taken_done=self.taken_done
        )
        return Continued(tuple(all_batches), sites, replanned, tuple(parts), holds)

    @property
    def still_to_sow(self) -> tuple[Batch, ...]:
        """Return the batches of the last plan that are not begun, and not overdue."""
        begun = {batch.planned.id for batch in self.standing}
        return tuple(
            batch for batch in self.past.batches if batch.id not in begun and batch.sow_on >= self.past.on
        )

    @property
    def cut_already(self) -> dict[tuple[int, int, int], float]:
        """Return the amounts cut until now, by (want, week, weeks for which they keep)."""
        return cut_already(self.standing, self.context.serving)


def resume(
    past: Past,
    space: Space,
    tables: CropTables,
    assessment: Assessment,
    candidates: CandidateColumns,
    task: Task,
    serving: ServiceWeeks,
    wanted: Demand,
    paces: Paces | None = None,
) -> Resumed:
    """Return the task resumed from the day of the past.

    ``task`` is the one of the plan's start: its demand stays, and harvests since then count.
    """
    time = serving.time
    nurseries = frozenset(bed.name for bed in assessment.land.nurseries)
    wants = {slug: number for number, want in reversed(list(enumerate(space.wants))) for slug in want.crops}
    past = past.model_copy(update={"batches": tuple(_wanted(batch, space, wants) for batch in past.batches)})
    standing, taken_done = standing_batches(past, tables.crops, nurseries)
    taken = frozenset(batch.id for batch in past.batches) | {event.batch for event in past.events}
    taken |= {batch_or_group.planned.id for batch_or_group in standing}
    ended = {
        batch_or_group.planned.id
        for batch_or_group in standing
        if batch_or_group.ended_before(space.settings.start)
    }
    still_needed = tuple(batch for batch in past.batches if batch.id not in ended)
    past = past.model_copy(update={"batches": still_needed})
    standing = tuple(
        replace(batch_or_group, planned=_wanted(batch_or_group.planned, space, wants))
        for batch_or_group in standing
        if batch_or_group.planned.id not in ended
    )
    standing = with_destination(standing, assessment.land.places, tables.crops)
    context = ReplanContext(
        land=assessment.land,
        time=time,
        serving=serving,
        today=time.day_of(past.on),
        clean_days=space.settings.clean_days,
        conditions=observed_conditions(
            space, assessment.lights, past.events, lux_factors(space, tables), past_conditions(space, tables)
        ),
        tables=tables,
        paces=paces or {},
    )
    groups = plot_groups(standing, wants, context)
    continuing, group_of = continuation_columns(groups, context)
    demand = np.where(task.demand > 0, task.demand, wanted.with_stock(continuing))
    reserve = stored_after_week(past.supply, space.wants, time)
    eaten_or_kept = with_keeping_weeks(
        cut_already(standing, serving), demand, reserve, context.today // DAYS_PER_WEEK
    )
    stock = stock_columns(eaten_or_kept, context.today)
    stock_count = stock.count
    fresh = _only(candidates, np.flatnonzero(candidates.sown >= context.today))
    ids, sites, planned, same_day = _still_to_sow(past, standing, fresh, context)
    group_count = len(groups)
    all_columns = _joined([continuing, stock, way_columns(fresh)])
    task = replace(task, demand=demand)
    everything = replace(
        task, columns=all_columns, kind=_kinds(space.wants, groups, group_of, stock_count, fresh)
    )
    everything = replace(everything, cost_unit=usual_cost(everything))
    counts = np.array([len(batch_or_group.plots) for batch_or_group in groups], dtype=np.int64)
    before = PreviousPlan(
        group=np.concatenate(
            [group_of, group_count + np.arange(stock_count), np.full(fresh.count, -1)],
            dtype=np.int64,
            casting="unsafe",
        ),
        planned=np.array([*planned_counts(groups, time), *[0] * stock_count, *planned], dtype=np.int64),
        calm=_change_weights(
            everything, [*_jobs_of(groups), *[()] * stock_count, *_new_jobs(fresh)], context.today
        ),
        stands=np.concatenate([counts, np.ones(stock_count, dtype=np.int64)]),
        worth=np.array(
            [*(_drop_weight(batch_or_group, time) for batch_or_group in groups), *[1.0] * stock_count]
        ),
    )
    return Resumed(
        past=past,
        context=context,
        standing=standing,
        taken_done=taken_done,
        groups=groups,
        candidates=fresh,
        earlier=Earlier(ids, taken, sites, same_day),
        task=replace(everything, before=before),
    )


def _kinds(
    wants: Sequence[Want],
    groups: Sequence[PlotGroup],
    group: IntArray,
    stock_count: int,
    new: CandidateColumns,
) -> IntArray | None:
    """Return the variety number of each column, None if no want asks for variety."""
    fresh, number = variety_kinds(wants, new), variety_numbers(wants)
    if fresh is None:
        return None
    continuing = [number.get((groups[at].want, groups[at].batch.planned.crop), -1) for at in group]
    return np.array([*continuing, *[-1] * stock_count, *fresh], dtype=np.int64)


def _wanted(batch: Batch, space: Space, wants: Mapping[str, int]) -> Batch:
    """Return a batch with the number of the want that it now serves, -1 if there is none."""
    if 0 <= batch.want < len(space.wants) and batch.crop in space.wants[batch.want].crops:
        return batch
    return batch.model_copy(update={"want": wants.get(batch.crop, -1)})


def _joined(blocks: Sequence[Columns]) -> Columns:
    """Return the columns of all blocks, one after another."""
    shift = np.cumsum([0, *(part.count for part in blocks)])
    joined = {
        item.name: np.concatenate([getattr(part, item.name) for part in blocks]) for item in fields(Columns)
    }
    joined["supply_column"] = np.concatenate(
        [part.supply_column + first for part, first in zip(blocks, shift, strict=False)]
    )
    return Columns(**joined)


def _only(candidates: CandidateColumns, rows: IntArray) -> CandidateColumns:
    names = [item.name for item in fields(CandidateColumns) if item.name not in ("options", "limits")]
    return CandidateColumns(
        options=candidates.options,
        limits=candidates.limits,
        **{name: getattr(candidates, name)[rows] for name in names},
    )


def _still_to_sow(
    past: Past, standing: Sequence[StandingBatch], fresh: CandidateColumns, context: ReplanContext
) -> tuple[
    dict[tuple[int, int, int], str],
    dict[int, tuple[int, ...]],
    list[int],
    dict[tuple[int, str, int], tuple[str, ...]],
]:
    """Return the sowings still to come of the previous plan: ids by sowing, sites and count by column.

    The last item has all ids by want, crop and day of sowing.
    """
    time, places = context.time, context.land.places
    begun = {group_of_sites.planned.id for group_of_sites in standing}
    to_sow = {batch.id: batch for batch in past.batches if batch.id not in begun and batch.sow_on >= past.on}
    days = {time.day_of(batch.sow_on) for batch in to_sow.values()}
    number_of: dict[tuple[int, str, str, str | None, int, int, int, tuple[int, ...]], int] = {}
    for row in np.flatnonzero(np.isin(fresh.sown, sorted(days))):
        option = fresh.options[fresh.option[row]]
        cuts = tuple(int(day) for day in fresh.cuts[row] if day != NO_DAY)
        key = (option.want, option.grown.crop.slug, str(option.place), option.grown.nursery)
        number_of[(*key, option.sites_each, int(fresh.sown[row]), int(fresh.planted[row]), cuts)] = int(row)
    ids: dict[tuple[int, int, int], str] = {}
    counts: Counter[int] = Counter()
    sites: dict[int, tuple[int, ...]] = {}
    beside: dict[tuple[str, int], tuple[int, ...]] = {}
    for use in past.sites:
        if not use.planted:
            key_of_plant = (use.batch, use.empty_for)
            beside[key_of_plant] = (*beside.get(key_of_plant, ()), use.site)
    for use in past.sites:
        batch = to_sow.get(use.batch)
        place = next(
            (
                at
                for at, group_of_sites in enumerate(places)
                if group_of_sites.bed.name == use.bed and use.site in group_of_sites.sites
            ),
            -1,
        )
        if batch is None or place < 0 or not use.planted:
            continue
        cuts = tuple(time.day_of(day) for day in use.cuts)
        sown, planted = time.day_of(batch.sow_on), time.day_of(batch.planted_on)
        where = (batch.want, batch.crop, str(place), batch.nursery, batch.sites_each)
        at = number_of.get((*where, sown, planted, cuts))
        if at is not None:
            sites[at] = (*sites.get(at, ()), use.site, *beside.get((use.batch, use.site), ()))
            counts[at] += 1
            ids[(int(fresh.option[at]), sown, planted)] = batch.id
    same_day: dict[tuple[int, str, int], tuple[str, ...]] = {}
    for batch in to_sow.values():
        day = (batch.want, batch.crop, time.day_of(batch.sow_on))
        same_day[day] = (*same_day.get(day, ()), batch.id)
    return ids, sites, [counts[row] for row in range(fresh.count)], same_day


def _jobs_of(groups: Sequence[PlotGroup]) -> list[tuple[int, ...]]:
    return [
        (*((way.planted,) if group.batch.waits else ()), *way.cuts) for group in groups for way in group.ways
    ]


def _new_jobs(new: CandidateColumns) -> list[tuple[int, ...]]:
    return [
        (int(sown), int(planted), *map(int, cuts))
        for sown, planted, cuts in zip(new.sown, new.planted, new.cuts, strict=True)
    ]


def _change_weights(task: Task, days: Sequence[tuple[int, ...]], today: int) -> FloatArray:
    """Return the weight of moving one site of each column, by its yield and how soon its jobs are due."""
    entries = task.entries
    useful = np.bincount(entries.column, entries.share * entries.counted, task.columns.count)
    soon = np.array([any(today <= day < today + SOON_D for day in jobs) for jobs in days], dtype=bool)
    return np.maximum(np.where(soon, CHANGE_WEIGHT_SOON, CHANGE_WEIGHT) * useful, CHANGE_WEIGHT_LEAST)


def _drop_weight(group: PlotGroup, time: WorkCalendar) -> float:
    """Return the weight of giving up a site of a group: less if it is not ready within the plan."""
    return UNREADY_WEIGHT if all(way.cuts[-1] >= time.days for way in group.ways) else 1.0


def _given_up(
    group: PlotGroup,
    parts: Sequence[tuple[PlotGroup, Continuation, list[StandingPlot]]],
    context: ReplanContext,
) -> list[SiteUse]:
    """Return the uses of sites of plots that are given up: held until today."""
    plots_continued = [plot for other, _, plots in parts if other is group for plot in plots]
    if group.batch.waits:
        return []
    history, today = group.batch.history, context.time.date_of(context.today)
    since = history.moved_on or history.sown_on
    return [
        use
        for plot in group.plots
        if not any(plot is continued for continued in plots_continued)
        for use in plot.uses(history.bed, history.batch, history.crop, since, today)
    ]
