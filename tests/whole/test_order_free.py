"""The same space gives the same plan, to the byte, however the rows of its files are ordered."""

import random
import re
from pathlib import Path

import pytest
from depth import few_of

from cropcal.planning.planner import SolveOptions, plan
from cropcal.show.data import csv_sheets as sheets
from cropcal.show.data import json_forms as as_json

SPACES = Path(__file__).resolve().parents[1] / "spaces"
SPACE = """
[place]
name = "Stairwell"
timezone = "Europe/Riga"

[[zone]]
name = "upper"
length_m = 0.9
width_m = 0.5
photoperiod_h = 16
air_c = 21
[[zone]]
name = "lower"
length_m = 0.9
width_m = 0.5
photoperiod_h = 16
air_c = 21

[[bed]]
name = "pots"
zone = "upper"
sites = 4
length_m = 0.6
width_m = 0.3
[[bed]]
name = "cups"
zone = "lower"
sites = 4
length_m = 0.6
width_m = 0.3
[[bed]]
name = "plugs"
zone = "lower"
kind = "nursery"
sites = 6
length_m = 0.2
width_m = 0.3

[[fixture]]
zone = "upper"
watts = 75
ppf_umol_s = 174
[[fixture]]
zone = "lower"
watts = 75
ppf_umol_s = 174

[plan]
start = 2027-01-04
weeks = 14
work_days = ["wed", "sat"]

[[want]]
crops = ["lettuce-looseleaf", "lettuce-butterhead"]
per_week = 1
[[want]]
crops = ["pak-choi"]
per_week = 0.5
[[want]]
crops = ["parsley", "dill"]
per_week = 15

[[chore]]
name = "rinse the filter"
every_days = 14
[[chore]]
name = "change the water"
every_days = 14
"""


def shuffled(text: str, seed: int) -> str:
    """Return a space file with its tables, the crops of each want and the work days in another order."""
    rng = random.Random(seed)
    parts = re.split(r"\n(?=\[)", text.strip())
    rng.shuffle(parts)

    def other(found: re.Match[str]) -> str:
        items = re.findall(r'"[^"]+"', found[2])
        rng.shuffle(items)
        return f"{found[1]}[{', '.join(items)}]"

    return re.sub(r"(crops = |work_days = )\[([^\]]*)\]", other, "\n".join(parts))


def files(space, tables) -> dict[str, str]:
    """Return what is written of a plan, the seconds it took and positions in the file left out."""
    made = plan(space, tables, SolveOptions(time_limit_s=300.0))
    assert made.outcome.status == "searched"
    assert made.searched is not None
    assert not made.searched.stopped
    made = made.model_copy(
        update={
            "assumptions": (),
            "outcome": made.outcome.model_copy(update={"seconds": 0.0}),
            "searched": made.searched.model_copy(update={"seconds": 0.0}),
        }
    )
    return {
        "plan.json": as_json.dumps(as_json.plan(made)),
        "jobs": sheets.jobs(made),
        "supply": sheets.supply(made),
        "sites": sheets.sites(made),
    }


@pytest.fixture(scope="module")
def first(read_text, tables) -> dict[str, str]:
    return files(read_text(SPACE), tables)


@pytest.mark.deep
def test_twice_in_a_row_the_files_are_the_same(first, read_text, tables):
    """Nothing is left to chance or to the clock."""
    assert files(read_text(SPACE), tables) == first


@pytest.mark.parametrize("seed", few_of([1, 2, 3], 1))
def test_the_order_of_the_file_decides_nothing(first, read_text, tables, seed):
    """Two beds in like light, two lamps, three wants: shuffled, also within, they give the same plan."""
    text = shuffled(SPACE, seed)
    assert text != SPACE.strip()
    assert files(read_text(text), tables) == first


@pytest.mark.deep
@pytest.mark.searched(screening=8, screens=2, deciding=16, sweeps=1, sweeps_more=0)
def test_nor_where_the_sowings_are_searched_for(read_text, tables):
    """The search tries the same changes, in the same order, however the file is ordered."""
    assert files(read_text(shuffled(SPACE, 4)), tables) == files(read_text(SPACE), tables)


def test_the_order_of_the_crop_table_decides_nothing(first, read_text, tables):
    """Crops in the reverse order are the same crops."""
    turned = tables.model_copy(update={"crops": dict(reversed(tables.crops.items()))})
    assert files(read_text(SPACE), turned) == first
