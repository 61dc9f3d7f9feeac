"""Variety: limits on what one crop brings to a want in two consecutive weeks, as linear rows.

Of a want's demand in two consecutive weeks, one crop should bring at most three quarters. What goes beyond
weighs more than a surplus and less than a shortage: the same crop again is better than nothing.
"""

from dataclasses import dataclass

import numpy as np

from cropcal.optimize.penalties import FloatArray, IntArray

MOST_ALIKE = 1.5
"""Most that one crop should bring in two consecutive weeks, in shares of a week (assumed: 3/4 of both)."""


@dataclass(frozen=True, eq=False)
class Pairs:
    """Entries (row, column, share) of each crop in each two consecutive weeks, and the number of rows."""

    row: IntArray
    column: IntArray
    share: FloatArray
    count: int

    def at_most(self, beyond: IntArray) -> tuple[IntArray, IntArray, FloatArray, FloatArray, FloatArray]:
        """Return sum(share x n) - beyond <= 1.5 as entries and bounds, one row for each crop and pair."""
        return (
            np.concatenate([self.row, np.arange(self.count)]),
            np.concatenate([self.column, beyond]),
            np.concatenate([self.share, -np.ones(self.count)]),
            np.full(self.count, -np.inf),
            np.full(self.count, MOST_ALIKE),
        )

    def beyond(self, n: FloatArray | IntArray) -> FloatArray:
        """Return how far each row goes beyond ``MOST_ALIKE``, (rows,)."""
        brought = np.bincount(self.row, self.share * n[self.column], self.count)
        return np.asarray(np.maximum(brought - MOST_ALIKE, 0.0))


def variety_pairs(
    kind: IntArray, column: IntArray, want_week: IntArray, share: FloatArray, weeks: FloatArray
) -> Pairs:
    """Return what each crop brings in two consecutive weeks of its want.

    Parameters
    ----------
    kind
        Number of the want and crop of each column, -1 where the same may come every week, shape (columns,).
    column, want_week, share
        Supply that counts, as a coordinate list: column, want x weeks + week, share of the week's want.
    weeks
        Demand, shape (wants, weeks). Weeks in which nothing is wanted stand between no two others.
    """
    counted = weeks > 0
    turn = (np.cumsum(counted, axis=1) - 1).ravel()
    last = np.repeat(counted.sum(axis=1) - 1, weeks.shape[1])
    use = np.flatnonzero(kind[column] >= 0)
    at = turn[want_week[use]]
    both = np.concatenate([use, use])
    pair = np.concatenate([at - 1, at])
    inside = (pair >= 0) & (pair < last[want_week[both]])
    both, pair = both[inside], pair[inside]
    keys = kind[column[both]] * (weeks.shape[1] + 1) + pair
    rows, row = np.unique(keys, return_inverse=True)
    order = np.lexsort((column[both], row))
    return Pairs(row[order], column[both][order], share[both][order], len(rows))
