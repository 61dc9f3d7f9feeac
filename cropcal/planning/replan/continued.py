"""Standing batches in the new plan: the sites they keep, and their cuts to come."""

from collections.abc import Sequence
from datetime import date, timedelta
from math import ceil
from typing import Any

from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.replan.continuations import Continuation, PlotGroup, ReplanContext
from cropcal.planning.replan.standing import StandingBatch, StandingPlot
from cropcal.planning.schedule.batches import Hold
from cropcal.records.crop import own_cut_g
from cropcal.records.plan import Batch, Harvest


def continued_hold(
    group: PlotGroup, way: Continuation, plots: Sequence[StandingPlot], context: ReplanContext
) -> Hold:
    """Return the sites that continued plots hold."""
    time, standing = context.time, group.batch
    planted = max(way.planted, context.today) if standing.waits else min(way.planted, context.today)
    wished = tuple(site for plot in plots for site in plot.held)
    return Hold(
        place=way.place,
        sown=time.day_of(standing.history.sown_on),
        planted=planted,
        freed=way.cuts[-1] + context.clean_days,
        count=len(plots),
        batch=standing.planned.id,
        crop=standing.planned.crop,
        since=time.date_of(way.planted),
        cuts=(*plots[0].done, *(time.date_of(day) for day in way.cuts if day < time.days)),
        wished=wished if len(wished) == len(plots) * group.each else (),
        each=group.each,
    )


def continued_batch(
    standing: StandingBatch,
    parts: Sequence[tuple[PlotGroup, Continuation, list[StandingPlot]]],
    context: ReplanContext,
) -> Batch:
    """Return a batch with its real past and its planned continuation."""
    time, history, was = context.time, standing.history, standing.planned
    start: dict[str, Any] = {"sow_on": history.sown_on, "bed": history.bed, "nursery": history.nursery}
    if history.nursery and history.moved_on:
        start["transplant_on"] = history.moved_on
    if history.emerged_on:
        start["emerge_on"] = history.emerged_on
    elif history.sown_on != was.sow_on:
        start["emerge_on"] = was.emerge_on + (history.sown_on - was.sow_on)
    if not parts:
        ends = [plot.ended for plot in standing.plots if plot.ended] or [was.clear_on]
        return was.model_copy(update={**start, "harvests": standing.harvests, "clear_on": max(ends)})
    grown, crop = parts[0][1].grown, parts[0][1].grown.crop
    if standing.waits:
        start["transplant_on"] = time.date_of(min(way.planted for _, way, _ in parts))
    ready = [history.sown_on + timedelta(days=ceil(day)) for day in grown.ready_d[:, 0]]
    if checked_on := history.not_ready_on:
        ready = [max(day, checked_on + timedelta(days=1)) for day in ready]
    harvests = sorted(
        [*standing.harvests, *_harvests_to_come(parts, time)], key=lambda harvest: (harvest.on, harvest.cut)
    )
    to_the_end = any(way.cuts[-1] >= time.days for _, way, _ in parts)
    last = time.date_of(time.days) if to_the_end else harvests[-1].on
    return was.model_copy(
        update={
            **start,
            "want": parts[0][0].want if was.want < 0 and parts[0][0].wanted else was.want,
            "ready_from": min([ready[1], *(harvest.on for harvest in harvests[:1])]),
            "ready_from_low_80": ready[0],
            "ready_from_high_80": ready[2],
            "ready_until": max(ready[1] + timedelta(days=crop.window_d), last),
            "clear_on": max([last, *(plot.ended for plot in standing.plots if plot.ended)]),
            "harvests": tuple(harvests),
            "cut_at_g": own_cut_g(crop),
        }
    )


def _harvests_to_come(
    parts: Sequence[tuple[PlotGroup, Continuation, list[StandingPlot]]], time: WorkCalendar
) -> list[Harvest]:
    """Return the cuts to come by day; equal cuts on the same day are one."""
    total: dict[tuple[date, int], list[float]] = {}
    for _, way, plots in parts:
        for number, (day, amounts) in enumerate(zip(way.cuts, way.amounts, strict=True)):
            if day >= time.days:
                continue
            key = (time.date_of(day), len(plots[0].done) + number + 1)
            row = total.setdefault(key, [0.0] * 4)
            for at, value in enumerate((1.0, *amounts)):
                row[at] += value * len(plots)
    harvests = []
    for (on, cut), (sites, amount, low, high) in sorted(total.items()):
        harvests.append(
            Harvest(on=on, cut=cut, sites=round(sites), amount=amount, amount_low_80=low, amount_high_80=high)
        )
    return harvests
