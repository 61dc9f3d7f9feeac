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

from cropcal.seasons.kitchen import TRIFLE, Kitchen
from cropcal.seasons.plants import FAR, GONE, ON_SITE, TO_SOW, YOUNG, Plants
from cropcal.seasons.world import BoolArray, Delivery, FloatArray, IntArray, Sowing, Standing, World

LATE_SOWING_D = 14
"""Days for which a sowing waits for a free cell or site before it is left out (assumed)."""


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
        planted=plants.planted,
        cut_day=plants.cut_day,
        cut_amount=plants.cut_amount,
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
        self.jobs = np.zeros((3, max(self.kitchen.weeks, 1)))
        self.closes = _next_closed(world.sites)
        none = np.zeros((0, world.days), dtype=np.int64)
        self.serves = np.stack([kind.serves for kind in world.kinds]) if world.kinds else none

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
            plants.held -= plants.freed[before + 1 : day + 1].sum(axis=0)
            if before >= 0 and world.stretch[day] != world.stretch[before]:
                plants.turn(day, before)
            before = day
            high = int(np.searchsorted(plants.sow_day, day, side="right"))
            while low < high and (plants.status[low] == GONE).all():
                low += 1
            rows = slice(low, high)
            for cut in self.delivered:
                if cut.day == day:
                    self.kitchen.deliver(cut)
            self._take_out(day, rows)
            if world.harvest[day]:
                self._harvest(day, rows)
            if world.work[day]:
                self._discard(day, rows)
                self._plant(day, rows)
                self._sow(day, rows)
        for later in range(week, self.kitchen.weeks):
            self.kitchen.begin_week(later)

    def _count(self, job: int, day: int, number: int) -> None:
        self.jobs[job, min(day // 7, self.jobs.shape[1] - 1)] += number

    def _take_out(self, day: int, rows: slice) -> None:
        """Take out plants that died or went over, and those whose site goes out of use."""
        plants = self.plants
        stands = plants.status[rows] == ON_SITE
        dead = stands & (plants.death[rows] <= day)
        over = stands & (plants.over[rows] < day) & ~dead
        gone = dead | over
        for place in np.flatnonzero(self.world.sites[:, day] == 0).tolist():
            gone |= stands & (plants.place[rows] == place)
        if over.any():
            row, season = np.nonzero(over)
            amount = plants.amount(row + rows.start, season, day)
            np.add.at(self.kitchen.spoilt, (plants.want[row + rows.start], season), amount)
        if gone.any():
            row, season = np.nonzero(gone)
            plants.free(row + rows.start, season, day)

    def _harvest(self, day: int, rows: slice) -> None:
        """Cut what the week wants, what would go over before the next visit, and what is in the way."""
        plants = self.plants
        ripe = (plants.status[rows] == ON_SITE) & (plants.ripe[rows] <= day)
        ripe[plants.not_before[rows] > day] = False
        at = np.flatnonzero(ripe.any(axis=1))
        if not len(at):
            return
        ripe, at = ripe[at], at + rows.start
        later = np.flatnonzero(self.world.harvest[day + 1 :])
        next_visit = day + 1 + int(later[0]) if len(later) else day + 7
        must = ripe & (plants.over[at] < next_visit)
        must |= self._in_the_way(day, rows, at, must, ripe & ~must)
        full = ripe & (plants.full[at] <= day)
        want_of_row = plants.want[at]
        for want in np.unique(want_of_row).tolist():
            mine = want_of_row == want
            self._cut_for(want, day, at[mine], must[mine], full[mine], ripe[mine])

    def _cut_for(
        self, want: int, day: int, rows: IntArray, must: BoolArray, full: BoolArray, ripe: BoolArray
    ) -> None:
        """Cut rows of one want: all that must be cut, then the oldest that are wanted.

        Full heads are cut on the first visit of a week that wants them; leaves, and heads that are only just
        big enough, on its last, for they still grow.
        """
        plants, kitchen = self.plants, self.kitchen
        week, last = int(kitchen.serves[want, day]), bool(kitchen.last_visit[want, day])
        serves = self.serves[plants.first[rows], day] == week
        lacking = kitchen.need(want, week)
        enough = kitchen.tolerance(want, week)
        offers = [full & (plants.heads[plants.first[rows]] | last)[:, None], *([ripe] if last else [])]
        if not must.any() and (week < 0 or not (lacking > enough).any()):
            return
        amounts = plants.amounts(rows, ripe, day)
        cut = must
        if must.any():
            lacking = lacking - np.where(cut & serves[:, None], amounts, 0.0).sum(axis=0)
        for offer in offers if week >= 0 else ():
            if not (lacking > enough).any():
                break
            offered = np.where(offer & ~cut & serves[:, None], amounts, 0.0)
            before = np.cumsum(offered, axis=0) - offered
            taken = (offered > 0) & (before < lacking - enough)
            cut = cut | taken
            lacking = lacking - np.where(taken, offered, 0.0).sum(axis=0)
        if not cut.any():
            return
        kitchen.fill(want, day, cut, amounts, plants.keeps[rows])
        row, season = np.nonzero(cut)
        at, number = rows[row], plants.done[rows[row], season]
        plants.cut_day[number, at, season] = day
        plants.cut_amount[number, at, season] = amounts[row, season]
        self._count(2, day, len(at))
        again = number + 1 < plants.cuts_planned[at]
        plants.cut_again(at[again], season[again], day)
        plants.done[at, season] += 1
        plants.free(at[~again], season[~again], day)

    def _in_the_way(self, day: int, rows: slice, at: IntArray, must: BoolArray, ripe: BoolArray) -> BoolArray:
        """Return what of the rows ``at`` is ripe and holds the site of a seedling that will wait for it.

        ``must`` is cut anyway, and gives its sites.
        """
        plants, world = self.plants, self.world
        room = np.zeros(ripe.shape, dtype=bool)
        ready = day + world.clean_days
        later = np.flatnonzero(world.work[ready:])
        if not len(later):
            return room
        next_work = ready + int(later[0])
        young = np.arange(rows.start, rows.stop)[plants.sow_day[rows] + plants.young[rows] <= next_work]
        waits = self._waiting(young) & (plants.sown[young] + plants.young[young][:, None] <= next_work)
        some = waits.any(axis=1)
        young, waits = young[some], waits[some]
        last_cut = plants.done[at] + 1 >= plants.cuts_planned[at][:, None]
        for place in np.unique(plants.planned_place[young]).tolist():
            mine = plants.planned_place[young] == place
            free = world.sites[place, next_work] - plants.held[place]
            free = free + plants.freed[day + 1 : next_work + 1, place].sum(axis=0)
            held_here = (last_cut & (plants.place[at] == place)) * plants.each[at][:, None]
            free = free + (must * held_here).sum(axis=0)
            lacking = (waits[mine] * plants.each[young[mine]][:, None]).sum(axis=0) - free
            if not (lacking > 0).any():
                continue
            offered = ripe * held_here
            here = offered > 0
            room |= here & (np.cumsum(offered, axis=0) - offered < lacking)
        return room

    def _waiting(self, rows: IntArray) -> BoolArray:
        """Return which of some rows wait for a site: seedlings that came up, and what is sown in place."""
        plants, status = self.plants, self.plants.status[rows]
        in_place = (plants.nursery[rows] < 0)[:, None]
        seedlings = (status == YOUNG) & (plants.alive[rows] > 0)
        return np.asarray(seedlings | ((status == TO_SOW) & in_place))

    def _discard(self, day: int, rows: slice) -> None:
        """Throw away cells in which nothing came up, and seedlings that are too old."""
        plants = self.plants
        at = np.flatnonzero(day - plants.sow_day[rows] >= plants.young[rows]) + rows.start
        status, age = plants.status[at], day - plants.sown[at]
        young, old = plants.young[at][:, None], plants.old[at][:, None]
        gone = (status == YOUNG) & (((plants.alive[at] <= 0) & (age >= young)) | (age > old))
        late = (status == TO_SOW) & (day - plants.sow_day[at] > LATE_SOWING_D)[:, None]
        if gone.any():
            plants.leave_nursery(at, gone)
        if gone.any() or late.any():
            plants.status[at] = np.where(gone | late, GONE, status)

    def _plant(self, day: int, rows: slice) -> None:
        """Move the oldest seedlings into free sites, and sow in place, in the planned place first."""
        plants, world = self.plants, self.world
        at = np.arange(rows.start, rows.stop)[day - plants.sow_day[rows] >= plants.young[rows]]
        waits = self._waiting(at)
        old_enough = day - plants.sown[at] >= plants.young[at][:, None]
        waits &= (old_enough & (plants.young_on[at] <= day)) | (plants.status[at] == TO_SOW)
        some = waits.any(axis=1)
        if not some.any():
            return
        at, waits = at[some], waits[some]
        goes = np.full(waits.shape, -1, dtype=np.int64)
        each, planned = plants.each[at], plants.planned_place[at]
        for in_planned in (True, False):
            for place in range(len(world.sites)):
                kind = plants.kind_in[at, place]
                allowed = (kind >= 0) & ((planned == place) == in_planned)
                allowed &= day + plants.site_d[kind] <= self.closes[place, day]
                its = np.flatnonzero(allowed)
                mine = waits[its]
                free = world.sites[place, day] - plants.held[place]
                if not mine.any() or not (free > 0).any():
                    continue
                asked = mine * each[its][:, None]
                taken = mine & (np.cumsum(asked, axis=0) <= free)
                goes[its] = np.where(taken, place, goes[its])
                waits[its] &= ~taken
                plants.held[place] += (taken * each[its][:, None]).sum(axis=0)
        row, season = np.nonzero(goes >= 0)
        if not len(row):
            return
        moved = (goes >= 0) & (plants.status[at] == YOUNG)
        plants.leave_nursery(at, moved)
        self._count(1, day, int(moved.sum()))
        self._count(0, day, len(row) - int(moved.sum()))
        plants.take_site(at[row], season, goes[row, season], day)

    def _sow(self, day: int, rows: slice) -> None:
        """Sow into free cells, in order."""
        plants = self.plants
        for nursery in range(len(plants.cells_held)):
            mine = np.flatnonzero(plants.nursery[rows] == nursery) + rows.start
            due = plants.status[mine] == TO_SOW
            some = due.any(axis=1)
            if not some.any():
                continue
            mine, due = mine[some], due[some]
            free = self.world.cells[nursery, day] - plants.cells_held[nursery]
            fits = due & (np.cumsum(due, axis=0) <= free)
            row, season = np.nonzero(fits)
            plants.raise_young(mine[row], season, day)
            plants.cells_held[nursery] += fits.sum(axis=0)
            self._count(0, day, len(row))


def _next_closed(sites: IntArray) -> FloatArray:
    """Return the next day on which each place is out of use, by day, (places, days); ``FAR``: none."""
    closes = np.full(sites.shape, FAR)
    for day in range(sites.shape[1] - 1, -1, -1):
        later = closes[:, day + 1] if day + 1 < sites.shape[1] else FAR
        closes[:, day] = np.where(sites[:, day] == 0, day, later)
    return closes
