"""Whether the chances that a plan gives come true in a world that is not the planner's."""

import re
from importlib import import_module
from itertools import product
from pathlib import Path

import pytest

from cropcal.planning.planner import SolveOptions, plan
from cropcal.reading.crops.read import read_crop_tables

SPACES = Path(__file__).resolve().parents[1] / "spaces"
SERVICES = (None, 0.7, 0.95)
WANTED = (1.0, 1.6)
"""Factors of what the file wants: the greater one asks for more than most of the spaces can bring."""
SEASONS = 200
NEAR = 0.07
"""Most by which what came may differ from a tenth of the chances, in the mean."""
ENOUGH = 200
"""Want-weeks from which a tenth is judged; neighbours with fewer are judged together."""
EFFORT = SolveOptions(time_limit_s=5.0)


def wanting(factor: float, text: str) -> str:
    """Return the text of a space with so many times as much wanted a week."""
    return re.sub(r"(?<=per_week = )[\d.]+", lambda number: f"{factor * float(number[0]):g}", text)


@pytest.mark.deep
def test_chances_come_true_by_tenths():
    """Over all spaces, with as much wanted and more, planned for the middle and for two chances asked for.

    Growers go by queue. The table is printed (``pytest -m deep -s``). Of the two copies of the first example
    only one is planned.
    """
    world = import_module("other_world")
    tables, _ = read_crop_tables(None)
    files = [*sorted((SPACES / "luck").glob("*.toml")), *sorted((SPACES / "plans").glob("*.toml"))]
    rows = []
    for file in files:
        if file.stem == "fridge-top":
            continue
        for factor, service in product(WANTED, SERVICES):
            space = world.asked_for(wanting(factor, file.read_text("utf-8")), tables, service)
            made = plan(space, tables, EFFORT)
            rows += world.reliability(made, world.live(made, space, tables, SEASONS))
    by_tenths = world.by_tenths(rows, SEASONS)
    print("\n| chance | want-weeks | seasons | promised | came |\n| ---: | ---: | ---: | ---: | ---: |")
    for low, high, weeks, seasons, promised, came in by_tenths:
        print(f"| {low:.1f} to {high:.1f} | {weeks} | {seasons} | {promised:.2f} | {came:.2f} |")
    judged = world.pooled(by_tenths, ENOUGH)
    assert len(judged) >= 4
    assert all(tenth.want_weeks >= ENOUGH for tenth in judged)
    off = {f"{tenth.low:.1f} to {tenth.high:.1f}": round(tenth.came - tenth.promised, 3) for tenth in judged}
    assert {where: by for where, by in off.items() if abs(by) > NEAR} == {}
