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
    blocks = VariableBlocks(task, weights)
    blocks.add("n", column_costs(task, weights), 0.0, _most_sites(task))
    columns, one = task.columns, np.ones_like(task.columns.held)
    rows = [
        balance_rows(blocks, "site", columns.place, columns.planted, columns.freed, task.sites, columns.held),
        balance_rows(blocks, "cell", columns.nursery, columns.sown, columns.planted, task.cells, one),
        *demand_rows(blocks),
    ]
    if task.before is not None:
        rows += [standing_rows(blocks, task.before), change_rows(blocks, task.before)]
    if task.alike is not None:
        beyond = blocks.add("beyond", np.full(task.alike.count, weights.alike), 0.0, np.inf)
        rows.append(Rows("alike", *task.alike.at_most(beyond)))
    if task.work is not None:
        over = blocks.add("minutes_over", np.full(len(task.work.days), weights.minute_over), 0.0, np.inf)
        rows.append(Rows("work", *task.work.at_most(over)))
    return Programme(
        cost=np.concatenate(blocks.cost),
        lower=np.concatenate(blocks.lower),
        upper=np.concatenate(blocks.upper),
        whole=task.columns.count,
        rows=tuple(rows),
        names=tuple(blocks.names),
        constant=blocks.constant,
    )


def _most_sites(task: Task) -> FloatArray:
    """Return the most sites of each column: capacity of place and nursery; 0 if it brings nothing useful."""
    columns, entries = task.columns, task.entries
    most = (task.sites[columns.place] // columns.held).astype(np.float64)
    if len(task.cells):
        in_nursery = columns.nursery >= 0
        most = np.where(in_nursery, np.minimum(most, task.cells[columns.nursery]), most)
    used = entries.counted | task.spare[entries.want_week]
    useful = np.bincount(entries.column, used, columns.count) > 0
    if task.before is not None and len(task.before.stands):
        group = task.before.group
        useful, most = useful | (group >= 0), np.where(group >= 0, task.before.stands[group], most)
    return np.where(useful, most, 0.0)


def standing_rows(blocks: VariableBlocks, before: PreviousPlan) -> Rows:
    """Return sum(n) + given up = stands, one row for each group of standing crops."""
    size = len(before.stands)
    continuing = np.flatnonzero(before.group >= 0)
    given_up = blocks.add(
        "given_up", blocks.weights.given_up * before.worths, 0.0, before.stands.astype(float)
    )
    return Rows(
        "standing",
        np.concatenate([before.group[continuing], np.arange(size)]),
        np.concatenate([continuing, given_up]),
        np.ones(len(continuing) + size),
        before.stands.astype(np.float64),
        before.stands.astype(np.float64),
    )


def change_rows(blocks: VariableBlocks, before: PreviousPlan) -> Rows:
    """Return n + gone >= planned, one row for each column that the previous plan uses."""
    used = np.flatnonzero(before.planned > 0)
    planned = before.planned[used].astype(np.float64)
    dropped = blocks.add("gone", blocks.weights.calm * before.calm[used], 0.0, planned)
    row = np.arange(len(used))
    return Rows(
        "calm",
        np.concatenate([row, row]),
        np.concatenate([used, dropped]),
        np.ones(2 * len(used)),
        planned,
        np.full(len(used), np.inf),
    )
