"""Blocks of variables of a programme, and the rows that limit sites and nursery cells day by day."""

import numpy as np

from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import (
    FloatArray,
    IntArray,
    Rows,
    Task,
)


class VariableBlocks:
    """Variables of a programme, added block by block."""

    def __init__(self, task: Task, weights: Weights) -> None:
        self.task, self.weights = task, weights
        self.cost: list[FloatArray] = []
        self.lower: list[FloatArray] = []
        self.upper: list[FloatArray] = []
        self.names: list[tuple[str, int, int]] = []
        self.count = 0
        self.constant = 0.0

    def add(self, name: str, cost: FloatArray, low: float, high: FloatArray | float) -> IntArray:
        """Add a block of variables and return their numbers."""
        size, first = len(cost), self.count
        self.cost.append(np.asarray(cost, dtype=np.float64))
        self.lower.append(np.full(size, low))
        self.upper.append(np.broadcast_to(np.asarray(high, dtype=np.float64), size).copy())
        self.names.append((name, first, size))
        self.count += size
        return np.arange(first, first + size)


def balance_rows(
    blocks: VariableBlocks,
    name: str,
    where: IntArray,
    taken: IntArray,
    given: IntArray,
    capacity: IntArray,
    each: IntArray,
) -> Rows:
    """Return held(t) - held(t before) = taken on t - given back on t, with 0 <= held(t) <= capacity.

    One row for each place and day on which something is taken; what was given back since counts first. A
    column takes ``each`` of its place for every planted site, shape (n,).
    """
    used = np.flatnonzero((where >= 0) & (given > taken))
    days = np.unique(np.stack([where[used], taken[used]], axis=1), axis=0)
    size = len(days)
    most = capacity[days[:, 0]].astype(np.float64) if size else np.zeros(0)
    held = blocks.add(name, np.zeros(size), 0.0, most)
    stride = int(max(given.max(initial=0), taken.max(initial=0))) + 1
    keys = days[:, 0] * stride + days[:, 1]
    takes = np.searchsorted(keys, where[used] * stride + taken[used])
    gives = np.searchsorted(keys, where[used] * stride + given[used])
    returned = (
        np.flatnonzero((gives < size) & (days[np.minimum(gives, size - 1), 0] == where[used]))
        if size
        else gives
    )
    after = np.flatnonzero(days[1:, 0] == days[:-1, 0]) + 1
    row = np.concatenate([np.arange(size), after, takes, gives[returned]])
    variable = np.concatenate([held, held[after - 1], used, used[returned]])
    value = np.concatenate([np.ones(size), -np.ones(len(after)), -each[used], each[used[returned]]])
    zero = np.zeros(size)
    return Rows(name, row, variable, value, zero, zero)
