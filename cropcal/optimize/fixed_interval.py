"""Fixed-interval sowing, the baseline policy of a careful grower without a planner.

Each want has a habit: which crop, how many cuts, how many sites, the interval in days and the first day. The
best habits are searched for on the same space and candidate columns, knowing the whole season in advance, so
that a plan is compared with the baseline at its best.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from cropcal.optimize.programme import Columns, IntArray, Task

EVERY_D = (3, 4, 7, 10, 14, 21, 28)
"""Sowing intervals that are tried, days."""
SWEEPS = 3
"""Rounds in which each want's habit is improved, the others fixed, after all had the same interval."""
SURPLUS_WEIGHS = 0.1
"""Weight of a surplus share against a missing one; as in a plan."""


@dataclass(frozen=True)
class Habit:
    """How one want is sown: a kind of column (crop and cuts), the days, and how many sites each time."""

    want: int
    kind: int
    every_d: int
    sites: int
    days: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Rule:
    """A habit for each want that has one, and the sites that each column gets by them, shape (columns,)."""

    habits: tuple[Habit, ...]
    n: IntArray


def best_rule(task: Task, kind: IntArray, work_days: IntArray) -> Rule:
    """Return the best fixed-interval rule: first the same interval for all wants, then one for each.

    Parameters
    ----------
    task
        Columns, demand and capacities; only wants with a demand are sown.
    kind
        What each column grows and how often it is cut, as one number, shape (columns,).
    work_days
        Days on which somebody sows.
    """
    trial = _HabitSimulation(task, kind, work_days)
    wants = [want for want in range(len(task.demand)) if (task.demand[want] > 0).any() and trial.kinds(want)]
    if not wants:
        return Rule((), np.zeros(task.columns.count, dtype=np.int64))
    best: dict[int, Habit] = {}
    lowest = np.inf
    for every, offset in trial.intervals():
        habits = {want: trial.matching_habit(want, every, offset) for want in wants}
        score = trial.score(habits.values())
        if score < lowest - 1e-9:
            best, lowest = habits, score
    for _ in range(SWEEPS):
        before = lowest
        for want in wants:
            for habit in trial.habits(want):
                score = trial.score((best | {want: habit}).values())
                if score < lowest - 1e-9:
                    best, lowest = best | {want: habit}, score
        if lowest >= before - 1e-9:
            break
    return Rule(tuple(best.values()), trial.sow(best.values()))


