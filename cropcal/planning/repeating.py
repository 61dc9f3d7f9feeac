"""The best plan that does the same in every cycle of one to four weeks: a rhythm that can be kept by heart.

It is sought on the real season: ways that are the same but for the cycle in which they are sown share one
number of sites. What falls in a break, or brings nothing wanted, is left out; until the first harvest of the
rhythm something else may be sown besides.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from cropcal.planning.build import build
from cropcal.planning.prepare import Prepared
from cropcal.planning.programme import Before, BoolArray, IntArray, Programme, Rows, Task
from cropcal.planning.shortage import Weights
from cropcal.planning.solve import Solution, solve
from cropcal.planning.solver import run
from cropcal.planning.ways import Ways
from cropcal.planning.worktime import DAYS_PER_WEEK

KEPT_TO = 1e4
"""What a site weighs that is not grown as the repeating plan has it: more than any harvest of the start."""
PERIODS = (1, 2, 3, 4)
"""Weeks of a cycle that are tried."""
ENOUGH = 0.05
"""Points a wanted week, of which 100 is going without, that a rhythm may be from the best there is."""


@dataclass(frozen=True, eq=False)
class Repeating:
    """The best repeating plan: sites of each column in ``solution.n``, the weeks of its cycle.

    ``proven``: each search for a rhythm ended by itself, not by the clock.
    """

    solution: Solution
    period_weeks: int
    proven: bool


def repeats(ready: Prepared) -> bool:
    """Return whether weeks are alike: not where the sun comes in, for no two have the same light."""
    return ready.found.offers == ready.seen.offers


def best_repeating(
    task: Task,
    found: Ways,
    free: BoolArray,
    weights: Weights | None = None,
    time_limit_s: float = 40.0,
    stop: Callable[[], bool] | None = None,
    periods: Sequence[int] = PERIODS,
) -> Repeating:
    """Return the repeating plan that weighs least in the season itself.

    Parameters
    ----------
    task, found
        The season: its columns, and the ways that the last of them are; columns before those stand already.
    free
        Wants that no rhythm serves, as those of listed days: sown as they are wanted, shape (wants,).
    weights
        What counts how much, as in a plan.
    time_limit_s, stop
        When to end with the best found so far.
    periods
        Weeks of a cycle that are tried.
    """
    weights = weights or Weights()
    until = perf_counter() + time_limit_s
    programme = build(task, weights)
    sought = [programme]
    if task.before is None and (later := _from_the_slowest_on(task, found)) is not None:
        other = build(later, weights)
        upper = np.concatenate([programme.upper[: programme.whole], other.upper[other.whole :]])
        sought.append(replace(other, upper=upper))
    slack = ENOUGH * float((task.demand > 0).sum())
    tried: list[tuple[float, int, Solution]] = []
    proven = True
    looks = [(period, one) for period in periods for one in sought]
    for number, (period, one) in enumerate(looks):
        share_s = max(until - perf_counter(), 0.5) / (len(looks) - number)
        tie = _tie(task, found, free, programme, period)
        answer = run(_tied(one, tie), time_limit_s=share_s, slack=slack, stop=stop)
        proven &= answer.status == "proven"
        sites = np.zeros(tie.max(initial=-1) + 2, dtype=np.int64)
        if answer.values is not None:
            sites[:-1] = np.round(answer.values[: len(sites) - 1])
        n = sites[tie]  # the last, 0, is what is left out
        solution = _begun(task, found, n, weights, share_s, stop)
        tried.append((round(solution.value, 6), period, solution))
    _, period, solution = min(tried, key=lambda one: one[:2])
    return Repeating(solution, period, proven)


def _from_the_slowest_on(task: Task, found: Ways) -> Task | None:
    """Return the task with nothing wanted until the slowest crop of each want can be ready.

    A rhythm is sought for that as well: quick crops until then may do better than quick crops for ever. None
    where all crops of each want take the same weeks.
    """
    columns, weeks = task.columns, task.demand.shape[1]
    soonest = np.full(int(found.offer.max(initial=0)) + 1, weeks)
    np.minimum.at(soonest, found.offer[columns.supply_column], columns.supply_week)
    offer, at = np.unique(found.offer, return_index=True)
    first, slowest = np.full(len(task.demand), weeks), np.zeros(len(task.demand), dtype=np.int64)
    np.minimum.at(first, columns.want[at], soonest[offer])
    np.maximum.at(slowest, columns.want[at], soonest[offer])
    if (slowest <= first).all():
        return None
    return replace(task, demand=np.where(np.arange(weeks) < slowest[:, None], 0.0, task.demand))


def _tie(task: Task, found: Ways, free: BoolArray, programme: Programme, period: int) -> IntArray:
    """Return a number for each column, the same for all that one rhythm ties; -1: left out."""
    begins = task.columns.count - found.count
    alone = np.arange(task.columns.count, dtype=np.int64)
    same = np.concatenate([np.full(begins, -1), _shapes(found, period)])
    same[free[task.columns.want]] = -1
    keys = np.stack([same, np.where(same < 0, alone, 0)])
    useful = programme.upper[: task.columns.count] > 0
    tie = np.full(task.columns.count, -1, dtype=np.int64)
    tie[useful] = np.unique(keys[:, useful], axis=1, return_inverse=True)[1].ravel()
    return tie


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


def _begun(
    task: Task,
    found: Ways,
    n: IntArray,
    weights: Weights,
    time_limit_s: float,
    stop: Callable[[], bool] | None,
) -> Solution:
    """Return a repeating plan with what is sown besides until its first harvest of each want it serves."""
    columns, begins = task.columns, task.columns.count - found.count
    last = np.zeros(columns.count, dtype=np.int64)
    np.maximum.at(last, columns.supply_column, columns.supply_week)
    never = task.demand.shape[1]
    first = np.full(len(task.demand), never)
    mine = (n[columns.supply_column] > 0) & (columns.supply_column >= begins)
    np.minimum.at(first, columns.want[columns.supply_column[mine]], columns.supply_week[mine])
    first[first == never] = 0
    new = np.arange(columns.count) >= begins
    few = np.flatnonzero(~new | (n > 0) | (last < first[columns.want]))
    was = task.before
    if was is None:
        none = np.zeros(columns.count, dtype=np.int64)
        was = Before(none - 1, none, none.astype(np.float64), np.zeros(0, dtype=np.int64))
    held = np.flatnonzero(new & (n > 0))
    group, planned, calm = was.group.copy(), was.planned.copy(), was.calm.copy()
    group[held] = len(was.stands) + np.arange(len(held))  # as if it stood: no more of it, no less
    planned[held], calm[held] = n[held], KEPT_TO
    before = Before(group, planned, calm, np.concatenate([was.stands, n[held]]))
    start = replace(task, before=before).only(few)
    solution = solve(start, weights=weights, time_limit_s=time_limit_s, stop=stop)
    whole = np.zeros_like(n)
    whole[few] = solution.n
    return replace(solution, n=whole)


def _shapes(found: Ways, period: int) -> IntArray:
    """Return a number for each way, the same for ways that differ by whole cycles only."""
    after = np.where(found.cuts >= 0, found.cuts - found.sown[:, None], -1)
    day = found.sown % (DAYS_PER_WEEK * period)
    table = np.column_stack([found.offer, found.age, day, found.planted - found.sown, after])
    return np.asarray(np.unique(table, axis=0, return_inverse=True)[1].ravel(), dtype=np.int64)
