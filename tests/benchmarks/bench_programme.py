"""How near to the bound invented tasks are planned: ``python bench_programme.py [part of a name]``.

Not collected by pytest: a busy computer would fail it. The tasks are generated from a seed, with spans like
those of the crop table: 18-40 days on a site times the pace of its light (0.82-1.3), 10-18 days in the
nursery, a fifth of what is wanted by weight sown in place, windows of 5-14 days, 2-4 cuts, 3 % more weight a
day, 60-130 g a site. Load is the part of all site-days that the wants take. Cells are given, or so many that
the wants fill nine tenths of them. Tasks at the edge of what the space can do are hard.
"""

import sys
from dataclasses import dataclass, replace
from time import perf_counter, process_time

import numpy as np

from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import Columns, Task, usual_cost
from cropcal.optimize.solve import solve, undominated

TWO_DAYS, DAILY = (2, 5), tuple(range(7))
NINE_TENTHS = -1


@dataclass(frozen=True)
class Case:
    """What a task is made from; ``within`` is the time limit in seconds."""

    sites: tuple[int, ...] = (12, 8, 4, 2)
    wants: int = 5
    cells: int = 40
    load: float = 0.9
    by_weight: float = 0.5
    seed: int = 0
    weeks: int = 26
    days: tuple[int, ...] = TWO_DAYS
    keeps: bool = False
    within: float = 30.0


HOME = Case(sites=(12, 10, 6), cells=NINE_TENTHS, load=0.8, within=3.0)
RACK = Case(sites=(26, 20, 14), wants=8, cells=NINE_TENTHS, load=0.8, weeks=52, within=45.0)
CASES = {
    **{f"28 sites, 2 days, seed {seed}": replace(HOME, seed=seed) for seed in range(4)},
    **{
        f"28 sites, 7 days, seed {seed}": replace(HOME, seed=seed, days=DAILY, within=20.0)
        for seed in range(3)
    },
    **{f"60 sites, load 0.8, seed {seed}": replace(RACK, seed=seed) for seed in range(3)},
    **{f"60 sites, load 1.1, seed {seed}": replace(RACK, seed=seed, load=1.1) for seed in range(3)},
    "26 sites": Case(),
    "26 sites, light": Case(load=0.7, cells=24),
    "26 sites, mostly heads": Case(by_weight=0.2, cells=30, seed=9),
    "26 sites, nursery binds": Case(cells=14),
    "26 sites, too much wanted": Case(load=1.2, cells=24),
    "5 sites in place": Case(sites=(5,), wants=2, cells=0),
    "8 sites, nursery": Case(sites=(8,), wants=3, cells=8, load=0.8, by_weight=0.34),
    "40 sites, nursery binds": Case(sites=(20, 12, 8), wants=6, cells=24),
}
CASES |= {f"{name}, keeps": replace(case, keeps=True) for name, case in CASES.items()}


