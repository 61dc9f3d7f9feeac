"""Planning again: the same programme, with what stands as columns that are sown already."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

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
from cropcal.planning.replan.standing_lots import standing_lots
from cropcal.planning.risk.lots import Lot, sown_lots
from cropcal.planning.risk.spares import Spare, no_spare
from cropcal.planning.schedule.batches import (
    Earlier,
    batches,
    in_order,
    site_uses,
)
from cropcal.planning.site.bed_light import lux_factors
from cropcal.records.crop import CropTables
from cropcal.records.past import Past
from cropcal.records.plan import Batch, SiteUse
from cropcal.records.replan import Replan, TakenDone
from cropcal.records.space import Space, Want

CHANGE_WEIGHT, CHANGE_WEIGHT_SOON = 12.0, 20.0
"""What moving a site weighs that brings all of a week's want, of which 100 is a week without; more if one of
its jobs is due in the next days. More than a week's want too many (10): what was planned is not left unsown
because late plants fill its week, for forecasts miss and it is all there is to fall back on (assumed)."""
CHANGE_WEIGHT_LEAST = 0.05
UNREADY_WEIGHT = 0.1
"""What giving up plants weighs that are not ready before the plan ends, as a share of the usual: they stand
on for the next plan, but give way to what is wanted in this one (assumed)."""


@dataclass(frozen=True, eq=False)
class Resumed:
    """A task that goes on from a day, and what it takes to make a plan of its solution.

    Its columns are the ways to go on with each group, one for what was harvested, and the ways
    of new sowings, in that turn.
    """

    past: Past
    room: ReplanContext
    kept: tuple[StandingBatch, ...]
    taken_done: tuple[TakenDone, ...]
    groups: tuple[PlotGroup, ...]
    ways: CandidateColumns
    earlier: Earlier
    task: Task

    def finish(
        self, n: IntArray, spare: Spare = no_spare
    ) -> tuple[tuple[Batch, ...], tuple[SiteUse, ...], Replan, list[Lot], list[Lot]]:
        """Return all batches by sowing, who holds which site when, what became different, and the lots.

        The lots that stand come first, then those yet to be sown.
        ``spare`` gives the batches that are yet to be sown their spare cells and seeds.
        """
        room, past = self.room, self.past
        new_n = n[len(n) - self.ways.count :]
        parts = share_out_plots(self.groups, n, room.time)
        fresh, holds = batches(self.ways, new_n, room.land.places, room.time, self.earlier)
        going = [continued_hold(group, way, plots, room) for group, way, plots in parts]
        ended = [use for one in self.kept for use in one.uses()]
        dropped = [use for group in self.groups for use in _given_up(group, parts, room)]
        uses = site_uses([*going, *holds], room.land.places, room.time, room.clean_days)
        sites = in_order([*uses, *ended, *dropped])
        old = [
            continued_batch(one, [part for part in parts if part[0].kept is one], room) for one in self.kept
        ]
        fresh = spare(fresh, old)
        turn = {batch.id: number for number, batch in enumerate(past.batches)}
        made = sorted(
            [*old, *fresh], key=lambda batch: (batch.sow_on, turn.get(batch.id, len(turn)), batch.id)
        )
        changes = plan_changes(past.batches, self.kept, made, parts, self.groups, room.time)
        of_id = {batch.id: batch for batch in made}
        standing = standing_lots(parts, of_id, room.land, room.serving, room.today)
        lots = sown_lots(self.ways, new_n, holds, of_id, room.land, room.serving)
        changed = Replan(
            on=past.on, compared=bool(past.batches), revisions=changes, taken_done=self.taken_done
        )
        return tuple(made), sites, changed, standing, lots

    @property
    def cut_already(self) -> dict[tuple[int, int, int], float]:
        """Return what was cut until now, by want, week and weeks for which it is kept."""
        return cut_already(self.kept, self.room.serving)


def resume(
    past: Past,
    space: Space,
    tables: CropTables,
    seen: Assessment,
    found: CandidateColumns,
    task: Task,
    serving: ServiceWeeks,
    wanted: Demand,
    paces: Paces | None = None,
) -> Resumed:
    """Return the task as it stands on the day of the past.

    ``task`` is the one that the plan's start had: its demand holds, whatever was harvested since counts.
    """
    time = serving.time
    nurseries = frozenset(bed.name for bed in seen.land.nurseries)
    wants = {slug: number for number, want in reversed(list(enumerate(space.wants))) for slug in want.crops}
    past = past.model_copy(update={"batches": tuple(_wanted(batch, space, wants) for batch in past.batches)})
    stand, taken_done = standing_batches(past, tables.crops, nurseries)
    taken = frozenset(batch.id for batch in past.batches) | {event.batch for event in past.events}
    taken |= {one.was.id for one in stand}
    over = {one.was.id for one in stand if one.ended_before(space.settings.start)}
    left = tuple(batch for batch in past.batches if batch.id not in over)
    past = past.model_copy(update={"batches": left})
    stand = tuple(replace(one, was=_wanted(one.was, space, wants)) for one in stand if one.was.id not in over)
    stand = with_destination(stand, seen.land.places, tables.crops)
    room = ReplanContext(
        land=seen.land,
        time=time,
        serving=serving,
        today=time.day_of(past.on),
        clean_days=space.settings.clean_days,
        found=observed_conditions(
            space, seen.lights, past.events, lux_factors(space, tables), past_conditions(space, tables)
        ),
        tables=tables,
        paces=paces or {},
    )
    made = plot_groups(stand, wants, room)
    standing, group = continuation_columns(made, room)
    demand = np.where(task.demand > 0, task.demand, wanted.with_stock(standing))
    reserve = stored_after_week(past.supply, space.wants, time)
    cut = with_keeping_weeks(cut_already(stand, serving), demand, reserve, room.today // DAYS_PER_WEEK)
    behind = stock_columns(cut, room.today)
    of_want = behind.count
    new = _only(found, np.flatnonzero(found.sown >= room.today))
    ids, sites, planned, same_day = _still_to_sow(past, stand, new, room)
    firsts = len(made)
    all_columns = _joined([standing, behind, way_columns(new)])
    task = replace(task, demand=demand)
    everything = replace(task, columns=all_columns, kind=_kinds(space.wants, made, group, of_want, new))
    everything = replace(everything, cost_unit=usual_cost(everything))
    counts = np.array([len(one.plots) for one in made], dtype=np.int64)
    before = PreviousPlan(
        group=np.concatenate(
            [group, firsts + np.arange(of_want), np.full(new.count, -1)], dtype=np.int64, casting="unsafe"
        ),
        planned=np.array([*planned_counts(made, time), *[0] * of_want, *planned], dtype=np.int64),
        calm=_change_weights(everything, [*_jobs_of(made), *[()] * of_want, *_new_jobs(new)], room.today),
        stands=np.concatenate([counts, np.ones(of_want, dtype=np.int64)]),
        worth=np.array([*(_drop_weight(one, time) for one in made), *[1.0] * of_want]),
    )
    return Resumed(
        past=past,
        room=room,
        kept=stand,
        taken_done=taken_done,
        groups=made,
        ways=new,
        earlier=Earlier(ids, taken, sites, same_day),
        task=replace(everything, before=before),
    )


def _kinds(
    wants: Sequence[Want], made: Sequence[PlotGroup], group: IntArray, behind: int, new: CandidateColumns
) -> IntArray | None:
    """Return the number of want and crop of each column, where a want asks for variety."""
    fresh, number = variety_kinds(wants, new), variety_numbers(wants)
    if fresh is None:
        return None
    stands = [number.get((made[at].want, made[at].kept.was.crop), -1) for at in group]
    return np.array([*stands, *[-1] * behind, *fresh], dtype=np.int64)


def _wanted(batch: Batch, space: Space, wants: Mapping[str, int]) -> Batch:
    """Return a batch with the number of the want that it serves now, -1 if there is none any more."""
    if 0 <= batch.want < len(space.wants) and batch.crop in space.wants[batch.want].crops:
        return batch
    return batch.model_copy(update={"want": wants.get(batch.crop, -1)})


def _joined(parts: Sequence[Columns]) -> Columns:
    """Put columns one after another."""
    shift = np.cumsum([0, *(part.count for part in parts)])
    joined = {
        item.name: np.concatenate([getattr(part, item.name) for part in parts]) for item in fields(Columns)
    }
    joined["supply_column"] = np.concatenate(
        [part.supply_column + first for part, first in zip(parts, shift, strict=False)]
    )
    return Columns(**joined)


def _only(found: CandidateColumns, rows: IntArray) -> CandidateColumns:
    names = [item.name for item in fields(CandidateColumns) if item.name not in ("offers", "limits")]
    return CandidateColumns(
        offers=found.offers, limits=found.limits, **{name: getattr(found, name)[rows] for name in names}
    )


def _still_to_sow(
    past: Past, stand: Sequence[StandingBatch], new: CandidateColumns, room: ReplanContext
) -> tuple[
    dict[tuple[int, int, int], str],
    dict[int, tuple[int, ...]],
    list[int],
    dict[tuple[int, str, int], tuple[str, ...]],
]:
    """Return what the plan before still has to sow: ids by sowing, its sites and its count by column.

    Then all ids by want, crop and day of sowing.
    """
    time, places = room.time, room.land.places
    begun = {one.was.id for one in stand}
    to_sow = {batch.id: batch for batch in past.batches if batch.id not in begun and batch.sow_on >= past.on}
    days = {time.day_of(batch.sow_on) for batch in to_sow.values()}
    number_of: dict[tuple[int, str, str, str | None, int, int, tuple[int, ...]], int] = {}
    for row in np.flatnonzero(np.isin(new.sown, sorted(days))):
        offer = new.offers[new.offer[row]]
        cuts = tuple(int(day) for day in new.cuts[row] if day != NO_DAY)
        key = (offer.want, offer.grown.crop.slug, str(offer.place), offer.grown.nursery)
        number_of[(*key, int(new.sown[row]), int(new.planted[row]), cuts)] = int(row)
    ids: dict[tuple[int, int, int], str] = {}
    sites: dict[int, tuple[int, ...]] = {}
    for use in past.sites:
        batch = to_sow.get(use.batch)
        place = next(
            (at for at, one in enumerate(places) if one.bed.name == use.bed and use.site in one.sites), -1
        )
        if batch is None or place < 0:
            continue
        cuts = tuple(time.day_of(day) for day in use.cuts)
        sown, planted = time.day_of(batch.sow_on), time.day_of(batch.planted_on)
        at = number_of.get((batch.want, batch.crop, str(place), batch.nursery, sown, planted, cuts))
        if at is not None:
            sites[at] = (*sites.get(at, ()), use.site)
            ids[(int(new.offer[at]), sown, planted)] = batch.id
    same_day: dict[tuple[int, str, int], tuple[str, ...]] = {}
    for batch in to_sow.values():
        day = (batch.want, batch.crop, time.day_of(batch.sow_on))
        same_day[day] = (*same_day.get(day, ()), batch.id)
    return ids, sites, [len(sites.get(row, ())) for row in range(new.count)], same_day


def _jobs_of(made: Sequence[PlotGroup]) -> list[tuple[int, ...]]:
    return [
        (*((way.planted,) if group.kept.waits else ()), *way.cuts) for group in made for way in group.ways
    ]


def _new_jobs(new: CandidateColumns) -> list[tuple[int, ...]]:
    return [
        (int(sown), int(planted), *map(int, cuts))
        for sown, planted, cuts in zip(new.sown, new.planted, new.cuts, strict=True)
    ]


def _change_weights(task: Task, days: Sequence[tuple[int, ...]], today: int) -> FloatArray:
    """Return what moving one site of each column weighs, by what it brings and how soon its jobs are due."""
    entries = task.entries
    useful = np.bincount(entries.column, entries.share * entries.counted, task.columns.count)
    soon = np.array([any(today <= day < today + SOON_D for day in jobs) for jobs in days], dtype=bool)
    return np.maximum(np.where(soon, CHANGE_WEIGHT_SOON, CHANGE_WEIGHT) * useful, CHANGE_WEIGHT_LEAST)


def _drop_weight(group: PlotGroup, time: WorkCalendar) -> float:
    """Return how much giving up a site of a group weighs: less if nothing of it is ready in the plan."""
    return UNREADY_WEIGHT if all(way.cuts[-1] >= time.days for way in group.ways) else 1.0


def _given_up(
    group: PlotGroup, parts: Sequence[tuple[PlotGroup, Continuation, list[StandingPlot]]], room: ReplanContext
) -> list[SiteUse]:
    """Return the sites of plots that are not gone on with: held until today."""
    on = [plot for other, _, plots in parts if other is group for plot in plots]
    if group.kept.waits:
        return []
    story = group.kept.story
    return [
        SiteUse(
            bed=story.bed,
            site=plot.site,
            batch=story.batch,
            crop=story.crop,
            held_from=story.moved_on or story.sown_on,
            held_until=room.time.date_of(room.today),
            cuts=tuple(plot.done),
        )
        for plot in group.plots
        if plot.site > 0 and not any(plot is one for one in on)
    ]
