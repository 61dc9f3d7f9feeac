"""The best plan that does the same in every cycle of one to four weeks: a rhythm that can be kept by heart.

What is sown in one cycle is chosen once, as if every cycle were like the next, and then sown again in each
cycle of the real season. Begun in an empty space it never needs more room than when all of it is under way. A
sowing that a break leaves no time for falls out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cropcal.planning.plain_rule import eaten
from cropcal.planning.programme import MOST_KEPT, Before, Columns, FloatArray, IntArray, Programme, Rows, Task
from cropcal.planning.shortage import Weights
from cropcal.planning.solve import solve
from cropcal.planning.solver import run
from cropcal.planning.steady import room
from cropcal.planning.ways import Ways, columns
from cropcal.planning.worktime import DAYS_PER_WEEK

KEPT_TO = 1e4
"""What a site weighs that is not grown as the repeating plan has it: more than any harvest of the start."""
PERIODS = (1, 2, 3, 4)
"""Weeks of a cycle that are tried."""


@dataclass(frozen=True, eq=False)
class Repeating:
    """Sites of each column by the best repeating plan, shape (columns,), and the weeks of its cycle."""

    n: IntArray
    period_weeks: int


def best_repeating(
    task: Task,
    found: Ways,
    cycles: Sequence[Ways],
    per_week: FloatArray,
    weights: Weights | None = None,
    time_limit_s: float = 10.0,
) -> Repeating:
    """Return the repeating plan that misses least in the season itself, then wastes least.

    Parameters
    ----------
    task, found
        The season: its columns, and the ways they are.
    cycles
        The ways sown within one cycle of an endless row of like weeks, for each of ``PERIODS``.
    per_week
        Amount wanted in an ordinary week, 0: not wanted, shape (wants,).
    weights
        What counts how much, as in a plan.
    time_limit_s
        For each period.
    """
    weights = weights or Weights()
    tried = []
    for period, ways in zip(PERIODS, cycles, strict=True):
        pattern = _pattern(columns(ways), task, per_week, period, weights, time_limit_s)
        for begun in range(period):
            n = _sown_again(found, ways, pattern, period, begun)
            short, over = eaten(task, n)
            tried.append((round(weights.short * short + weights.surplus * over, 6), period, begun, n))
    _, period, _, n = min(tried, key=lambda one: one[:3])
    return Repeating(_begun(task, n, weights, time_limit_s), period)


def _begun(task: Task, n: IntArray, weights: Weights, time_limit_s: float) -> IntArray:
    """Return a repeating plan with what is sown besides until its first harvest of each want."""
    columns = task.columns
    last = np.zeros(columns.count, dtype=np.int64)
    np.maximum.at(last, columns.supply_column, columns.supply_week)
    first = np.full(len(task.demand), task.demand.shape[1])
    mine = n[columns.supply_column] > 0
    np.minimum.at(first, columns.want[columns.supply_column[mine]], columns.supply_week[mine])
    few = np.flatnonzero((n > 0) | (last < first[columns.want]))
    keeps = Before(
        group=np.full(len(few), -1),
        planned=n[few],
        calm=np.full(len(few), KEPT_TO),
        stands=np.zeros(0, dtype=np.int64),
    )
    start = replace(task.only(few), before=keeps)
    found = np.zeros_like(n)
    found[few] = solve(start, weights=weights, time_limit_s=time_limit_s).n
    return found


def _pattern(
    cycle: Columns, task: Task, per_week: FloatArray, period: int, weights: Weights, time_limit_s: float
) -> IntArray:
    """Return how many sites of each way are sown in every cycle, whole, shape (ways of the cycle,)."""
    size, wanted = cycle.count, np.flatnonzero(per_week > 0)
    if not (size and len(wanted)):
        return np.zeros(size, dtype=np.int64)
    weeks = len(wanted) * period
    entry = np.isin(cycle.want[cycle.supply_column], wanted)
    column, want = cycle.supply_column[entry], cycle.want[cycle.supply_column[entry]]
    row = np.searchsorted(wanted, want) * period + cycle.supply_week[entry] % period
    cells, at = np.unique(row * size + column, return_inverse=True)
    row, column = cells // size, cells % size
    share = np.bincount(at, cycle.supply_amount[entry] / per_week[want])
    width, slope = np.array(weights.segments).T
    week, longest = np.arange(weeks), min(MOST_KEPT, period - 1)
    weight = np.repeat(task.weight[wanted], period)
    short = size + np.arange(weeks * len(width))
    over = size + weeks * len(width) + week
    kept = over[-1] + 1 + np.arange(longest)[:, None] * weeks + week  # for one week, for two
    parts = [(row, column, share), (np.repeat(week, len(width)), short, np.ones(len(short)))]
    parts += [(week, over, -np.ones(weeks))]
    for later, line in enumerate(kept, 1):
        meal = week - week % period + (week + later) % period
        parts += [(week, line, -np.ones(weeks)), (meal, line, np.ones(weeks))]
    at_row, variable, value = (np.concatenate(pieces) for pieces in zip(*parts, strict=True))
    met = Rows("want", at_row, variable, value, np.ones(weeks), np.ones(weeks))
    limits = []
    for least in range(1, longest + 1):
        long = cycle.keeps[column] >= least
        lines = kept[least - 1 :].ravel()
        limits.append(
            Rows(
                "keep",
                np.concatenate([np.tile(week, longest + 1 - least), row[long]]),
                np.concatenate([lines, column[long]]),
                np.concatenate([np.ones(len(lines)), -share[long]]),
                np.full(weeks, -np.inf),
                np.zeros(weeks),
            )
        )
    cost = np.concatenate(
        [
            weights.cost * cycle.cost / task.cost_unit + weights.staleness * cycle.staleness,
            (weights.short * weight[:, None] * slope).ravel(),
            weights.surplus * weight,
            np.repeat(weights.kept * np.arange(1, longest + 1), weeks),
        ]
    )
    most = np.where(np.isin(cycle.want, wanted), task.sites[cycle.place], 0).astype(np.float64)
    programme = Programme(
        cost=cost,
        lower=np.zeros(len(cost)),
        upper=np.concatenate([most, np.tile(width, weeks), np.full(kept.size + weeks, np.inf)]),
        whole=size,
        rows=(*room(cycle, task.sites, task.cells, DAYS_PER_WEEK * period), met, *limits),
        names=(),
    )
    answer = run(programme, time_limit_s=time_limit_s, gap=1e-3)
    if answer.values is None:
        return np.zeros(size, dtype=np.int64)
    return np.round(answer.values[:size]).astype(np.int64)


def _sown_again(found: Ways, cycle: Ways, pattern: IntArray, period: int, begun: int) -> IntArray:
    """Return the sites of each way of the season when the pattern is sown in each of its cycles.

    The season begins in the week ``begun`` of the cycle.
    """
    times = dict(zip(_shapes(cycle, period, 0), pattern.tolist(), strict=True))
    return np.array([times.get(shape, 0) for shape in _shapes(found, period, begun)], dtype=np.int64)


def _shapes(found: Ways, period: int, begun: int) -> list[bytes]:
    """Return what makes ways the same but for the cycle in which they are sown."""
    after = np.where(found.cuts >= 0, found.cuts - found.sown[:, None], -1)
    after = np.pad(after, ((0, 0), (0, 16 - after.shape[1])), constant_values=-1)
    day = (found.sown + DAYS_PER_WEEK * begun) % (DAYS_PER_WEEK * period)
    parts = (found.offer, found.age, day, found.planted - found.sown)
    table = np.column_stack([*parts, after]).astype(np.int32)
    return [row.tobytes() for row in table]
