"""Search a programme for a good plan: whole, stretch by stretch, and from the relaxed one."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from cropcal.planning.programme import BoolArray, FloatArray, IntArray, Programme
from cropcal.planning.solver import Answer, Ended, Progress, run

FIRST_NODES, STRETCH_NODES, LAYING_NODES = 10, 20, 5
"""Branches of the first search of a whole programme, of one within a stretch, and of one while laying out."""

STRETCH_D, LAYING_D = 56, 42
"""Length of a stretch of weeks, in days; each begins half a stretch after the one before."""

AHEAD_D = 84
"""Days after a stretch whose columns are weighed anew; later ones bring no more than when split."""

LIKELY, LEAST = 4, 40
"""Columns thought of when a plan is laid out: so many times those that the relaxed programme uses, taken as
so many at least."""

ROUGH = 10.0
"""How much further from its bound a step of the laying out may stop."""


@dataclass(frozen=True)
class Patience:
    """When to stop: a part of the value or points from the bound, a time of the clock, or when told to."""

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
        """Return whether somebody said stop."""
        return self.stop is not None and self.stop()

    @property
    def over(self) -> bool:
        """Return whether to stop now."""
        return self.left_s <= 0 or self.stopped

    def near(self, value: float, bound: float) -> bool:
        """Return whether a value is near enough to a bound."""
        return value - bound <= max(self.gap * value, self.slack) + 1e-9


@dataclass(frozen=True, eq=False)
class Search:
    """A programme, the day on which each column is planted, and when to stop.

    ``fill`` adds to a plan, by a plain rule, whatever still fits and helps.
    """

    programme: Programme
    planted: IntArray
    patience: Patience
    fill: Callable[[IntArray], IntArray]

    def best(self, plan: IntArray) -> tuple[IntArray, float, Ended]:
        """Return the best plan found, its bound, and how the search ended.

        First the relaxed programme: it gives a bound at once, and a plan is laid out along it. That is
        improved by stretches of weeks in turn, all else held. Then the whole, for some branches; stretches
        again, until that gains nothing; and the whole again, from there. The clock ends no step, unless it
        ends the search: the same task takes the same steps.
        """
        patience, value = self.patience, np.inf
        relaxed = self._run(self.programme, None, relaxed=True)
        if relaxed.values is None or relaxed.reduced is None:
            return plan, -np.inf, self._ended()
        bound, size = relaxed.value, self.programme.whole
        self._tell(value, bound)
        if (np.abs(relaxed.values[:size] - np.round(relaxed.values[:size])) > 1e-6).any():
            likely = _likely(relaxed.values[:size], relaxed.reduced[:size]) | (plan > 0)
            plan, value = self._first(plan, np.floor(relaxed.values[:size] + 1e-6).astype(np.int64))
            self._tell(value, bound)
            if not patience.near(value, bound):
                plan, value = self.laid_out(plan, likely, relaxed.values[:size])
                self._tell(value, bound)
            if not patience.near(value, bound):
                plan, value = self.sweep(plan, value, bound)
            if patience.near(value, bound):
                return plan, bound, "proven"
        answer = self._run(self.programme, plan, nodes=FIRST_NODES)
        bound = max(bound, answer.bound)
        plan, value = self._better(answer, plan, value)
        if answer.status != "unfinished":
            return plan, bound, answer.status
        before = np.inf
        while before - value > patience.gap * value and not patience.near(value, bound) and not patience.over:
            before = value
            plan, value = self.sweep(plan, value, bound)
        if patience.near(value, bound):
            return plan, bound, "proven"
        if patience.over:
            return plan, bound, self._ended()
        last = self._run(self.programme, plan)
        plan, value = self._better(last, plan, value)
        return plan, max(bound, last.bound), "time limit" if last.status == "unfinished" else last.status

    def laid_out(self, plan: IntArray, likely: BoolArray, relaxed: FloatArray) -> tuple[IntArray, float]:
        """Return a plan made from the start on: one stretch whole, later ones split, earlier ones held.

        Only likely columns are thought of. Where time is up, the plain rule goes on. The plan given comes
        back if it is better.
        """
        patience, size = self.patience, self.programme.whole
        new = np.zeros(size, dtype=np.int64)
        for first in self._starts(LAYING_D):
            free = likely & (self.planted >= first) & (self.planted < first + LAYING_D)
            past = self.planted < first
            part = self._held(past | ~likely, new)
            far = self.planted >= first + LAYING_D + AHEAD_D
            part.upper[:size][far] = np.minimum(part.upper[:size], relaxed)[far]
            answer = self._run(part, None, nodes=LAYING_NODES, rough=ROUGH, whole=free | past, quietly=True)
            if answer.values is not None:
                new = np.where(free, np.round(answer.values[:size]), new).astype(np.int64)
            if answer.values is None or patience.over:
                new = np.where(self.planted < first + LAYING_D // 2, new, 0)
                break
        return self._first(plan, new)

    def _first(self, plan: IntArray, new: IntArray) -> tuple[IntArray, float]:
        """Return the better of a plan and another that is filled up, and its value."""
        filled = self.fill(new)
        values = [self._value(plan), self._value(filled)]
        return (filled, values[1]) if values[1] < values[0] else (plan, values[0])

    def _value(self, plan: IntArray) -> float:
        held = self._held(np.ones(len(plan), dtype=bool), plan)
        return run(held, relaxed=True).value

    def sweep(self, plan: IntArray, value: float, bound: float) -> tuple[IntArray, float]:
        """Improve a plan stretch by stretch: free what is planted within it, hold the rest."""
        for first in self._starts(STRETCH_D):
            if self.patience.over:
                break
            free = (self.planted >= first) & (self.planted < first + STRETCH_D)
            answer = self._run(self._held(~free, plan), plan, nodes=STRETCH_NODES, quietly=True)
            plan, value = self._better(answer, plan, value)
            self._tell(value, bound)
        return plan, value

    def _starts(self, length_d: int) -> range:
        return range(int(self.planted.min()), int(self.planted.max()) + 1, length_d // 2)

    def _held(self, held: BoolArray, plan: IntArray) -> Programme:
        """Return the programme with some columns held as they are in a plan."""
        size = self.programme.whole
        lower, upper = self.programme.lower.copy(), self.programme.upper.copy()
        lower[:size] = np.where(held, plan, lower[:size])
        upper[:size] = np.where(held, plan, upper[:size])
        return replace(self.programme, lower=lower, upper=upper)

    def _run(
        self,
        programme: Programme,
        plan: IntArray | None,
        *,
        nodes: int | None = None,
        rough: float = 1.0,
        relaxed: bool = False,
        whole: BoolArray | None = None,
        quietly: bool = False,
    ) -> Answer:
        patience = self.patience
        return run(
            programme,
            relaxed=relaxed,
            time_limit_s=patience.left_s,
            gap=patience.gap * rough,
            slack=patience.slack,
            whole=whole,
            nodes=nodes,
            start=plan,
            stop=patience.stop,
            progress=None if quietly or relaxed else patience.progress,
        )

    def _better(self, answer: Answer, plan: IntArray, value: float) -> tuple[IntArray, float]:
        """Return the plan of an answer if there is one that is better, else the one there was."""
        if answer.values is None or answer.value >= value:
            return plan, value
        return np.round(answer.values[: self.programme.whole]).astype(np.int64), answer.value

    def _tell(self, value: float, bound: float) -> None:
        if self.patience.progress is not None:
            self.patience.progress(value, bound)

    def _ended(self) -> Ended:
        return "interrupted" if self.patience.stopped else "time limit"


def _likely(used: FloatArray, reduced: FloatArray) -> BoolArray:
    """Return the columns that the relaxed programme uses, and so many times those of least reduced cost."""
    positive = used > 1e-6
    turn = np.lexsort((np.arange(len(used)), reduced.round(7), ~positive))
    found = np.zeros(len(used), dtype=bool)
    found[turn[: LIKELY * max(int(positive.sum()), LEAST)]] = True
    return found
