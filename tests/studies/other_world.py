"""Seasons with luck in a world that is not the planner's: what a plan is worth to many growers.

``python tests/studies/other_world.py [SEASONS [SPACE ...]]`` prints the tables of ``other_world.md``. Nobody
grew any of it. The plans are made in ``other_choices.py``. How plants grow is in ``other_plants.py``, the
calendar and the meals in ``other_season.py``, two habits of growers in ``other_habits.py``. No line is shared
with the planner's own seasons: two worlds that agree say more than one.

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
from other_choices import Compared, compared, middle_of
from other_habits import GROWERS
from other_plants import Ground, Luck, ground
from other_season import Habit, Lived, mean_and_error
from other_sowings import Sowing, ripe_within, sowings_of

from cropcal.planning.realise import RealisedPlan
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space_text
from cropcal.records.crop import CropTables
from cropcal.records.plan import SeasonPlan
from cropcal.records.space import Space


def live(
    plan: SeasonPlan | RealisedPlan | Sequence[Sowing],
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
    plan: SeasonPlan | RealisedPlan | Sequence[Sowing],
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
    sowings = sowings_of(plan, here) if isinstance(plan, SeasonPlan | RealisedPlan) else list(plan)
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


def reliability(chance: np.ndarray, lived: Lived) -> list[Kept]:
    """Return for each want-week its chance in a plan, and the share of seasons in which it was met.

    ``chance`` has the shape (wants, weeks), or more weeks; nan where nothing is wanted.
    """
    wanted = lived.here.eaten_at_most
    chance = chance[:, : wanted.shape[1]]
    met = (lived.eaten >= wanted * (1 - 1e-6)).mean(axis=0)
    weeks = zip(*np.nonzero(np.isfinite(chance) & (wanted > 0)), strict=True)
    return [Kept(float(chance[at]), float(met[at])) for at in weeks]


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
HELD_OUT = {"school_store": range(4, 24), "hall_cupboard": range(4, 20)}
"""The same for spaces that nobody looked at while the search was made."""
BEFORE = {
    ("roomy", "usual"): "2.47 (40); 0.46 (72)",
    ("roomy", "steady rule"): "1.13 (44)",
    ("full", "usual"): "5.91 (63); 1.51 (126)",
    ("full", "steady rule"): "1.84 (88)",
    ("cut_again", "usual"): "7.83 (54), 16.8; 4.10 (69), 27.5",
    ("cut_again", "steady rule"): "7.78 (41), 15.5",
    ("mixed", "usual"): "10.38 (88), 6.0; 6.56 (121), 18.3",
    ("mixed", "steady rule"): "9.02 (91), 19.7",
}
"""Short want-weeks (cells then), surplus, as this world had them of the planner at commit d9217a2, with the
same crop table: beside the usual choice its plan for the middle of all seasons; that with ``service = 0.8``.
"""
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
NO_LUCK = ("sparing", "usual", "safe", "steady rule")
"""What is also lived without luck, beside the plan that is best then."""


def luck_space(name: str, tables: CropTables) -> Space:
    """Return one of the spaces."""
    folder = PROJECT / "tests" / "spaces" / "luck" / ("" if name in WEEKS else "held_out")
    return space_of((folder / f"{name}.toml").read_text(encoding="utf-8"), tables)


def space_of(text: str, tables: CropTables) -> Space:
    """Return the space of a file."""
    space, problems = read_space_text(text, tables, today=date(2027, 1, 1))
    assert space is not None, problems
    return space


def by_habit(plans: Compared, name: str, seasons: int) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the first table: each plan for each habit of growers.

    The luck is the same in all rows, so that what a plan misses more than usual is a mean of differences.
    """
    here, weeks = plans.here, plans.weeks
    all_sowings = plans.by_name()
    usual = live_here(here, all_sowings["usual"], seasons).short_by_season(weeks)
    for label, sowings in all_sowings.items():
        for words, habit in HABITS:
            planned = all(sowing.slots for sowing in sowings)
            spare = any(sowing.cells > len(sowing.slots) for sowing in sowings)
            if words != "queue" and not (planned and (spare or habit.spares)):
                continue
            lived = live_here(here, sowings, seasons, habit=habit)
            more = mean_and_error(lived.short_by_season(weeks) - usual)
            flexible = words == "queue"
            yield (
                name,
                label,
                words,
                "{:.2f} ± {:.2f}".format(*lived.short(weeks)),
                "{:+.2f} ± {:.2f}".format(*more) if flexible and label != "usual" else "",
                f"{lived.surplus.mean():.1f}",
                f"{ripe_within(sowings, here, weeks)}",
                f"{lived.cells.mean():.0f}",
                BEFORE.get((name, label), "") if flexible else "",
            )


def by_world(plans: Compared, name: str, seasons: int) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the second table: a queue in worlds that are not as assumed."""
    for label, sowings in plans.by_name().items():
        short = [
            live_here(plans.here, sowings, seasons, noise, pace).short(plans.weeks)
            for noise, pace in WORLDS.values()
        ]
        yield (name, label, *("{:.2f} ± {:.2f}".format(*result) for result in short))


def without_luck(plans: Compared, name: str) -> tuple[str, ...]:
    """Return the row of the third table: a queue that has no luck, good or bad."""
    named = plans.by_name()
    compared = [sowings_of(middle_of(plans.maker), plans.here), *(named[label] for label in NO_LUCK)]
    lived = [live_here(plans.here, sowings, 2, 0.0, losses=False) for sowings in compared]
    return (name, *(f"{its.short(plans.weeks)[0]:.2f}" for its in lived))


def print_row(cells: Iterable[str]) -> None:
    """Print a row of a table."""
    print("| " + " | ".join(cells) + " |", flush=True)


def print_table(head: Sequence[str], words: int, rows: Iterable[Iterable[str]]) -> None:
    """Print a table whose first columns are words, the others numbers."""
    print()
    print_row(head)
    print_row([*["---"] * words, *["---:"] * (len(head) - words)])
    for row in rows:
        print_row(row)


def main() -> None:
    """Print all tables."""
    seasons = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    tables, _ = read_crop_tables(None)
    assert tables is not None
    all_plans = {}
    for name, weeks in (WEEKS | HELD_OUT).items():
        if name in (sys.argv[2:] or [name]):
            space = luck_space(name, tables)
            all_plans[name] = compared(space, tables, ground(space, tables), weeks)
    print_table(
        ("space", "sowings", "grower", "short", "than usual", "surplus", "cells then", "all cells", "before"),
        3,
        (row for name, plans in all_plans.items() for row in by_habit(plans, name, seasons)),
    )
    print_table(
        ("space", "sowings", *WORLDS),
        2,
        (row for name, plans in all_plans.items() for row in by_world(plans, name, seasons)),
    )
    print_table(
        ("space", "best without luck", *NO_LUCK),
        1,
        (without_luck(plans, name) for name, plans in all_plans.items()),
    )


if __name__ == "__main__":
    main()
