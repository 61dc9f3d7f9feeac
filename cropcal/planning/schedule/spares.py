"""Spare cells: more seedlings than sites, as far as the nursery has room."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil

import numpy as np

from cropcal.planning.growth.crop_growth import GrowthTable
from cropcal.planning.schedule.batches import seeds
from cropcal.records.plan import Batch

Spare = Callable[[Sequence[Batch], Sequence[Batch]], tuple[Batch, ...]]
"""(batches still to sow, all others) -> the former with spare cells and seeds."""


def no_spare(fresh: Sequence[Batch], _: Sequence[Batch]) -> tuple[Batch, ...]:
    """Return the batches as they are."""
    return tuple(fresh)


@dataclass(frozen=True, eq=False)
class MoreCells:
    """Sows more cells of each want than its sites need, by a factor, rest carried on from batch to batch.

    ``grown``: growth tables by (slug, bed, nursery). ``cells``: cells of each nursery.
    """

    factors: Mapping[int, float]
    grown: Mapping[tuple[str, str, str | None], GrowthTable]
    cells: Mapping[str, int]

    def __call__(self, fresh: Sequence[Batch], others: Sequence[Batch]) -> tuple[Batch, ...]:
        """Return the batches still to sow with their spare cells, in their order."""
        first = min((batch.sow_on for batch in (*fresh, *others)), default=date.min).toordinal()
        last = max((batch.clear_on for batch in (*fresh, *others)), default=date.min).toordinal()
        full = {name: np.zeros(last - first + 1, dtype=np.int64) for name in self.cells}
        for batch in (*fresh, *others):
            if batch.nursery in full:
                full[batch.nursery][_nursery_days(batch, first)] += batch.cells
        due: dict[tuple[int, str], float] = {}
        oversown = []
        for batch in fresh:
            grown = self.grown.get((batch.crop, batch.bed, batch.nursery))
            factor = self.factors.get(batch.want, 1.0)
            if grown is None or batch.nursery not in full or factor <= 1.0 or batch.plug_age_d is not None:
                oversown.append(batch)
                continue
            days = _nursery_days(batch, first)
            room = self.cells[batch.nursery] - int(full[batch.nursery][days].max(initial=0))
            wished = due.get((batch.want, batch.crop), 0.0) + batch.cells * (factor - 1.0)
            more = max(min(ceil(wished - 0.5), room), 0)
            due[batch.want, batch.crop] = wished - more
            full[batch.nursery][days] += more
            cells = batch.cells + more
            oversown.append(
                batch.model_copy(update={"cells": cells, "seeds": seeds(grown.crop, grown, cells)})
            )
        return tuple(oversown)


def _nursery_days(batch: Batch, first: int) -> slice:
    """Return the days on which a batch holds its cells, counted from day ``first``."""
    return slice(batch.sow_on.toordinal() - first, batch.planted_on.toordinal() - first)
