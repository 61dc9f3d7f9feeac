"""Seasons with luck in a world that is not the planner's: what a plan is worth to many growers.

``python tests/studies/other_world.py [SEASONS]`` prints the tables of ``other_world.md``. Nobody grew any of
it. How plants grow is in ``other_plants.py``, the calendar and the meals in ``other_season.py``, two habits
of growers in ``other_habits.py``. No line is shared with the planner's own seasons: two worlds that agree say
more than one.

A grower with the habit *queue* moves the oldest seedlings into whatever site of the right kind is free; those
that find none wait. Ripe plants are cut when the week wants them, when they would go over before the next
visit, and when a seedling waits for their site. Leaves by weight, which grow on, are cut for the week only on
its last harvest day; on that day what has three quarters of its weight will do. One with the habit
*calendar* does everything on its day: moves into the planned site once it is free, cuts on the planned day
what has three quarters of its weight, looks at the rest on the next harvest day, and then gives up.
"""

import sys
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from math import log
from pathlib import Path
from typing import NamedTuple

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from other_habits import GROWERS
from other_plants import Ground, Luck, ground
from other_season import Habit, Lived
from other_sowings import Sowing, enough_cells, ripe_within, rule_here, sowings_of

from cropcal.planning.planner import SolveOptions, plan
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space_text
from cropcal.records.crop import CropTables
from cropcal.records.plan import SeasonPlan
from cropcal.records.space import Space


def live(
    plan: SeasonPlan | Sequence[Sowing],
    space: Space,
    tables: CropTables,
    seasons: int = 200,
    noise: float = 1.0,
    pace: float = 0.0,
    habit: str | Habit = "queue",
    seed: int = 1,
    *,
    losses: bool = True,
) -> Lived:
    """Return what comes of a plan (or of bare sowings) in many seasons: see ``live_here``."""
    return live_here(ground(space, tables), plan, seasons, noise, pace, habit, seed, losses=losses)


def live_here(
    here: Ground,
    plan: SeasonPlan | Sequence[Sowing],
    seasons: int = 200,
    noise: float = 1.0,
    pace: float = 0.0,
    habit: str | Habit = "queue",
    seed: int = 1,
    *,
    losses: bool = True,
) -> Lived:
    """Return what comes of a plan (or of bare sowings) on the ground of its space.

    Parameters
    ----------
    noise, pace
        Factor of all sds; what is added to every ln pace.
    habit
        "queue", "calendar", or a ``Habit``.
    losses
        Whether seeds fail and plants die.
    """
    sowings = sowings_of(plan, here) if isinstance(plan, SeasonPlan) else list(plan)
    habit = Habit(habit) if isinstance(habit, str) else habit
    luck = Luck(seed, seasons, noise, pace, losses)
    return GROWERS[habit.name](here, sowings, luck, habit).live()


class Kept(NamedTuple):
    """One want in one week: its chance in the plan, and the share of seasons in which it was met."""

    promised: float
    came: float


class Tenth(NamedTuple):
    """Want-weeks whose chance lies in a tenth or more, and the means of what was promised and what came."""

    low: float
    high: float
    want_weeks: int
    seasons: int
    promised: float
    came: float


def reliability(plan: SeasonPlan, lived: Lived) -> list[Kept]:
    """Return for each want-week its chance in the plan, and the share of seasons in which it was met."""
    rows = []
    for row in plan.supply:
        if row.chance is not None and row.wanted > 0:
            week = (row.week - plan.start).days // 7
            met = lived.eaten[:, row.want, week] >= row.wanted * (1 - 1e-6)
            rows.append(Kept(row.chance, float(met.mean())))
    return rows


def by_tenths(rows: Sequence[Kept], seasons: int) -> list[Tenth]:
    """Return the want-weeks by tenths of the chance; tenths without any are left out."""
    tenths = []
    for tenth in range(10):
        inside = [row for row in rows if min(int(row.promised * 10), 9) == tenth]
        if inside:
            promised, came = np.mean(inside, axis=0)
            tenths.append(
                Tenth(tenth / 10, (tenth + 1) / 10, len(inside), seasons, float(promised), float(came))
            )
    return tenths


def pooled(tenths: Sequence[Tenth], enough: int) -> list[Tenth]:
    """Return neighbours as one until each has enough want-weeks; what is left at the end joins the last."""
    pools: list[Tenth] = []
    for tenth in tenths:
        if pools and pools[-1].want_weeks < enough:
            pools[-1] = _both(pools[-1], tenth)
        else:
            pools.append(tenth)
    if len(pools) > 1 and pools[-1].want_weeks < enough:
        pools[-2:] = [_both(*pools[-2:])]
    return pools


def _both(low: Tenth, high: Tenth) -> Tenth:
    """Return two neighbours as one."""
    weights = (low.want_weeks, high.want_weeks)
    promised, came = np.average([low[-2:], high[-2:]], axis=0, weights=weights)
    return Tenth(low.low, high.high, sum(weights), low.seasons, float(promised), float(came))


