"""Spare cells: more is sown than there are sites for, against what does not come up or is lost."""

from collections.abc import Mapping, Sequence
from datetime import date
from types import MappingProxyType

from cropcal.records.plan import Batch

CellsSown = Mapping[tuple[int, str, int], int]
"""Cells by want, crop and day of sowing, counted from the plan's start."""
NO_SPARE: CellsSown = MappingProxyType({})


def with_cells(fresh: Sequence[Batch], cells: CellsSown, start: date) -> tuple[Batch, ...]:
    """Return the batches with all cells of their sowings; spare ones go to the first batch of each."""
    left = dict(cells)
    for batch in fresh:
        key = (batch.want, batch.crop, (batch.sow_on - start).days)
        left[key] = left.get(key, 0) - batch.sites
    result = []
    for batch in fresh:
        key = (batch.want, batch.crop, (batch.sow_on - start).days)
        spare = max(left.pop(key, 0), 0) if batch.nursery else 0
        if spare:
            more = batch.cells + spare
            batch = batch.model_copy(update={"cells": more, "seeds": batch.seeds * more // batch.cells})
        result.append(batch)
    return tuple(result)
