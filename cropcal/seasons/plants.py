"""The plants of all drawn seasons: where each stands, how large it is, and when it will be ripe.

Rows are sown cells in order of sowing, columns are drawn seasons. All that is known of plants is kept flat:
plant ``row * seasons + season`` is that of a row in a season. The days on which something has to be done to a
plant are whole, so that a day's work is found by comparing them once.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from cropcal.seasons.facts import FAR, facts_of
from cropcal.seasons.first_come import AnyNumber
from cropcal.seasons.luck import after_a_loss, luck_of_batch
from cropcal.seasons.world import BoolArray, FloatArray, IntArray, Sowing, Standing, World

TO_SOW, YOUNG, ON_SITE, GONE = 0, 1, 2, 3
DAY_DIGITS = 6
"""Decimals of a day: so that a plant that is ripe on a whole day is so in whatever order it is reckoned."""
LATE_SOWING_D = 14
"""Days for which a sowing waits for a free cell or site before it is left out (assumed)."""
NO_DAY = 32000
"""A whole day that never comes."""


class Plants:
    """State of all plants, flat (rows * seasons,), and the sites and cells that they hold.

    Whole days: ``ripe_on`` from which it may be cut, ``out_on`` on which it is taken out, ``wants_site`` from
    which it is old enough for its site, ``thrown_on`` on which it is thrown away; each ``NO_DAY`` where that
    is not to come. ``over`` is the last day on which it is good.
    """

    def __init__(self, world: World, parts: Sequence[Sowing | Standing], seed: int) -> None:
        self.world, self.facts, self.seasons = world, facts_of(world), world.seasons
        self._facts_of_rows(parts)
        self.rows = len(self.batch)
        size = self.rows * world.seasons
        self.status, self.place = np.zeros(size, np.int8), np.full(size, -1, np.int8)
        self.kind = self._of_rows(self.first, np.int16)
        self.sown, self.planted = np.full(size, -1, np.int16), np.full(size, -1, np.int16)
        self.young_g, self.young_on = np.zeros(size), np.zeros(size)
        self.x, self.since, self.full = np.zeros(size), np.zeros(size), np.full(size, FAR)
        self.x_ripe, self.x_full = np.zeros(size), np.zeros(size)
        self.ripe_on, self.out_on, self.death_on, self.over = (
            np.full(size, NO_DAY, np.int16) for _ in range(4)
        )
        in_place = self.nursery < 0
        self.wants_site = self._of_rows(np.where(in_place, self.sow_day, NO_DAY), np.int16)
        late = self.sow_day + np.maximum(LATE_SOWING_D + 1, self.young)
        self.thrown_on = self._of_rows(np.minimum(late, NO_DAY), np.int16)
        most = int(self.cuts_planned.max(initial=1))
        self.done = np.zeros(size, np.int8)
        self.cut_day = np.full((most, size), -1, np.int16)
        self.cut_amount = np.zeros((most, size), np.float32)
        self._draw(parts, seed)
        self.held = np.zeros((len(world.sites), world.seasons), np.int64)
        self.cells_held = np.zeros((len(world.cells), world.seasons), np.int64)
        self.freed: dict[int, IntArray] = {}
        self._stand([part for part in parts if isinstance(part, Standing)])

    def _of_rows(self, values: IntArray, of: type[AnyNumber]) -> npt.NDArray[AnyNumber]:
        return np.repeat(values.astype(of), self.seasons)

    def _facts_of_rows(self, parts: Sequence[Sowing | Standing]) -> None:
        facts, cells = self.facts, [len(part.cuts) for part in parts]
        self.batch = np.repeat(np.arange(len(parts)), cells)
        days = [part.sown if isinstance(part, Standing) else part.day for part in parts]
        self.sow_day = np.repeat(np.array(days, dtype=np.int64), cells)
        self.first = np.repeat(np.array([part.kinds[0] for part in parts], dtype=np.int64), cells)
        self.want, self.each, self.nursery, self.keeps, self.young, self.old, self.planned_place = (
            of[self.first]
            for of in (
                facts.want,
                facts.each,
                facts.nursery,
                facts.keeps,
                facts.young,
                facts.old,
                facts.place,
            )
        )
        self.cuts_planned = np.array([cuts for part in parts for cuts in part.cuts], dtype=np.int64)
        kind_in = np.full((len(parts), len(self.world.sites)), -1, dtype=np.int64)
        for at, part in enumerate(parts):
            for number in part.kinds:
                kind_in[at, facts.place[number]] = number
        self.kind_in = kind_in[self.batch]
        is_planned = np.arange(len(self.world.sites)) == self.planned_place[:, None]
        self.in_planned = (self.kind_in >= 0) & is_planned
        self.elsewhere = (self.kind_in >= 0) & ~is_planned
        self.takes_d = np.append(facts.site_d, 0.0)[self.kind_in]
        self.not_before = np.zeros(len(self.batch), dtype=np.int64)
        self.to_sow = self.nursery >= 0
        self.one_site_each = bool((self.each == 1).all())

    def _draw(self, parts: Sequence[Sowing | Standing], seed: int) -> None:
        """Draw the luck of each plant, and leave out what is not sown in its block."""
        world, blocks = self.world, self.world.blocks
        luck = [
            luck_of_batch(world, part.kinds[0], part.name, len(part.cuts), part.first_cell,
                          come_up=isinstance(part, Standing) and part.come_up, seed=seed)
            for part in parts
        ]  # fmt: skip
        luck = [
            after_a_loss(its, world.kinds[part.kinds[0]], part.name, part.lost, part.first_cell, seed=seed)
            if isinstance(part, Standing) else its
            for part, its in zip(parts, luck, strict=True)
        ]  # fmt: skip
        none = np.zeros((0, self.seasons // blocks), np.float32)
        self.factor, self.alive, self.dies = (
            np.tile(np.concatenate([none, *(getattr(its, name) for its in luck)]), blocks).ravel()
            for name in ("factor", "alive", "dies")
        )
        at = 0
        for part in parts:
            if isinstance(part, Sowing) and part.sown_in is not None:
                its = slice(at * self.seasons, (at + part.cells) * self.seasons)
                out = ~np.repeat(part.sown_in, self.seasons // blocks, axis=1).ravel()
                self.status[its][out] = GONE
                self.wants_site[its][out] = self.thrown_on[its][out] = NO_DAY
            at += len(part.cuts)

    def _stand(self, standing: Sequence[Standing]) -> None:
        """Put in what stands already."""
        at = 0
        for part in standing:
            cells, kind = len(part.cuts), self.world.kinds[part.kinds[0]]
            its = slice(at * self.seasons, (at + cells) * self.seasons)
            which = np.arange(its.start, its.stop)
            self.sown[its], self.done[its] = part.sown, part.done
            self.not_before[at : at + cells] = part.not_before
            self.to_sow[at : at + cells] = False
            at += cells
            mass, begins = np.tile(part.mass_g, cells), np.tile(part.from_d, cells)
            if part.waits:
                self._raise(which, mass, begins)
                if kind.nursery >= 0:
                    self.cells_held[kind.nursery] += cells
                continue
            self.status[its], self.wants_site[its], self.thrown_on[its] = ON_SITE, NO_DAY, NO_DAY
            self.place[its], self.planted[its] = kind.place, part.planted
            self.held[kind.place] += cells * kind.sites_each
            if kind.fixed_d is not None:
                self.restart_shoots(which, part.planted)
                continue
            day = min(max(part.not_before, 0), self.world.days - 1)
            self.grow_on(which, begins, mass, day, fresh=True)
            self._foresee_death(which, begins)

    def table(self, of: npt.NDArray[AnyNumber]) -> npt.NDArray[AnyNumber]:
        """Return what is kept of each plant as a table, (..., rows, seasons)."""
        return of.reshape(*of.shape[:-1], self.rows, self.seasons)

    def split(self, which: IntArray) -> tuple[IntArray, IntArray]:
        """Return row and season of plants."""
        row = which // self.seasons
        return row, which - row * self.seasons

    def is_gone(self, row: int) -> bool:
        """Say whether a row is gone in all seasons."""
        return bool((self.status[row * self.seasons : (row + 1) * self.seasons] == GONE).all())

    def have_come(self, days: npt.NDArray[np.int16], rows: slice, day: int) -> BoolArray:
        """Say of which of some rows a day has come, in each season, (those rows, seasons)."""
        its = days[rows.start * self.seasons : rows.stop * self.seasons] <= day
        return its.reshape(-1, self.seasons)

    def those(self, rows: IntArray, some: BoolArray) -> tuple[IntArray, IntArray, IntArray]:
        """Return the numbers of those plants of some rows for which something is so, (those rows, seasons).

        Beside them, where each is in that table, flat, and its season.
        """
        at = some.reshape(-1).nonzero()[0]
        near = at // self.seasons
        season = at - near * self.seasons
        return rows[near] * self.seasons + season, at, season

    def due(self, days: npt.NDArray[np.int16], rows: slice, day: int) -> IntArray:
        """Return those of some rows of which a day has come, in order."""
        return np.asarray(
            self.have_come(days, rows, day).reshape(-1).nonzero()[0] + rows.start * self.seasons
        )

    def sites_of(self, which: IntArray, place: IntArray) -> IntArray:
        """Return the sites that plants hold, or ask for, in each place, (places, seasons)."""
        row, season = self.split(which)
        at, shape = place * self.seasons + season, self.held.shape
        size = shape[0] * shape[1]
        if self.one_site_each:
            return np.bincount(at, minlength=size).reshape(shape)
        return np.bincount(at, self.each[row], size).astype(np.int64).reshape(shape)

    def free(self, which: IntArray, day: int) -> None:
        """Clear sites: they are free when they have been cleaned."""
        if not len(which):
            return
        self.status[which], self.ripe_on[which], self.out_on[which] = GONE, NO_DAY, NO_DAY
        sites, when = self.sites_of(which, self.place[which].astype(np.int64)), day + self.world.clean_days
        if when == day:
            self.held -= sites
        else:
            self.freed[when] = self.freed.get(when, 0) + sites

    def clean(self, day: int) -> None:
        """Give back the sites that have been cleaned by a day."""
        for when in [when for when in self.freed if when <= day]:
            self.held -= self.freed.pop(when)

    def leave_nursery(self, which: IntArray) -> None:
        """Give back the cells of seedlings that leave."""
        if len(which):
            self._hold_cells(which, -1)

    def _hold_cells(self, which: IntArray, by: int) -> None:
        row, season = self.split(which)
        at, shape = self.nursery[row] * self.seasons + season, self.cells_held.shape
        self.cells_held += by * np.bincount(at[at >= 0], minlength=shape[0] * shape[1]).reshape(shape)

    def throw_away(self, which: IntArray) -> None:
        """Give up seedlings, and what was not sown in time."""
        if not len(which):
            return
        self.leave_nursery(which[self.status[which] == YOUNG])
        self.status[which], self.wants_site[which], self.thrown_on[which] = GONE, NO_DAY, NO_DAY

    def raise_young(self, which: IntArray, day: int) -> None:
        """Sow into a nursery."""
        row, season = self.split(which)
        at = self.first[row] * self.seasons + season
        self.sown[which] = day
        self._raise(which, self.facts.start_g[at], day + self.facts.starts[at])
        self._hold_cells(which, 1)

    def _raise(self, which: IntArray, mass_g: FloatArray, begins: FloatArray) -> None:
        """Let seedlings stand in their nursery: those that do not come up are thrown away in time."""
        row = which // self.seasons
        self.status[which], self.young_g[which], self.young_on[which] = YOUNG, mass_g, begins
        sown, lives = self.sown[which].astype(np.int64), self.alive[which] > 0
        ready = sown + self.young[row]
        self.wants_site[which] = np.where(lives, ready, NO_DAY)
        self.thrown_on[which] = np.minimum(np.where(lives, sown + self.old[row] + 1, ready), NO_DAY)

    def take_site(self, which: IntArray, place: IntArray, day: int) -> None:
        """Put plants into their places; what comes from a nursery goes on from the mass it has."""
        facts = self.facts
        row, season = self.split(which)
        kind = self.kind_in[row, place]
        at = kind * self.seasons + season
        in_place = which[self.status[which] == TO_SOW]
        self.sown[in_place] = day
        self.kind[which], self.place[which], self.planted[which] = kind, place, day
        self.status[which], self.wants_site[which], self.thrown_on[which] = ON_SITE, NO_DAY, NO_DAY
        raised = facts.nursery[kind] >= 0
        now = np.full(len(which), float(day))
        begins = np.where(raised, now, day + facts.starts[at])
        mass = np.where(raised, self.young_g[which], facts.start_g[at])
        moved = (raised & facts.grows_in_nursery[kind]).nonzero()[0]
        if len(moved):
            mass[moved] = self._young_mass(which[moved], kind[moved], season[moved], day)
        self._start(which, kind, begins, mass, day)
        fresh = day + facts.window[kind]  # even what was full before it was moved
        self.over[which] = np.maximum(self.over[which], fresh)
        self._foresee_death(which, now)

    def _start(self, which: IntArray, kind: IntArray, begins: FloatArray, mass: FloatArray, day: int) -> None:
        """Let plants grow, or shoots stand, from a day on."""
        shoots = self.facts.fixed[kind]
        if shoots.any():
            self.restart_shoots(which[shoots], day)
            which, begins, mass = which[~shoots], begins[~shoots], mass[~shoots]
        self.grow_on(which, begins, mass, day, fresh=True)

    def _foresee_death(self, which: IntArray, begins: FloatArray) -> None:
        """Set the day on which a plant is lost, if it is; where nothing comes up, that is soon seen."""
        dies, site_d = self.dies[which], self.facts.site_d[self.kind[which]]
        until = begins + dies * np.maximum(self.full[which] - begins, 1.0)
        empty = begins + np.maximum(site_d / 3, 1.0)
        death = np.where(self.alive[which] > 0, np.where(dies < 1.0, until, FAR), empty)
        self.death_on[which] = np.minimum(np.ceil(death), NO_DAY)
        self._foresee_end(which)

    def _foresee_end(self, which: IntArray) -> None:
        self.out_on[which] = np.minimum(self.death_on[which], self.over[which] + np.int16(1))

    def _young_mass(self, which: IntArray, kind: IntArray, season: IntArray, day: int) -> FloatArray:
        """Return the dry mass of seedlings that leave their nursery."""
        facts = self.facts
        begins, mass = self.young_on[which], self.young_g[which]
        first = max(int(begins.min(initial=day)), 0) if facts.turns else 0
        edges = [first, *(turn for turn in facts.turns if first < turn <= day), day]
        for start, end in pairwise(edges):
            at = facts.rate(kind, season, start)
            slope, days = facts.young_slope[at], np.maximum(end - np.maximum(begins, start), 0.0)
            grown = np.logaddexp(0.0, _x(slope * mass) + facts.young_speed[at] * days) / slope
            mass = np.where(days > 0, grown, mass)
        return np.asarray(mass)

    def grow_on(
        self, which: IntArray, begins: FloatArray, mass: FloatArray, day: int, *, fresh: bool
    ) -> None:
        """Let plants grow from a mass on, at the rates of a day, and foresee when they are ripe and over.

        ``fresh``: they did not grow at these rates before.
        """
        if not len(which):
            return
        facts = self.facts
        row, season = self.split(which)
        kind = self.kind[which].astype(np.int64)
        at = facts.rate(kind, season, day)
        slope, speed = facts.slope[at], facts.speed[at]
        if fresh:
            grown = slope * (facts.full_g[kind] / self.factor[which])
            self.x_ripe[which], self.x_full[which] = _x(grown * self.world.least_share), _x(grown)
        x = _x(slope * mass)
        grows, fast = speed > 0, np.where(speed > 0, speed, 1.0)
        ripe, full = (
            np.where(grows, (begins + (goal[which] - x) / fast).round(DAY_DIGITS), FAR)
            for goal in (self.x_ripe, self.x_full)
        )
        self.x[which], self.since[which], self.full[which] = x, begins, full
        self.ripe_on[which] = np.minimum(np.maximum(np.ceil(ripe), self.not_before[row]), NO_DAY)
        self.over[which] = np.minimum(np.floor(full) + facts.window[kind], NO_DAY)
        self._foresee_end(which)

    def turn(self, day: int, before: int) -> None:
        """Go on at the rates of another stretch of the year; ``before`` is a day of the last one."""
        which = (self.status == ON_SITE).nonzero()[0]
        which = which[~self.facts.fixed[self.kind[which]]]
        mass = self.mass_g(which, day, before)
        begins, over = np.maximum(self.since[which], float(day)), self.over[which]
        was_full = self.full[which] <= day
        self.grow_on(which, begins, mass, day, fresh=True)
        self.over[which[was_full]] = over[was_full]
        self._foresee_end(which)

    def mass_g(self, which: IntArray, day: int, rates_of: int | None = None) -> FloatArray:
        """Return the dry mass of a plant as its site makes it, without its own luck."""
        facts, season = self.facts, which % self.seasons
        at = facts.rate(self.kind[which].astype(np.int64), season, day if rates_of is None else rates_of)
        days = np.maximum(day - self.since[which], 0.0)
        return np.asarray(np.logaddexp(0.0, self.x[which] + facts.speed[at] * days) / facts.slope[at])

    def amount(self, which: IntArray, day: int) -> FloatArray:
        """Return what plants bring on a day: a head, or grams; what is cut again leaves a stub."""
        facts, kind = self.facts, self.kind[which]
        amount = facts.full_amount[kind] * self.alive[which]
        fixed = facts.fixed[kind]
        grams = (~facts.heads[kind] & ~fixed).nonzero()[0]
        if len(grams):
            at, of = which[grams], kind[grams]
            share = self.mass_g(at, day) * self.factor[at] / facts.full_g[of]
            again = self.done[at] + 1 < self.cuts_planned[at // self.seasons]
            amount[grams] *= share * np.where(again, 1.0 - facts.leaves[of], 1.0)
        if fixed.any():
            at = which[fixed]
            amount[fixed] *= facts.fixed_yield[kind[fixed] * self.seasons + at % self.seasons]
        return np.asarray(amount, float)

    def cut(self, which: IntArray, amounts: FloatArray, day: int) -> None:
        """Cut plants: those that have cuts left grow on from their stubs, the others give their sites."""
        number = self.done[which].astype(np.int64)
        at = number * len(self.done) + which
        self.cut_day.reshape(-1)[at], self.cut_amount.reshape(-1)[at] = day, amounts
        again = number + 1 < self.cuts_planned[which // self.seasons]
        if again.any():
            self.cut_again(which[again], day)
        self.done[which] += 1
        self.free(which[~again], day)

    def cut_again(self, which: IntArray, day: int) -> None:
        """Let what was cut grow on from its stub."""
        kind = self.kind[which]
        shoots = self.facts.fixed[kind]
        if shoots.any():
            self.restart_shoots(which[shoots], day)
            which, kind = which[~shoots], kind[~shoots]
        stub = self.mass_g(which, day) * self.facts.leaves[kind]
        self.grow_on(which, day + self.facts.lag[kind], stub, day, fresh=False)

    def restart_shoots(self, which: IntArray, day: int) -> None:
        """Let shoots stand until their days are over, from a sowing or a cut."""
        row, season = self.split(which)
        kind = self.kind[which].astype(np.int64)
        full = day + self.facts.fixed_d[kind * self.seasons + season]
        self.full[which] = full
        self.ripe_on[which] = np.minimum(np.maximum(np.ceil(full), self.not_before[row]), NO_DAY)
        self.over[which] = np.minimum(np.floor(full) + self.facts.window[kind], NO_DAY)
        self._foresee_end(which)


def _x(slope_times_mass: FloatArray) -> FloatArray:
    """Return ln(exp(y) - 1), good for small and for large y."""
    return np.asarray(slope_times_mass + np.log(-np.expm1(-slope_times_mass)))
