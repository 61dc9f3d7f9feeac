"""Columns that no plan needs: another does the same with less."""

import numpy as np

from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import (
    Columns,
    IntArray,
    Task,
    column_costs,
)


def undominated(task: Task, weights: Weights) -> IntArray:
    """Return the columns worth keeping: no other does the same with less.

    Of columns of the same want, kind, place and nursery with the same supply, that keeps as long, and that
    leave the nursery on the same day, those sown no later and freed no earlier than another, at no less cost,
    are left out. Columns sown in place need not be sown on the same day. What was planned before stays, to
    be held against.
    """
    columns = task.columns
    price = column_costs(task, weights)
    in_place = columns.nursery < 0
    standing = np.full(columns.count, -1) if task.before is None else task.before.group
    planted = np.where(in_place, 0, columns.planted)
    kind = np.full(columns.count, -1) if task.kind is None else task.kind
    keys = np.stack(
        [columns.want, kind, columns.place, columns.nursery, planted, columns.keeps, _same(columns), standing]
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


def _same(columns: Columns) -> IntArray:
    """Return a number for each column, the same for columns that bring the same in the same weeks."""
    order = np.lexsort((columns.supply_week, columns.supply_column))
    column = columns.supply_column[order]
    cut = np.arange(len(column)) - np.searchsorted(column, column)
    table = np.zeros((columns.count, 2 * (int(cut.max(initial=-1)) + 1)))
    table[column, 2 * cut] = columns.supply_week[order] + 1.0
    table[column, 2 * cut + 1] = columns.supply_amount[order]
    return np.asarray(np.unique(table, axis=0, return_inverse=True)[1].ravel(), dtype=np.int64)
