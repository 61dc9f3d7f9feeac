"""What a world says of its kinds and days, as arrays: worked out once for each world."""

from collections.abc import Sequence

import numpy as np

from cropcal.seasons.world import FloatArray, IntArray, Rates, World

FAR = 1e6
"""A day that never comes."""
NO_VISIT_D = 7
"""Days until somebody comes again when the last visit is over (assumed)."""


class Facts:
    """Facts of kinds, (kinds,) or (kinds, seasons), of rates, (kinds, stretches, seasons), and of days.

    Rates are flat: the place of one in them is what ``rate`` returns.
    """

    def __init__(self, world: World) -> None:
        kinds = world.kinds
        self.seasons, self.days = world.seasons, world.days
        self.want, self.place, self.nursery, self.each, self.keeps, self.young, self.old = (
            np.array([getattr(kind, name) for kind in kinds], dtype=np.int64)
            for name in ("want", "place", "nursery", "sites_each", "keeps_d", "young_d", "old_d")
        )
        self.full_g, self.full_amount, self.leaves, self.lag, self.window, self.site_d = (
            np.array([getattr(kind, name) for kind in kinds], dtype=float)
            for name in ("full_g", "full_amount", "leaves_share", "lag_d", "window_d", "site_d")
        )
        self.heads = np.array([kind.heads for kind in kinds], dtype=bool)
        self.fixed = np.array([kind.fixed_d is not None for kind in kinds], dtype=bool)
        self.grows_in_nursery = np.array([kind.in_nursery is not None for kind in kinds], dtype=bool)
        none = np.zeros((0, world.days), dtype=np.int64)
        self.serves = np.stack([kind.serves for kind in kinds]) if kinds else none
        self.starts, self.start_g, self.fixed_d, self.fixed_yield = (
            _of_seasons([getattr(kind, name) for kind in kinds], world.seasons)
            for name in ("starts_d", "start_g", "fixed_d", "fixed_yield")
        )
        self.stretch = world.stretch.tolist()
        self.turns = (np.flatnonzero(np.diff(world.stretch)) + 1).tolist()
        self.stretches = int(world.stretch.max(initial=0)) + 1
        shape = (self.stretches, world.seasons)
        self.slope, self.speed = (
            _flat([kind.on_site for kind in kinds], name, shape) for name in ("slope", "speed")
        )
        self.young_slope, self.young_speed = (
            _flat([kind.in_nursery for kind in kinds], name, shape) for name in ("slope", "speed")
        )
        self.closes = _next_closed(world.sites)
        self.closed = [np.flatnonzero(world.sites[:, day] == 0).tolist() for day in range(world.days)]
        harvest, work = np.flatnonzero(world.harvest), np.flatnonzero(world.work)
        every = np.arange(world.days)
        at = np.searchsorted(harvest, every, side="right")
        self.next_harvest = np.append(harvest, 0)[at]
        self.next_harvest[at == len(harvest)] = every[at == len(harvest)] + NO_VISIT_D
        at = np.searchsorted(work, every + world.clean_days)
        self.next_planting = np.append(work, -1)[at]

    def rate(self, kind: IntArray, season: IntArray, day: int) -> IntArray:
        """Return where in the rates that of each kind in each season is, on a day."""
        if self.stretches > 1:
            kind = kind * self.stretches + self.stretch[day]
        return kind * self.seasons + season


def facts_of(world: World) -> Facts:
    """Return the facts of a world, which keeps them."""
    known = world.__dict__.get("facts")
    if known is None:
        known = world.__dict__["facts"] = Facts(world)
    return known


def _of_seasons(parts: Sequence[FloatArray | None], seasons: int) -> FloatArray:
    """Return arrays of seasons on top of each other, flat; 1 where there is none."""
    ones = np.ones(seasons)
    return np.concatenate([np.zeros(0), *(ones if part is None else part for part in parts)])


def _flat(rates: Sequence[Rates | None], name: str, shape: tuple[int, int]) -> FloatArray:
    """Return slope or speed of all kinds, flat; 1 and 0 where there is none."""
    empty = np.full((1, shape[1]), 1.0 if name == "slope" else 0.0)
    tables = [empty if its is None else getattr(its, name) for its in rates]
    return np.concatenate([np.zeros(0), *(np.broadcast_to(table, shape).ravel() for table in tables)])


def _next_closed(sites: IntArray) -> FloatArray:
    """Return the next day on which each place is out of use, by day, (places, days); ``FAR``: none."""
    closes = np.full(sites.shape, FAR)
    for day in range(sites.shape[1] - 1, -1, -1):
        later = closes[:, day + 1] if day + 1 < sites.shape[1] else FAR
        closes[:, day] = np.where(sites[:, day] == 0, day, later)
    return closes
