"""Search a programme for a good plan: whole, stretch by stretch, and from the relaxed one."""

from collections.abc import Callable
from dataclasses import dataclass
from time import perf_counter

import numpy as np

from cropcal.optimize.highs import (
    Ended,
    Progress,
    Relaxed,
    SolverResult,
    run,
)
from cropcal.optimize.programme import (
    BoolArray,
    FloatArray,
    IntArray,
    Programme,
)

FIRST_NODES, QUICK_NODES, STRETCH_NODES = 10, 1, 20
"""Branches of the first search of a whole programme, and of one within a stretch: at first, and later."""

STRETCH_D = 56
"""Length of a stretch of weeks, in days; each begins half a stretch after the one before."""

SWEEPS = ((3, 28), (8, STRETCH_D))
"""The first two sweeps: columns considered, as a multiple of those that the relaxed programme uses, and days
of a stretch. Where sites are scarce, long stretches take too long at first."""

DIVES = ((2, 0.75, 0.05), (4, 0.75, 0.05), (2, 0.9, 0.05), (4, 0.9, 0.05))
"""Dives from the relaxed programme: columns allowed, as a multiple of those it uses; the fraction of a site
from which it is rounded up; the least share of split sites rounded each time (``dive``)."""

LARGE, FEW = 5000, 2
"""Variables from which only the first few dives are made, for each takes seconds."""

LEAST = 40
"""Least number of columns that the relaxed programme counts as using."""


@dataclass(frozen=True)
class StoppingRule:
    """When to stop: near the bound (relative or absolute), at a time, or when ``stop`` returns True."""

    gap: float
    slack: float
    until: float = float("inf")
    stop: Callable[[], bool] | None = None
    progress: Progress | None = None

    @property
    def left_s(self) -> float:
        """Return the seconds that are left."""
        return max(self.until - perf_counter(), 0.0)

    @property
    def stopped(self) -> bool:
        """Return whether ``stop`` returned True."""
        return self.stop is not None and self.stop()

    @property
    def over(self) -> bool:
        """Return whether to stop now."""
        return self.left_s <= 0 or self.stopped

    def near(self, value: float, bound: float) -> bool:
        """Return whether a value is near enough to a bound."""
        return bool(np.isfinite(value)) and value - bound <= max(self.gap * value, self.slack) + 1e-9


