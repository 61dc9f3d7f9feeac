"""Run HiGHS on a programme: the only module that knows the solver.

One thread and a fixed seed: the same input gives the same answer, unless a time limit or an interruption
ended the search.
"""

from collections.abc import Callable
from dataclasses import dataclass
from time import perf_counter
from typing import Any, Literal

import highspy
import numpy as np

from cropcal.optimize.programme import FloatArray, IntArray, Programme

Progress = Callable[[float, float], None]
"""Called with the value of the best plan so far and the bound."""

OPTIONS = (
    ("threads", 1),
    ("random_seed", 1),
    ("mip_heuristic_run_feasibility_jump", False),
    ("mip_heuristic_run_rens", False),
    ("mip_heuristic_run_root_reduced_cost", False),
)
"""One thread and one seed, so that a plan can be had again; and no searches that home-sized programmes were
measured to be proven faster without. Threads are set each time: they belong to the whole process."""

MANY = 2500
"""Variables from which the interior point beats the simplex, which takes long for a year of daily work."""

HAS_SOLUTION = 2
"""HiGHS primal_solution_status of a feasible point; without one its values are zeros that mean nothing."""

PROVEN = highspy.HighsModelStatus.kOptimal
Ended = Literal["proven", "time limit", "interrupted", "empty", "steady rule", "searched"]
"""How a plan came about: by a search that ended so, or by the steady rule, without one."""
NOTHING = (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible)
STATUS: dict[Any, Ended | Literal["unfinished"]] = {
    PROVEN: "proven",
    highspy.HighsModelStatus.kTimeLimit: "time limit",
    highspy.HighsModelStatus.kInterrupt: "interrupted",
    highspy.HighsModelStatus.kSolutionLimit: "unfinished",
}


@dataclass(frozen=True, eq=False)
class SolverResult:
    """Answer of the solver: all values (None: no feasible point), objective, bound, and why it stopped.

    ``reduced`` are the reduced costs of all variables, where sites may be split.
    """

    values: FloatArray | None
    value: float
    bound: float
    status: Ended | Literal["unfinished"]
    reduced: FloatArray | None = None


def run(
    programme: Programme,
    *,
    relaxed: bool = False,
    time_limit_s: float = 60.0,
    gap: float = 1e-3,
    slack: float = 1e-6,
    nodes: int | None = None,
    start: IntArray | None = None,
    stop: Callable[[], bool] | None = None,
    progress: Progress | None = None,
) -> SolverResult:
    """Run the solver on a programme.

    Parameters
    ----------
    programme
        What to minimise.
    relaxed
        Whole sites may be split.
    time_limit_s, gap, stop, progress
        As in ``solve``.
    slack
        Distance from the bound that is near enough, whatever part of the value it is.
    nodes
        Branches after which to stop.
    start
        Whole sites of a plan that fits, to begin with.

    Raises
    ------
    RuntimeError
        If the solver ends in a way that no programme of ours should cause.
    """
    if not len(programme.cost):
        return _empty_result(programme)
    solver = _load(programme, relaxed=relaxed)
    solver.setOptionValue("mip_rel_gap", gap)
    solver.setOptionValue("mip_abs_gap", slack)
    solver.setOptionValue("time_limit", float(time_limit_s))
    if nodes is not None:
        solver.setOptionValue("mip_max_nodes", nodes)
    if start is not None:
        solver.setSolution(len(start), np.arange(len(start), dtype=np.int32), start.astype(np.float64))
    _set_callbacks(solver, stop, progress)
    solver.run()
    ended = solver.getModelStatus()
    if ended not in STATUS:
        message = f"the solver stopped with {solver.modelStatusToString(ended)!r}"
        raise RuntimeError(message)
    info = solver.getInfo()
    has_solution = info.primal_solution_status == HAS_SOLUTION
    value = float(info.objective_function_value) if has_solution else float("inf")
    values = np.array(solver.getSolution().col_value) if has_solution else None
    if start is not None and values is not None and not _agrees(programme, values, value):
        return run(
            programme,
            relaxed=relaxed,
            time_limit_s=time_limit_s,
            gap=gap,
            slack=slack,
            nodes=nodes,
            stop=stop,
            progress=progress,
        )
    return SolverResult(
        values=values,
        value=value,
        bound=float(info.mip_dual_bound) if not relaxed else value if ended == PROVEN else -float("inf"),
        status=STATUS[ended],
        reduced=np.array(solver.getSolution().col_dual) if relaxed and has_solution else None,
    )


