"""The planning programme on plain arrays: data, rows, variables. It knows no crop and no lamp.

A *column* is one way to grow one site: when it is sown, planted and freed, and what it brings to its want
week by week. The programme picks how many sites ``n`` to grow each way. It minimises one weighted sum in
which everything is counted in shares of a week's want, so that a small want weighs as much as a large one:

    short * (missing shares, convex)  +  surplus * (shares too many)  +  cost * (cost / unit)  +  staleness

subject to the rows below, one function each. Whole sites are integer; everything else follows from them.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from cropcal.planning.shortage import Level, Weeks, Weights, ranges, steps

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Columns:
    """Ways to grow one site; arrays of shape (n,), and the supply as a coordinate list of shape (m,).

    Days are indices from any origin, weeks are indices from the first wanted week. A site is held on the days
    ``planted <= day < freed``, a nursery cell on ``sown <= day < planted`` (one cell a site; pass fewer cells
    where spare seedlings are raised). ``planted == sown`` and ``nursery == -1`` when sown in place.
    """

    want: IntArray
    """Want it serves."""
    place: IntArray
    """Class of like sites (a bed)."""
    nursery: IntArray
    """Nursery it waits in, -1: never in one."""
    sown: IntArray
    """Day it is sown."""
    planted: IntArray
    """Day from which it holds its site."""
    freed: IntArray
    """Day from which the site is free again, clean days included."""
    cost: FloatArray
    """Cost per site, >= 0, any unit (money, kWh)."""
    staleness: FloatArray
    """How late in its window it is cut, 0 to 1."""
    supply_column: IntArray
    """Column of each entry of the supply."""
    supply_week: IntArray
    """Week of each entry; weeks outside the demand do not count."""
    supply_amount: FloatArray
    """Amount one site of the column brings that week, in the unit of its want."""

    @property
    def count(self) -> int:
        """Return the number of columns."""
        return len(self.want)


MOST_SHARES = 4.0
"""A site that brings more than so many times a week's want counts as that: its surplus cannot be helped, and
must not weigh more than going without."""


@dataclass(frozen=True, eq=False)
class Task:
    """What is wanted and what there is. A demand of 0 is not wanted, or not counted, that week."""

    columns: Columns
    demand: FloatArray
    """(wants, weeks), amount."""
    sites: IntArray
    """(places,), sites of each place."""
    cells: IntArray
    """(nurseries,), cells of each nursery."""
    cost_unit: float = 1.0
    """What one share of a week's want usually costs (``usual_cost``), so that currency does not matter."""
    before: "Before | None" = None
    """What stands already and what was planned before, if this is not the first plan."""

    @cached_property
    def usual(self) -> FloatArray:
        """Return the mean amount wanted in the weeks that count, per want (1 where none does)."""
        counted = self.demand > 0
        total = self.demand.sum(axis=1)
        return np.where(counted.any(axis=1), total / np.maximum(counted.sum(axis=1), 1), 1.0)

    @cached_property
    def entries(self) -> "Entries":
        """Return the supply as shares of what is wanted, entry by entry."""
        columns, weeks = self.columns, self.demand.shape[1]
        inside = columns.supply_week < weeks
        column = columns.supply_column[inside]
        want, week = columns.want[column], columns.supply_week[inside]
        asked = self.demand[want, week]
        counted = asked > 0
        share = columns.supply_amount[inside] / np.where(counted, asked, self.usual[want])
        share = np.minimum(share, MOST_SHARES)
        return Entries(column, want * weeks + week, share, counted)


@dataclass(frozen=True, eq=False)
class Before:
    """What a plan that is made again keeps to; arrays of shape (columns,), ``stands`` of shape (groups,)."""

    group: IntArray
    """Plants in the ground that a column is one way to go on with, -1: it is yet to be sown."""
    planned: IntArray
    """Sites that the plan before grows in this way."""
    calm: FloatArray
    """What each of them weighs that no longer is."""
    stands: IntArray
    """Sites (or cells) that each group stands on."""

    def only(self, kept: IntArray) -> "Before":
        """Return the same for some of the columns."""
        return Before(self.group[kept], self.planned[kept], self.calm[kept], self.stands)

    def gone(self, n: FloatArray | IntArray) -> FloatArray:
        """Return how many sites of each column are no longer grown as planned."""
        return np.maximum(self.planned - n, 0.0)

    def given_up(self, n: FloatArray | IntArray) -> FloatArray:
        """Return how many sites of each group are not gone on with."""
        mine = self.group >= 0
        return np.asarray(self.stands - np.bincount(self.group[mine], n[mine], len(self.stands)))


def usual_cost(task: Task) -> float:
    """Return the median cost of one share of a week's want over all columns, 1 if nothing costs anything."""
    entries, columns = task.entries, task.columns
    useful = np.bincount(entries.column, entries.share * entries.counted, columns.count)
    known = (useful > 0) & (columns.cost > 0)
    return float(np.median(columns.cost[known] / useful[known])) if known.any() else 1.0


