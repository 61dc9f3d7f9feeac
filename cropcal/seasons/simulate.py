"""Drawn seasons run forward, all at once: sowings are firm, all else is done by a grower with sense.

On each day on which somebody is there, what is over or dead is taken out. What the week wants is cut, the
oldest first; what would go over before the next visit is cut as well, and so is what stands in the way of a
seedling that waits. Then the oldest seedlings go into whatever site of the right kind is free; the others
wait in the nursery. Where minutes a day are limited, moving and sowing beyond them wait for the next work
day; what has to be cut is cut.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cropcal.seasons.checkpoint import Checkpoint, checkpoint
from cropcal.seasons.first_come import sums_before
from cropcal.seasons.harvest import Harvester
from cropcal.seasons.kitchen import TRIFLE, Kitchen
from cropcal.seasons.plants import LATE_SOWING_D, ON_SITE, TO_SOW, YOUNG, Plants
from cropcal.seasons.world import (
    BoolArray,
    Delivery,
    FloatArray,
    IntArray,
    Sowing,
    Standing,
    World,
)
from cropcal.units import CUT_MIN, MOVE_MIN, SOW_MIN

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
    checkpoints
        The states that were asked for, from which other runs go on.
    """

    eaten: FloatArray
    wasted: FloatArray
    batch: IntArray
    planted: npt.NDArray[np.int16]
    cut_day: npt.NDArray[np.int16]
    cut_amount: npt.NDArray[np.float32]
    jobs: FloatArray
    checkpoints: tuple[Checkpoint, ...] = ()

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
    *,
    keep_on: Sequence[int] = (),
    since: Checkpoint | None = None,
    until_day: int | None = None,
) -> Seasons:
    """Return the drawn seasons of sowings; the same input gives the same seasons.

    Parameters
    ----------
    world, sowings
        The world, and what is sown in it.
    standing, delivered
        Plants that stand already, and what was cut before the first day.
    seed
        That of the luck; with ``luck.LUCKLESS`` everything comes as forecast.
    keep_on
        Days on whose mornings the state is kept, in ``checkpoints``.
    since
        Go on from such a state instead of from the first day: exactly the same comes of it, sooner. The world
        is that of the checkpoint, or that ``repeated``; what stands, and all that is sown before the day of
        the checkpoint, is the same, in the same order, and in all blocks.
    until_day
        Leave off before this day: later weeks eat nothing, and what is kept then counts as wasted.

    Raises
    ------
    ValueError
        The checkpoint is that of another world, luck or past.
    """
    order = sorted(range(len(sowings)), key=lambda at: sowings[at].day)
    run = _Run(world, [*standing, *(sowings[at] for at in order)], delivered, seed)
    if since is not None:
        run.go_on(since)
    run.all_days(sorted(keep_on), until_day)
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
        checkpoints=tuple(run.checkpoints),
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
        self.world, self.parts, self.delivered, self.seed = world, parts, delivered, seed
        self.plants, self.kitchen = Plants(world, parts, seed), Kitchen(world)
        self.harvester = Harvester(self.plants, self.kitchen)
        self.jobs = np.zeros((3, max(self.kitchen.weeks, 1)))
        self.left_min: FloatArray | None = None

        self.first, self.week, self.before = 0, 0, -1
        self.checkpoints: list[Checkpoint] = []

    def go_on(self, since: Checkpoint) -> None:
        """Start from a checkpoint."""
        if since.seed != self.seed or since.delivered != tuple(self.delivered):
            raise ValueError("a run goes on with the luck of its checkpoint, and with what was cut before")
        since.restore(self.parts, self.plants, self.kitchen)
        self.jobs = since.jobs * (self.world.seasons // since.world.seasons)
        self.first, self.week, self.before = since.day, since.week, since.before

    def all_days(self, keep_on: Sequence[int] = (), until_day: int | None = None) -> None:
        """Do the jobs of every day on which somebody is there, and keep the states of some mornings."""
        world, plants = self.world, self.plants
        visits = np.flatnonzero(world.work | world.harvest)
        days = np.union1d(visits, [cut.day for cut in self.delivered]).astype(np.int64)
        end = max(world.days, 7 * self.kitchen.weeks) if until_day is None else until_day
        keep, low = [day for day in keep_on if self.first <= day <= end], 0
        for day in days[(days >= self.first) & (days < end)].tolist():
            while keep and keep[0] <= day:
                self._keep(keep.pop(0))
            self._begin_weeks(day)
            plants.clean(day)
            if self.before >= 0 and world.stretch[day] != world.stretch[self.before]:
                plants.turn(day, self.before)
            self.before = day
            high = int(np.searchsorted(plants.sow_day, day, side="right"))
            while low < high and plants.is_gone(low):
                low += 1
            rows = slice(low, high)
            for cut in self.delivered:
                if cut.day == day:
                    self.kitchen.deliver(cut)
            self._take_out(day, rows)
            self.left_min = None if world.most_minutes is None else np.full(world.seasons, world.most_minutes)
            if world.harvest[day]:
                cut_in = self.harvester.visit(day, rows)
                self._count(2, day, len(cut_in))
                self._spend(cut_in, np.full(len(cut_in), CUT_MIN))
            if world.work[day]:
                plants.throw_away(plants.due(plants.thrown_on, rows, day))
                self._plant(day, rows)
                self._sow(day, rows)
        for day in keep:
            self._keep(day)
        self._begin_weeks(end - 1)

    def _begin_weeks(self, day: int) -> None:
        """Begin all weeks that begin by a day."""
        while self.week < self.kitchen.weeks and self.week * 7 <= day:
            self.kitchen.begin_week(self.week)
            self.week += 1

    def _keep(self, day: int) -> None:
        last = self.before, self.week
        self.checkpoints.append(
            checkpoint(day, last, self.parts, self.delivered, self.seed, self.plants, self.kitchen, self.jobs)
        )

    def _count(self, job: int, day: int, number: int) -> None:
        self.jobs[job, min(day // 7, self.jobs.shape[1] - 1)] += number

    def _in_time(self, season: IntArray, minutes: FloatArray) -> BoolArray:
        """Return which of some jobs, in their order, there is still time for in their seasons."""
        if self.left_min is None or not len(season):
            return np.ones(len(season), dtype=bool)
        return np.asarray(sums_before(season, minutes) + minutes <= self.left_min[season])

    def _spend(self, season: IntArray, minutes: FloatArray) -> None:
        """Take the time of jobs from what is left of the day."""
        if self.left_min is not None:
            self.left_min -= np.bincount(season, minutes, len(self.left_min))

    def _take_out(self, day: int, rows: slice) -> None:
        """Take out plants that died or went over, and those whose site goes out of use."""
        plants = self.plants
        which = plants.due(plants.out_on, rows, day)
        if len(which):
            self._clear(which, day)
        for place in plants.facts.closed[day]:
            if plants.held[place].any():
                plants.free(((plants.place == place) & (plants.status == ON_SITE)).nonzero()[0], day)

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
        at = np.nonzero(waits.any(axis=1))[0]
        if not len(at):
            return
        waits, at = waits[at], at + rows.start
        free = self.world.sites[:, day, None] - plants.held
        is_free = free > 0
        in_time = day + plants.takes_d[at] <= plants.facts.closes[:, day]
        in_time &= np.asarray(is_free.any(axis=1))
        in_planned, elsewhere = plants.in_planned[at] & in_time, plants.elsewhere[at] & in_time
        finds = np.zeros_like(waits)
        for place, allowed in enumerate((in_planned | elsewhere).T):
            if allowed.any():
                finds |= allowed[:, None] & is_free[place]
        which, table, season = plants.those(at, waits & finds)
        grown = plants.young_on[which] <= day
        which, near, season = which[grown], table[grown] // plants.seasons, season[grown]
        minutes = np.where(plants.status[which] == YOUNG, MOVE_MIN, SOW_MIN)
        now = self._in_time(season, minutes)
        which, near, season, minutes = which[now], near[now], season[now], minutes[now]
        goes, each = np.full(len(which), -1), plants.each[at[near]]
        planned = plants.planned_place[at[near]]
        tries = [(planned, in_planned.any(axis=1))]
        others = np.nonzero(elsewhere.any(axis=0))[0].tolist()
        tries += [(np.full(len(which), other), elsewhere[:, other]) for other in others]
        for place, allowed in tries:
            key = place * plants.seasons + season
            mine = ((goes < 0) & allowed[near] & (free.reshape(-1)[key] > 0)).nonzero()[0]
            if len(mine):
                key, its = key[mine], each[mine]
                fits = sums_before(key, its) + its <= free.reshape(-1)[key]
                goes[mine[fits]] = place[mine[fits]]
                free -= np.bincount(key[fits], its[fits], free.size).astype(np.int64).reshape(free.shape)
        moves = goes >= 0
        which, goes = which[moves], goes[moves]
        self._spend(season[moves], minutes[moves])
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
        due = plants.to_sow[rows].nonzero()[0] + rows.start
        if not len(due):
            return
        free = self.world.cells[:, day, None] - plants.cells_held
        row, season = np.nonzero(
            (plants.table(plants.status)[due] == TO_SOW) & (free > 0)[plants.nursery[due]]
        )
        now = self._in_time(season, np.full(len(season), SOW_MIN))
        row, season = due[row[now]], season[now]
        key = plants.nursery[row] * plants.seasons + season
        fits = (sums_before(key, np.ones(len(key), np.int64)) < free.ravel()[key]).nonzero()[0]
        plants.raise_young(row[fits] * plants.seasons + season[fits], day)
        self._count(0, day, len(fits))
        self._spend(season[fits], np.full(len(fits), SOW_MIN))
        plants.to_sow[due] = (plants.table(plants.status)[due] == TO_SOW).any(axis=1)
