"""A greedy plan, so that there always is one: week by week, the column that helps most per site-day."""

import numpy as np

from cropcal.optimize.penalties import Weights, ranges, week_price
from cropcal.optimize.programme import (
    MOST_KEPT,
    BoolArray,
    FloatArray,
    IntArray,
    Task,
    column_costs,
)


def greedy(task: Task, weights: Weights, begun: IntArray | None = None) -> IntArray:
    """Return whole sites of each column, shape (n,), that fit; short weeks are likely.

    ``begun`` is a plan to add to, which must fit; None starts from the previous plan.

    Want-weeks are served in the order of time. Each is given one site after another, of the column that
    lowers the weighted sum most per day and site that it holds, until none lowers it.
    """
    columns, state = task.columns, _DemandState(task, weights)
    price, days = column_costs(task, weights), np.maximum(columns.freed - columns.planted, 1) * columns.held
    beds = _Occupancy(task.sites, columns.place, columns.planted, columns.freed, columns.held)
    one = np.ones_like(columns.held)
    nurseries = _Occupancy(task.cells, columns.nursery, columns.sown, columns.planted, one)
    n = _continue_previous(task, beds, nurseries) if begun is None else begun.copy()
    if begun is not None:
        for column in np.flatnonzero(n):
            beds.take(int(column), int(n[column]))
            nurseries.take(int(column), int(n[column]))
    for column in np.flatnonzero(n):
        state.serve(int(column), int(n[column]))
    new = np.ones(columns.count, dtype=bool) if task.before is None else task.before.group < 0
    weeks = task.demand.shape[1]
    for cell in sorted(np.flatnonzero(task.demand.ravel() > 0).tolist(), key=lambda at: (at % weeks, at)):
        servers = state.servers(cell)
        servers = servers[new[servers]]
        while len(servers):
            servers = servers[beds.fits(servers) & nurseries.fits(servers)]
            net = state.gain(servers) - price[servers]
            if not len(servers) or net.max() <= 0:
                break
            pick = int(np.argmax(net / days[servers]))
            if net[pick] <= 0:
                break
            best = int(servers[pick])
            n[best] += 1
            beds.take(best)
            nurseries.take(best)
            state.serve(best, 1)
    return n


class _DemandState:
    """Shares that each want-week gets so far: from its own cut, then from what is left of earlier ones."""

    def __init__(self, task: Task, weights: Weights) -> None:
        entries = task.entries
        order = np.argsort(entries.column, kind="stable")
        self.weights, self.column, self.at = weights, entries.column[order], entries.want_week[order]
        self.first = np.searchsorted(self.column, np.arange(task.columns.count + 1))
        self.keeps = entries.keeps[order]
        self.weeks, self.scale = task.demand.shape[1], task.scale.ravel()
        self.amount = entries.share[order] * self.scale[self.at]
        self.weight = np.repeat(task.weight, self.weeks)
        self.asks = np.concatenate([task.demand.ravel() > 0, np.zeros(MOST_KEPT, dtype=bool)])
        self.counts = self.asks[self.at] | task.spare[self.at]
        self.got = np.zeros(task.demand.size + MOST_KEPT)

    def _later(self, entry: IntArray, later: int) -> BoolArray:
        """Return whether what these entries bring can be eaten ``later`` weeks later."""
        at = self.at[entry]
        in_time = (self.keeps[entry] >= later) & (at % self.weeks + later < self.weeks)
        return np.asarray(in_time & self.asks[at + later])

    def servers(self, cell: int) -> IntArray:
        """Return the columns that can serve a want-week, from the week before or the one before that too."""
        columns = []
        for later in range(min(MOST_KEPT, cell % self.weeks) + 1):
            entry = np.flatnonzero(self.at == cell - later)
            columns.append(self.column[entry[self._later(entry, later)]])
        return np.unique(np.concatenate(columns))

    def gain(self, columns: IntArray) -> FloatArray:
        """Return by how much one more site of each column lowers the objective, its own cost left out."""
        which, entry = ranges(self.first[columns], self.first[columns + 1] - self.first[columns])
        rest, gain = self.amount[entry].copy(), np.zeros(len(entry))
        for later in range(MOST_KEPT + 1):
            at = np.minimum(self.at[entry] + later, len(self.scale) - 1)
            got, scale = self.got[at], self.scale[at]
            room = np.where(self._later(entry, later), np.maximum(1.0 - got, 0.0) * scale, 0.0)
            part = np.minimum(rest, room)
            price = week_price(got, self.weights) - week_price(got + part / scale, self.weights)
            gain += self.weight[at] * price - self.weights.kept * later * part / scale
            rest -= part
        over = self.weights.surplus * self.weight[self.at[entry]] * rest / self.scale[self.at[entry]]
        gain -= np.where(self.counts[entry], over, 0.0)
        return np.bincount(which, gain, len(columns)).astype(np.float64)

    def serve(self, column: int, sites: int) -> None:
        """Count what some sites of a column bring."""
        for entry in range(self.first[column], self.first[column + 1]):
            rest = self.amount[entry] * sites
            for later in range(MOST_KEPT + 1):
                if not self._later(np.array([entry]), later)[0]:
                    continue
                at = self.at[entry] + later
                part = min(rest, max(1.0 - self.got[at], 0.0) * self.scale[at])
                self.got[at] += part / self.scale[at]
                rest -= part


def _continue_previous(task: Task, beds: "_Occupancy", nurseries: "_Occupancy") -> IntArray:
    """Return the sites of standing crops and of the previous plan as far as they fit, and occupy them.

    Standing crops come first: as planned, then by the first column that fits.
    """
    n = np.zeros(task.columns.count, dtype=np.int64)
    before = task.before
    if before is None:
        return n

    def take(column: int, most: int) -> None:
        index = np.array([column])
        while n[column] < most and beds.fits(index)[0] and nurseries.fits(index)[0]:
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


class _Occupancy:
    """Free capacity of each place on each day."""

    def __init__(
        self, capacity: IntArray, where: IntArray, start: IntArray, end: IntArray, each: IntArray
    ) -> None:
        origin = int(start.min(initial=0))
        self.where, self.start, self.end, self.each = where, start - origin, end - origin, each
        self.sizes = np.unique(each).tolist()
        self.free: IntArray = np.repeat(capacity[:, None], int(self.end.max(initial=0)) + 1, axis=1)

    def fits(self, columns: IntArray) -> BoolArray:
        """Return which columns still fit with one more planted site."""
        where, start, end = self.where[columns], self.start[columns], self.end[columns]
        fits = where < 0
        for size in self.sizes:
            full: FloatArray = np.zeros((len(self.free) + 1, self.free.shape[1] + 1))
            full[:-1, 1:] = np.cumsum(self.free < size, axis=1)
            fits |= (self.each[columns] == size) & (full[where, end] == full[where, start])
        return np.asarray(fits)

    def take(self, column: int, sites: int = 1) -> None:
        """Occupy what some planted sites of a column hold."""
        if self.where[column] >= 0:
            held = sites * self.each[column]
            self.free[self.where[column], self.start[column] : self.end[column]] -= held
