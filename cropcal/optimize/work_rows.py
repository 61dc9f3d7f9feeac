"""Rows that keep the minutes of work of a day to what somebody has; beyond, each minute has its price."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cropcal.optimize.penalties import ranges

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]
Coordinates = tuple[IntArray, IntArray, FloatArray, FloatArray, FloatArray]


@dataclass(frozen=True, eq=False)
class WorkLimit:
    """Minutes that a site of a column takes on a day, as coordinates, (m,); most of each day, (days,)."""

    column: IntArray
    day: IntArray
    minutes: FloatArray
    most: FloatArray

    def rows(self, taken: IntArray) -> "WorkLimit":
        """Return the limit for some columns in any order, each as often as it is named, renumbered."""
        order = np.argsort(self.column, kind="stable")
        column = self.column[order]
        first, end = np.searchsorted(column, taken), np.searchsorted(column, taken, side="right")
        number, at = ranges(first, end - first)
        entry = order[at]
        return WorkLimit(number, self.day[entry], self.minutes[entry], self.most)

    def over(self, n: FloatArray | IntArray) -> FloatArray:
        """Return the minutes beyond the most of each day, (days,)."""
        taken = np.bincount(self.day, self.minutes * n[self.column], len(self.most))
        return np.asarray(np.maximum(taken - self.most, 0.0))

    @property
    def days(self) -> IntArray:
        """Return the days on which there is any work, in order."""
        return np.unique(self.day)

    def at_most(self, over: IntArray) -> Coordinates:
        """Return a row for each of ``days``, its minutes less ``over``: row, variable, value, low, high."""
        days = self.days
        size = len(days)
        return (
            np.concatenate([np.searchsorted(days, self.day), np.arange(size)]),
            np.concatenate([self.column, over]),
            np.concatenate([self.minutes, -np.ones(size)]),
            np.full(size, -np.inf),
            self.most[days],
        )
