"""Whether the chances that a plan gives come true in a world that is not the planner's."""

from importlib import import_module
from pathlib import Path

import pytest

from cropcal.planning.planner import SolveOptions, plan
from cropcal.reading.crops.read import read_crop_tables

SPACES = Path(__file__).resolve().parents[1] / "spaces"
SERVICES = (None, 0.6, 0.9)
SEASONS = 200
NEAR = 0.07
"""Most by which a tenth of the chances may be off: 200 want-weeks tell a share to about half of that."""
ENOUGH = 200
"""Want-weeks from which a tenth is judged."""
EFFORT = SolveOptions(time_limit_s=8.0, gap=0.05)


@pytest.mark.deep
def test_chances_come_true_by_tenths():
    """Over all spaces, planned for the middle and for two chances asked for; growers go by queue.

    The example of the plans is one of the four spaces of luck already. Prints its table.
    """
    world = import_module("other_world")
    tables, _ = read_crop_tables(None)
    files = [*sorted((SPACES / "luck").glob("*.toml")), *sorted((SPACES / "plans").glob("*.toml"))]
    rows = []
    for file in files:
        if file.stem == "fridge-top":
            continue
        for service in SERVICES:
            space = world.asked_for(file.read_text(encoding="utf-8"), tables, service)
            made = plan(space, tables, EFFORT)
            rows += world.reliability(made, world.live(made, space, tables, SEASONS))
    found = world.by_tenths(rows, SEASONS)
    print("\n| chance | want-weeks | seasons | said | came |\n| ---: | ---: | ---: | ---: | ---: |")
    for tenth in found:
        print(
            f"| {tenth.low:.1f} | {tenth.want_weeks} | {tenth.seasons} |"
            f" {tenth.told:.2f} | {tenth.came:.2f} |"
        )
    judged = [tenth for tenth in found if tenth.want_weeks >= ENOUGH]
    assert len(judged) >= 3
    assert {f"{tenth.low:.1f}": round(tenth.came - tenth.told, 3) for tenth in judged} == {
        f"{tenth.low:.1f}": pytest.approx(0.0, abs=NEAR) for tenth in judged
    }
