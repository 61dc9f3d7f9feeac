"""Drawn seasons run forward, all at once: sowings are firm, all else is done by a grower with sense.

On each day on which somebody is there, what is over or dead is taken out. What the week wants is cut, the
oldest first; what would go over before the next visit is cut as well, and so is what stands in the way of a
seedling that waits. Then the oldest seedlings go into whatever site of the right kind is free; the others
wait in the nursery.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cropcal.seasons.harvest import Harvester
from cropcal.seasons.kitchen import TRIFLE, Kitchen
from cropcal.seasons.plants import LATE_SOWING_D, ON_SITE, TO_SOW, YOUNG, Plants, sums_before
from cropcal.seasons.world import Delivery, FloatArray, IntArray, Sowing, Standing, World

__all__ = ["LATE_SOWING_D", "Seasons", "simulate"]


@dataclass(frozen=True, eq=False)
class Seasons:
    """What came of each drawn season.

    Attributes
    ----------
    eaten
        Amount of each want eaten in each week, (wants, weeks, seasons).
    wasted
        Amount of each want that was cut, or went over, and was not eaten, (wants, seasons).
    batch
        Number of the batch of each row: those that stood, then the sowings, as they were given, (rows,).
    planted
        Day on which each row took its site, -1: never, (rows, seasons).
    cut_day, cut_amount
        Day and amount of each cut, -1 and 0: none, (cuts, rows, seasons).
    jobs
        Cells sown, seedlings moved, and sites cut in each week, (3, weeks), the mean of all seasons.
    """

    eaten: FloatArray
    wasted: FloatArray
    batch: IntArray
    planted: npt.NDArray[np.int16]
    cut_day: npt.NDArray[np.int16]
    cut_amount: npt.NDArray[np.float32]
    jobs: FloatArray

    def short(self, wanted: FloatArray) -> FloatArray:
        """Return the missing share of each wanted week, (wants, weeks, seasons); 0 where nothing is wanted.

        ``wanted`` may leave out the last wants. A trifle is no shortage.
        """
        asked = wanted[:, :, None]
        eaten = self.eaten[: len(wanted)] / np.where(asked > 0, asked, 1.0)
        share = np.where(asked > 0, 1.0 - eaten, 0.0)
        return np.where(share > TRIFLE, share, 0.0)


def simulate(
    world: World,
    sowings: Sequence[Sowing],
    standing: Sequence[Standing] = (),
    delivered: Sequence[Delivery] = (),
    seed: int = 1,
) -> Seasons:
    """Return the drawn seasons of sowings; the same input gives the same seasons.

    ``standing`` are plants that stand already, ``delivered`` what was cut before the first day. With the seed
    ``luck.LUCKLESS`` everything comes as forecast.
    """
    order = sorted(range(len(sowings)), key=lambda at: sowings[at].day)
    run = _Run(world, [*standing, *(sowings[at] for at in order)], delivered, seed)
    run.all_days()
    number = np.array([*range(len(standing)), *(len(standing) + at for at in order)], dtype=np.int64)
    plants = run.plants
    return Seasons(
        eaten=run.kitchen.eaten,
        wasted=run.kitchen.wasted,
        batch=number[plants.batch] if len(number) else plants.batch,
        planted=plants.table(plants.planted),
        cut_day=plants.table(plants.cut_day),
        cut_amount=plants.table(plants.cut_amount),
        jobs=run.jobs / max(world.seasons, 1),
    )


class _Run:
    """One run: the jobs of each day, done to the plants of all seasons."""

    def __init__(
        self,
        world: World,
        parts: Sequence[Sowing | Standing],
        delivered: Sequence[Delivery],
        seed: int,
    ) -> None:
        self.world, self.delivered = world, delivered
        self.plants, self.kitchen = Plants(world, parts, seed), Kitchen(world)
        self.harvester = Harvester(self.plants, self.kitchen)
        self.jobs = np.zeros((3, max(self.kitchen.weeks, 1)))

    def all_days(self) -> None:
        """Do the jobs of every day on which somebody is there."""
        world, plants = self.world, self.plants
        visits = np.flatnonzero(world.work | world.harvest)
        days = np.union1d(visits, [cut.day for cut in self.delivered]).astype(np.int64)
        week, low, before = 0, 0, -1
        for day in days.tolist():
            while week < self.kitchen.weeks and week * 7 <= day:
                self.kitchen.begin_week(week)
                week += 1
            plants.clean(day)
            if before >= 0 and world.stretch[day] != world.stretch[before]:
                plants.turn(day, before)
            before = day
            high = int(np.searchsorted(plants.sow_day, day, side="right"))
            while low < high and plants.is_gone(low):
                low += 1
            rows = slice(low, high)
            for cut in self.delivered:
                if cut.day == day:
                    self.kitchen.deliver(cut)
            self._take_out(day, rows)
            if world.harvest[day]:
                self._count(2, day, self.harvester.visit(day, rows))
            if world.work[day]:
                plants.throw_away(plants.due(plants.thrown_on, rows, day))
                self._plant(day, rows)
                self._sow(day, rows)
        for later in range(week, self.kitchen.weeks):
            self.kitchen.begin_week(later)

    def _count(self, job: int, day: int, number: int) -> None:
        self.jobs[job, min(day // 7, self.jobs.shape[1] - 1)] += number

    def _take_out(self, day: int, rows: slice) -> None:
        """Take out plants that died or went over, and those whose site goes out of use."""
        plants = self.plants
        which = plants.due(plants.out_on, rows, day)
        if len(which):
            self._clear(which, day)
        for place in plants.facts.closed[day]:
            if plants.held[place].any():
                plants.free(np.flatnonzero((plants.place == place) & (plants.status == ON_SITE)), day)

    def _clear(self, which: IntArray, day: int) -> None:
        """Take out plants; those that did not die went over."""
        plants = self.plants
        over = which[plants.death_on[which] > day]
        if len(over):
            row, season = plants.split(over)
            at = plants.want[row] * plants.seasons + season
            np.add.at(self.kitchen.spoilt.reshape(-1), at, plants.amount(over, day))
        plants.free(which, day)

    def _plant(self, day: int, rows: slice) -> None:
        """Move the oldest seedlings into free sites, and sow in place, in the planned place first."""
        plants = self.plants
        waits = plants.have_come(plants.wants_site, rows, day)
        at = np.flatnonzero(waits.any(axis=1))
        if not len(at):
            return
        waits, at = waits[at], at + rows.start
        free = self.world.sites[:, day, None] - plants.held
        is_free = free > 0
        in_time = day + plants.takes_d[at] <= plants.facts.closes[:, day]
        in_time &= np.asarray(is_free.any(axis=1))
        finds, tries = np.zeros_like(waits), []
        for allowed in (plants.in_planned[at] & in_time, plants.elsewhere[at] & in_time):
            for place in allowed.any(axis=0).nonzero()[0].tolist():
                tries.append((place, allowed[:, place]))
                finds |= allowed[:, place, None] & is_free[place]
        which, near, season = plants.those(at, waits & finds)
        grown = plants.young_on[which] <= day
        which, near, season = which[grown], near[grown] // plants.seasons, season[grown]
        goes = np.full(len(which), -1)
        for place, allowed in tries:
            mine = ((goes < 0) & allowed[near] & (free[place] > 0)[season]).nonzero()[0]
            if len(mine):
                col, each = season[mine], plants.each[at[near[mine]]]
                fits = sums_before(col, each) + each <= free[place, col]
                goes[mine[fits]] = place
                free[place] -= np.bincount(col[fits], each[fits], plants.seasons).astype(np.int64)
        moves = goes >= 0
        which, goes = which[moves], goes[moves]
        if not len(which):
            return
        plants.held = self.world.sites[:, day, None] - free
        young = which[plants.status[which] == YOUNG]
        plants.leave_nursery(young)
        self._count(1, day, len(young))
        self._count(0, day, len(which) - len(young))
        plants.take_site(which, goes, day)

    def _sow(self, day: int, rows: slice) -> None:
        """Sow into free cells, in order."""
        plants = self.plants
        due = np.flatnonzero(plants.to_sow[rows]) + rows.start
        if not len(due):
            return
        free = self.world.cells[:, day, None] - plants.cells_held
        row, season = np.nonzero(
            (plants.table(plants.status)[due] == TO_SOW) & (free > 0)[plants.nursery[due]]
        )
        row = due[row]
        key = plants.nursery[row] * plants.seasons + season
        fits = np.flatnonzero(sums_before(key, np.ones(len(key), np.int64)) < free.ravel()[key])
        plants.raise_young(row[fits] * plants.seasons + season[fits], day)
        self._count(0, day, len(fits))
        plants.to_sow[due] = (plants.table(plants.status)[due] == TO_SOW).any(axis=1)
