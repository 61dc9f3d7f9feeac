"""The planning programme on plain arrays: data, rows, variables. It knows no crop and no lamp.

A *column* is one way to grow one site: when it is sown, planted and freed, and what it brings to its want
week by week. The programme picks how many sites ``n`` to grow each way. It minimises one weighted sum in
which everything is counted in shares of a week's want, so that a small want weighs as much as a large one:

    short * (missing shares, convex)  +  surplus * (shares too many)  +  cost * (cost / unit)  +  staleness

subject to the rows below, one function each. Whole sites are integer; everything else follows from them.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from cropcal.planning.shortage import Weights
from cropcal.planning.variety import Pairs, pairs

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

    def only(self, kept: IntArray) -> "Columns":
        """Return some of the columns, renumbered."""
        number = np.full(self.count, -1, dtype=np.int64)
        number[kept] = np.arange(len(kept))
        entry = number[self.supply_column] >= 0
        return Columns(
            want=self.want[kept],
            place=self.place[kept],
            nursery=self.nursery[kept],
            sown=self.sown[kept],
            planted=self.planted[kept],
            freed=self.freed[kept],
            cost=self.cost[kept],
            staleness=self.staleness[kept],
            supply_column=number[self.supply_column[entry]],
            supply_week=self.supply_week[entry],
            supply_amount=self.supply_amount[entry],
        )


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
    kind: IntArray | None = None
    """(columns,), number of the want and crop that is not to come every week, -1: it may; None: all may."""

    def only(self, kept: IntArray) -> "Task":
        """Return the task with some of its columns."""
        before = self.before.only(kept) if self.before is not None else None
        kind = None if self.kind is None else self.kind[kept]
        return replace(self, columns=self.columns.only(kept), before=before, kind=kind)

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

    @cached_property
    def alike(self) -> Pairs | None:
        """Return what each crop brings in two weeks running, where that is to be looked at."""
        if self.kind is None:
            return None
        entries, counted = self.entries, self.entries.counted
        return pairs(
            self.kind,
            entries.column[counted],
            entries.want_week[counted],
            entries.share[counted],
            self.demand,
        )


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
