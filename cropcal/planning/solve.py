"""Search for a plan, and say how good the one found is."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from cropcal.planning.build import build
from cropcal.planning.dominance import undominated
from cropcal.planning.greedy import greedy
from cropcal.planning.programme import FloatArray, IntArray, Programme, Task
from cropcal.planning.shortage import Weights, convex
from cropcal.planning.solver import Answer, Ended, Progress, run

FIRST_NODES, STRETCH_NODES = 10, 20
"""Branches of the first search of a whole programme, and of a search within a stretch of weeks."""

STRETCH_D = 56
"""Length of a stretch of weeks, in days; each begins half a stretch after the one before."""


@dataclass(frozen=True, eq=False)
class Solution:
    """How many sites to grow each way, and how good that is.

    ``short`` and ``over`` are amounts, shape (wants, weeks).
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
    short_want_weeks: float


def solve(
    task: Task,
    *,
    weights: Weights | None = None,
    time_limit_s: float = 60.0,
    gap: float = 1e-3,
    stop: Callable[[], bool] | None = None,
    progress: Progress | None = None,
) -> Solution:
    """Return the best plan found within the time limit, and a bound that no plan can beat.

    Parameters
    ----------
    task
        What is wanted, what there is, and the ways to grow it.
    weights
        What counts how much.
    time_limit_s, gap
        When to stop improving: seconds, or a relative distance from the bound.
    stop
        Asked now and then; True ends the search with the best plan so far.
    progress
        Told of progress now and then.
    """
    began = perf_counter()
    weights = weights or Weights()
    if task.columns.count == 0 or not (task.demand > 0).any():
        return _judge(task, weights, np.zeros(task.columns.count, dtype=np.int64), None, began, "empty")
    kept = undominated(task, weights)
    small = task.only(kept)
    programme = build(small, weights)
    search = Search(programme, small.columns.planted, gap, began + time_limit_s, stop, progress)
    start = greedy(small, weights)
    plan, bound, status = search.best(start)
    if task.before is not None and _worth(small, weights, start, plan) <= weights.worth:
        plan = start
    n = np.zeros(task.columns.count, dtype=np.int64)
    n[kept] = plan
    judged = _judge(task, weights, n, bound, began, status)
    if task.before is None and judged.status == "proven" and judged.gap > gap + 1e-6:
        return replace(judged, status="time limit")
    return judged


def _worth(task: Task, weights: Weights, one: IntArray, other: IntArray) -> float:
    """Return how much better another plan is."""
    first, second = (_judge(task, weights, n, None, 0.0, "proven").value for n in (one, other))
    return first - second


@dataclass(frozen=True, eq=False)
class Search:
    """A programme, the day on which each column is planted, and when to stop."""

    programme: Programme
    planted: IntArray
    gap: float
    until: float
    stop: Callable[[], bool] | None
    progress: Progress | None

    def best(self, plan: IntArray) -> tuple[IntArray, float, Ended]:
        """Return the best plan found, its bound, and how the search ended.

        First the whole programme, for some branches: most are proven by then. Else stretches of weeks in
        turn, all else held, until that gains nothing; then the whole again, from there. The clock ends no
        step, unless it ends the search: the same task takes the same steps.
        """
        answer = self._run(self.programme, plan, nodes=FIRST_NODES)
        plan = self._whole(answer, plan)
        if answer.status != "unfinished":
            return plan, answer.bound, answer.status
        value, before = answer.value, np.inf
        while before - value > self.gap * value and not self._over():
            before = value
            plan, value = self.sweep(plan, value)
        if value - answer.bound <= self.gap * value:
            return plan, answer.bound, "proven"
        if self._over():
            return (
                plan,
                answer.bound,
                "interrupted" if self.stop is not None and self.stop() else "time limit",
            )
        last = self._run(self.programme, plan)
        ended = "time limit" if last.status == "unfinished" else last.status
        plan = self._whole(last, plan) if last.value < value else plan
        return plan, max(answer.bound, last.bound), ended

    def sweep(self, plan: IntArray, value: float) -> tuple[IntArray, float]:
        """Improve a plan stretch by stretch: free what is planted within it, hold the rest."""
        size = self.programme.whole
        for first in range(int(self.planted.min()), int(self.planted.max()) + 1, STRETCH_D // 2):
            if self._over():
                break
            free = (self.planted >= first) & (self.planted < first + STRETCH_D)
            lower, upper = self.programme.lower.copy(), self.programme.upper.copy()
            lower[:size] = np.where(free, lower[:size], plan)
            upper[:size] = np.where(free, upper[:size], plan)
            part = replace(self.programme, lower=lower, upper=upper)
            answer = self._run(part, plan, nodes=STRETCH_NODES, quietly=True)
            if answer.value < value:
                plan, value = self._whole(answer, plan), answer.value
        return plan, value

    def _run(
        self, programme: Programme, plan: IntArray, nodes: int | None = None, *, quietly: bool = False
    ) -> "Answer":
        return run(
            programme,
            time_limit_s=max(self.until - perf_counter(), 0.0),
            gap=self.gap,
            nodes=nodes,
            start=plan,
            stop=self.stop,
            progress=None if quietly else self.progress,
        )

    def _whole(self, answer: "Answer", plan: IntArray) -> IntArray:
        """Return the whole sites of an answer; if it has none, the plan there was."""
        if answer.values is None:
            return plan
        return np.asarray(np.round(answer.values[: self.programme.whole]), dtype=np.int64)

    def _over(self) -> bool:
        return perf_counter() >= self.until or (self.stop is not None and self.stop())


def _judge(
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
    brought = np.bincount(entries.want_week, n[entries.column] * entries.share, demand.size).reshape(
        demand.shape
    )
    counted = demand > 0
    missing = np.where(counted, np.maximum(1.0 - brought, 0.0), 0.0)
    missing[missing < 1e-9] = 0.0
    surplus = np.where(counted, np.maximum(brought - 1.0, 0.0), brought)
    late = np.bincount(entries.column, entries.share * entries.counted, columns.count) * columns.staleness
    terms = {
        "short": weights.short * float(convex(missing, weights).sum()),
        "surplus": weights.surplus * float(surplus.sum()),
        "cost": weights.cost * float(n @ columns.cost) / task.cost_unit,
        "staleness": weights.staleness * float(n @ late),
    }
    if task.before is not None:
        terms["given up"] = weights.given_up * float(task.before.given_up(n).sum())
        terms["calm"] = weights.calm * float(task.before.gone(n) @ task.before.calm)
    if task.alike is not None:
        terms["alike"] = weights.alike * float(task.alike.beyond(n).sum())
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
        short_want_weeks=weeks_short,
    )
