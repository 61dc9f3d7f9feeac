"""Cures, each done as told with ``--set`` by the code that reads a space: it mends what it said."""

import json
import re
from itertools import pairwise
from pathlib import Path

import misfits
import pytest
from depth import few_of

from cropcal.planning.cures.search import cures
from cropcal.planning.cures.trial import beds_allowed
from cropcal.planning.growth.cautions import wanted_crops
from cropcal.planning.growth.suitability import VERDICTS, suitabilities
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.lamp_light import CLEAR_OF_LAMP_M
from cropcal.records.fit import Cure
from cropcal.season.opened import opened

MISFITS = 50


class Judged:
    """A space read from its file with tried values, and its verdicts, as `cropcal light` has them."""

    def __init__(self, path: Path, sets: tuple[str, ...] = ()) -> None:
        now = opened(path, sets)
        self.space, self.tables = now.ready(), now.tables
        self.crops = wanted_crops(self.space, self.tables)
        self.lights = bed_lights(self.space, self.tables)
        self.fits = suitabilities(self.space, self.lights, self.crops)

    def verdict(self, crop: str, bed: str) -> str:
        """Return the verdict of a crop in a bed."""
        return next(fit.verdict for fit in self.fits if (fit.crop, fit.bed) == (crop, bed))

    def best(self) -> dict[str, int]:
        """Return how badly each crop does in its best bed of those in which it may grow."""
        return {
            crop.slug: min(VERDICTS.index(self.verdict(crop.slug, bed)) for bed in beds)
            for crop in self.crops
            if (beds := beds_allowed(self.space, crop))
        }

    def cures(self) -> tuple[Cure, ...]:
        """Return the cures that are told of it."""
        return cures(self.space, self.tables, self.lights, self.fits).cures


def written(folder: Path, text: str) -> Path:
    """Return the path of a space file with that text."""
    path = folder / "space.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("seed", few_of(range(MISFITS), 3))
def test_each_cure_done_as_told_mends_what_it_said_and_harms_whom_it_said(tmp_path, seed):
    path = written(tmp_path, misfits.misfit(seed))
    now = Judged(path)
    before, found = now.best(), now.cures()
    assert_ordered(found)
    for cure in found:
        assert_clear_of_lamp(now, cure)
        then = Judged(path, cure.settings)
        after = then.best()
        if cure.steps[0].kind == "bed":
            assert VERDICTS[after[cure.crop]] == cure.verdict_after, cure
        else:
            assert then.verdict(cure.crop, cure.bed) == cure.verdict_after, cure
        assert VERDICTS.index(cure.verdict_after) < VERDICTS.index(cure.verdict_before), cure
        assert cure.verdict_after in ("ok", "slow"), cure
        worse = {crop for crop in after if crop != cure.crop and after[crop] > before[crop]}
        assert worse == {fit.crop for fit in cure.harms}, cure


def assert_ordered(found: tuple[Cure, ...]) -> None:
    """Assert that of two cures of a crop the first is the smaller, and that what takes watts comes last."""
    for first, second in pairwise(found):
        if (first.crop, first.bed) != (second.crop, second.bed):
            continue
        kinds = [{step.kind for step in cure.steps} for cure in (first, second)]
        assert "watts" not in kinds[0] or "watts" in kinds[1]
        if ("watts" in kinds[0]) == ("watts" in kinds[1]) and first.verdict_after == second.verdict_after:
            assert len(kinds[0]) <= len(kinds[1])


def assert_clear_of_lamp(now: Judged, cure: Cure) -> None:
    """Assert that no lamp is lowered into the leaves of the crop."""
    height_m = next(crop.height_cm for crop in now.crops if crop.slug == cure.crop) / 100
    for step in cure.steps:
        if step.kind == "height" and step.after < step.before:
            assert step.after >= height_m + CLEAR_OF_LAMP_M - 1e-9


@pytest.mark.parametrize("first", few_of(range(0, MISFITS, 10), 0))
def test_most_misfits_are_mended(tmp_path, first):
    misfit, mended = 0, 0
    for seed in range(first, first + 10):
        now = Judged(written(tmp_path, misfits.misfit(seed)))
        bad = {crop for crop, rank in now.best().items() if rank}
        misfit += len(bad)
        mended += len(bad & {cure.crop for cure in now.cures()})
    assert misfit >= 10
    assert mended >= 0.7 * misfit


def rack(lamp: str, zone: str = "photoperiod_h = 14", wants: str = "basil", beds: str = "") -> str:
    """Return a rack of one box under one lamp."""
    asked = "".join(f'[[want]]\ncrops = ["{crop}"]\nper_week = 40\nunit = "g"\n' for crop in wants.split())
    return f"""
[place]
name = "hall"
timezone = "Europe/Vienna"
[[zone]]
name = "rack"
length_m = 1.2
width_m = 0.5
{zone}
[[bed]]
name = "box"
zone = "rack"
rows = 2
columns = 6
length_m = 1.1
width_m = 0.4
{beds}
[[fixture]]
zone = "rack"
{lamp}
[plan]
start = 2027-01-11
weeks = 12
{asked}
[tariff]
currency = "EUR"
[[tariff.rate]]
name = "day"
per_kwh = 0.3
"""


