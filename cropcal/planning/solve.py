"""Solve a programme with HiGHS, and say how good the answer is.

The only module that knows the solver. One thread and a fixed seed: the same input gives the same answer,
unless a time limit or an interruption ended the search.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from time import perf_counter
from typing import Any, Literal

import highspy
import numpy as np

from cropcal.planning.dominance import only, undominated
from cropcal.planning.greedy import greedy
from cropcal.planning.programme import FloatArray, IntArray, Programme, Task, build
from cropcal.planning.shortage import Weights, convex

Progress = Callable[[float, float], None]
"""Told the value of the best plan so far and the bound."""

OPTIONS = (
    ("threads", 1),
    ("random_seed", 1),
    ("mip_abs_gap", 1e-6),
    ("mip_heuristic_run_feasibility_jump", False),
    ("mip_heuristic_run_rens", False),
    ("mip_heuristic_run_root_reduced_cost", False),
)
"""One thread and one seed, so that a plan can be had again; and no searches that home-sized programmes were
measured to be proven faster without. Threads are set each time: they belong to the whole process."""

MANY = 5000
"""Variables from which the interior point beats the simplex, which takes long for a year of daily work."""

FIRST_NODES, STRETCH_NODES = 10, 20
"""Branches of the first search of a whole programme, and of a search within a stretch of weeks."""

STRETCH_D = 56
"""Length of a stretch of weeks, in days; each begins half a stretch after the one before."""

HAS_SOLUTION = 2
"""HiGHS primal_solution_status of a feasible point; without one its values are zeros that mean nothing."""

PROVEN = highspy.HighsModelStatus.kOptimal
Ended = Literal["proven", "time limit", "interrupted", "empty"]
STATUS: dict[Any, Ended | Literal["unfinished"]] = {
    PROVEN: "proven",
    highspy.HighsModelStatus.kTimeLimit: "time limit",
    highspy.HighsModelStatus.kInterrupt: "interrupted",
    highspy.HighsModelStatus.kSolutionLimit: "unfinished",
}


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


@dataclass(frozen=True, eq=False)
class Answer:
    """What the solver says: all values (None: none found), objective, bound, and why it stopped."""

    values: FloatArray | None
    value: float
    bound: float
    status: Ended | Literal["unfinished"]


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
    small = replace(task, columns=only(task.columns, kept), cost_unit=task.cost_unit)
    programme = build(small, weights)
    search = Search(programme, small.columns.planted, gap, began + time_limit_s, stop, progress)
    plan, bound, status = search.best(greedy(small, weights))
    n = np.zeros(task.columns.count, dtype=np.int64)
    n[kept] = plan
    judged = _judge(task, weights, n, bound, began, status)
    if judged.status == "proven" and judged.gap > gap + 1e-6:
        return replace(judged, status="time limit")
    return judged


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


def run(
    programme: Programme,
    *,
    relaxed: bool = False,
    time_limit_s: float = 60.0,
    gap: float = 1e-3,
    nodes: int | None = None,
    start: IntArray | None = None,
    stop: Callable[[], bool] | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Run the solver on a programme.

    Parameters
    ----------
    programme
        What to minimise.
    relaxed
        Whole sites may be split.
    time_limit_s, gap, stop, progress
        As in ``solve``.
    nodes
        Branches after which to stop.
    start
        Whole sites of a plan that fits, to begin with.

    Raises
    ------
    RuntimeError
        If the solver ends in a way that no programme of ours should cause.
    """
    solver = _load(programme, relaxed=relaxed)
    solver.setOptionValue("mip_rel_gap", gap)
    solver.setOptionValue("time_limit", float(time_limit_s))
    if nodes is not None:
        solver.setOptionValue("mip_max_nodes", nodes)
    if start is not None:
        solver.setSolution(len(start), np.arange(len(start), dtype=np.int32), start.astype(np.float64))
    if stop is not None or progress is not None:
        _listen(solver, stop, progress)
    solver.run()
    ended = solver.getModelStatus()
    if ended not in STATUS:
        message = f"the solver stopped with {solver.modelStatusToString(ended)!r}"
        raise RuntimeError(message)
    info = solver.getInfo()
    found = info.primal_solution_status == HAS_SOLUTION
    value = float(info.objective_function_value) if found else float("inf")
    values = np.array(solver.getSolution().col_value) if found else None
    if start is not None and values is not None and not _agrees(programme, values, value):
        return run(
            programme,
            relaxed=relaxed,
            time_limit_s=time_limit_s,
            gap=gap,
            nodes=nodes,
            stop=stop,
            progress=progress,
        )
    return Answer(
        values=values,
        value=value,
        bound=float(info.mip_dual_bound) if not relaxed else value if ended == PROVEN else -float("inf"),
        status=STATUS[ended],
    )