@dataclass(frozen=True, eq=False)
class Search:
    """A programme, the day on which each column is planted, and when to stop.

    ``fill`` adds to a plan, greedily, whatever still fits and helps. Without ``branch`` the search ends when
    the stretches of weeks gain nothing more, however far the bound is.
    """

    programme: Programme
    planted: IntArray
    rule: StoppingRule
    fill: Callable[[IntArray], IntArray]
    branch: bool = True

    def best(self, plan: IntArray) -> tuple[IntArray, float, Ended]:
        """Return the best plan found, its bound, and how the search ended.

        First the relaxed programme: it gives a bound at once, and its sites are made whole in some ways. The
        best plan is improved by stretches of weeks in turn, all else held. Then the whole, for some branches;
        stretches again, until that gains nothing; and the whole again, from there. The clock ends no step,
        unless it ends the search: the same task takes the same steps.
        """
        rule, value = self.rule, np.inf
        relaxed = self._run(self.programme, None, relaxed=True)
        if relaxed.values is None or relaxed.reduced is None:
            return plan, -np.inf, self._ended()
        bound, size = relaxed.value, self.programme.whole
        self._report(value, bound)
        used = relaxed.values[:size]
        if (np.abs(used - np.round(used)) > WHOLE).any():
            turn = _likelihood_rank(used, relaxed.reduced[:size])
            plan, value = self._first(plan, np.floor(used + WHOLE).astype(np.int64))
            for times, near, share in DIVES[: FEW if len(self.programme.cost) > LARGE else None]:
                plan, value = self._improved_by_dive(plan, value, turn >= times, near, share)
                self._report(value, bound)
            for times, length_d in SWEEPS:
                if not rule.near(value, bound):
                    plan, value = self.sweep(plan, value, bound, QUICK_NODES, turn < times, length_d)
            plan, value = self.improved(plan, value, bound, QUICK_NODES)
            if rule.near(value, bound):
                return plan, bound, "proven"
            if not self.branch:
                return plan, bound, self._ended()
        answer = self._run(self.programme, plan, nodes=FIRST_NODES)
        bound = max(bound, answer.bound)
        plan, value = self._better(answer, plan, value)
        if answer.status != "unfinished":
            return plan, bound, answer.status
        if not self.branch:
            return plan, bound, self._ended()
        value = value if np.isfinite(value) else self._value(plan)
        plan, value = self.improved(plan, value, bound, STRETCH_NODES)
        if rule.near(value, bound):
            return plan, bound, "proven"
        if rule.over:
            return plan, bound, self._ended()
        last = self._run(self.programme, plan)
        plan, value = self._better(last, plan, value)
        return plan, max(bound, last.bound), "time limit" if last.status == "unfinished" else last.status

    def improved(self, plan: IntArray, value: float, bound: float, nodes: int) -> tuple[IntArray, float]:
        """Sweep over the stretches until that gains nothing, the plan is near its bound, or time is up."""
        rule, before = self.rule, np.inf
        while before - value > rule.gap * value and not rule.near(value, bound) and not rule.over:
            before = value
            plan, value = self.sweep(plan, value, bound, nodes)
        return plan, value

    def _improved_by_dive(
        self, plan: IntArray, value: float, dropped: BoolArray, near: float, share: float
    ) -> tuple[IntArray, float]:
        """Return the better of a plan and one from a dive without some columns, filled up; and its value."""
        if self.rule.over:
            return plan, value
        dropped = dropped & (plan == 0) & (self.programme.lower[: len(plan)] == 0)
        few = self.programme.without(dropped)
        relaxed = Relaxed(few, until=self.rule.until, stop=self.rule.stop)
        new = np.zeros(len(plan), dtype=np.int64)
        new[~dropped] = dive(few, relaxed, near=near, share=share)
        return self._first(plan, new)

    def _first(self, plan: IntArray, new: IntArray) -> tuple[IntArray, float]:
        """Return the best of a plan, a new one, and the new one filled up; and its value."""
        plans = [plan, new, self.fill(new)]
        values = [self._value(candidate) for candidate in plans]
        best = int(np.argmin(values))
        return plans[best], values[best]

    def _value(self, plan: IntArray) -> float:
        return run(self.programme.all_held(plan), relaxed=True).value

    def sweep(
        self,
        plan: IntArray,
        value: float,
        bound: float,
        nodes: int,
        among: BoolArray | None = None,
        length_d: int = STRETCH_D,
    ) -> tuple[IntArray, float]:
        """Improve a plan stretch by stretch: free what is planted within it, hold the rest."""
        for first in range(int(self.planted.min()), int(self.planted.max()) + 1, length_d // 2):
            if self.rule.over:
                break
            free = (self.planted >= first) & (self.planted < first + length_d)
            free &= True if among is None else among | (plan > 0)
            answer = self._run(self.programme.held(~free, plan), plan, nodes=nodes, quietly=True)
            plan, value = self._better(answer, plan, value)
            self._report(value, bound)
        return plan, value

    def _run(
        self,
        programme: Programme,
        plan: IntArray | None,
        *,
        nodes: int | None = None,
        relaxed: bool = False,
        quietly: bool = False,
    ) -> SolverResult:
        rule = self.rule
        return run(
            programme,
            relaxed=relaxed,
            time_limit_s=rule.left_s,
            gap=rule.gap,
            slack=rule.slack,
            nodes=nodes,
            start=plan,
            stop=rule.stop,
            progress=None if quietly or relaxed else rule.progress,
        )

    def _better(self, answer: SolverResult, plan: IntArray, value: float) -> tuple[IntArray, float]:
        """Return the plan of an answer and its value if it is better than the present plan."""
        if answer.values is None or answer.value >= value:
            return plan, value
        return np.round(answer.values[: self.programme.whole]).astype(np.int64), answer.value

    def _report(self, value: float, bound: float) -> None:
        if self.rule.progress is not None:
            self.rule.progress(value, bound)

    def _ended(self) -> Ended:
        return "interrupted" if self.rule.stopped else "time limit"


def _likelihood_rank(used: FloatArray, reduced: FloatArray) -> FloatArray:
    """Return the rank of each column: those that the relaxed programme uses first, then by reduced cost.

    Ranks are multiples of the number of columns that it uses.
    """
    positive = used > WHOLE
    order = np.lexsort((np.arange(len(used)), reduced.round(7), ~positive))
    turn = np.zeros(len(used))
    turn[order] = np.arange(len(used)) / max(int(positive.sum()), LEAST)
    return turn


WHOLE = 1e-6
"""A value this near to a whole number counts as whole."""


def dive(programme: Programme, relaxed: Relaxed, *, near: float, share: float) -> IntArray:
    """Return whole sites of each column, shape (whole,), that fit.

    Parameters
    ----------
    programme
        What to minimise.
    relaxed
        Its relaxation, to be solved with split sites. When its time is up, what is whole by then is returned.
    near
        Fraction from which a split site is rounded up to one.
    share
        Least share of all split sites rounded up in each step, those with the largest fractions.
    """
    size = programme.whole
    lower, upper = programme.lower.copy(), programme.upper.copy()
    answer = relaxed.solve(lower, upper)
    while answer is not None:
        n = answer[0][:size]
        floor = np.floor(n + WHOLE)
        part = n - floor
        lower[:size] = np.maximum(lower[:size], floor)
        split = np.flatnonzero(part > WHOLE)
        if not len(split):
            break
        turn = split[np.argsort(-part[split], kind="stable")]
        most = max(1, int(share * len(split)), int((part >= near).sum()))
        for few in (turn[:most], turn[:1]):
            tried = lower.copy()
            tried[few] += 1.0
            answer = relaxed.solve(tried, upper)
            if answer is not None:
                lower = tried
                break
        else:  # it does not fit, or time is up
            upper[turn[0]] = lower[turn[0]]
            answer = relaxed.solve(lower, upper)
    return np.round(lower[:size]).astype(np.int64)