FAIR = "watts = 120\nlamp_to_canopy_m = 0.4\nppf_umol_s = 230"
HIGH = "watts = 70\nlamp_to_canopy_m = 0.7\nppf_umol_s = 150"
DIM = "watts = 24\nlamp_to_canopy_m = 0.36\nppf_umol_s = 52"


def one_smaller(setting: str, unit: float, now: float) -> str:
    """Return a setting with its number one unit nearer to what it is now."""
    key, value = setting.split("=")
    number = float(value)
    return f"{key}={number - unit if number > now else number + unit:g}"


@pytest.mark.parametrize("hours", [9, 10, 11, 12.5])
def test_no_quarter_hour_less_would_do(tmp_path, hours):
    path = written(tmp_path, rack(FAIR, f"photoperiod_h = {hours}"))
    now = Judged(path)
    assert now.verdict("basil", "box") == "slow"
    cure = next(cure for cure in now.cures() if [step.kind for step in cure.steps] == ["hours"])
    assert cure.verdict_after == "ok"
    assert Judged(path, cure.settings).verdict("basil", "box") == "ok"
    less = one_smaller(cure.settings[0], 0.25, hours)
    assert Judged(path, (less,)).verdict("basil", "box") == "slow"


def test_no_cm_less_would_do(tmp_path):
    path = written(tmp_path, rack(HIGH, "photoperiod_h = 14\nwall_reflectance = 0.8"))
    cure = next(cure for cure in Judged(path).cures() if [step.kind for step in cure.steps] == ["height"])
    assert Judged(path, cure.settings).verdict("basil", "box") == cure.verdict_after == "ok"
    less = one_smaller(cure.settings[0], 0.01, cure.steps[0].before)
    assert Judged(path, (less,)).verdict("basil", "box") == "slow"


def test_no_five_watts_less_would_do(tmp_path):
    path = written(tmp_path, rack(DIM, "photoperiod_h = 16\nwall_reflectance = 0.8"))
    cure = next(cure for cure in Judged(path).cures() if [step.kind for step in cure.steps] == ["watts"])
    assert Judged(path, cure.settings).verdict("basil", "box") == cure.verdict_after == "ok"
    share = (cure.steps[0].after - 5) / cure.steps[0].before
    less = (f"fixture.rack.watts={24 * share:.3f}", f"fixture.rack.ppf_umol_s={52 * share:.3f}")
    assert Judged(path, less).verdict("basil", "box") == "slow"


def test_lowering_a_lamp_scales_what_was_read_under_it(tmp_path):
    read = '[[reading]]\nbed = "box"\numol_m2_s = [[170, 150]]\n'
    path = written(
        tmp_path,
        rack(HIGH, "photoperiod_h = 12", beds=read),
    )
    cure = next(cure for cure in Judged(path).cures() if cure.steps[0].kind == "height")
    assert any(re.match(r"reading\.box\.umol_m2_s=\[\[", setting) for setting in cure.settings)
    then = Judged(path, cure.settings)
    assert then.lights[0].ppfd_umol_m2_s > Judged(path).lights[0].ppfd_umol_m2_s
    assert then.verdict("basil", "box") == "ok"
    factor = then.lights[0].check
    assert factor is not None
    assert factor.ratio == pytest.approx(Judged(path).lights[0].check.ratio, rel=0.01)


def test_a_longer_day_is_no_cure_where_another_crop_bolts(tmp_path):
    alone = Judged(written(tmp_path, rack(FAIR, "photoperiod_h = 10"))).cures()
    assert [step.kind for step in alone[0].steps] == ["hours"] or alone[0].steps[0].kind == "walls"
    assert any(step.kind == "hours" and step.after > 13 for cure in alone for step in cure.steps)
    both = Judged(written(tmp_path, rack(FAIR, "photoperiod_h = 10", "basil", SPINACH)))
    assert both.verdict("spinach-baby", "tray") in ("ok", "slow")
    for cure in both.cures():
        longer = any(step.kind == "hours" and step.after > 13 for step in cure.steps)
        assert not longer or cure.harms


SPINACH = """
[[bed]]
name = "tray"
zone = "rack"
kind = "tray"
rows = 1
columns = 2
length_m = 0.3
width_m = 0.05
[[want]]
crops = ["spinach-baby"]
per_week = 40
unit = "g"
"""


@pytest.mark.parametrize("name", ['a "b".c=1 [2]', "o'clock", "3", "rack.lit", "ständer = x"])
def test_a_cure_finds_its_zone_under_any_name(tmp_path, name):
    quoted = json.dumps(name, ensure_ascii=False)
    text = rack(FAIR, "photoperiod_h = 9\nwall_reflectance = 0.8").replace('"rack"', quoted)
    path = written(tmp_path, text)
    found = Judged(path).cures()
    assert found
    for cure in found:
        assert Judged(path, cure.settings).verdict("basil", "box") == cure.verdict_after