@dataclass(frozen=True, eq=False)
class Entries:
    """Supply entries: the column, the want-week (want x weeks + week), the share, whether it counts."""

    column: IntArray
    want_week: IntArray
    share: FloatArray
    counted: BoolArray


@dataclass(frozen=True, eq=False)
class Rows:
    """A group of like rows in coordinates: entries (row, variable, value), and bounds of each row."""

    name: str
    row: IntArray
    variable: IntArray
    value: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True, eq=False)
class Programme:
    """Minimise ``cost @ v`` over ``lower <= v <= upper`` and all rows; the first ``sites`` variables whole.

    ``names`` says what each stretch of variables is: (name, first, count).
    """

    cost: FloatArray
    lower: FloatArray
    upper: FloatArray
    whole: int
    rows: tuple[Rows, ...]
    names: tuple[tuple[str, int, int], ...]
    constant: float = 0.0


STEPS_AT, STEPS_BY = (0.0, 0.5, 1.0), (1.0, 2.0, 3.0)
"""Rounding steps of ``whole``: smallest, middle and largest share of a week, whole, halved and by three."""


def build(task: Task, weights: Weights | None = None) -> Programme:
    """Return the programme of a task."""
    weights = weights or Weights()
    parts = _Parts(task, weights)
    parts.add("n", column_costs(task, weights), 0.0, _most(task))
    rows = [
        balance(parts, "site", task.columns.place, task.columns.planted, task.columns.freed, task.sites),
        balance(parts, "cell", task.columns.nursery, task.columns.sown, task.columns.planted, task.cells),
        *want(parts),
    ]
    if task.before is not None:
        rows += [standing(parts, task.before), calm(parts, task.before)]
    return Programme(
        cost=np.concatenate(parts.cost),
        lower=np.concatenate(parts.lower),
        upper=np.concatenate(parts.upper),
        whole=task.columns.count,
        rows=tuple(rows),
        names=tuple(parts.names),
        constant=parts.constant,
    )


class _Parts:
    """Variables as they are added, in stretches."""

    def __init__(self, task: Task, weights: Weights) -> None:
        self.task, self.weights = task, weights
        self.cost: list[FloatArray] = []
        self.lower: list[FloatArray] = []
        self.upper: list[FloatArray] = []
        self.names: list[tuple[str, int, int]] = []
        self.count = 0
        self.constant = 0.0

    def add(self, name: str, cost: FloatArray, low: float, high: FloatArray | float) -> IntArray:
        """Add a stretch of variables and return their numbers."""
        size, first = len(cost), self.count
        self.cost.append(np.asarray(cost, dtype=np.float64))
        self.lower.append(np.full(size, low))
        self.upper.append(np.broadcast_to(np.asarray(high, dtype=np.float64), size).copy())
        self.names.append((name, first, size))
        self.count += size
        return np.arange(first, first + size)


def column_costs(task: Task, weights: Weights) -> FloatArray:
    """Return what one site of each column costs: power, lateness, and what it brings when nobody wants it."""
    columns, entries = task.columns, task.entries
    useful = np.bincount(entries.column, entries.share * entries.counted, columns.count)
    useless = np.bincount(entries.column, entries.share * ~entries.counted, columns.count)
    return np.asarray(
        weights.cost * columns.cost / task.cost_unit
        + weights.staleness * columns.staleness * useful
        + weights.surplus * useless
    )


def _most(task: Task) -> FloatArray:
    """Return the most sites of a column: those of its place and nursery; none if it brings nothing wanted."""
    columns, entries = task.columns, task.entries
    most = task.sites[columns.place].astype(np.float64)
    if len(task.cells):
        in_nursery = columns.nursery >= 0
        most = np.where(in_nursery, np.minimum(most, task.cells[columns.nursery]), most)
    useful = np.bincount(entries.column, entries.counted, columns.count) > 0
    if task.before is not None and len(task.before.stands):
        group = task.before.group
        useful, most = useful | (group >= 0), np.where(group >= 0, task.before.stands[group], most)
    return np.where(useful, most, 0.0)


def standing(parts: _Parts, before: Before) -> Rows:
    """Return sum(n) + given up = stands, one row for each group of plants in the ground."""
    size = len(before.stands)
    mine = np.flatnonzero(before.group >= 0)
    loose = parts.add("given_up", np.full(size, parts.weights.given_up), 0.0, before.stands.astype(float))
    return Rows(
        "standing",
        np.concatenate([before.group[mine], np.arange(size)]),
        np.concatenate([mine, loose]),
        np.ones(len(mine) + size),
        before.stands.astype(np.float64),
        before.stands.astype(np.float64),
    )


def calm(parts: _Parts, before: Before) -> Rows:
    """Return n + gone >= planned, one row for each column that the plan before uses."""
    used = np.flatnonzero(before.planned > 0)
    planned = before.planned[used].astype(np.float64)
    gone = parts.add("gone", parts.weights.calm * before.calm[used], 0.0, planned)
    row = np.arange(len(used))
    return Rows(
        "calm",
        np.concatenate([row, row]),
        np.concatenate([used, gone]),
        np.ones(2 * len(used)),
        planned,
        np.full(len(used), np.inf),
    )


