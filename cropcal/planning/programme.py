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
        return Entries(column, want * weeks + week, share, counted)


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


@dataclass(frozen=True)
class Weights:
    """What a missing share, a share too many, a cost unit and a share cut late weigh.

    Missing shares weigh more the more is missing of a week: ``segments`` are widths and slopes, so that a
    shortage is spread rather than piled on one week.
    """

    short: float = 100.0
    surplus: float = 10.0
    cost: float = 0.1
    staleness: float = 0.02
    segments: tuple[tuple[float, float], ...] = ((0.25, 1.0), (0.25, 1.25), (0.5, 1.6))


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


def build(task: Task, weights: Weights | None = None) -> Programme:
    """Return the programme of a task."""
    weights = weights or Weights()
    parts = _Parts(task, weights)
    parts.add("n", _column_costs(task, weights), 0.0, _most(task))
    rows = [
        balance(parts, "site", task.columns.place, task.columns.planted, task.columns.freed, task.sites),
        balance(parts, "cell", task.columns.nursery, task.columns.sown, task.columns.planted, task.cells),
        *want(parts),
    ]
    return Programme(
        cost=np.concatenate(parts.cost),
        lower=np.concatenate(parts.lower),
        upper=np.concatenate(parts.upper),
        whole=task.columns.count,
        rows=tuple(rows),
        names=tuple(parts.names),
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

    def add(self, name: str, cost: FloatArray, low: float, high: FloatArray | float) -> IntArray:
        """Add a stretch of variables and return their numbers."""
        size, first = len(cost), self.count
        self.cost.append(np.asarray(cost, dtype=np.float64))
        self.lower.append(np.full(size, low))
        self.upper.append(np.broadcast_to(np.asarray(high, dtype=np.float64), size).copy())
        self.names.append((name, first, size))
        self.count += size
        return np.arange(first, first + size)


def _column_costs(task: Task, weights: Weights) -> FloatArray:
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
    """Return the most sites of a column worth growing: its place, its nursery, and its fullest want-week."""
    columns, entries = task.columns, task.entries
    most = task.sites[columns.place].astype(np.float64)
    if len(task.cells):
        in_nursery = columns.nursery >= 0
        most = np.where(in_nursery, np.minimum(most, task.cells[columns.nursery]), most)
    needed = np.zeros(columns.count)
    counted = entries.counted
    np.maximum.at(needed, entries.column[counted], np.ceil(1.0 / entries.share[counted] - 1e-9))
    return np.minimum(most, needed)


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
    """Return sum(share x n) + missing - over = 1, and the same with each share at most 1, at least 1.

    One row each for every want-week that counts. The second says what whole sites imply and fractions do not:
    a site that brings more than a week's want meets it once, not one and a half times.
    """
    entries, weights = parts.task.entries, parts.weights
    wanted = np.flatnonzero(parts.task.demand.ravel() > 0)
    size = len(wanted)
    missing = [
        parts.add(f"short{number}", np.full(size, weights.short * slope), 0.0, width)
        for number, (width, slope) in enumerate(weights.segments)
    ]
    over = parts.add("over", np.full(size, weights.surplus), 0.0, np.inf)
    counted = entries.counted
    row = np.searchsorted(wanted, entries.want_week[counted])
    each = np.arange(size)
    segments = len(missing)
    exact = Rows(
        "want",
        np.concatenate([row, np.tile(each, segments), each]),
        np.concatenate([entries.column[counted], *missing, over]),
        np.concatenate([entries.share[counted], np.ones(segments * size), -np.ones(size)]),
        np.ones(size),
        np.ones(size),
    )
    once = Rows(
        "once",
        np.concatenate([row, np.tile(each, segments)]),
        np.concatenate([entries.column[counted], *missing]),
        np.concatenate([np.minimum(entries.share[counted], 1.0), np.ones(segments * size)]),
        np.ones(size),
        np.full(size, np.inf),
    )
    return exact, once


def undominated(task: Task, weights: Weights) -> IntArray:
    """Return the columns worth keeping: no other does as much in the same weeks with less.

    Of columns with one cut, like in want, place, nursery, planting day, week of cutting and amount, those
    sown no later and freed no earlier than another, at no less cost, are left out.
    """
    columns, entries = task.columns, task.entries
    cuts = np.bincount(columns.supply_column, minlength=columns.count)
    week = np.zeros(columns.count, dtype=np.int64)
    week[columns.supply_column] = columns.supply_week
    share = np.bincount(entries.column, entries.share, columns.count)
    price = _column_costs(task, weights)
    single = np.flatnonzero(cuts == 1)
    keys = np.stack([columns.want, columns.place, columns.nursery, columns.planted, week], axis=1)[single]
    _, group = np.unique(keys, axis=0, return_inverse=True)
    order = np.argsort(group.ravel(), kind="stable")
    keep = np.ones(columns.count, dtype=bool)
    edges = np.flatnonzero(np.diff(group.ravel()[order])) + 1
    for members in np.split(single[order], edges):
        for one in members:
            others = members[keep[members] & (members != one)]
            better = (
                (columns.sown[others] >= columns.sown[one])
                & (columns.freed[others] <= columns.freed[one])
                & (price[others] <= price[one] + 1e-12)
                & (np.abs(share[others] - share[one]) < 1e-12)
            )
            if better.any():
                keep[one] = False
    return np.flatnonzero(keep)
