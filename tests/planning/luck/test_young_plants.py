"""Bought young plants in drawn seasons: nobody sells a seedling that has not come up."""

from datetime import date
from pathlib import Path

import numpy as np

from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.same_sowings import SEASONS, Comparison
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space

EXAMPLE = Path(__file__).resolve().parents[3] / "examples" / "millbrook"


def test_young_plants_have_leaves_in_every_season():
    """Slow emergence and a young age: at the least they are as large as when they come up."""
    tables = read_crop_tables(None)[0]
    space, _ = read_space(EXAMPLE, tables, today=date(2026, 12, 1))
    wants = tuple(
        want.model_copy(update={"plugs": True, "plug_age_d": 8}) if want.crops == ("basil",) else want
        for want in space.wants
    )
    space = space.model_copy(update={"wants": wants})
    comparison = Comparison(prepare(space, tables), tables, {}, ())
    scene = comparison.scene(comparison.ready.space, SEASONS)
    kinds = [
        kind
        for kind, option in zip(scene.stage.world.kinds, scene.options, strict=True)
        if option.grown.plug_age_d is not None
    ]
    assert kinds
    assert all(np.all(kind.start_g > 0) for kind in kinds)
