"""Penalties for weeks that get too little or too much, stated so that half sites do not pay."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Weights:
    """Weights of the objective: a missing share, a surplus share, a unit of cost, a share cut late.

    The more a week misses, the more each missing share weighs: ``segments`` are widths and slopes, so that a
    shortage is spread over weeks. ``kept`` is the weight of a share kept for a week: small, so that fresh
    produce is worth a few cents of power, but never waste.

    ``alike`` is the weight of a share that one crop brings beyond its limit in two consecutive weeks.

    When planning again: ``given_up`` is the weight of a site whose standing crop is taken out; ``calm`` times
    ``PreviousPlan.calm`` is the weight of a site no longer grown as planned before; and a new plan that is
    better by ``worth`` or less does not justify a changed calendar. ``minute_over`` is the weight of a minute
    of work beyond the most of a day: more than that of a site that is yet to be sown (all assumed).
    """

    short: float = 100.0
    surplus: float = 10.0
    cost: float = 0.1
    staleness: float = 0.02
    kept: float = 0.2
    alike: float = 20.0
    segments: tuple[tuple[float, float], ...] = ((0.25, 1.0), (0.25, 1.25), (0.5, 1.6))
    given_up: float = 200.0
    calm: float = 1.0
    worth: float = 5.0
    minute_over: float = 1000.0


MOST_STEPS = 40
"""Most sites to meet a week for which its shortage is counted site by site."""


@dataclass(frozen=True, eq=False)
class Weeks:
    """Want-weeks with a demand: their number, and the entries that serve them, by row and rising share.

    ``loose``: weeks whose surplus may be kept in parts of a site, so that whole sites imply less.
    """

    count: int
    row: IntArray
    column: IntArray
    share: FloatArray
    loose: BoolArray

    @cached_property
    def first(self) -> IntArray:
        """Return the first entry of each week, and the end: shape (count + 1,)."""
        return np.searchsorted(self.row, np.arange(self.count + 1))

    @cached_property
    def even(self) -> BoolArray:
        """Return the weeks in which every column brings the same share, not a tiny one, and kept whole."""
        size = np.diff(self.first)
        some = np.flatnonzero(size > 0)
        least, most = self.share[self.first[some]], self.share[self.first[some + 1] - 1]
        even = np.zeros(self.count, dtype=bool)
        even[some] = (most - least < 1e-9 * most) & (most * MOST_STEPS >= 1.0)
        return even & ~self.loose


@dataclass(frozen=True, eq=False)
class Level:
    """Pieces of each week's shortage (week, width, price), the share they add up to, and its own price."""

    row: IntArray
    width: FloatArray
    price: FloatArray
    top: FloatArray
    base: FloatArray


def shortage_steps(weeks: Weeks, weights: Weights) -> Level:
    """Return the pieces of shortage of each week: the segments of the weights, or steps of one site.

    The price of a step is what a week costs with k sites less what it costs with k + 1. Both ways of counting
    agree at whole sites, and the steps are the highest convex price that does.
    """
    width = np.array([segment[0] for segment in weights.segments])
    slope = np.array([segment[1] for segment in weights.segments])
    plain, even = np.flatnonzero(~weeks.even), np.flatnonzero(weeks.even)
    share = weeks.share[weeks.first[even]]
    sites = np.ceil(1.0 / share - 1e-9).astype(np.int64)
    which, fewer = ranges(np.zeros_like(sites), sites)
    upper = (sites[which] - fewer) * share[which]
    lower = upper - share[which]
    top, base = np.ones(weeks.count), np.zeros(weeks.count)
    top[even] = sites * share
    base[even] = week_price(top[even], weights)
    rise = (week_price(lower, weights) - week_price(upper, weights)) / share[which]
    row = np.concatenate([np.repeat(plain, len(width)), even[which]])
    order = np.argsort(row, kind="stable")
    return Level(
        row=row[order],
        width=np.concatenate([np.tile(width, len(plain)), share[which]])[order],
        price=np.concatenate([np.tile(weights.short * slope, len(plain)), rise])[order],
        top=top,
        base=base,
    )


def week_price(brought: FloatArray, weights: Weights) -> FloatArray:
    """Return the penalty of weeks that get ``brought`` shares of what is wanted: shortage or surplus."""
    missing = np.maximum(1.0 - brought, 0.0)
    return weights.short * convex(missing, weights) + weights.surplus * np.maximum(brought - 1.0, 0.0)


def convex(missing: FloatArray, weights: Weights) -> FloatArray:
    """Return the weighted missing shares: each segment at its slope."""
    total, left = np.zeros_like(missing), missing.copy()
    for width, slope in weights.segments:
        part = np.minimum(left, width)
        total += slope * part
        left -= part
    return total


def ranges(first: IntArray, size: IntArray) -> tuple[IntArray, IntArray]:
    """Return the numbers of consecutive ranges, and for each number which range it belongs to."""
    which = np.repeat(np.arange(len(size)), size)
    return which, np.arange(len(which)) - (np.cumsum(size) - size - first)[which]
