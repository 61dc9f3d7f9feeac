"""Whether the chances that a plan gives come true in a world that is not the planner's."""

import re
from importlib import import_module
from pathlib import Path

import pytest

from cropcal.planning.choices import CHOICES
from cropcal.reading.crops.read import read_crop_tables

SPACES = Path(__file__).resolve().parents[1] / "spaces"
WANTED = (1.0, 1.6)
"""Factors of what the file wants: the greater one asks for more than most of the spaces can bring."""
SEASONS = 200
NEAR = 0.07
"""Most by which what came may differ from a tenth of the chances, in the mean."""
ENOUGH = 200
"""Want-weeks from which a tenth is judged; neighbours with fewer are judged together."""


def wanting(factor: float, text: str) -> str:
    """Return the text of a space with so many times as much wanted a week."""
    return re.sub(r"(?<=per_week = )[\d.]+", lambda number: f"{factor * float(number[0]):g}", text)


@pytest.mark.deep
@pytest.mark.searched
def test_chances_come_true_by_tenths():
    """Over all spaces, with as much wanted and more, for the three choices of one search each.

    Growers go by queue. The table is printed (``pytest -m deep -s``). Of the two copies of the first example
    only one is planned.
    """
    world, choices = import_module("other_world"), import_module("other_choices")
    tables, _ = read_crop_tables(None)
    files = [*sorted((SPACES / "luck").glob("*.toml")), *sorted((SPACES / "plans").glob("*.toml"))]
    rows = []
    for file in files:
        if file.stem == "fridge-top":
            continue
        for factor in WANTED:
            space = world.space_of(wanting(factor, file.read_text("utf-8")), tables)
            here = world.ground(space, tables)
            plans = choices.maker_of(space, tables).chosen("usual").plans
            assert tuple(plans) == CHOICES
            for made in plans.values():
                rows += world.reliability(made.told.chance, world.live_here(here, made.realised, SEASONS))
    by_tenths = world.by_tenths(rows, SEASONS)
    print("\n| chance | want-weeks | seasons | promised | came |\n| ---: | ---: | ---: | ---: | ---: |")
    for low, high, weeks, seasons, promised, came in by_tenths:
        print(f"| {low:.1f} to {high:.1f} | {weeks} | {seasons} | {promised:.2f} | {came:.2f} |")
    judged = world.pooled(by_tenths, ENOUGH)
    assert len(judged) >= 4
    assert all(tenth.want_weeks >= ENOUGH for tenth in judged)
    off = {f"{tenth.low:.1f} to {tenth.high:.1f}": round(tenth.came - tenth.promised, 3) for tenth in judged}
    assert {where: by for where, by in off.items() if abs(by) > NEAR} == {}
