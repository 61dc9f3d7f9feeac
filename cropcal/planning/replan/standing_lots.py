"""The lots of standing batches for the simulation: their sites, and the days they may be cut."""

from collections.abc import Mapping, Sequence

from cropcal.planning.candidates.eligible import Capacity
from cropcal.planning.candidates.service_weeks import NEVER, ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.replan.continuations import Continuation, PlotGroup
from cropcal.planning.replan.standing import StandingPlot
from cropcal.planning.risk.lots import (
    Cut,
    Lot,
    harvest_visits,
    lot_name,
    seeds_per_plant,
    week_served,
)
from cropcal.records.plan import Batch


def standing_lots(
    parts: Sequence[tuple[PlotGroup, Continuation, list[StandingPlot]]],
    batches: Mapping[str, Batch],
    land: Capacity,
    serving: ServiceWeeks,
    today: int,
) -> list[Lot]:
    """Return the lots of standing batches, one for each place and planting day of a group.

    Nothing is cut before ``today``.
    """
    together: dict[tuple[int, int, int], list[tuple[PlotGroup, Continuation, list[StandingPlot]]]] = {}
    for part in parts:
        together.setdefault((id(part[0]), part[1].place, part[1].planted), []).append(part)
    lots, time = [], serving.time
    for group_parts in together.values():
        group, first, plots = group_parts[0]
        standing, sown, crop = group.batch, time.day_of(group.batch.history.sown_on), first.grown.crop
        place, batch, want = (
            land.places[first.place],
            batches[standing.planned.id],
            group.want if group.wanted else -1,
        )
        done = tuple(time.day_of(day) - sown for day in plots[0].done)
        cuts = []
        for _, way, plots_of_way in group_parts:
            once = group.wanted and not done and len(way.cuts) == 1
            after = (*done, *(day - sown for day in way.cuts))
            cuts += [
                Cut(
                    week=week_served(serving, want, crop, day) if group.wanted else NEVER,
                    days=after[: len(done) + number + 1],
                    sites=len(plots_of_way),
                    amount=len(plots_of_way) * amounts[0],
                    looks=harvest_visits(serving, want, first.grown, sown, max(way.planted, today - 1), day)
                    if once
                    else (),
                    stays=crop.window_d // DAYS_PER_WEEK,
                    keeps=serving.weeks_kept(want, crop.slug, day) if group.wanted else 0,
                )
                for number, (day, amounts) in enumerate(zip(way.cuts, way.amounts, strict=True))
            ]
        sites = sum(len(plots_of_way) for _, _, plots_of_way in group_parts)
        spare = max(batch.cells - batch.sites, 0) if standing.waits else 0
        lots.append(
            Lot(
                name=lot_name(batch, place, want) + (f" {done}" if done else ""),
                want=want,
                zone=place.bed.zone,
                grown=first.grown,
                age=0,
                cells=sites + round(spare * sites / max(batch.sites, 1)),
                seeds=seeds_per_plant(batch, crop, first.grown),
                cuts=tuple(cuts),
                stands=standing.history.emerged_on is not None or standing.history.moved_on is not None,
            )
        )
    return lots
