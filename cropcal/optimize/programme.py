"""The planning programme on plain arrays: data, rows, variables. It knows no crop and no lamp.

A *column* is one activity on one site: when it is sown, planted and freed, and what it brings to its want
week by week. The programme picks the number of sites ``n`` of each column. It minimises one weighted sum, in
shares of a week's want, so that a small want weighs as much as a large one:

    short * (missing shares, convex)  +  surplus * (shares too many)  +  cost * (cost / unit)  +  staleness
    +  kept * (shares kept for later weeks)

subject to the rows below, one function each. Whole sites are integer; everything else follows from them.
"""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from cropcal.optimize.penalties import Weights, ranges
from cropcal.optimize.variety_rows import Pairs, variety_pairs
from cropcal.optimize.work_rows import WorkLimit

IntArray = npt.NDArray[np.int64]
FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Columns:
    """Candidate columns; arrays of shape (n,), and their supply as a coordinate list of shape (m,).

    Days are indices from any origin, weeks are indices from the first wanted week. A site, with those left
    empty beside it, is held on the days ``planted <= day < freed``, a nursery cell (one a planted site; pass
    fewer where spare seedlings are raised) on ``sown <= day < planted``. ``planted == sown`` and ``nursery ==
    -1`` when sown in place.
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
    """Lateness of the cut within its window, 0 to 1."""
    supply_column: IntArray
    """Column of each entry of the supply."""
    supply_week: IntArray
    """Week of each entry; weeks outside the demand do not count."""
    supply_amount: FloatArray
    """Amount one site of the column brings that week, in the unit of its want."""
    supply_keeps: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    """Weeks after the week of each entry in which it can still be eaten; default: none."""
    held: IntArray = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    """Sites that one planted site holds: itself, and those left empty beside it; default: 1."""

    def __post_init__(self) -> None:
        if not len(self.held):
            object.__setattr__(self, "held", np.ones(self.count, dtype=np.int64))
        if not len(self.supply_keeps):
            object.__setattr__(self, "supply_keeps", np.zeros(len(self.supply_column), dtype=np.int64))

    @property
    def count(self) -> int:
        """Return the number of columns."""
        return len(self.want)

    def rows(self, taken: IntArray) -> "Columns":
        """Return some columns in any order, each as often as it is named, renumbered."""
        order = np.argsort(self.supply_column, kind="stable")
        first = np.searchsorted(self.supply_column[order], np.arange(self.count + 1))
        number, at = ranges(first[taken], first[taken + 1] - first[taken])
        entry = order[at]
        return Columns(
            want=self.want[taken],
            place=self.place[taken],
            nursery=self.nursery[taken],
            sown=self.sown[taken],
            planted=self.planted[taken],
            freed=self.freed[taken],
            cost=self.cost[taken],
            staleness=self.staleness[taken],
            supply_column=number,
            supply_week=self.supply_week[entry],
            supply_amount=self.supply_amount[entry],
            supply_keeps=self.supply_keeps[entry],
            held=self.held[taken],
        )

    def only(self, kept: IntArray) -> "Columns":
        """Return a subset of the columns, renumbered."""
        return self.rows(np.asarray(kept))


MOST_OVER = 3.0
"""Cap on the surplus a site brings beyond what can be eaten of it, fresh or kept, in weeks' wants: such a
surplus cannot be avoided, and must not weigh more than going without."""

SECOND = 0.2
"""Weight of a share of a want without a number, which takes what fits, against one with a number (assumed):
it fills the capacity that those leave, and is still worth more than its power."""

MOST_KEPT = 2
"""Most weeks for which anything is kept."""


@dataclass(frozen=True, eq=False)
class Task:
    """Demand, capacities and columns. A demand of 0: nothing is wanted, or counted, that week."""

    columns: Columns
    demand: FloatArray
    """(wants, weeks), amount."""
    sites: IntArray
    """(places,), sites of each place."""
    cells: IntArray
    """(nurseries,), cells of each nursery."""
    cost_unit: float = 1.0
    """Usual cost of one share of a week's want (``usual_cost``), so that currency does not matter."""
    before: "PreviousPlan | None" = None
    """Standing crops and the previous plan, if this is not the first plan."""
    heads: BoolArray | None = None
    """(wants,), whether a want is for heads, of which none is kept in part; None: no want is."""
    first: BoolArray | None = None
    """(wants,), wants that come first, as those with a number do; None: all do. Others weigh ``SECOND``."""
    kind: IntArray | None = None
    """(columns,), number of the want and crop that is not to come every week, -1: it may; None: all may."""
    work: WorkLimit | None = None
    """Minutes of work a day; None: as many as it takes."""

    def only(self, kept: IntArray) -> "Task":
        """Return the task with a subset of its columns."""
        before = self.before.only(kept) if self.before is not None else None
        kind = None if self.kind is None else self.kind[kept]
        work = None if self.work is None else self.work.rows(np.asarray(kept))
        return replace(self, columns=self.columns.only(kept), before=before, kind=kind, work=work)

    @cached_property
    def weight(self) -> FloatArray:
        """Return the weight of a share of each want, missing or surplus, (wants,)."""
        return np.ones(len(self.demand)) if self.first is None else np.where(self.first, 1.0, SECOND)

    @cached_property
    def usual(self) -> FloatArray:
        """Return the mean amount wanted in the weeks that count, per want (1 where none does)."""
        counted = self.demand > 0
        total = self.demand.sum(axis=1)
        return np.where(counted.any(axis=1), total / np.maximum(counted.sum(axis=1), 1), 1.0)

    @cached_property
    def scale(self) -> FloatArray:
        """Return the amount that is one share, (wants, weeks): that wanted, the usual one if none counts."""
        return np.where(self.demand > 0, self.demand, self.usual[:, None])

    @cached_property
    def entries(self) -> "Entries":
        """Return the supply as shares of what is wanted, entry by entry."""
        columns, weeks = self.columns, self.demand.shape[1]
        inside = columns.supply_week < weeks
        column = columns.supply_column[inside]
        want, week, keeps = columns.want[column], columns.supply_week[inside], columns.supply_keeps[inside]
        ahead = np.pad(np.cumsum(self.demand, axis=1), ((0, 0), (1, MOST_KEPT)), mode="edge")
        eaten = ahead[want, week + 1 + keeps] - ahead[want, week]
        scale = self.scale[want, week]
        most = np.maximum(eaten / scale, 1.0) + MOST_OVER
        share = np.minimum(columns.supply_amount[inside] / scale, most)
        return Entries(column, want * weeks + week, share, keeps, self.demand[want, week] > 0)

    @cached_property
    def store(self) -> "Inventory":
        """Return the possible carry-overs: from a week with a cut that keeps to a later one with demand."""
        entries, weeks = self.entries, self.demand.shape[1]
        longest = np.zeros(self.demand.size, dtype=np.int64)
        np.maximum.at(longest, entries.want_week, entries.keeps)
        at = np.arange(self.demand.size)
        asks = np.concatenate([self.demand.ravel() > 0, np.zeros(MOST_KEPT, dtype=bool)])
        parts = [
            np.flatnonzero((longest >= later) & (at % weeks + later < weeks) & asks[at + later])
            for later in range(1, MOST_KEPT + 1)
        ]
        source = np.concatenate(parts)
        later = np.repeat(np.arange(1, MOST_KEPT + 1), [len(part) for part in parts])
        return Inventory(source, source + later, later)

    @cached_property
    def spare(self) -> BoolArray:
        """Return the want-weeks without demand whose cut can be kept for one with demand, as a mask."""
        spare = np.zeros(self.demand.size, dtype=bool)
        spare[self.store.source] = True
        return np.asarray(spare & (self.demand.ravel() == 0))

    @cached_property
    def piece(self) -> FloatArray:
        """Return the indivisible unit (one head) of each want, 0 if it has none, (wants,)."""
        columns, pieces = self.columns, np.zeros(len(self.demand))
        want = columns.want[columns.supply_column]
        for number in [] if self.heads is None else np.flatnonzero(self.heads):
            amount = columns.supply_amount[want == number]
            least = float(amount[amount > 0].min(initial=np.inf))
            times = np.concatenate([self.demand[number], amount]) / least
            if np.isfinite(least) and np.abs(times - times.round()).max() < 1e-9:
                pieces[number] = least
        return pieces

    @cached_property
    def alike(self) -> Pairs | None:
        """Return what each crop brings in two consecutive weeks; None if repetition is free."""
        if self.kind is None:
            return None
        entries, counted = self.entries, self.entries.counted
        return variety_pairs(
            self.kind,
            entries.column[counted],
            entries.want_week[counted],
            entries.share[counted],
            self.demand,
        )