def _agrees(programme: Programme, values: FloatArray, value: float) -> bool:
    """Return whether an objective is that of its values.

    From a plan to start with, HiGHS 1.16 has been seen to report less than its own solution costs, and then
    to cut off the optimum: such an answer is not to be trusted, nor is its bound.
    """
    true = float(programme.cost @ values) + programme.constant
    return abs(true - value) <= 1e-6 * max(1.0, abs(true))


def relaxed_values(
    programme: Programme,
    uppers: list[FloatArray],
    *,
    time_limit_s: float = float("inf"),
    stop: Callable[[], bool] | None = None,
) -> list[float]:
    """Return the optimum with split sites under each set of upper bounds, each found from the one before.

    The list ends early where time was up or ``stop`` said so.
    """
    solver = _load(programme, relaxed=True)
    if stop is not None:
        _listen(solver, stop, None)
    every = np.arange(len(programme.cost), dtype=np.int32)
    until = perf_counter() + time_limit_s
    values: list[float] = []
    for upper in uppers:
        left = until - perf_counter()
        if left <= 0 or (stop is not None and stop()):
            break
        solver.changeColsBounds(len(every), every, programme.lower, upper)
        solver.setOptionValue("time_limit", solver.getRunTime() + left)  # its clock runs on from run to run
        solver.run()
        ended = solver.getModelStatus()
        if STATUS.get(ended) in ("time limit", "interrupted"):
            break
        if ended != PROVEN:
            message = f"the solver stopped with {solver.modelStatusToString(ended)!r}"
            raise RuntimeError(message)
        values.append(float(solver.getInfo().objective_function_value))
    return values


class _Quiet(highspy.Highs):
    """A solver that prints nothing: its banner would end up among a command's results."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the solver's own name, called as it is made
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def _load(programme: Programme, *, relaxed: bool) -> Any:
    """Return a quiet solver that holds the programme."""
    solver = _Quiet()  # type: ignore[no-untyped-call]
    for option, setting in OPTIONS:
        solver.setOptionValue(option, setting)
    if relaxed and len(programme.cost) > MANY:
        solver.setOptionValue("solver", "ipm")
    first = np.cumsum([0, *(len(rows.low) for rows in programme.rows)])
    row = np.concatenate([rows.row + start for rows, start in zip(programme.rows, first[:-1], strict=True)])
    variable = np.concatenate([rows.variable for rows in programme.rows])
    value = np.concatenate([rows.value for rows in programme.rows])
    order = np.lexsort((variable, row))
    starts = np.searchsorted(row[order], np.arange(first[-1] + 1))
    whole = np.zeros(len(programme.cost), dtype=np.int32)
    if not relaxed:
        whole[: programme.whole] = 1
    solver.passModel(
        len(programme.cost), int(first[-1]), len(value), int(highspy.MatrixFormat.kRowwise),
        int(highspy.ObjSense.kMinimize), programme.constant, programme.cost, programme.lower, programme.upper,
        np.concatenate([rows.low for rows in programme.rows]),
        np.concatenate([rows.high for rows in programme.rows]),
        starts.astype(np.int32), variable[order].astype(np.int32), value[order], whole,
    )  # fmt: skip
    return solver


def _listen(solver: Any, stop: Callable[[], bool] | None, progress: Progress | None) -> None:
    """Ask ``stop`` and tell ``progress`` whenever the solver calls back."""

    def on_interrupt(event: Any) -> None:
        if progress is not None:
            progress(event.data_out.mip_primal_bound, event.data_out.mip_dual_bound)
        if stop is not None and stop():
            event.data_in.user_interrupt = True

    solver.cbMipInterrupt.subscribe(on_interrupt)
    for lone in (solver.cbSimplexInterrupt, solver.cbIpmInterrupt):
        lone.subscribe(
            lambda event: setattr(event.data_in, "user_interrupt", bool(stop is not None and stop()))
        )


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
