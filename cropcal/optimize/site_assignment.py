"""Assign sites to batches: its own from planting to clearing, neighbours where possible."""

from collections.abc import Mapping

import numpy as np

from cropcal.optimize.programme import IntArray


def assign(
    capacity: int,
    held_from: IntArray,
    held_until: IntArray,
    count: IntArray,
    wished: Mapping[int, IntArray] | None = None,
) -> list[IntArray]:
    """Return the site numbers (from 0) of each entry, in the order given.

    Entries hold ``count`` sites on the days ``held_from <= day < held_until``. Taken in order of planting,
    each gets the shortest run of free neighbours that holds it, else the longest runs there are.
    ``wished`` are the sites that an entry (by its number) gets if they are all free.

    Raises
    ------
    ValueError
        If on some day more sites are held than there are.
    """
    free_from = np.zeros(capacity, dtype=np.int64)
    if len(held_from):
        free_from[:] = held_from.min()
    taken: list[IntArray] = [np.zeros(0, dtype=np.int64)] * len(held_from)
    for entry in np.lexsort((np.arange(len(held_from)), held_until, held_from)):
        free = np.flatnonzero(free_from <= held_from[entry])
        if len(free) < count[entry]:
            message = f"{count[entry]} sites needed on day {held_from[entry]}, {len(free)} of {capacity} free"
            raise ValueError(message)
        sites = wished[int(entry)] if wished and int(entry) in wished else free[:0]
        if len(sites) != count[entry] or not np.isin(sites, free).all():
            sites = _neighbours(free, int(count[entry]))
        free_from[sites] = held_until[entry]
        taken[entry] = sites
    return taken


def _neighbours(free: IntArray, count: int) -> IntArray:
    """Return ``count`` free sites: from the shortest run that holds them, else from the longest runs."""
    runs = np.split(free, np.flatnonzero(np.diff(free) > 1) + 1)
    fitting = [run for run in runs if len(run) >= count]
    if fitting:
        return min(fitting, key=len)[:count]
    chosen: list[IntArray] = []
    for run in sorted(runs, key=len, reverse=True):
        chosen.append(run[: count - sum(map(len, chosen))])
    return np.sort(np.concatenate(chosen))
