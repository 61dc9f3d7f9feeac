"""Means of a measured series by day, and by lamp on and off."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
LONGEST_GAP_H: Final = 3.0
"""Longest time that a reading represents; assumed: a longer silence of the logger is a gap."""


def weights_h(at_h: FloatArray, from_h: float, until_h: float) -> FloatArray:
    """Return the time that each reading represents within a stretch of time [h].

    A reading represents the time nearer to it than to its neighbours (the trapezoid rule), at most half of
    ``LONGEST_GAP_H`` either way.

    Parameters
    ----------
    at_h
        Times of the readings, rising [h], shape (n,).
    from_h, until_h
        The stretch [h].
    """
    between = (at_h[1:] + at_h[:-1]) / 2
    before = np.concatenate(([-np.inf], between))
    after = np.concatenate((between, [np.inf]))
    reach = LONGEST_GAP_H / 2
    start = np.maximum(np.maximum(before, at_h - reach), from_h)
    end = np.minimum(np.minimum(after, at_h + reach), until_h)
    weights: FloatArray = np.maximum(end - start, 0.0)
    return weights


def mean_over(at_h: FloatArray, values: FloatArray, stretches_h: list[tuple[float, float]]) -> float:
    """Return the mean of a series over some stretches of time; NaN if nothing was read in them.

    Parameters
    ----------
    at_h, values
        The series, times rising [h], both of shape (n,).
    stretches_h
        From and until of each stretch [h]; they may not overlap.
    """
    weights = sum((weights_h(at_h, start, end) for start, end in stretches_h), np.zeros_like(at_h))
    total = float(weights.sum())
    return float(weights @ values) / total if total > 0 else float("nan")


def daily_means(at_h: FloatArray, values: FloatArray, first_day: int, days: int) -> FloatArray:
    """Return the mean of each day, NaN where nothing was read; shape (days,).

    ``at_h`` counts from midnight of day 0.
    """
    stretches = [(24.0 * day, 24.0 * (day + 1)) for day in range(first_day, first_day + days)]
    return np.array([mean_over(at_h, values, [stretch]) for stretch in stretches], dtype=np.float64)


def day_and_night(
    at_h: FloatArray, values: FloatArray, lit_h: list[tuple[float, float]], first_day: int, days: int
) -> tuple[float, float]:
    """Return the means while the lamp is on and while it is off, over some days; NaN where nothing was read.

    Parameters
    ----------
    at_h, values
        The series; times count from midnight of day 0, rising [h].
    lit_h
        Lamp on and off within a day [h]; off before on crosses midnight.
    first_day, days
        Which days.
    """
    start, end = 24.0 * first_day, 24.0 * (first_day + days)
    lit = []
    for day in range(first_day - 1, first_day + days):
        for on, off in lit_h:
            lit_from = 24.0 * day + on
            lit_until = 24.0 * day + off + (24.0 if off <= on else 0.0)
            if min(lit_until, end) > max(lit_from, start):
                lit.append((max(lit_from, start), min(lit_until, end)))
    lit.sort()
    edges = [start, *(edge for stretch in lit for edge in stretch), end]
    dark = [(low, high) for low, high in zip(edges[::2], edges[1::2], strict=True) if high > low]
    return mean_over(at_h, values, lit), mean_over(at_h, values, dark)


def longest_stretch_h(at_h: FloatArray, holds: NDArray[np.bool_]) -> tuple[float, int]:
    """Return the longest time in a row in which something held, and the number of the reading that ended it.

    Parameters
    ----------
    at_h
        Times of the readings, rising [h], shape (n,).
    holds
        Whether it held at each reading, shape (n,).

    Returns
    -------
    tuple
        Hours, 0 where it never held, and the place of the last reading of that time. A silence of the logger
        of more than ``LONGEST_GAP_H`` ends it.
    """
    longest_h, last, begun = 0.0, 0, 0
    for place in range(len(at_h)):
        if not holds[place]:
            continue
        goes_on = place > 0 and holds[place - 1] and at_h[place] - at_h[place - 1] <= LONGEST_GAP_H
        begun = begun if goes_on else place
        hours = float(at_h[place] - at_h[begun])
        if hours > longest_h:
            longest_h, last = hours, place
    return longest_h, last


def kwh_between(at_h: FloatArray, counter_kwh: FloatArray, from_h: float, until_h: float) -> float:
    """Return the energy between two moments by a counter, interpolated [kWh]; NaN outside its readings.

    A counter that falls has been set back to zero: its new value adds to the total.
    """
    if not len(at_h) or from_h < at_h[0] or until_h > at_h[-1]:
        return float("nan")
    steps = np.diff(counter_kwh)
    steps = np.where(steps < 0, counter_kwh[1:], steps)
    total = np.concatenate(([0.0], np.cumsum(steps)))
    start, end = np.interp([from_h, until_h], at_h, total)
    return float(end - start)
