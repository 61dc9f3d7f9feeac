"""How fast the chance of every week is found; ``pytest tests/benchmarks/bench_chance.py -p benchmark``."""

from datetime import date
from pathlib import Path

from cropcal.planning import planner
from cropcal.planning import realise as drawn
from cropcal.planning.risk.simulation import DRAWS, chance_met
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "millbrook" / "space.toml"


def test_ten_thousand_drawings(benchmark, monkeypatch):
    """Draw the example's 25 weeks ten thousand times, the plan itself left out."""
    tables, _ = read_crop_tables(None)
    space, _ = read_space(EXAMPLE, tables, today=date(2026, 12, 30))
    asked = []
    monkeypatch.setattr(drawn, "chance_met", lambda *given: asked.append(given) or chance_met(*given))
    planner.plan(space, tables)
    lots, wanted, already, _ = asked[0]
    found = benchmark.pedantic(lambda: chance_met(lots, wanted, already), rounds=5, warmup_rounds=1)
    benchmark.extra_info["drawings"] = DRAWS
    assert found.shape == (len(space.wants), space.settings.weeks)