@dataclass(frozen=True, eq=False)
class Inventory:
    """Possible carry-overs: the want-week of the cut, that of the meal, and the weeks between."""

    source: IntArray
    target: IntArray
    later: IntArray


@dataclass(frozen=True, eq=False)
class PreviousPlan:
    """The previous plan and standing crops; arrays of shape (columns,), ``stands`` of shape (groups,)."""

    group: IntArray
    """Group of standing crops that a column continues, -1: it is yet to be sown."""
    planned: IntArray
    """Sites of this column in the previous plan."""
    calm: FloatArray
    """Change penalty: weight of each of these sites that is no longer grown so."""
    stands: IntArray
    """Sites (or cells) that each group occupies."""
    worth: FloatArray | None = None
    """(groups,), weight of giving up a site of the group, as a share of the usual; None: 1."""

    def only(self, kept: IntArray) -> "PreviousPlan":
        """Return the previous plan of a subset of the columns."""
        return PreviousPlan(self.group[kept], self.planned[kept], self.calm[kept], self.stands, self.worth)

    @property
    def worths(self) -> FloatArray:
        """Return the weight of giving up a site of each group, as a share of the usual, (groups,)."""
        return np.ones(len(self.stands)) if self.worth is None else self.worth

    def gone(self, n: FloatArray | IntArray) -> FloatArray:
        """Return the sites of each column that are no longer grown as planned, (columns,)."""
        return np.maximum(self.planned - n, 0.0)

    def terms(self, n: FloatArray | IntArray, weights: Weights) -> dict[str, float]:
        """Return the terms of the objective for standing crops given up and for changes of the plan."""
        return {
            "given up": weights.given_up * float(self.given_up(n) @ self.worths),
            "calm": weights.calm * float(self.gone(n) @ self.calm),
        }

    def given_up(self, n: FloatArray | IntArray) -> FloatArray:
        """Return the sites of each group that are not continued, (groups,)."""
        continuing = self.group >= 0
        return np.asarray(self.stands - np.bincount(self.group[continuing], n[continuing], len(self.stands)))


