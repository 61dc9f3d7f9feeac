"""How fast invented tasks of home size are proven to 0.1 %: ``python tests/benchmarks/bench_programme.py``.

Not collected by pytest: a busy computer would fail it. The tasks are generated from a seed, with spans like
those of the crop table: 18-40 days on a site, 10-18 in the nursery, windows of 5-14 days, 60-130 g a site for
what is wanted by weight. Load is the part of all site-days that the wants take. Tasks at the edge of what the
space can do are hard: they show how far the search comes in 30 s.
"""

from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from cropcal.planning.dominance import undominated
from cropcal.planning.programme import Columns, Task, usual_cost
from cropcal.planning.shortage import Weights
from cropcal.planning.solve import solve

WEEKS, WORK_DAYS, HOLIDAY = 26, (2, 5), 13


@dataclass(frozen=True)
class Case:
    """What a task is made from."""

    sites: tuple[int, ...] = (12, 8, 4, 2)
    wants: int = 5
    cells: int = 40
    load: float = 0.9
    by_weight: float = 0.5
    seed: int = 0


CASES = {
    "26 sites": Case(),
    "26 sites, light": Case(load=0.7, cells=24),
    "26 sites, other crops": Case(load=0.7, cells=30, seed=1),
    "26 sites, mostly heads": Case(by_weight=0.2, cells=30, seed=9),
    "26 sites, nursery binds": Case(cells=14),
    "26 sites, nursery binds 2": Case(load=0.8, cells=20, seed=5),
    "26 sites, too much wanted": Case(load=1.2, cells=24),
    "5 sites in place": Case(sites=(5,), wants=2, cells=0),
    "8 sites, nursery": Case(sites=(8,), wants=3, cells=8, load=0.8, by_weight=0.34),
    "40 sites": Case(sites=(20, 12, 8), wants=6, cells=60, load=0.8, by_weight=0.34),
    "40 sites, nursery binds": Case(sites=(20, 12, 8), wants=6, cells=24),
}


def make(case: Case) -> Task:
    """Return the task of a case; the same case gives the same task."""
    rng = np.random.default_rng(case.seed)
    work = np.array([7 * week + day for week in range(WEEKS) if week != HOLIDAY for day in WORK_DAYS])
    pace = np.sort(rng.uniform(0.85, 1.3, len(case.sites)))
    power = rng.uniform(0.8, 1.2, len(case.sites)) / pace
    rows, supply = [], []
    demand = np.zeros((case.wants, WEEKS))
    for want in range(case.wants):
        by_weight = want < round(case.by_weight * case.wants)
        cuts = int(rng.integers(2, 5)) if by_weight and want % 2 == 0 else 1
        in_place = case.cells == 0 or (by_weight and rng.random() < 0.2)
        site_d, nursery_d, hold_d = rng.uniform(18, 40), int(rng.integers(10, 19)), int(rng.integers(4, 9))
        window_d, lag_d, grams = int(rng.integers(5, 15)), int(rng.integers(8, 15)), rng.uniform(60, 130)
        days_per_amount = []
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
        amount = case.load * sum(case.sites) * 7 / case.wants / np.median(days_per_amount)
        demand[want] = max(20, round(amount / 10) * 10) if by_weight else max(1, round(amount))
    return _task(case, np.array(rows), supply, demand)


def _transplants(work: np.ndarray, first: int, hold_d: int) -> np.ndarray:
    return work[(work >= first) & (work <= first + hold_d)][:2]


def _harvests(work: np.ndarray, ready: int, window_d: int, cuts: int, lag_d: int) -> list[list[int]]:
    """Return the days of each way to cut: once on any day of the window, or up to so many times."""
    if cuts == 1:
        return [[day] for day in work[(work >= ready) & (work <= ready + window_d)].tolist()]
    days: list[int] = []
    for _ in range(cuts):
        later = work[work >= (days[-1] + lag_d if days else ready)]
        if not len(later):
            break
        days.append(int(later[0]))
    return [days[: count + 1] for count in range(len(days))]


def _task(case: Case, rows: np.ndarray, supply: list[list[tuple[int, float]]], demand: np.ndarray) -> Task:
    whole = [rows[:, at].astype(np.int64) for at in range(6)]
    column = np.repeat(np.arange(len(supply)), [len(brought) for brought in supply])
    week = np.array([week for brought in supply for week, _ in brought], dtype=np.int64)
    columns = Columns(
        *whole, rows[:, 6].copy(), rows[:, 7].copy(), column, week,
        np.array([amount for brought in supply for _, amount in brought]),
    )  # fmt: skip
    reached = np.zeros(demand.shape, dtype=bool)
    reached[columns.want[column[week < WEEKS]], week[week < WEEKS]] = True
    demand = np.where(reached, demand, 0.0)
    demand[:, HOLIDAY] = 0.0
    cells = np.array([case.cells] if case.cells else [], dtype=np.int64)
    made = Task(columns, demand, np.array(case.sites, dtype=np.int64), cells)
    return replace(made, cost_unit=usual_cost(made))


def main() -> None:
    """Print one line a case."""
    print(f"{'case':28s} columns  kept     value     bound     gap  short  seconds")
    for name, case in CASES.items():
        task = make(case)
        kept = len(undominated(task, Weights()))
        began = perf_counter()
        found = solve(task, time_limit_s=30.0)
        print(
            f"{name:28s} {task.columns.count:7d} {kept:5d} {found.value:9.2f} {found.bound:9.2f} "
            f"{100 * found.gap:6.3f}% {found.short_want_weeks:6.2f} "
            f"{perf_counter() - began:8.2f}  {found.status}",
            flush=True,
        )


if __name__ == "__main__":
    main()