PROJECT = Path(__file__).resolve().parents[2]
WEEKS = {"roomy": range(6, 26), "full": range(6, 26), "cut_again": range(2, 25), "mixed": range(2, 22)}
"""Weeks that are counted, from 0, by space."""
MEASURED = {
    ("roomy", "plan"): "2.12 (40)",
    ("roomy", "service 0.8"): "0.58 (59)",
    ("roomy", "steady rule"): "0.59 (51)",
    ("full", "steady rule"): "1.25 (97)",
    ("cut_again", "steady rule"): "5.36 (40), 20",
    ("mixed", "steady rule"): "7.5 (106), 37",
    ("roomy", "rule"): "2.25 (40)",
    ("roomy", "rule + 30 %"): "0.87 (52)",
    ("full", "plan"): "3.58 (75)",
    ("full", "service 0.8"): "2.74 (94)",
    ("full", "rule + 30 %"): "1.54 (92)",
    ("cut_again", "plan"): "8.72 (34), 12",
    ("cut_again", "service 0.8"): "5.97 (59), 20",
    ("cut_again", "rule"): "10.8 (40), 22",
    ("mixed", "plan"): "11.6 (81), 18",
    ("mixed", "service 0.8"): "11.1 (105), 26",
    ("mixed", "rule"): "9.5-12.4 (97-122), 29-44",
}
"""Short want-weeks (cells), surplus, as an earlier simulator had them with the crop table of its day."""
HABITS = (
    ("queue", Habit("queue")),
    ("queue, spares thrown away", Habit("queue", spares=False)),
    ("calendar", Habit("calendar")),
    ("calendar, looks at all later visits", Habit("calendar", looks=99)),
)
WORLDS = {
    "as assumed": (1.0, 0.0),
    "half the luck": (0.5, 0.0),
    "twice the luck": (2.0, 0.0),
    "a fifth slower": (1.0, log(0.8)),
    "a fifth faster": (1.0, log(1.2)),
}
"""Factor of all sds, and what is added to ln pace."""
EFFORT = SolveOptions(time_limit_s=20.0)


def luck_space(name: str, tables: CropTables, service: float | None = None) -> Space:
    """Return one of the four spaces, with the chance that is asked for."""
    file = PROJECT / "tests" / "spaces" / "luck" / f"{name}.toml"
    return asked_for(file.read_text(encoding="utf-8"), tables, service)


def asked_for(text: str, tables: CropTables, service: float | None) -> Space:
    """Return the space of a file with the chance that is asked for."""
    if service is not None:
        text = text.replace("[plan]", f"[plan]\nservice = {service}", 1)
    space, problems = read_space_text(text, tables, today=date(2027, 1, 1))
    assert space is not None, problems
    return space


def sowings_by_name(here: Ground, name: str, tables: CropTables) -> dict[str, list[Sowing]]:
    """Return the sowings that are compared in one space: two plans, the steady rule, and the
    rule that nobody tuned at two rates.
    """
    enough = enough_cells(here)
    sowings = {
        label: sowings_of(plan(luck_space(name, tables, service), tables, EFFORT), here)
        for label, service in (("plan", None), ("service 0.8", 0.8))
    }
    steady = plan(luck_space(name, tables), tables, EFFORT, steady=True)
    sowings["steady rule"] = sowings_of(steady, here)
    for label, factor in (("rule", 1.0), ("rule + 30 %", 1.3)):
        cells = {want: factor * a_week for want, a_week in enough.items()}
        sowings[label] = rule_here(here, cells)
    return sowings


def by_habit(name: str, here: Ground, label: str, sowings: list[Sowing], seasons: int) -> Iterator[tuple]:
    """Yield the rows of the first table for some sowings: each habit of growers."""
    weeks = WEEKS[name]
    for words, habit in HABITS:
        planned = all(sowing.slots for sowing in sowings)
        spare = any(sowing.cells > len(sowing.slots) for sowing in sowings)
        if words != "queue" and not (planned and (spare or habit.spares)):
            continue
        lived = live_here(here, sowings, seasons, habit=habit)
        yield (
            name,
            label,
            words,
            "{:.2f} ± {:.2f}".format(*lived.short(weeks)),
            f"{lived.surplus.mean():.1f}",
            f"{ripe_within(sowings, here, weeks)}",
            f"{lived.cells.mean():.0f}",
            MEASURED.get((name, label), "") if words == "queue" else "",
        )


def by_world(name: str, here: Ground, label: str, sowings: list[Sowing], seasons: int) -> tuple[str, ...]:
    """Return the row of the second table for some sowings: a queue in worlds that are not as assumed."""
    short = [
        live_here(here, sowings, seasons, noise, pace).short(WEEKS[name]) for noise, pace in WORLDS.values()
    ]
    return (name, label, *("{:.2f} ± {:.2f}".format(*result) for result in short))


def print_row(cells: Iterable[str]) -> None:
    """Print a row of a table."""
    print("| " + " | ".join(cells) + " |", flush=True)


def main() -> None:
    """Print both tables."""
    seasons = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    tables, _ = read_crop_tables(None)
    assert tables is not None
    second = []
    print_row(("space", "sowings", "grower", "short", "surplus", "cells then", "all cells", "before"))
    print_row(("---", "---", "---", "---:", "---:", "---:", "---:", "---:"))
    for name in WEEKS:
        here = ground(luck_space(name, tables), tables)
        for label, sowings in sowings_by_name(here, name, tables).items():
            for row in by_habit(name, here, label, sowings, seasons):
                print_row(row)
            second.append(by_world(name, here, label, sowings, seasons))
    print()
    print_row(("space", "sowings", *WORLDS))
    print_row(("---", "---", *("---:" for _ in WORLDS)))
    for row in second:
        print_row(row)


if __name__ == "__main__":
    main()
