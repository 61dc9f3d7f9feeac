"""How fast and how well spaces are planned; ``pytest tests/benchmarks/bench_plan.py -p benchmark``."""

from datetime import date
from pathlib import Path

import pytest

from cropcal.planning.planner import plan
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space

PROJECT = Path(__file__).resolve().parents[2]
SPACES = [PROJECT / "examples" / "millbrook" / "space.toml"]
SPACES += sorted((PROJECT / "tests" / "spaces" / "plans").glob("*.toml"))
SPACES += sorted((PROJECT / "tests" / "spaces" / "large").glob("*.toml"))


@pytest.mark.parametrize("path", SPACES, ids=[path.stem for path in SPACES])
def test_plan(benchmark, path):
    """Plan a space, pictures and files left out; what it is expected to miss is printed beside the time."""
    tables, _ = read_crop_tables(None)
    space, _ = read_space(path, tables, today=date(2026, 12, 30))
    result = benchmark.pedantic(plan, args=(space, tables), rounds=3, warmup_rounds=1)
    benchmark.extra_info["expected_short_want_weeks"] = result.expected.short_want_weeks
    benchmark.extra_info["surplus_want_weeks"] = result.expected.surplus_want_weeks
