"""The steady rule as columns: which sites its seedlings take, and when, if everything comes as forecast."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from cropcal.optimize.programme import Columns, IntArray, Task
from cropcal.planning.candidates.columns import NO_DAY, CandidateColumns
from cropcal.planning.luck.drawn import Stage
from cropcal.planning.luck.steady import SowingHabit
from cropcal.planning.luck.world import alternatives
from cropcal.records.plan import Batch
from cropcal.seasons.simulate import LATE_SOWING_D


@dataclass(frozen=True, eq=False)
class Placed:
    """Sites of each column, and the cells of each sowing by (want, crop, day)."""

    n: IntArray
    cells: Mapping[tuple[int, str, int], int]


def placed(
    habits: Sequence[SowingHabit],
    work_days: IntArray,
    first: int,
    stage: Stage,
    task: Task,
    candidates: CandidateColumns,
    standing: IntArray,
) -> Placed:
    """Return the columns of habits, first come, first served.

    ``task`` has the columns of what stands before those of ``candidates``; ``standing`` are their sites. As
    many sites are planned as seedlings are expected to live; the other cells are spare.
    """
    taken = _Taken(task)
    taken.hold_all(standing)
    begins = task.columns.count - candidates.count
    n = standing.copy()
    cells: dict[tuple[int, str, int], int] = {}
    owed: dict[int, float] = {}
    count = (candidates.cuts != NO_DAY).sum(axis=1)
    goes, kinds = alternatives(stage.world), stage.world.kinds
    wished = []
    for day, number, habit in sorted(
        (day, number, its) for its in habits for day, number in its.sowings(work_days, first)
    ):
        kind, crop = kinds[habit.option], candidates.options[habit.option].grown.crop.slug
        lives = 1.0 if kind.thick or not kind.heads else kind.stand * (1.0 - stage.world.lost)
        owed[habit.want] = owed.get(habit.want, 0.0) + number * lives
        sites = min(max(int(owed[habit.want] + 0.5), 1), number)
        owed[habit.want] -= sites
        cells[habit.want, crop, day] = cells.get((habit.want, crop, day), 0) + number
        latest = day if kind.nursery >= 0 else day + LATE_SOWING_D
        right = np.isin(candidates.option, goes[habit.option]) & (count == habit.cuts)
        rows = np.flatnonzero(right & (candidates.sown >= day) & (candidates.sown <= latest))
        other = candidates.option[rows] != habit.option
        keys = (candidates.freed, candidates.staleness, candidates.planted, candidates.sown)
        order = np.lexsort((other, *(key[rows] for key in keys)))
        wished.append((begins + rows[order], sites))
    for part in (1, None):  # one site for each sowing, so that each is a batch; then the others
        for columns, sites in wished:
            left = part or sites - 1
            for column in columns.tolist():
                while left and taken.fits(column):
                    taken.hold(column, 1)
                    n[column] += 1
                    left -= 1
    return Placed(n, cells)


@dataclass(eq=False)
class _Taken:
    """Sites and cells that are taken on each day."""

    task: Task
    sites: IntArray = field(init=False)
    cells: IntArray = field(init=False)

    def __post_init__(self) -> None:
        days = int(self.task.columns.freed.max(initial=0)) + 1
        self.sites = np.zeros((len(self.task.sites), days), dtype=np.int64)
        self.cells = np.zeros((max(len(self.task.cells), 1), days), dtype=np.int64)

    def hold_all(self, n: IntArray) -> None:
        for column in np.flatnonzero(n).tolist():
            self.hold(column, int(n[column]))

    def hold(self, column: int, by: int) -> None:
        columns: Columns = self.task.columns
        place, nursery = int(columns.place[column]), int(columns.nursery[column])
        if place >= 0:
            span = slice(int(columns.planted[column]), int(columns.freed[column]))
            self.sites[place, span] += by * int(columns.held[column])
        if nursery >= 0:
            self.cells[nursery, int(columns.sown[column]) : int(columns.planted[column])] += by

    def fits(self, column: int) -> bool:
        columns: Columns = self.task.columns
        place, nursery = int(columns.place[column]), int(columns.nursery[column])
        span = slice(int(columns.planted[column]), int(columns.freed[column]))
        free = self.task.sites[place] - self.sites[place, span].max(initial=0)
        wait = slice(int(columns.sown[column]), int(columns.planted[column]))
        room = nursery < 0 or self.cells[nursery, wait].max(initial=0) < self.task.cells[nursery]
        return bool(free >= columns.held[column] and room)


def with_cells(
    fresh: Sequence[Batch], cells: Mapping[tuple[int, str, int], int], start: date
) -> tuple[Batch, ...]:
    """Return the batches with all cells of their sowings; spare ones go to the first batch of each."""
    left = dict(cells)
    for batch in fresh:
        key = (batch.want, batch.crop, (batch.sow_on - start).days)
        left[key] = left.get(key, 0) - batch.sites
    result = []
    for batch in fresh:
        key = (batch.want, batch.crop, (batch.sow_on - start).days)
        spare = max(left.pop(key, 0), 0) if batch.nursery else 0
        if spare:
            more = batch.cells + spare
            batch = batch.model_copy(update={"cells": more, "seeds": batch.seeds * more // batch.cells})
        result.append(batch)
    return tuple(result)
