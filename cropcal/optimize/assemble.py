"""The programme of a task, row by row."""

import numpy as np

from cropcal.optimize.capacity_rows import VariableBlocks, balance_rows
from cropcal.optimize.demand_rows import demand_rows
from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import (
    FloatArray,
    PreviousPlan,
    Programme,
    Rows,
    Task,
    column_costs,
)


def build(task: Task, weights: Weights | None = None) -> Programme:
    """Return the programme of a task."""
    weights = weights or Weights()
    parts = VariableBlocks(task, weights)
    parts.add("n", column_costs(task, weights), 0.0, _most_sites(task))
    rows = [
        balance_rows(parts, "site", task.columns.place, task.columns.planted, task.columns.freed, task.sites),
        balance_rows(
            parts, "cell", task.columns.nursery, task.columns.sown, task.columns.planted, task.cells
        ),
        *demand_rows(parts),
    ]
    if task.before is not None:
        rows += [standing_rows(parts, task.before), change_rows(parts, task.before)]
    if task.alike is not None:
        beyond = parts.add("beyond", np.full(task.alike.count, weights.alike), 0.0, np.inf)
        rows.append(Rows("alike", *task.alike.at_most(beyond)))
    return Programme(
        cost=np.concatenate(parts.cost),
        lower=np.concatenate(parts.lower),
        upper=np.concatenate(parts.upper),
        whole=task.columns.count,
        rows=tuple(rows),
        names=tuple(parts.names),
        constant=parts.constant,
    )


def _most_sites(task: Task) -> FloatArray:
    """Return the most sites of a column: those of its place and nursery; none if it brings nothing wanted."""
    columns, entries = task.columns, task.entries
    most = task.sites[columns.place].astype(np.float64)
    if len(task.cells):
        in_nursery = columns.nursery >= 0
        most = np.where(in_nursery, np.minimum(most, task.cells[columns.nursery]), most)
    used = entries.counted | task.spare[entries.want_week]
    useful = np.bincount(entries.column, used, columns.count) > 0
    if task.before is not None and len(task.before.stands):
        group = task.before.group
        useful, most = useful | (group >= 0), np.where(group >= 0, task.before.stands[group], most)
    return np.where(useful, most, 0.0)


def standing_rows(parts: VariableBlocks, before: PreviousPlan) -> Rows:
    """Return sum(n) + given up = stands, one row for each group of plants in the ground."""
    size = len(before.stands)
    mine = np.flatnonzero(before.group >= 0)
    loose = parts.add("given_up", parts.weights.given_up * before.worths, 0.0, before.stands.astype(float))
    return Rows(
        "standing",
        np.concatenate([before.group[mine], np.arange(size)]),
        np.concatenate([mine, loose]),
        np.ones(len(mine) + size),
        before.stands.astype(np.float64),
        before.stands.astype(np.float64),
    )


def change_rows(parts: VariableBlocks, before: PreviousPlan) -> Rows:
    """Return n + gone >= planned, one row for each column that the plan before uses."""
    used = np.flatnonzero(before.planned > 0)
    planned = before.planned[used].astype(np.float64)
    gone = parts.add("gone", parts.weights.calm * before.calm[used], 0.0, planned)
    row = np.arange(len(used))
    return Rows(
        "calm",
        np.concatenate([row, row]),
        np.concatenate([used, gone]),
        np.ones(2 * len(used)),
        planned,
        np.full(len(used), np.inf),
    )