def balance(
    parts: _Parts, name: str, where: IntArray, taken: IntArray, given: IntArray, capacity: IntArray
) -> Rows:
    """Return held(t) - held(t before) = taken on t - given back on t, with 0 <= held(t) <= capacity.

    One row for each place and day on which something is taken; what was given back since counts first.
    """
    used = np.flatnonzero((where >= 0) & (given > taken))
    days = np.unique(np.stack([where[used], taken[used]], axis=1), axis=0)
    size = len(days)
    most = capacity[days[:, 0]].astype(np.float64) if size else np.zeros(0)
    held = parts.add(name, np.zeros(size), 0.0, most)
    stride = int(max(given.max(initial=0), taken.max(initial=0))) + 1
    keys = days[:, 0] * stride + days[:, 1]
    takes = np.searchsorted(keys, where[used] * stride + taken[used])
    gives = np.searchsorted(keys, where[used] * stride + given[used])
    again = (
        np.flatnonzero((gives < size) & (days[np.minimum(gives, size - 1), 0] == where[used]))
        if size
        else gives
    )
    after = np.flatnonzero(days[1:, 0] == days[:-1, 0]) + 1
    row = np.concatenate([np.arange(size), after, takes, gives[again]])
    variable = np.concatenate([held, held[after - 1], used, used[again]])
    value = np.concatenate([np.ones(size), -np.ones(len(after)), -np.ones(len(used)), np.ones(len(again))])
    zero = np.zeros(size)
    return Rows(name, row, variable, value, zero, zero)


def want(parts: _Parts) -> tuple[Rows, Rows]:
    """Return sum(share x n) + short - over = top, one row for each want-week that counts, and ``whole`` rows.

    ``top`` is 1. Where every way brings the same share a site, it is what the sites that meet the week bring,
    and each piece of ``short`` is one site wide: plans cost the same, half sites cost more (``steps``).
    """
    entries = parts.task.entries
    wanted = np.flatnonzero(parts.task.demand.ravel() > 0)
    size = len(wanted)
    use = np.flatnonzero(entries.counted)
    row = np.searchsorted(wanted, entries.want_week[use])
    order = np.lexsort((entries.share[use], row))
    weeks = Weeks(size, row[order], entries.column[use][order], entries.share[use][order])
    level = steps(weeks, parts.weights)
    parts.constant += float(level.base.sum())
    short = parts.add("short", level.price, 0.0, level.width)
    over = parts.add("over", np.full(size, parts.weights.surplus), 0.0, np.inf)
    each = np.arange(size)
    exact = Rows(
        "want",
        np.concatenate([weeks.row, level.row, each]),
        np.concatenate([weeks.column, short, over]),
        np.concatenate([weeks.share, np.ones(len(short)), -np.ones(size)]),
        level.top,
        level.top,
    )
    return exact, whole(weeks, level, short)


def whole(weeks: Weeks, level: Level, short: IntArray) -> Rows:
    """Return sum(F(share) x n) + short / (step x f) >= k + 1 where 1 / step = k + f, for uneven weeks.

    F(s) = floor(s / step) + min(1, rest / f), at most k + 1: mixed integer rounding of the want row
    (Nemhauser and Wolsey 1990, from memory). It holds for whole sites and cuts off split ones: a site that
    brings more than a week's want meets it once, not one and a half times.
    """
    first, size = weeks.first, np.diff(weeks.first)
    rough = np.flatnonzero(~weeks.even & (size > 0))
    at = first[rough] + (np.array(STEPS_AT)[:, None] * (size[rough] - 1)).round().astype(np.int64)
    step = np.minimum(weeks.share[at] / np.array(STEPS_BY)[:, None, None], 1.0)
    week = np.broadcast_to(rough, step.shape)
    week, step = np.unique(np.stack([week.ravel(), step.ravel().round(9)]), axis=1)
    k = np.where(step < 1.0, np.floor(1.0 / step + 1e-9), 0.0)
    f = 1.0 / step - k
    good = (step >= 1.0) | ((f > 0.02) & (f < 0.98))
    week, step, k, f = week[good].astype(np.int64), step[good], k[good], f[good]
    row, entry = ranges(first[week], size[week])
    times = weeks.share[entry] / step[row]
    rounded = np.floor(times + 1e-9)
    rounded = np.minimum(rounded + np.clip((times - rounded) / f[row], 0.0, 1.0), k[row] + 1.0)
    begins = np.searchsorted(level.row, np.arange(weeks.count + 1))
    piece_row, piece = ranges(begins[week], np.diff(begins)[week])
    return Rows(
        "whole",
        np.concatenate([row, piece_row]),
        np.concatenate([weeks.column[entry], short[piece]]),
        np.concatenate([rounded, 1.0 / (step * f)[piece_row]]),
        k + 1.0,
        np.full(len(week), np.inf),
    )