def usual_cost(task: Task) -> float:
    """Return the median cost of one share of a week's want over all columns, 1 if nothing costs anything."""
    entries, columns = task.entries, task.columns
    useful = np.bincount(entries.column, entries.share * entries.counted, columns.count)
    known = (useful > 0) & (columns.cost > 0)
    return float(np.median(columns.cost[known] / useful[known])) if known.any() else 1.0


@dataclass(frozen=True, eq=False)
class Entries:
    """Supply entries: column, want-week (want x weeks + week), share, weeks it keeps, whether it counts."""

    column: IntArray
    want_week: IntArray
    share: FloatArray
    keeps: IntArray
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
    """Minimise ``cost @ v`` over ``lower <= v <= upper`` and all rows; the first ``whole`` variables whole.

    ``names`` says what each stretch of variables is: (name, first, count).
    """

    cost: FloatArray
    lower: FloatArray
    upper: FloatArray
    whole: int
    rows: tuple[Rows, ...]
    names: tuple[tuple[str, int, int], ...]
    constant: float = 0.0

    def held(self, held: BoolArray, plan: IntArray) -> "Programme":
        """Return the programme with some columns held as they are in a plan; both of shape (whole,)."""
        lower, upper = self.lower.copy(), self.upper.copy()
        lower[: self.whole] = np.where(held, plan, lower[: self.whole])
        upper[: self.whole] = np.where(held, plan, upper[: self.whole])
        return replace(self, lower=lower, upper=upper)

    def all_held(self, plan: IntArray) -> "Programme":
        """Return the programme with all columns held as they are in a plan, shape (whole,)."""
        return self.held(np.ones(self.whole, dtype=bool), plan)

    def without(self, dropped: BoolArray) -> "Programme":
        """Return the programme as if some columns, (whole,), were never grown; without names."""
        stay = np.concatenate([~dropped, np.ones(len(self.cost) - self.whole, dtype=bool)])
        number = np.cumsum(stay) - 1
        rows = []
        for row in self.rows:
            kept = stay[row.variable]
            variable = number[row.variable[kept]]
            rows.append(replace(row, row=row.row[kept], variable=variable, value=row.value[kept]))
        return replace(
            self,
            cost=self.cost[stay],
            lower=self.lower[stay],
            upper=self.upper[stay],
            whole=int(self.whole - dropped.sum()),
            rows=tuple(rows),
            names=(),
        )


def column_costs(task: Task, weights: Weights) -> FloatArray:
    """Return the cost of one site of each column: power, lateness, and supply in weeks without demand."""
    columns, entries = task.columns, task.entries
    used = entries.counted | task.spare[entries.want_week]
    useful = np.bincount(entries.column, entries.share * used, columns.count)
    useless = np.bincount(entries.column, entries.share * ~used, columns.count)
    return np.asarray(
        weights.cost * columns.cost / task.cost_unit
        + weights.staleness * columns.staleness * useful
        + weights.surplus * task.weight[columns.want] * useless
    )
