"""Search for a plan, and measure how good it is."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from cropcal.optimize.assemble import build
from cropcal.optimize.carryover import best_carryover
from cropcal.optimize.greedy import greedy
from cropcal.optimize.highs import Ended, Progress
from cropcal.optimize.penalties import Weights, convex
from cropcal.optimize.programme import Columns, FloatArray, IntArray, Task, column_costs
from cropcal.optimize.window_search import Search, StoppingRule

NEAR_ENOUGH = 50.0
"""Points per wanted week (a week without anything weighs 100): the gap is a part of these or of the value,
whichever is more. Where nothing is short the value is only cents and days in the fridge."""


@dataclass(frozen=True, eq=False)
class Solution:
    """Sites of each column, and how good that plan is.

    ``short`` and ``over`` are amounts, shape (wants, weeks); ``kept`` is what is kept along each line of
    ``Task.store``.
    """

    status: Ended
    n: IntArray
    value: float
    bound: float
    gap: float
    seconds: float
    terms: dict[str, float]
    short: FloatArray
    over: FloatArray
    kept: FloatArray
    short_want_weeks: float


def solve(
    task: Task,
    *,
    weights: Weights | None = None,
    time_limit_s: float = 60.0,
    gap: float = 1e-3,
    near: float = NEAR_ENOUGH,
    stop: Callable[[], bool] | None = None,
    progress: Progress | None = None,
    branch: bool = True,
) -> Solution:
    """Return the best plan found within the time limit, and a bound that no plan can beat.

    Parameters
    ----------
    task
        Demand, capacities and candidate columns.
    weights
        Weights of the objective.
    time_limit_s, gap
        When to stop improving: seconds, or a distance from the bound, as a part of the value.
    near
        Points per wanted week; the same part of these is near enough too.
    stop
        Asked now and then; True ends the search with the best plan so far.
    progress
        Called now and then with the best value and the bound.
    branch
        Whether to go on with the whole when weeks by themselves gain nothing more. Without, the same task
        gives the same plan on any machine, unless the time limit ends it.
    """
    began = perf_counter()
    weights = weights or Weights()
    if task.columns.count == 0 or not (task.demand > 0).any():
        return _evaluate(task, weights, np.zeros(task.columns.count, dtype=np.int64), None, began, "empty")
    undominated_columns = undominated(task, weights)
    small = task.only(undominated_columns)
    programme = build(small, weights)
    counted = int((small.demand > 0).sum())
    rule = StoppingRule(gap, gap * near * counted, began + time_limit_s, stop, progress)
    search = Search(
        programme, small.columns.planted, rule, lambda begun: greedy(small, weights, begun), branch
    )
    start = greedy(small, weights)
    plan, bound, status = search.best(start)
    if (
        task.before is not None
        and task.before.planned.any()
        and _improvement(small, weights, start, plan) <= weights.worth
    ):
        plan = start
    n = np.zeros(task.columns.count, dtype=np.int64)
    n[undominated_columns] = plan
    judged = _evaluate(task, weights, n, bound, began, status)
    far = judged.value - judged.bound > max(gap * judged.value, rule.slack) + 1e-6
    if task.before is None and judged.status == "proven" and far:
        return replace(judged, status="time limit")
    return judged


def evaluated(task: Task, n: IntArray, status: Ended) -> Solution:
    """Return what sites chosen in another way make of a season; nothing is known of how good it could be."""
    return replace(_evaluate(task, Weights(), n, 0.0, perf_counter(), status), seconds=0.0)


def _improvement(task: Task, weights: Weights, plan: IntArray, other: IntArray) -> float:
    """Return by how much the value of another plan is lower."""
    first, second = (_evaluate(task, weights, n, None, 0.0, "proven").value for n in (plan, other))
    return first - second


def _evaluate(
    task: Task,
    weights: Weights,
    n: IntArray,
    bound: float | None,
    began: float,
    status: Ended,
) -> Solution:
    """Return the solution with everything recomputed from the whole sites alone."""
    columns, entries = task.columns, task.entries
    demand = task.demand
    counted = demand > 0
    stored, store = best_carryover(task, weights, n), task.store
    size = demand.size
    cut = np.bincount(entries.want_week, n[entries.column] * entries.share, size).reshape(demand.shape)
    moved = np.bincount(store.target, stored, size) - np.bincount(store.source, stored, size)
    brought: FloatArray = cut + moved.reshape(demand.shape) / task.scale
    missing = np.where(counted, np.maximum(1.0 - brought, 0.0), 0.0)
    missing[missing < 1e-9] = 0.0
    surplus = np.maximum(np.where(counted, brought - 1.0, brought), 0.0)
    surplus[surplus < 1e-9] = 0.0
    used = entries.counted | task.spare[entries.want_week]
    late = np.bincount(entries.column, entries.share * used, columns.count) * columns.staleness
    usual = task.usual[store.source // demand.shape[1]]
    terms = {
        "short": weights.short * float((task.weight @ convex(missing, weights)).sum()),
        "surplus": weights.surplus * float((task.weight @ surplus).sum()),
        "cost": weights.cost * float(n @ columns.cost) / task.cost_unit,
        "staleness": weights.staleness * float(n @ late),
        "kept": weights.kept * float((stored / usual) @ store.later),
    }
    if task.before is not None:
        terms |= task.before.terms(n, weights)
    if task.alike is not None:
        terms["alike"] = weights.alike * float(task.alike.beyond(n).sum())
    if task.work is not None:
        terms["minutes over"] = weights.minute_over * float(task.work.over(n).sum())
    value = sum(terms.values())
    # no plan weighs less than nothing: that is the bound when the search ended before it had one
    bound = value if bound is None else min(max(bound, 0.0), value)
    short = np.where(counted, missing * demand, 0.0)
    over = surplus * np.where(counted, demand, task.usual[:, None])
    weeks_short = float(missing.sum())
    return Solution(
        status=status,
        n=n,
        value=value,
        bound=bound,
        gap=(value - bound) / value if value > 0 else 0.0,
        seconds=perf_counter() - began,
        terms=terms,
        short=short,
        over=over,
        kept=stored,
        short_want_weeks=weeks_short,
    )


def undominated(task: Task, weights: Weights) -> IntArray:
    """Return the columns that no other dominates.

    Of columns of the same want, kind, place and nursery with the same supply, which keeps as long, that
    hold as many sites and leave the nursery on the same day, those sown no later and freed no earlier than
    another, at no less cost, are left out. Columns sown in place need not be sown on the same day. What was
    planned before stays, to be held against. Where work is limited no day is as good as another, so all stay.
    """
    columns = task.columns
    if task.work is not None:
        return np.arange(columns.count)
    price = column_costs(task, weights)
    in_place = columns.nursery < 0
    standing = np.full(columns.count, -1) if task.before is None else task.before.group
    planted = np.where(in_place, 0, columns.planted)
    kind = np.full(columns.count, -1) if task.kind is None else task.kind
    keys = np.stack(
        [
            columns.want,
            kind,
            columns.place,
            columns.nursery,
            planted,
            columns.held,
            _supply_group(columns),
            standing,
        ]
    )
    _, group = np.unique(keys, axis=1, return_inverse=True)
    order = np.lexsort((price, columns.freed, -columns.sown, group.ravel()))
    group, freed, price = group.ravel()[order], columns.freed[order], price[order]
    keep = np.ones(columns.count, dtype=bool)
    for apart in range(1, int(np.bincount(group).max(initial=0))):
        better = (
            (group[apart:] == group[:-apart])
            & (freed[:-apart] <= freed[apart:])
            & (price[:-apart] <= price[apart:] + 1e-12)
        )
        keep[order[apart:][better]] = False
    return np.flatnonzero(keep if task.before is None else keep | (task.before.planned > 0))


def _supply_group(columns: Columns) -> IntArray:
    """Return a group number for each column: the same for those with the same supply, which keeps as long."""
    order = np.lexsort((columns.supply_week, columns.supply_column))
    column = columns.supply_column[order]
    cut = np.arange(len(column)) - np.searchsorted(column, column)
    table = np.zeros((columns.count, 3 * (int(cut.max(initial=-1)) + 1)))
    table[column, 3 * cut] = columns.supply_week[order] + 1.0
    table[column, 3 * cut + 1] = columns.supply_amount[order]
    table[column, 3 * cut + 2] = columns.supply_keeps[order]
    return np.asarray(np.unique(table, axis=0, return_inverse=True)[1].ravel(), dtype=np.int64)
