"""Minutes of work a day in the programme: days are changed for them, and what cannot be changed is told."""

from dataclasses import replace

import numpy as np
import tiny_tasks

from cropcal.optimize.solve import solve
from cropcal.optimize.work_rows import WorkLimit


def limited(most):
    """Return a task of four heads from four sites, each cut on day 20 or 22, with so many minutes a day."""
    rows = [(0, 0, -1, 0, 0, 21 + after, 1.0, {2: 1.0}) for after in (0, 2)]
    made = tiny_tasks.task(rows, [[0, 0, 4]], [4])
    work = WorkLimit(
        column=np.array([0, 1]), day=np.array([20, 22]), minutes=np.ones(2), most=np.full(23, float(most))
    )
    return replace(made, work=work)


def test_cuts_are_shared_out_to_days_with_time():
    """Two minutes a day: two heads on each day; without a limit all on one."""
    assert solve(replace(limited(2), work=None)).n.tolist() in ([4, 0], [0, 4])
    assert solve(limited(2)).n.tolist() == [2, 2]


def test_a_day_without_time_costs_heads():
    """One minute a day: a head beyond is worth less than a minute, so two are missing, and no day is over."""
    task = limited(1)
    found = solve(task)
    assert found.n.tolist() == [1, 1]
    assert task.work.over(found.n).tolist() == [0.0] * 23
    assert found.terms["minutes over"] == 0
    assert task.work.over(np.array([3, 1])).sum() == 2


def test_rows_of_columns_named_twice():
    """A subset in another order, renumbered."""
    work = limited(1).work.rows(np.array([1, 0, 1]))
    assert sorted(zip(work.column.tolist(), work.day.tolist(), strict=True)) == [(0, 22), (1, 20), (2, 22)]
