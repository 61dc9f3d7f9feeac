"""What is cut on a day: what the week wants, what would go over, and what is in the way of a seedling."""

import numpy as np

from cropcal.seasons.first_come import sums_before
from cropcal.seasons.kitchen import Kitchen
from cropcal.seasons.plants import Plants
from cropcal.seasons.world import BoolArray, FloatArray, IntArray


class Harvester:
    """Cuts plants for a kitchen."""

    def __init__(self, plants: Plants, kitchen: Kitchen) -> None:
        self.plants, self.kitchen = plants, kitchen

    def visit(self, day: int, rows: slice) -> IntArray:
        """Cut what has to be cut on a day, and return the season of each plant that was.

        Full heads are cut on the first visit of a week that wants them; leaves, and heads that are only just
        big enough, on its last, for they still grow. The oldest come first.
        """
        plants, kitchen, facts = self.plants, self.kitchen, self.plants.facts
        ripe = plants.have_come(plants.ripe_on, rows, day)
        at = np.nonzero(ripe.any(axis=1))[0]
        if not len(at):
            return at
        ripe, at = ripe[at], at + rows.start
        must = ripe & (plants.table(plants.over)[at] < facts.next_harvest[day])
        must |= self._in_the_way(day, rows, at, ripe, must)
        lacking, enough = kitchen.lacking(day), kitchen.enough(day)
        is_lacking = lacking > enough[:, None]
        week, last = kitchen.serves[:, day], kitchen.last_visit[:, day]
        want, first = plants.want[at], plants.first[at]
        serves = facts.serves[first, day] == week[want]
        at_last = serves & last[want]
        offers = at_last | (serves & (week >= 0)[want] & facts.heads[first])
        wanted = is_lacking[want] & offers[:, None]
        which, table, season = plants.those(at, must | (ripe & wanted))
        if not len(which):
            return which
        near, must, is_open = table // plants.seasons, must.reshape(-1)[table], wanted.reshape(-1)[table]
        key, amounts = want[near] * plants.seasons + season, plants.amount(which, day)
        need, cut = _Need(lacking, enough), must
        need.less(key, amounts, cut & serves[near])
        for offer in (is_open & (plants.full[which] <= day), is_open & at_last[near]):
            cut = cut | need.met_by(key, amounts, offer & ~cut)
        which, amounts = which[cut], amounts[cut]
        self._deliver(day, which, amounts)
        plants.cut(which, amounts, day)
        cut_in: IntArray = season[cut]
        return cut_in

    def _deliver(self, day: int, which: IntArray, amounts: FloatArray) -> None:
        """Give what was cut to the kitchen; of each want what keeps least first."""
        plants = self.plants
        row, season = plants.split(which)
        want, keeps = plants.want[row], plants.keeps[row]
        rows = np.bincount(row).nonzero()[0]
        pairs = set(zip(plants.want[rows].tolist(), plants.keeps[rows].tolist(), strict=True))
        for its, keeps_d in sorted(pairs):
            mine = ((want == its) & (keeps == keeps_d)).nonzero()[0]
            brought = np.bincount(season[mine], amounts[mine], plants.seasons).astype(float, copy=False)
            self.kitchen.take(its, int(self.kitchen.serves[its, day]), day, keeps_d, brought)

    def _in_the_way(self, day: int, rows: slice, at: IntArray, ripe: BoolArray, must: BoolArray) -> BoolArray:
        """Return what is ripe and holds the site of a seedling that will wait for it, (rows ``at``, seasons).

        ``must`` is cut anyway, and gives its sites.
        """
        plants = self.plants
        room = np.zeros_like(ripe)
        planting = int(plants.facts.next_planting[day])
        asked = self._sites_asked(planting, rows) if planting >= 0 else None
        if asked is None:
            return room
        lacking = asked - self._sites_free(planting)
        if not (lacking > 0).any():
            return room
        gives, _, _ = plants.those(at, must)
        gives = gives[self._at_last_cut(gives)]
        if len(gives):
            lacking -= plants.sites_of(gives, plants.place[gives].astype(np.int64))
        lacking = np.minimum(lacking, asked)
        which, table, season = plants.those(at, ripe & ~must & (lacking > 0).any(axis=0))
        key = plants.place[which].astype(np.int64) * plants.seasons + season
        short = (self._at_last_cut(which) & (lacking.reshape(-1)[key] > 0)).nonzero()[0]
        if len(short):
            key, each = key[short], plants.each[which[short] // plants.seasons]
            room.reshape(-1)[table[short]] = sums_before(key, each) < lacking.reshape(-1)[key]
        return room

    def _sites_asked(self, planting: int, rows: slice) -> IntArray | None:
        """Return the sites that seedlings ask for on a day of planting, (places, seasons); None: none."""
        plants = self.plants
        young = plants.have_come(plants.wants_site, rows, planting)
        waiting = np.nonzero(young.any(axis=1))[0]
        if not len(waiting):
            return None
        asked, each = np.zeros_like(plants.held), plants.each[rows].astype(np.int16)[:, None]
        planned = plants.planned_place[rows][waiting]
        for place in range(len(asked)):
            its = waiting[planned == place]
            if len(its):
                asked[place] = np.add.reduce(young[its] * each[its], axis=0)
        return asked

    def _sites_free(self, planting: int) -> IntArray:
        """Return the sites that will be free and clean on a day of planting, (places, seasons).

        Less than none: more is held than will be in use.
        """
        plants = self.plants
        free = plants.world.sites[:, planting, None] - plants.held
        for when, sites in plants.freed.items():
            if when <= planting:
                free += sites
        return free

    def _at_last_cut(self, which: IntArray) -> BoolArray:
        plants = self.plants
        return np.asarray(plants.done[which] + 1 >= plants.cuts_planned[which // plants.seasons])


class _Need:
    """What is lacking of each want in each season, flat, and the amount for which nobody cuts."""

    def __init__(self, lacking: FloatArray, enough: FloatArray) -> None:
        self.lacking, self.enough = lacking.ravel(), np.repeat(enough, lacking.shape[1])

    def less(self, key: IntArray, amounts: FloatArray, cut: BoolArray) -> None:
        """Let it be less by what is cut."""
        if cut.any():
            self.lacking = self.lacking - np.bincount(key[cut], amounts[cut], len(self.lacking))

    def met_by(self, key: IntArray, amounts: FloatArray, offer: BoolArray) -> BoolArray:
        """Return which of what is offered is taken, the oldest first, until enough is."""
        taken = np.zeros(len(key), dtype=bool)
        some = (offer & (amounts > 0)).nonzero()[0]
        if len(some):
            its = key[some]
            left = (self.lacking - self.enough)[its]
            taken[some] = sums_before(its, amounts[some]) < left
            self.less(key, amounts, taken)
        return taken
