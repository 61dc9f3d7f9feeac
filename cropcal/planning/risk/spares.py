"""Over-sowing: spare cells in a nursery, spare seeds in place."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

import numpy as np

from cropcal.planning.growth.crop_growth import GrowthTable, plants_per_site
from cropcal.planning.schedule.batches import seeds, stand_chance
from cropcal.records.plan import Batch
from cropcal.science.chance import to_sow

SURE = 0.95
"""Chance with which a batch has a plant for each of its sites once it is over-sown (assumed)."""
MOST_SEEDS = 10
"""Seeds of one plant at most."""

Spare = Callable[[Sequence[Batch], Sequence[Batch]], tuple[Batch, ...]]
"""(batches still to sow, all others) -> the former with spare cells and seeds."""


def no_spare(fresh: Sequence[Batch], _: Sequence[Batch]) -> tuple[Batch, ...]:
    """Return the batches as they are."""
    return tuple(fresh)


@dataclass(frozen=True, eq=False)
class Oversown:
    """Gives batches spare cells as far as their nursery has room, and those sown in place spare seeds.

    ``grown``: growth tables by (slug, bed, nursery). ``cells``: cells of each nursery.
    """

    grown: Mapping[tuple[str, str, str | None], GrowthTable]
    cells: Mapping[str, int]
    sure: float = SURE

    def __call__(self, fresh: Sequence[Batch], others: Sequence[Batch]) -> tuple[Batch, ...]:
        """Return the batches still to sow with their spare cells and seeds, in their order."""
        first = min((batch.sow_on for batch in (*fresh, *others)), default=date.min).toordinal()
        last = max((batch.clear_on for batch in (*fresh, *others)), default=date.min).toordinal()
        full = {name: np.zeros(last - first + 1, dtype=np.int64) for name in self.cells}
        waits = {id(batch): _nursery_days(batch, first) for batch in (*fresh, *others)}
        for batch in (*fresh, *others):
            if batch.nursery in full:
                full[batch.nursery][waits[id(batch)]] += batch.cells
        oversown = []
        for batch in fresh:
            grown = self.grown.get((batch.crop, batch.bed, batch.nursery))
            more = batch
            if grown is not None and _can_oversow(batch, grown):
                taken = full[batch.nursery][waits[id(batch)]] if batch.nursery else np.zeros(0)
                more = self._more(batch, grown, int(taken.max(initial=0)))
            if batch.nursery in full:
                full[batch.nursery][waits[id(batch)]] += more.cells - batch.cells
            oversown.append(more)
        return tuple(oversown)

    def _more(self, batch: Batch, grown: GrowthTable, taken: int) -> Batch:
        if batch.nursery is None:
            plants = plants_per_site(grown.crop, grown.spot) * batch.sites
            each = _seeds_each(grown.stand, batch.sites, self.sure)
            return batch.model_copy(update={"seeds": max(batch.seeds, ceil(plants * each))})
        needed = to_sow(batch.sites, stand_chance(grown.crop, grown), self.sure)
        room = self.cells[batch.nursery] - taken
        cells = max(min(needed, batch.cells + room), batch.cells)
        return batch.model_copy(update={"cells": cells, "seeds": seeds(grown.crop, grown, cells)})


def _can_oversow(batch: Batch, grown: GrowthTable) -> bool:
    """Return whether a batch can be over-sown: single plants, not trays or clumps in place."""
    if grown.crop.kind in ("tray", "shoots") or grown.plug_age_d is not None:
        return False
    if batch.nursery is None:
        return grown.crop.plants_per_site == 1
    return batch.transplant_on is not None and batch.transplant_on > batch.sow_on


def _nursery_days(batch: Batch, first: int) -> slice:
    """Return the days on which a batch holds its cells, counted from day ``first``."""
    return slice(batch.sow_on.toordinal() - first, batch.planted_on.toordinal() - first)


def _seeds_each(stand: float, sites: int, sure: float) -> int:
    """Return the seeds for each site so that every site has a plant with chance ``sure``."""
    for each in range(1, MOST_SEEDS):
        if (1.0 - (1.0 - stand) ** each) ** sites >= sure:
            return each
    return MOST_SEEDS
