"""When a lamp may be on: every block of a day and every pair of blocks, on a grid of quarter hours.

Pure arrays: what a timer costs is a difference of running sums, so tens of thousands are priced at once.
"""

from collections.abc import Iterable
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from cropcal.science.distinct import distinct

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

QUARTERS_PER_DAY: Final = 96


class Timers(NamedTuple):
    """Daily lamp hours in quarters of an hour after midnight: one stretch, or two that are apart.

    All of shape (n,): ``start`` 0 to 95, ``length`` 1 to 96; ``length_2`` is 0 where there is no second.
    """

    start: Ints
    length: Ints
    start_2: Ints
    length_2: Ints

    @property
    def total(self) -> Ints:
        """Return the lit quarters of a day."""
        return self.length + self.length_2

    def take(self, index: Ints) -> "Timers":
        """Return some of them."""
        return Timers(*(field[index] for field in self))

    def stretches_min(self, index: int) -> tuple[tuple[int, int], ...]:
        """Return one timer as minutes on and off, earliest first; off at midnight is 1440."""
        pairs = ((self.start, self.length), (self.start_2, self.length_2))
        stretches = [(int(start[index]), int(length[index])) for start, length in pairs if length[index]]
        return tuple(sorted((15 * start, 15 * ((start + length) % 96 or 96)) for start, length in stretches))


def concatenate(parts: Iterable[Timers]) -> Timers:
    """Return timers one after another."""
    return Timers(*(np.concatenate(fields) for fields in zip(*parts, strict=True)))


def blocks(lengths: npt.ArrayLike) -> Timers:
    """Return one stretch of each length (in quarters) from each quarter hour; of the whole day only one."""
    lengths = np.asarray(lengths, np.int64)
    start, length = np.meshgrid(np.arange(QUARTERS_PER_DAY), lengths)
    kept = (length < QUARTERS_PER_DAY) | (start == 0)
    none = np.zeros(kept.sum(), np.int64)
    return Timers(start[kept].astype(np.int64), length[kept], none, none)


def pairs(free: Bools, shortest: int) -> Timers:
    """Return every two stretches, each in another run of free quarters, longer together than any run.

    A pair that is no longer than the longest run is never needed: one stretch would do.

    Parameters
    ----------
    free
        Which quarters of the day may be lit, shape (96,).
    shortest
        Least quarters of a stretch.
    """
    runs = _runs(free)
    longest = max((length for _, length in runs), default=0)
    timers = [blocks([])]
    for at, first in enumerate(runs):
        for second in runs[at + 1 :]:
            start, length = _inside(*first, shortest)
            start_2, length_2 = _inside(*second, shortest)
            row, column = np.nonzero(length[:, None] + length_2[None, :] > longest)
            timers.append(Timers(start[row], length[row], start_2[column], length_2[column]))
    return concatenate(timers)


def _runs(free: Bools) -> list[tuple[int, int]]:
    """Return start and length of each run of free quarters round the clock (none if all are free)."""
    if free.all() or not free.any():
        return []
    begins = np.flatnonzero(free & ~np.roll(free, 1))
    ends = np.flatnonzero(~free & np.roll(free, 1))
    return [
        (int(start), int((ends - start)[ends > start].min(initial=96 + ends[0] - start))) for start in begins
    ]


def _inside(start: int, length: int, shortest: int) -> tuple[Ints, Ints]:
    """Return start and length of every stretch within a run."""
    sizes = np.arange(shortest, length + 1)
    size, shift = np.meshgrid(sizes, np.arange(length))
    fits = shift + size <= length
    return (start + shift[fits]) % QUARTERS_PER_DAY, size[fits].astype(np.int64)


def lit_sum(timers: Timers, by_quarter: npt.ArrayLike) -> Array:
    """Return the sum of a value over the lit quarters of each timer.

    Parameters
    ----------
    timers
        n timers.
    by_quarter
        Value of each quarter of the day, shape (..., 96).

    Returns
    -------
    Array
        Shape (..., n).
    """
    values = np.asarray(by_quarter, float)
    total = np.cumsum(np.concatenate([np.zeros_like(values[..., :1]), values, values], axis=-1), axis=-1)
    first = total[..., timers.start + timers.length] - total[..., timers.start]
    if not timers.length_2.any():
        return np.asarray(first)
    return np.asarray(first + total[..., timers.start_2 + timers.length_2] - total[..., timers.start_2])


def lit_highest(timers: Timers, by_quarter: npt.ArrayLike) -> Array:
    """Return the highest value among the lit quarters of each timer, shape (n,)."""
    values = np.asarray(by_quarter, float)
    highest = np.full(timers.start.shape, -np.inf)
    for value in distinct(values):
        highest = np.where(lit_sum(timers, values == value) > 0.5, value, highest)
    return highest


def day_length(timers: Timers) -> Ints:
    """Return the day length as a plant perceives it, in quarters: all but the longest unbroken dark.

    Light in the night, however dim or short, ends the night for long-day plants: 1 to 2 µmol m⁻² s⁻¹
    make a long day, and a break of the night works like a longer day (Runkle 2007, Providing long days,
    Michigan State University; Lopez & Currey 2014).
    """
    after = (timers.start_2 - timers.start - timers.length) % QUARTERS_PER_DAY
    dark = QUARTERS_PER_DAY - timers.total
    longest = np.where(timers.length_2 > 0, np.maximum(after, dark - after), dark)
    return np.asarray(QUARTERS_PER_DAY - longest)


def day_length_with_sun(timers: Timers, up: Bools, *, lamp_on: bool = True) -> Ints:
    """Return the day length as a plant perceives it under lamp and daylight, in quarters, shape (n,).

    Parameters
    ----------
    timers
        n timers.
    up
        Quarters of the day in which the sun is up, shape (96,).
    lamp_on
        Whether the lamp is on at all; else the day is the sun's.
    """
    quarter = np.arange(QUARTERS_PER_DAY)
    light = np.broadcast_to(up, (len(timers.start), QUARTERS_PER_DAY))
    if lamp_on:
        for start, length in ((timers.start, timers.length), (timers.start_2, timers.length_2)):
            light = light | ((quarter - start[:, None]) % QUARTERS_PER_DAY < length[:, None])
    round_the_clock = np.concatenate([light, light], axis=1)
    place = np.arange(2 * QUARTERS_PER_DAY)
    last_light = np.maximum.accumulate(np.where(round_the_clock, place, -1), axis=1)
    dark = np.minimum((place - last_light).max(axis=1), QUARTERS_PER_DAY)
    return np.asarray(QUARTERS_PER_DAY - dark)


def distance_from_middle(timers: Timers, middle: int) -> Ints:
    """Return the distance of the first stretch's middle from a quarter of the day, in eighths of an hour."""
    away = (2 * timers.start + timers.length - 2 * middle) % (2 * QUARTERS_PER_DAY)
    return np.asarray(np.minimum(away, 2 * QUARTERS_PER_DAY - away))


def longest_run(marked: Bools) -> int:
    """Return the length of the longest run of marked minutes (or whatever they are) round the clock."""
    if marked.all():
        return int(marked.size)
    turned = np.roll(marked, -int(np.flatnonzero(~marked)[0]))
    edges = np.flatnonzero(np.diff(np.concatenate([[False], turned, [False]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))
