"""The best cyclic plan: the same sowings in every cycle of one to four weeks.

It is searched for on the real season: candidates that differ only by the cycle in which they are sown share
one number of sites. Candidates in a break, or that bring nothing wanted, are left out; until the first
harvest of the cycle other sowings may be added.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from time import perf_counter

import numpy as np

from cropcal.optimize.assemble import build
from cropcal.optimize.diving import dive
from cropcal.optimize.highs import Relaxed, run
from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import (
    BoolArray,
    IntArray,
    PreviousPlan,
    Programme,
    Rows,
    Task,
)
from cropcal.optimize.solve import Solution, solve
from cropcal.planning.candidates.columns import CandidateColumns, candidate_columns
from cropcal.planning.candidates.prepare import Prepared
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, repeated_week

HOLD_WEIGHT = 1e4
"""Weight of a site that differs from the cyclic plan: more than any harvest of the start-up."""
REPLAN_TERMS = ("calm", "given up")
"""Terms of the objective that occur only when planning again."""
PERIODS = (1, 2, 3, 4)
"""Weeks of a cycle that are tried."""
NEAR, SHARE = 0.75, 0.05
"""Settings of the first diving heuristic (``dived``)."""
GAP, ENOUGH = 5e-3, 0.1
"""How far a cyclic plan may be from the optimum: a share of its value, or points for each wanted week (100 is
a week without)."""


@dataclass(frozen=True, eq=False)
class CyclicPlan:
    """The best repeating plan: sites of each column in ``solution.n``, the weeks of its cycle.

    ``proven``: no search ended by the time limit.
    """

    solution: Solution
    period_weeks: int
    proven: bool


def weeks_are_alike(ready: Prepared) -> bool:
    """Return whether all weeks are alike: not where the sun comes in, for no two have the same light."""
    return ready.candidates.options == ready.assessment.options


def ordinary_week_columns(ready: Prepared) -> CandidateColumns:
    """Return the candidates sown in an ordinary week, without breaks, of which a cyclic plan is made."""
    settings = ready.space.settings
    return candidate_columns(
        ready.assessment.options, repeated_week(settings), settings.clean_days, sown_before=DAYS_PER_WEEK
    )


def best_cyclic_plan(
    task: Task,
    candidates: CandidateColumns,
    ordinary: CandidateColumns,
    free: BoolArray,
    weights: Weights | None = None,
    time_limit_s: float = 40.0,
    stop: Callable[[], bool] | None = None,
    periods: Sequence[int] = PERIODS,
) -> CyclicPlan:
    """Return the cyclic plan with the least objective in the real season.

    Parameters
    ----------
    task, candidates
        The season: its columns, and the candidates that the last of them are; those before stand already.
    ordinary
        The candidates of an ordinary week; those that only occur round a break are no part of a cycle.
    free
        Wants outside the cycle, as those of listed days: sown as they are wanted, shape (wants,).
    weights
        The weights of the objective, as in a plan.
    time_limit_s, stop
        When to end with the best found so far.
    periods
        Weeks of a cycle that are tried.
    """
    weights = weights or Weights()
    until = perf_counter() + time_limit_s
    programme = build(task, weights)
    useful = programme.upper[: task.columns.count] > 0
    useful[task.columns.count - candidates.count :] &= _is_ordinary(candidates, ordinary)
    useful |= free[task.columns.want]
    cyclic_search = _CyclicSearch(task, candidates, free, useful, weights, until, stop)
    tried: list[CyclicPlan] = []
    if task.before is not None and len(periods) == 1:  # the present cycle, unless another is worth a change
        planned = np.where(task.before.group < 0, task.before.planned, 0)
        if planned.any():
            same_rhythm = cyclic_search.begun(planned, time_limit_s / 2)
            tried.append(
                CyclicPlan(replace(same_rhythm, value=same_rhythm.value - weights.worth), periods[0], True)
            )
    longest = sorted(periods)
    for number, period in enumerate(longest):
        share = (number + 1) / (1 + sum(range(number + 1, len(longest) + 1)))  # longer cycles take longer
        least = min((cyclic_plan.solution.value for cyclic_plan in tried), default=np.inf)
        tried += cyclic_search.best(programme, period, share, least)
    later = _from_the_slowest_on(task, candidates) if task.before is None else None
    if later is not None:
        later_programme = build(later, weights)
        upper = np.concatenate(
            [programme.upper[: programme.whole], later_programme.upper[later_programme.whole :]]
        )
        tried += cyclic_search.best(
            replace(later_programme, upper=upper), min(tried, key=_rank).period_weeks, 1.0, np.inf
        )
    best = min(tried, key=_rank)
    value = sum(best.solution.terms.values())
    return replace(
        best,
        solution=replace(best.solution, value=value),
        proven=all(cyclic_plan.proven for cyclic_plan in tried),
    )


def _rank(cyclic_plan: CyclicPlan) -> tuple[float, int]:
    """Return the sort key: the lowest value first, then the shortest cycle."""
    return round(cyclic_plan.solution.value, 6), cyclic_plan.period_weeks


@dataclass(eq=False)
class _CyclicSearch:
    """A search for cyclic plans of several lengths; each starts from the patterns found before."""

    task: Task
    candidates: CandidateColumns
    free: BoolArray
    useful: BoolArray
    weights: Weights
    until: float
    stop: Callable[[], bool] | None
    patterns: list[IntArray] = field(default_factory=list)

    def best(self, programme: Programme, period: int, share: float, least: float) -> list[CyclicPlan]:
        """Return the best plan with a cycle of ``period`` weeks; empty if it cannot be better than ``least``.

        ``share`` is its share of the time that is left.
        """
        left_s = max(self.until - perf_counter(), 0.5) * share
        tie = _tie(self.task, self.candidates, self.free, self.useful, period)
        tied = _tied(programme, tie)
        if np.isfinite(least) and run(tied, relaxed=True).value > least:
            return []
        start = next(
            (
                start_before
                for pattern in reversed(self.patterns)
                if (start_before := _counted(pattern, tie)) is not None
            ),
            None,
        )
        slack = ENOUGH * float((self.task.demand > 0).sum())
        relaxed = Relaxed(tied, until=perf_counter() + left_s / 2, stop=self.stop)
        starts = [dive(tied, relaxed, near=NEAR, share=SHARE), *([] if start is None else [start])]
        start = min(starts, key=lambda sites: run(tied.all_held(sites), relaxed=True).value)
        answer = run(tied, time_limit_s=left_s, gap=GAP, slack=slack, start=start, stop=self.stop)
        sites = start if answer.values is None else np.round(answer.values[: tied.whole]).astype(np.int64)
        n = np.append(sites, 0)[tie]  # -1, the last, is what is left out
        self.patterns.append(n)
        return [CyclicPlan(self.begun(n, left_s), period, answer.status == "proven")]

    def begun(self, n: IntArray, time_limit_s: float) -> Solution:
        """Return a cyclic plan with its start-up."""
        return _with_start_up(self.task, self.candidates, n, self.weights, time_limit_s, self.stop)


def _from_the_slowest_on(task: Task, candidates: CandidateColumns) -> Task | None:
    """Return the task with nothing wanted until the slowest crop of each want can be ready.

    That task is searched as well: quick crops until then may do better than quick crops for ever. None where
    all crops of each want take the same weeks.
    """
    columns, weeks = task.columns, task.demand.shape[1]
    soonest = np.full(int(candidates.option.max(initial=0)) + 1, weeks)
    np.minimum.at(soonest, candidates.option[columns.supply_column], columns.supply_week)
    option, at = np.unique(candidates.option, return_index=True)
    first, slowest = np.full(len(task.demand), weeks), np.zeros(len(task.demand), dtype=np.int64)
    np.minimum.at(first, columns.want[at], soonest[option])
    np.maximum.at(slowest, columns.want[at], soonest[option])
    if (slowest <= first).all():
        return None
    return replace(task, demand=np.where(np.arange(weeks) < slowest[:, None], 0.0, task.demand))


def _tie(
    task: Task, candidates: CandidateColumns, free: BoolArray, useful: BoolArray, period: int
) -> IntArray:
    """Return a number for each column, the same for all that the cycle ties; -1: left out."""
    begins = task.columns.count - candidates.count
    alone = np.arange(task.columns.count, dtype=np.int64)
    same = np.concatenate([np.full(begins, -1), _shapes(candidates, period)])
    same[free[task.columns.want]] = -1
    keys = np.stack([same, np.where(same < 0, alone, 0)])
    tie = np.full(task.columns.count, -1, dtype=np.int64)
    tie[useful] = np.unique(keys[:, useful], axis=1, return_inverse=True)[1].ravel()
    return tie


def _counted(n: IntArray, tie: IntArray) -> IntArray | None:
    """Return the sites of each number of a tie, None if a plan breaks the tie."""
    sites = np.zeros(int(tie.max(initial=-1)) + 2, dtype=np.int64)
    sites[tie] = n
    sites[-1] = 0
    return sites[:-1] if np.array_equal(sites[tie], n) else None


def _tied(programme: Programme, tie: IntArray) -> Programme:
    """Return the programme with one variable for all columns of a number, none for those left out."""
    size, old = int(tie.max(initial=-1)) + 1, programme.whole
    number = np.concatenate([tie, size + np.arange(len(programme.cost) - old)])
    stays = tie >= 0

    def joined(rows: Rows) -> Rows:
        variable = number[rows.variable]
        kept = variable >= 0
        cells, at = np.unique(rows.row[kept] * len(number) + variable[kept], return_inverse=True)
        value = np.bincount(at, rows.value[kept], len(cells)).astype(np.float64)
        return replace(rows, row=cells // len(number), variable=cells % len(number), value=value)

    upper = np.full(size, np.inf)
    np.minimum.at(upper, tie[stays], programme.upper[:old][stays])
    cost = np.bincount(tie[stays], programme.cost[:old][stays], size)
    return Programme(
        cost=np.concatenate([cost, programme.cost[old:]]),
        lower=np.concatenate([np.zeros(size), programme.lower[old:]]),
        upper=np.concatenate([upper, programme.upper[old:]]),
        whole=size,
        rows=tuple(map(joined, programme.rows)),
        names=(),
        constant=programme.constant,
    )


def _with_start_up(
    task: Task,
    candidates: CandidateColumns,
    n: IntArray,
    weights: Weights,
    time_limit_s: float,
    stop: Callable[[], bool] | None,
) -> Solution:
    """Return a cyclic plan with extra sowings until its first harvest of each want that it serves."""
    columns, begins = task.columns, task.columns.count - candidates.count
    last = np.zeros(columns.count, dtype=np.int64)
    np.maximum.at(last, columns.supply_column, columns.supply_week)
    never = task.demand.shape[1]
    first = np.full(len(task.demand), never)
    by_rhythm = (n[columns.supply_column] > 0) & (columns.supply_column >= begins)
    np.minimum.at(first, columns.want[columns.supply_column[by_rhythm]], columns.supply_week[by_rhythm])
    first[first == never] = 0
    new = np.arange(columns.count) >= begins
    allowed = np.flatnonzero(~new | (n > 0) | (last < first[columns.want]))
    previous = task.before
    if previous is None:
        none = np.zeros(columns.count, dtype=np.int64)
        previous = PreviousPlan(none - 1, none, none.astype(np.float64), np.zeros(0, dtype=np.int64))
    held = np.flatnonzero(new & (n > 0))
    group, planned, calm = previous.group.copy(), previous.planned.copy(), previous.calm.copy()
    group[held] = len(previous.stands) + np.arange(len(held))  # as if standing: fixed number
    planned[held], calm[held] = n[held], HOLD_WEIGHT
    stands, worth = (
        np.concatenate([previous.stands, n[held]]),
        np.concatenate([previous.worths, np.ones(len(held))]),
    )
    before = PreviousPlan(group, planned, calm, stands, worth)
    start = replace(task, before=before).only(allowed)
    solution = solve(start, weights=weights, time_limit_s=time_limit_s, stop=stop)
    whole = np.zeros_like(n)
    whole[allowed] = solution.n
    terms = {name: term for name, term in solution.terms.items() if name not in REPLAN_TERMS}
    if task.before is not None:  # the cost of changing the previous plan, not of leaving the cycle
        terms |= task.before.terms(whole, weights)
    return replace(solution, n=whole, terms=terms, value=sum(terms.values()))


def _is_ordinary(candidates: CandidateColumns, ordinary: CandidateColumns) -> BoolArray:
    """Return which candidates also occur in an ordinary week."""
    width = max(candidates.cuts.shape[1], ordinary.cuts.shape[1])
    tables = [_table(columns, 1, width) for columns in (candidates, ordinary)]
    shape = np.unique(np.concatenate(tables), axis=0, return_inverse=True)[1].ravel()
    return np.isin(shape[: candidates.count], shape[candidates.count :])


def _shapes(candidates: CandidateColumns, period: int) -> IntArray:
    """Return a number for each candidate, the same for those that differ by whole cycles only."""
    table = _table(candidates, period, candidates.cuts.shape[1])
    return np.asarray(np.unique(table, axis=0, return_inverse=True)[1].ravel(), dtype=np.int64)


def _table(candidates: CandidateColumns, period: int, width: int) -> IntArray:
    """Return option, age, day of the cycle, and days from sowing to each job, of each candidate."""
    after = np.where(candidates.cuts >= 0, candidates.cuts - candidates.sown[:, None], -1)
    after = np.pad(after, ((0, 0), (0, width - after.shape[1])), constant_values=-1)
    day = candidates.sown % (DAYS_PER_WEEK * period)
    return np.column_stack(
        [candidates.option, candidates.age, day, candidates.planted - candidates.sown, after]
    )
