"""What stands already: how large it is today in each drawn season, and what was cut before."""

from collections import Counter
from collections.abc import Mapping, Sequence

import numpy as np

from cropcal.planning.candidates.columns import Option
from cropcal.planning.candidates.eligible import Capacity
from cropcal.planning.candidates.service_weeks import eaten_within_d
from cropcal.planning.luck.streams import RandomStreams
from cropcal.planning.luck.world import alternatives, luck_name
from cropcal.planning.replan.continuations import Continuation, PlotGroup, ReplanContext
from cropcal.planning.replan.standing import StandingBatch, StandingPlot
from cropcal.records.plan import Batch
from cropcal.seasons.world import Delivery, FloatArray, Standing, World

Part = tuple[PlotGroup, Continuation, list[StandingPlot]]


def options_of_standing(
    parts: Sequence[Part], options: Sequence[Option], land: Capacity, unwanted: int
) -> tuple[tuple[Option, ...], tuple[int, ...]]:
    """Return options of plants that stand where no sowing is planned, and the number of that of each part.

    Numbers go through ``options`` first. ``unwanted``: number of the want of plants that nobody wants.
    """
    number = {
        (option.want, option.grown.crop.slug, option.place, option.sites_each): at
        for at, option in reversed(list(enumerate(options)))
    }
    nurseries = {bed.name: at for at, bed in enumerate(land.nurseries)}
    more: list[Option] = []
    numbers = []
    for group, way, _ in parts:
        want = group.want if group.wanted else unwanted
        key = (want, way.grown.crop.slug, way.place, group.each)
        if key not in number:
            nursery = nurseries.get(group.batch.history.nursery or "", -1) if group.batch.waits else -1
            number[key] = len(options) + len(more)
            more.append(Option(want, way.place, nursery, way.grown, 0.0, 0.0, group.each))
        numbers.append(number[key])
    return tuple(more), tuple(numbers)


def standing_parts(
    parts: Sequence[Part],
    numbers: Sequence[int],
    batches: Mapping[str, Batch],
    world: World,
    luck: RandomStreams,
    context: ReplanContext,
    losses: Mapping[str, float],
) -> tuple[tuple[Standing, ...], tuple[str, ...]]:
    """Return what stands, and the batch of each.

    ``numbers`` are those of the parts' kinds; ``losses``: share of a batch taken to be lost, by its id.
    """
    goes = alternatives(world)
    time, today = context.time, context.today
    stands, names, named = [], [], Counter[str]()
    for (group, way, plots), number in zip(parts, numbers, strict=True):
        batch, history = group.batch, group.batch.history
        planned = batches[batch.planned.id]
        sown = time.day_of(history.sown_on)
        done = tuple(time.day_of(day) - sown for day in plots[0].done)
        mass_g, from_d = _mass_today(way, done, sown, today, context.land.places[way.place].bed.zone, luck)
        cuts = (len(done) + len(way.cuts),) * len(plots)
        if batch.waits:
            spare = max(planned.cells - planned.sites, 0) * len(plots) // max(planned.sites, 1)
            cuts += cuts[:1] * spare
        checked = history.not_ready_on
        its_luck = luck_name(planned)
        stands.append(
            Standing(
                name=its_luck,
                first_cell=named[its_luck],
                sown=sown,
                planted=way.planted,
                kinds=goes[number] if batch.waits else (number,),
                cuts=cuts,
                done=len(done),
                waits=batch.waits,
                mass_g=mass_g,
                from_d=from_d,
                come_up=history.emerged_on is not None or history.moved_on is not None,
                not_before=max(today, time.day_of(checked) + 1 if checked else today),
                lost=losses.get(planned.id, 0.0),
            )
        )
        named[its_luck] += len(cuts)
        names.append(planned.id)
    return tuple(stands), tuple(names)


def _mass_today(
    way: Continuation, done: tuple[int, ...], sown: int, today: int, zone: str, luck: RandomStreams
) -> tuple[FloatArray, FloatArray]:
    """Return the dry mass of a plant in each season, and the day from which it grows on."""
    grown, crop, stages = way.grown, way.grown.crop, way.grown.stages
    ones = np.ones(luck.seasons)
    if stages is None:
        return ones, today * ones
    shifts = luck.shifts(crop.slug, zone, stages.pace, stages.spots[-1].sd_ln_light)
    arrays = stages.one_for_each(0, *shifts)
    plug_d = grown.plug_age_d or 0
    days = tuple(max(day - grown.late_d + plug_d, 0) for day in (*done, today - sown))
    starts = sown - plug_d + arrays[0]
    if done and today - sown - done[-1] < crop.cut_lag_d:
        begins = np.maximum(starts, float(sown + done[-1] + crop.cut_lag_d))
    else:
        begins = np.maximum(starts, float(today))
    fresh = stages.fresh_g_at(0, days, arrays)
    return np.where(fresh > 0, fresh * crop.dry_matter, arrays[1]), begins


def deliveries(standing: Sequence[StandingBatch], context: ReplanContext, wants: int) -> tuple[Delivery, ...]:
    """Return what was cut before today, by day."""
    cuts = []
    for batch in standing:
        want = batch.planned.want
        if not 0 <= want < wants:
            continue
        crop = context.serving.crops[batch.planned.crop]
        keeps = eaten_within_d(crop, context.serving.eat_within_d) or 0
        for harvest in batch.harvests:
            day = context.time.day_of(harvest.on)
            if 0 <= day < context.time.days and harvest.amount > 0:
                cuts.append(Delivery(want, day, day + keeps, harvest.amount))
    return tuple(sorted(cuts, key=lambda cut: (cut.day, cut.want)))