def _empty_result(programme: Programme) -> SolverResult:
    """Return the result of a programme without variables, which HiGHS refuses: empty, if that is feasible."""
    fits = all((rows.low <= 0).all() and (rows.high >= 0).all() for rows in programme.rows)
    value = programme.constant if fits else float("inf")
    none = np.zeros(0)
    return SolverResult(
        none if fits else None, value, value, "proven" if fits else "empty", none if fits else None
    )


def _agrees(programme: Programme, values: FloatArray, value: float) -> bool:
    """Return whether an objective is that of its values.

    From a plan to start with, HiGHS 1.16 has been seen to report less than its own solution costs, and then
    to cut off the optimum: such an answer is not to be trusted, nor is its bound.
    """
    true = float(programme.cost @ values) + programme.constant
    return abs(true - value) <= 1e-6 * max(1.0, abs(true))


class Relaxed:
    """The relaxed programme (sites may be split), solved repeatedly, each time from the last answer."""

    def __init__(
        self,
        programme: Programme,
        *,
        until: float = float("inf"),
        stop: Callable[[], bool] | None = None,
    ) -> None:
        self._nothing = None if len(programme.cost) else _empty_result(programme)
        self._solver = _load(programme, relaxed=True)
        self._every = np.arange(len(programme.cost), dtype=np.int32)
        self._until, self._stop = until, stop
        _set_callbacks(self._solver, stop, None)

    @property
    def over(self) -> bool:
        """Return whether time is up or ``stop`` returned True."""
        return perf_counter() >= self._until or (self._stop is not None and self._stop())

    def solve(self, lower: FloatArray, upper: FloatArray) -> tuple[FloatArray, float] | None:
        """Return all values and the optimum between these bounds; None: infeasible, or time is up.

        Raises
        ------
        RuntimeError
            If the solver ends in a way that no programme of ours should cause.
        """
        if self.over:
            return None
        if self._nothing is not None:
            values = self._nothing.values
            return None if values is None else (values, self._nothing.value)
        solver = self._solver
        solver.changeColsBounds(len(self._every), self._every, lower, upper)
        left = self._until - perf_counter()
        solver.setOptionValue("time_limit", solver.getRunTime() + left)  # its clock runs on from run to run
        solver.run()
        solver.setOptionValue("solver", "simplex")  # from the answer before it is the quicker one
        ended = solver.getModelStatus()
        if ended in NOTHING or STATUS.get(ended) in ("time limit", "interrupted"):
            return None
        if ended != PROVEN:
            message = f"the solver stopped with {solver.modelStatusToString(ended)!r}"
            raise RuntimeError(message)
        return np.array(solver.getSolution().col_value), float(solver.getInfo().objective_function_value)


class _Quiet(highspy.Highs):
    """A solver that prints nothing: its banner would end up among a command's results."""

    def enableCallbacks(self) -> None:  # noqa: N802 - the solver's own name, called as it is made
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]


def _load(programme: Programme, *, relaxed: bool) -> Any:
    """Return a quiet solver that holds the programme; values of the same row and variable are added up."""
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
    row, variable = row[order], variable[order]
    new = np.append(True, (np.diff(row) > 0) | (np.diff(variable) > 0))[: len(row)]
    row, variable = row[new], variable[new]
    added_up = np.bincount(np.cumsum(new) - 1, value[order]).astype(np.float64)
    starts = np.searchsorted(row, np.arange(first[-1] + 1))
    kind = np.zeros(len(programme.cost), dtype=np.int32)
    if not relaxed:
        kind[: programme.whole] = 1
    solver.passModel(
        len(programme.cost), int(first[-1]), len(added_up), int(highspy.MatrixFormat.kRowwise),
        int(highspy.ObjSense.kMinimize), programme.constant, programme.cost, programme.lower, programme.upper,
        np.concatenate([rows.low for rows in programme.rows]),
        np.concatenate([rows.high for rows in programme.rows]),
        starts.astype(np.int32), variable.astype(np.int32), added_up, kind,
    )  # fmt: skip
    return solver


def _set_callbacks(solver: Any, stop: Callable[[], bool] | None, progress: Progress | None) -> None:
    """Make the solver call ``stop`` and ``progress`` now and then.

    With neither it calls back too: only then does Python notice a Ctrl-C before the solver ends.
    """

    def on_interrupt(event: Any) -> None:
        if progress is not None:
            progress(event.data_out.mip_primal_bound, event.data_out.mip_dual_bound)
        if stop is not None and stop():
            event.data_in.user_interrupt = True

    solver.cbMipInterrupt.subscribe(on_interrupt)
    for callback in (solver.cbSimplexInterrupt, solver.cbIpmInterrupt):
        callback.subscribe(
            lambda event: setattr(event.data_in, "user_interrupt", bool(stop is not None and stop()))
        )