def make(case: Case) -> Task:
    """Return the task of a case; the same case gives the same task."""
    rng = np.random.default_rng(case.seed)
    work = np.array(
        [7 * week + day for week in range(case.weeks) if week != case.weeks // 2 for day in case.days]
    )
    pace = np.sort(rng.uniform(0.82, 1.3, len(case.sites)))
    power = rng.uniform(0.8, 1.2, len(case.sites)) / pace
    rows, supply = [], []
    demand = np.zeros((case.wants, case.weeks))
    in_nursery, keeps = 0.0, np.zeros(case.wants, dtype=np.int64)
    for want in range(case.wants):
        by_weight = want < round(case.by_weight * case.wants)
        cuts = int(rng.integers(2, 5)) if by_weight and want % 2 == 0 else 1
        in_place = case.cells == 0 or (by_weight and rng.random() < 0.2)
        site_d, nursery_d, hold_d = rng.uniform(18, 40), int(rng.integers(10, 19)), int(rng.integers(4, 9))
        window_d, lag_d, grams = int(rng.integers(5, 15)), int(rng.integers(8, 15)), rng.uniform(60, 130)
        days_per_amount, first_row = [], len(rows)
        for place in range(len(case.sites)):
            for sown in work:
                for planted in [sown] if in_place else _transplants(work, sown + nursery_d, hold_d):
                    raised = -0.6 * nursery_d if in_place else 0.4 * (planted - sown - nursery_d)
                    ready = int(np.ceil(planted + site_d * pace[place] - raised))
                    for events in _harvests(work, ready, window_d, cuts, lag_d):
                        first, last = events[0], events[-1]
                        amount = grams * 1.03 ** (first - ready) if by_weight else 1.0
                        brought = [(day // 7, amount if day == first else 0.6 * amount) for day in events]
                        held = last - planted
                        rows.append(
                            (want, place, -1 if in_place else 0, sown, planted, last + 1,
                             held * power[place] * 0.05 + 0.1, (first - ready) / window_d)
                        )  # fmt: skip
                        supply.append(brought)
                        days_per_amount.append(held / sum(part for _, part in brought))
        if case.keeps:
            keeps[want] = rng.integers(0, 3) if by_weight else 1
        amount = case.load * sum(case.sites) * 7 / case.wants / np.median(days_per_amount)
        demand[want] = max(20, round(amount / 10) * 10) if by_weight else max(1, round(amount))
        if not in_place:
            a_site = np.median([sum(part for _, part in brought) for brought in supply[first_row:]])
            in_nursery += demand[want, 0] / a_site * nursery_d / 7
    cells = int(np.ceil(in_nursery / 0.9)) if case.cells == NINE_TENTHS else case.cells
    return _task(case, np.array(rows), supply, demand, cells, keeps)


def _transplants(work: np.ndarray, first: int, hold_d: int) -> np.ndarray:
    return work[(work >= first) & (work <= first + hold_d)][:2]


def _harvests(work: np.ndarray, ready: int, window_d: int, cuts: int, lag_d: int) -> list[list[int]]:
    """Return the days of each way to cut: once on any day of the window, or several times up to a limit."""
    if cuts == 1:
        return [[day] for day in work[(work >= ready) & (work <= ready + window_d)].tolist()]
    days: list[int] = []
    for _ in range(cuts):
        later = work[work >= (days[-1] + lag_d if days else ready)]
        if not len(later):
            break
        days.append(int(later[0]))
    return [days[: count + 1] for count in range(len(days))]


def _task(
    case: Case,
    rows: np.ndarray,
    supply: list[list[tuple[int, float]]],
    demand: np.ndarray,
    cells: int,
    keeps: np.ndarray,
) -> Task:
    whole = [rows[:, at].astype(np.int64) for at in range(6)]
    column = np.repeat(np.arange(len(supply)), [len(brought) for brought in supply])
    week = np.array([week for brought in supply for week, _ in brought], dtype=np.int64)
    columns = Columns(
        *whole, rows[:, 6].copy(), rows[:, 7].copy(), column, week,
        np.array([amount for brought in supply for _, amount in brought]), keeps[whole[0][column]],
    )  # fmt: skip
    reached = np.zeros(demand.shape, dtype=bool)
    reached[columns.want[column[week < case.weeks]], week[week < case.weeks]] = True
    demand = np.where(reached, demand, 0.0)
    demand[:, case.weeks // 2] = 0.0
    nurseries = np.array([cells] if cells else [], dtype=np.int64)
    heads = np.arange(case.wants) >= round(case.by_weight * case.wants)
    made = Task(columns, demand, np.array(case.sites, dtype=np.int64), nurseries, heads=heads)
    return replace(made, cost_unit=usual_cost(made))


def main(part: str = "") -> None:
    """Print one line for each case whose name holds a part."""
    print(f"{'case':34s} columns  kept     value     bound     gap  in want-weeks  short  seconds     cpu")
    for name, case in CASES.items():
        if part not in name:
            continue
        task = make(case)
        kept = len(undominated(task, Weights()))
        began, cpu = perf_counter(), process_time()
        found = solve(task, time_limit_s=case.within, near=0.0)
        counted = int((task.demand > 0).sum())
        print(
            f"{name:34s} {task.columns.count:7d} {kept:5d} {found.value:9.2f} {found.bound:9.2f} "
            f"{100 * found.gap:6.3f}%  {(found.value - found.bound) / 100:8.4f}/{counted}"
            f" {found.short_want_weeks:6.2f} {perf_counter() - began:8.2f} {process_time() - cpu:7.2f}"
            f"  {found.status}",
            flush=True,
        )


if __name__ == "__main__":
    main(*sys.argv[1:])