class _HabitSimulation:
    """Simulation of habits over the season: first come, first served, in whatever place is free."""

    def __init__(self, task: Task, kind: IntArray, work_days: IntArray) -> None:
        self.task, self.kind, self.work_days = task, kind, work_days
        columns = task.columns
        self.end = int(max(columns.freed.max(initial=0), work_days.max(initial=0))) + 1
        self.columns_by_key = _usual_columns(columns, kind)
        entries = task.entries
        self.by_column: dict[int, list[tuple[int, float]]] = {}
        for column, cell, share in zip(
            entries.column.tolist(), entries.want_week.tolist(), entries.share.tolist(), strict=True
        ):
            self.by_column.setdefault(column, []).append((cell, share))
        self.shares: dict[tuple[int, int], float] = {}

    def kinds(self, want: int) -> list[int]:
        return sorted({kind for (of, kind, _) in self.columns_by_key if of == want})

    def intervals(self) -> Iterator[tuple[int, int]]:
        """Yield each interval and offset that gives a new list of sowing days."""
        yielded = set()
        for every in EVERY_D:
            for offset in range(every):
                days = self.days(every, offset)
                if days not in yielded:
                    yielded.add(days)
                    yield every, offset

    def days(self, every: int, offset: int) -> tuple[int, ...]:
        """Return the work days on or after each due day."""
        first = int(self.work_days[0]) if len(self.work_days) else 0
        due = np.arange(first + offset, self.end, every)
        at = np.searchsorted(self.work_days, due)
        return tuple(sorted(set(self.work_days[at[at < len(self.work_days)]].tolist())))

    def matching_habit(self, want: int, every: int, offset: int) -> Habit:
        """Return the habit that brings just the wanted amount at this interval, of the first kind."""
        kind = self.kinds(want)[0]
        return Habit(want, kind, every, self.sizes(want, kind, every)[-1], self.days(every, offset))

    def habits(self, want: int) -> Iterator[Habit]:
        for kind in self.kinds(want):
            for every, offset in self.intervals():
                for sites in self.sizes(want, kind, every):
                    yield Habit(want, kind, every, sites, self.days(every, offset))

    def sizes(self, want: int, kind: int, every: int) -> list[int]:
        """Return the sites a sowing needs to meet demand until the next one, rounded down and up."""
        if (want, kind) not in self.shares:
            brings = [
                sum(share for _, share in self.by_column.get(column, ()))
                for (of, what, _), columns in self.columns_by_key.items()
                if (of, what) == (want, kind)
                for column in columns
            ]
            self.shares[want, kind] = float(np.median([share for share in brings if share > 0] or [1.0]))
        needed = every / 7 / self.shares[want, kind]
        return sorted({max(int(needed), 1), int(np.ceil(needed - 1e-9))})

    def sow(self, habits: Iterable[Habit]) -> IntArray:
        """Return the sites of each column when all habits share the space, the earliest day first."""
        columns, n = self.task.columns, np.zeros(self.task.columns.count, dtype=np.int64)
        sites = np.repeat(self.task.sites[:, None], self.end, axis=1)
        cells = np.repeat(self.task.cells[:, None], self.end, axis=1)
        events = sorted((day, habit.want, habit.kind, habit.sites) for habit in habits for day in habit.days)
        for day, want, kind, left in events:
            for column in self.columns_by_key.get((want, kind, day), ()):
                place, nursery = columns.place[column], columns.nursery[column]
                free = sites[place, columns.planted[column] : columns.freed[column]]
                each = int(columns.held[column])
                fits = min(left, int(free.min(initial=left * each)) // each)
                if nursery >= 0:
                    waits = cells[nursery, columns.sown[column] : columns.planted[column]]
                    fits = min(fits, int(waits.min(initial=left)))
                    waits -= fits
                free -= fits * each
                n[column] += fits
                left -= fits
                if not left:
                    break
        return n

    def score(self, habits: Iterable[Habit]) -> float:
        """Return the missing shares plus weighted surplus, after carry-over to later weeks."""
        short, over = short_and_surplus(self.task, self.sow(habits))
        return float(short + SURPLUS_WEIGHS * over)


def _usual_columns(columns: Columns, kind: IntArray) -> dict[tuple[int, int, int], list[int]]:
    """Return for each want, kind and sowing day its columns in the order in which a grower uses them.

    One for each place and nursery: moved as soon as it may be, and cut when it is just ready.
    """
    entry_week = np.full(columns.count, np.iinfo(np.int64).max)
    np.minimum.at(entry_week, columns.supply_column, columns.supply_week)
    amount = np.bincount(columns.supply_column, columns.supply_amount, columns.count)
    order = np.lexsort((columns.freed, -amount, columns.staleness, columns.planted))
    by_key: dict[tuple[int, int, int], dict[tuple[int, int], int]] = {}
    for column in order.tolist():
        key = (int(columns.want[column]), int(kind[column]), int(columns.sown[column]))
        by_key.setdefault(key, {}).setdefault(
            (int(columns.place[column]), int(columns.nursery[column])), column
        )
    return {key: list(columns_at.values()) for key, columns_at in by_key.items()}


def short_and_surplus(task: Task, n: IntArray) -> tuple[float, float]:
    """Return short and surplus want-weeks when each week eats what is oldest first, as long as it keeps."""
    entries, (wants, weeks) = task.entries, task.demand.shape
    used = n[entries.column] > 0
    longest = int(entries.keeps.max(initial=0))
    cut = np.zeros((longest + 1, wants * weeks))
    amount = n[entries.column[used]] * entries.share[used] * task.scale.ravel()[entries.want_week[used]]
    np.add.at(cut, (entries.keeps[used], entries.want_week[used]), amount)
    cut = cut.reshape(longest + 1, wants, weeks)
    # left[k]: what may still be kept for k more weeks, by want
    left = np.zeros((longest + 1, wants))
    short = over = np.zeros(wants)
    for week in range(weeks):
        left += cut[:, :, week]
        need = task.demand[:, week].copy()
        for age in range(longest + 1):
            taken = np.minimum(left[age], need)
            left[age] -= taken
            need -= taken
        scale = task.scale[:, week]
        short = short + need / scale
        over = over + left[0] / scale
        left = np.concatenate([left[1:], np.zeros((1, wants))])
    return float(short.sum()), float(over.sum() + (left.sum(axis=0) / task.usual).sum())
