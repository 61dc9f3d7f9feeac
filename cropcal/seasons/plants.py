"""The plants of all drawn seasons: where each stands, how large it is, and when it will be ripe.

Rows are sown cells in order of sowing, columns are drawn seasons.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from cropcal.seasons.luck import batch_luck
from cropcal.seasons.world import BoolArray, FloatArray, IntArray, Kind, Rates, Sowing, Standing, World

TO_SOW, YOUNG, ON_SITE, GONE = 0, 1, 2, 3
FAR = 1e6
"""A day that never comes."""
DAY_DIGITS = 6
"""Decimals of a day: so that a plant that is ripe on a whole day is so in whatever order it is reckoned."""

Index = npt.NDArray[np.integer]


class Plants:
    """State of all plants, (rows, seasons) each, and the sites and cells that they hold."""

    def __init__(self, world: World, parts: Sequence[Sowing | Standing], seed: int) -> None:
        self.world = world
        self._facts_of_kinds(world.kinds)
        self._facts_of_rows(parts)
        shape = (len(self.batch), world.seasons)
        self.status = np.zeros(shape, np.int8)
        self.place = np.full(shape, -1, np.int8)
        self.kind = np.repeat(self.first[:, None], world.seasons, axis=1)
        self.sown, self.planted = np.full(shape, -1, np.int16), np.full(shape, -1, np.int16)
        self.young_g, self.young_on = np.zeros(shape), np.zeros(shape)
        self.x, self.since = np.zeros(shape), np.zeros(shape)
        self.ripe, self.full = np.full(shape, FAR), np.full(shape, FAR)
        self.over, self.death = np.full(shape, FAR), np.full(shape, FAR)
        most = int(self.cuts_planned.max(initial=1))
        self.done = np.zeros(shape, np.int8)
        self.cut_day = np.full((most, *shape), -1, np.int16)
        self.cut_amount = np.zeros((most, *shape), np.float32)
        luck = [
            batch_luck(world, world.kinds[part.kinds[0]], part.name, len(part.cuts),
                       come_up=isinstance(part, Standing) and part.come_up, seed=seed)
            for part in parts
        ]  # fmt: skip
        none = np.zeros((0, world.seasons), np.float32)
        self.factor, self.alive, self.dies = (
            np.concatenate([none, *(np.tile(getattr(row, name), world.blocks) for row in luck)])
            for name in ("factor", "alive", "dies")
        )
        at = 0
        for part in parts:
            if isinstance(part, Sowing) and part.sown_in is not None:
                rows = slice(at, at + part.cells)
                self.status[rows][~np.repeat(part.sown_in, world.seasons // world.blocks, axis=1)] = GONE
            at += len(part.cuts)
        self.held = np.zeros((len(world.sites), world.seasons), np.int64)
        self.cells_held = np.zeros((len(world.cells), world.seasons), np.int64)
        self.freed = np.zeros((world.days + world.clean_days + 1, len(world.sites), world.seasons), np.int16)
        self._stand([part for part in parts if isinstance(part, Standing)])

    def _facts_of_kinds(self, kinds: Sequence[Kind]) -> None:
        world = self.world
        none = np.zeros((0, world.seasons))
        self.starts = np.stack([kind.starts_d for kind in kinds]) if kinds else none
        self.start_g = np.stack([kind.start_g for kind in kinds]) if kinds else none
        self.heads, self.fixed = (
            np.array([of(kind) for kind in kinds], dtype=bool)
            for of in (lambda kind: kind.heads, lambda kind: kind.fixed_d is not None)
        )
        self.places = np.array([kind.place for kind in kinds], dtype=np.int64)
        self.full_g, self.full_amount, self.leaves, self.lag, self.window, self.site_d = (
            np.array([getattr(kind, name) for kind in kinds], dtype=float)
            for name in ("full_g", "full_amount", "leaves_share", "lag_d", "window_d", "site_d")
        )
        stretches = int(world.stretch.max(initial=0)) + 1
        self.slope, self.speed = (
            _stacked([kind.on_site for kind in kinds], name, stretches, world.seasons)
            for name in ("slope", "speed")
        )

    def _facts_of_rows(self, parts: Sequence[Sowing | Standing]) -> None:
        kinds, cells = self.world.kinds, [len(part.cuts) for part in parts]
        self.batch = np.repeat(np.arange(len(parts)), cells)
        days = [part.sown if isinstance(part, Standing) else part.day for part in parts]
        self.sow_day = np.repeat(np.array(days, dtype=np.int64), cells)
        self.first = np.repeat(np.array([part.kinds[0] for part in parts], dtype=np.int64), cells)
        self.want, self.each, self.nursery, self.keeps, self.young, self.old = (
            np.array([getattr(kind, name) for kind in kinds], dtype=np.int64)[self.first]
            for name in ("want", "sites_each", "nursery", "keeps_d", "young_d", "old_d")
        )
        self.planned_place = self.places[self.first]
        self.cuts_planned = np.array([cuts for part in parts for cuts in part.cuts], dtype=np.int64)
        self.kind_in = np.full((len(self.batch), len(self.world.sites)), -1, dtype=np.int64)
        at = 0
        for part, count in zip(parts, cells, strict=True):
            for number in part.kinds:
                self.kind_in[at : at + count, kinds[number].place] = number
            at += count
        self.not_before = np.zeros(len(self.batch))

    def _stand(self, standing: Sequence[Standing]) -> None:
        """Put in what stands already."""
        at = 0
        for part in standing:
            rows = slice(at, at + len(part.cuts))
            at += len(part.cuts)
            kind = self.world.kinds[part.kinds[0]]
            self.sown[rows], self.done[rows] = part.sown, part.done
            self.not_before[rows] = part.not_before
            if part.waits:
                self.status[rows] = YOUNG
                self.young_g[rows], self.young_on[rows] = part.mass_g, part.from_d
                if kind.nursery >= 0:
                    self.cells_held[kind.nursery] += len(part.cuts)
                continue
            self.status[rows] = ON_SITE
            self.place[rows], self.planted[rows] = kind.place, part.planted
            self.held[kind.place] += len(part.cuts) * kind.sites_each
            row, season = (index.ravel() for index in np.indices(self.status[rows].shape))
            row = row + rows.start
            if kind.fixed_d is not None:
                self.restart_shoots(row, season, part.planted)
                continue
            begins = part.from_d[season]
            day = min(max(part.not_before, 0), self.world.days - 1)
            self.grow_on(row, season, begins, part.mass_g[season], day)
            self._foresee_death(row, season, begins)

    def free(self, row: Index, season: Index, day: int) -> None:
        """Clear sites: they are free when they have been cleaned."""
        self.status[row, season] = GONE
        place, clean = self.place[row, season].astype(np.int64), self.world.clean_days
        if clean == 0:
            np.subtract.at(self.held, (place, season), self.each[row])
            return
        when = np.full(len(row), day + clean)
        np.add.at(self.freed, (when, place, season), self.each[row].astype(np.int16))

    def leave_nursery(self, rows: IntArray, gone: BoolArray) -> None:
        """Give back the cells of seedlings that leave, (rows, seasons)."""
        for nursery in range(len(self.cells_held)):
            mine = self.nursery[rows] == nursery
            self.cells_held[nursery] -= gone[mine].sum(axis=0)

    def raise_young(self, row: Index, season: Index, day: int) -> None:
        """Sow into a nursery."""
        self.status[row, season], self.sown[row, season] = YOUNG, day
        self.young_g[row, season] = self.start_g[self.first[row], season]
        self.young_on[row, season] = day + self.starts[self.first[row], season]

    def take_site(self, row: Index, season: Index, place: IntArray, day: int) -> None:
        """Put rows into their places; what comes from a nursery goes on from the mass it has."""
        kind = self.kind_in[row, place]
        in_place = self.status[row, season] == TO_SOW
        self.sown[row[in_place], season[in_place]] = day
        self.kind[row, season], self.place[row, season] = kind, place
        self.planted[row, season], self.status[row, season] = day, ON_SITE
        begins, mass = np.full(len(row), float(day)), np.ones(len(row))
        for number in np.unique(kind).tolist():
            its, mine = self.world.kinds[number], kind == number
            at, col = row[mine], season[mine]
            if its.fixed_d is not None:
                self.restart_shoots(at, col, day)
            elif its.nursery >= 0:
                mass[mine] = self._young_mass(its.in_nursery, at, col, day)
            else:
                begins[mine], mass[mine] = day + its.starts_d[col], its.start_g[col]
        grows = ~self.fixed[kind]
        self.grow_on(row[grows], season[grows], begins[grows], mass[grows], day)
        fresh = day + self.window[kind]  # even what was full before it was moved
        self.over[row, season] = np.maximum(self.over[row, season], fresh)
        self._foresee_death(row, season, np.full(len(row), float(day)))

    def _foresee_death(self, row: Index, season: Index, begins: FloatArray) -> None:
        """Set the day on which a plant is lost, if it is; where nothing comes up, that is soon seen."""
        dies, kind = self.dies[row, season], self.kind[row, season]
        until = begins + dies * np.maximum(self.full[row, season] - begins, 1.0)
        empty = begins + np.maximum(self.site_d[kind] / 3, 1.0)
        lost = np.where(dies < 1.0, until, FAR)
        self.death[row, season] = np.where(self.alive[row, season] > 0, lost, empty)

    def _young_mass(self, rates: Rates | None, row: Index, season: Index, day: int) -> FloatArray:
        """Return the dry mass of seedlings that leave their nursery."""
        begins, mass = self.young_on[row, season], self.young_g[row, season]
        if rates is None:
            return mass
        stretch, edges = self.world.stretch, [0, day]
        if len(rates.slope) > 1:
            first = max(int(begins.min(initial=day)), 0)
            turns = np.flatnonzero(np.diff(stretch[first : day + 1])) + first + 1
            edges = [first, *turns.tolist(), day]
        for start, end in pairwise(edges):
            part = int(stretch[start]) if len(rates.slope) > 1 else 0
            slope = rates.slope[part, season]
            days = np.clip(end - np.maximum(begins, start), 0.0, None)
            grown = np.logaddexp(0.0, _x(slope * mass) + rates.speed[part, season] * days) / slope
            mass = np.where(days > 0, grown, mass)
        return np.asarray(mass)

    def grow_on(self, row: Index, season: Index, begins: FloatArray, mass: FloatArray, day: int) -> None:
        """Let rows grow from a mass on, at the rates of a day, and foresee when they are ripe and over."""
        if not len(row):
            return
        kind = self.kind[row, season]
        at = (kind, self.world.stretch[day], season)
        slope, speed = self.slope[at], self.speed[at]
        full_g = self.full_g[kind] / self.factor[row, season]
        x = _x(slope * mass)
        fast = np.where(speed > 0, speed, 1.0)
        ripe, full = (
            np.where(speed > 0, np.round(begins + (_x(slope * full_g * share) - x) / fast, DAY_DIGITS), FAR)
            for share in (self.world.least_share, 1.0)
        )
        self.x[row, season], self.since[row, season] = x, begins
        self.ripe[row, season], self.full[row, season] = ripe, full
        self.over[row, season] = np.floor(np.minimum(full, FAR)) + self.window[kind]

    def turn(self, day: int, before: int) -> None:
        """Go on at the rates of another stretch of the year; ``before`` is a day of the last one."""
        row, season = np.nonzero((self.status == ON_SITE) & ~self.fixed[self.kind])
        mass = self.mass_g(row, season, day, before)
        begins = np.maximum(self.since[row, season], float(day))
        over = self.over[row, season]
        was_full = self.full[row, season] <= day
        self.grow_on(row, season, begins, mass, day)
        self.over[row[was_full], season[was_full]] = over[was_full]

    def mass_g(self, row: Index, season: Index, day: int, rates_of: int | None = None) -> FloatArray:
        """Return the dry mass of a plant as its site makes it, without its own luck."""
        at = (self.kind[row, season], self.world.stretch[day if rates_of is None else rates_of], season)
        days = np.maximum(day - self.since[row, season], 0.0)
        return np.asarray(np.logaddexp(0.0, self.x[row, season] + self.speed[at] * days) / self.slope[at])

    def amounts(self, rows: IntArray, ripe: BoolArray, day: int) -> FloatArray:
        """Return what each ripe row brings on a day, in the unit of its want; 0 elsewhere."""
        amounts = np.zeros(ripe.shape)
        row, season = np.nonzero(ripe)
        amounts[row, season] = self.amount(rows[row], season, day)
        return amounts

    def amount(self, row: Index, season: Index, day: int) -> FloatArray:
        """Return what rows bring on a day: a head, or grams; what is cut again leaves a stub."""
        kind = self.kind[row, season]
        amount = self.full_amount[kind] * self.alive[row, season]
        grams = ~self.heads[kind] & ~self.fixed[kind]
        if grams.any():
            at, col, of = row[grams], season[grams], kind[grams]
            share = self.mass_g(at, col, day) * self.factor[at, col] / self.full_g[of]
            again = self.done[at, col] + 1 < self.cuts_planned[at]
            amount[grams] *= share * np.where(again, 1.0 - self.leaves[of], 1.0)
        for number in np.unique(kind[self.fixed[kind]]).tolist():
            its, mine = self.world.kinds[number].fixed_yield, kind == number
            if its is not None:
                amount[mine] *= its[season[mine]]
        return np.asarray(amount, float)

    def cut_again(self, row: Index, season: Index, day: int) -> None:
        """Let what was cut grow on from its stub."""
        kind = self.kind[row, season]
        shoots = self.fixed[kind]
        self.restart_shoots(row[shoots], season[shoots], day)
        row, season, kind = row[~shoots], season[~shoots], kind[~shoots]
        stub = self.mass_g(row, season, day) * self.leaves[kind]
        self.grow_on(row, season, day + self.lag[kind], stub, day)

    def restart_shoots(self, row: Index, season: Index, day: int) -> None:
        """Let shoots stand until their days are over, from a sowing or a cut."""
        kind = self.kind[row, season]
        for number in np.unique(kind).tolist():
            its, mine = self.world.kinds[number], kind == number
            if its.fixed_d is not None:
                full = day + its.fixed_d[season[mine]]
                self.ripe[row[mine], season[mine]] = self.full[row[mine], season[mine]] = full
                self.over[row[mine], season[mine]] = np.floor(full) + its.window_d


def _stacked(rates: Sequence[Rates | None], name: str, stretches: int, seasons: int) -> FloatArray:
    """Return slope or speed of all kinds, (kinds, stretches, seasons); 1 and 0 where there is none."""
    empty = np.full((1, seasons), 1.0 if name == "slope" else 0.0)
    tables = [empty if its is None else getattr(its, name) for its in rates]
    shape = (stretches, seasons)
    full = [np.broadcast_to(table, shape) for table in tables]
    return np.stack(full) if full else np.zeros((0, *shape))


def _x(slope_times_mass: FloatArray) -> FloatArray:
    """Return ln(exp(y) - 1), good for small and for large y."""
    return np.asarray(slope_times_mass + np.log(-np.expm1(-slope_times_mass)))
