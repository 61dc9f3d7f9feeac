"""A plan by a plain rule, so that there always is one: week by week, whatever helps most for its room."""

import numpy as np

from cropcal.planning.programme import BoolArray, FloatArray, IntArray, Task, column_costs
from cropcal.planning.shortage import Weights, week_price


def greedy(task: Task, weights: Weights) -> IntArray:
    """Return whole sites of each column, shape (n,), that fit; short weeks are likely.

    Want-weeks are served in the order of time. Each is given one site after another, of the column that
    lowers the weighted sum most per day that it holds a site, until none lowers it.
    """
    columns, entries = task.columns, task.entries
    order = np.argsort(entries.column, kind="stable")
    column, want_week = entries.column[order], entries.want_week[order]
    share, counted = entries.share[order], entries.counted[order]
    first = np.searchsorted(column, np.arange(columns.count + 1))
    price, days = column_costs(task, weights), np.maximum(columns.freed - columns.planted, 1)
    brought = np.zeros(task.demand.size)
    beds = _Room(task.sites, columns.place, columns.planted, columns.freed)
    nurseries = _Room(task.cells, columns.nursery, columns.sown, columns.planted)
    n = _as_before(task, beds, nurseries)
    np.add.at(brought, want_week, share * n[column])
    new = np.ones(columns.count, dtype=bool) if task.before is None else task.before.group < 0
    weeks = task.demand.shape[1]
    for cell in sorted(np.flatnonzero(task.demand.ravel() > 0).tolist(), key=lambda at: (at % weeks, at)):
        servers = np.unique(column[counted & (want_week == cell) & new[column]])
        while len(servers):
            servers = servers[beds.fits(servers) & nurseries.fits(servers)]
            sizes = first[servers + 1] - first[servers]
            mine = np.arange(int(sizes.sum())) + np.repeat(first[servers] - np.cumsum(sizes) + sizes, sizes)
            mine_of = np.repeat(np.arange(len(servers)), sizes)
            now = brought[want_week[mine]]
            gain = np.where(
                counted[mine], week_price(now, weights) - week_price(now + share[mine], weights), 0.0
            )
            net = np.bincount(mine_of, gain, len(servers)) - price[servers]
            if not len(servers) or net.max() <= 0:
                break
            best = int(servers[np.argmax(net / days[servers])])
            if net[servers == best][0] <= 0:
                break
            n[best] += 1
            beds.take(best)
            nurseries.take(best)
            span = slice(first[best], first[best + 1])
            np.add.at(brought, want_week[span], share[span])
    return n


def _as_before(task: Task, beds: "_Room", nurseries: "_Room") -> IntArray:
    """Return what is gone on with and what was planned before, as far as there is room, and hold it.

    Plants in the ground come first: as was planned, then in the first way that finds room.
    """
    n = np.zeros(task.columns.count, dtype=np.int64)
    before = task.before
    if before is None:
        return n

    def take(column: int, most: int) -> None:
        one = np.array([column])
        while n[column] < most and beds.fits(one)[0] and nurseries.fits(one)[0]:
            n[column] += 1
            beds.take(column)
            nurseries.take(column)

    standing, planned = before.group >= 0, before.planned > 0
    for column in np.flatnonzero(standing & planned):
        take(int(column), int(before.planned[column]))
    for column in np.flatnonzero(standing):
        left = before.given_up(n)[before.group[column]]
        take(int(column), int(n[column] + left))
    for column in np.flatnonzero(~standing & planned):
        take(int(column), int(before.planned[column]))
    return n


class _Room:
    """What is still free in each place on each day."""

    def __init__(self, capacity: IntArray, where: IntArray, start: IntArray, end: IntArray) -> None:
        origin = int(start.min(initial=0))
        self.where, self.start, self.end = where, start - origin, end - origin
        self.free: IntArray = np.repeat(capacity[:, None], int(self.end.max(initial=0)) + 1, axis=1)

    def fits(self, columns: IntArray) -> BoolArray:
        """Return which columns still find room for one site more."""
        full: FloatArray = np.zeros((len(self.free) + 1, self.free.shape[1] + 1))
        full[:-1, 1:] = np.cumsum(self.free <= 0, axis=1)
        where, start, end = self.where[columns], self.start[columns], self.end[columns]
        return np.asarray((where < 0) | (full[where, end] == full[where, start]))

    def take(self, column: int) -> None:
        """Hold one site of a column."""
        if self.where[column] >= 0:
            self.free[self.where[column], self.start[column] : self.end[column]] -= 1
