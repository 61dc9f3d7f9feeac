"""Cures, each done as told with ``--set`` by the code that reads a space: it mends what it said."""

import re
from itertools import pairwise
from pathlib import Path

import misfits
import pytest
from depth import few_of

from cropcal.planning.cures.search import ORDER, cures
from cropcal.planning.cures.trial import beds_allowed
from cropcal.planning.growth.cautions import wanted_crops
from cropcal.planning.growth.suitability import VERDICTS, suitabilities
from cropcal.planning.site.bed_light import bed_lights
from cropcal.records.cure import Cure
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


@pytest.mark.parametrize("seed", few_of(range(MISFITS), 12))
def test_each_cure_done_as_told_mends_what_it_said_and_harms_whom_it_said(tmp_path, seed):
    path = written(tmp_path, misfits.misfit(seed))
    now = Judged(path)
    before = now.best()
    for cure in now.cures():
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


def test_most_misfits_are_invented_and_mended(tmp_path):
    misfit, mended = 0, 0
    for seed in range(0, MISFITS, 7):
        now = Judged(written(tmp_path, misfits.misfit(seed)))
        bad = {crop for crop, rank in now.best().items() if rank}
        misfit += len(bad)
        mended += len(bad & {cure.crop for cure in now.cures()})
    assert misfit >= 8
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
HIGH = "watts = 120\nlamp_to_canopy_m = 0.6\nppf_umol_s = 230"
DIM = "watts = 60\nlamp_to_canopy_m = 0.4\nppf_umol_s = 130"


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


@pytest.mark.parametrize("kind", ["height", "watts"])
def test_no_cm_and_no_five_watts_less_would_do(tmp_path, kind):
    lamp = {"height": "watts = 100\nlamp_to_canopy_m = 0.6\nppf_umol_s = 190", "watts": DIM}[kind]
    hours = {"height": 12, "watts": 20}[kind]
    path = written(tmp_path, rack(lamp, f"photoperiod_h = {hours}"))
    cure = next(cure for cure in Judged(path).cures() if [step.kind for step in cure.steps] == [kind])
    step = cure.steps[0]
    assert Judged(path, cure.settings).verdict("basil", "box") == cure.verdict_after == "ok"
    if kind == "height":
        fewer: tuple[str, ...] = (one_smaller(cure.settings[0], 0.01, step.before),)
    else:
        share = (step.after - 5) / step.before
        fewer = (f"fixture.rack.watts={60 * share:.3f}", f"fixture.rack.ppf_umol_s={130 * share:.3f}")
    assert Judged(path, fewer).verdict("basil", "box") != "ok"


def test_steps_come_in_their_order_and_what_costs_watts_last(tmp_path):
    seen = 0
    for seed in range(12):
        found = Judged(written(tmp_path, misfits.misfit(seed))).cures()
        for first, second in pairwise(found):
            if (first.crop, first.bed) == (second.crop, second.bed):
                seen += 1
                kinds = [{step.kind for step in cure.steps} for cure in (first, second)]
                assert "watts" not in kinds[0] or "watts" in kinds[1]
                if ("watts" in kinds[0]) == (
                    "watts" in kinds[1]
                ) and first.verdict_after == second.verdict_after:
                    assert len(kinds[0]) <= len(kinds[1])
    assert seen
    assert ORDER[0] == "hours"
    assert ORDER[-1] == "watts"


def test_a_lamp_is_never_lowered_into_the_leaves(tmp_path):
    for seed in range(20):
        now = Judged(written(tmp_path, misfits.misfit(seed)))
        tall = {crop.slug: crop.height_cm / 100 for crop in now.crops}
        for cure in now.cures():
            for step in cure.steps:
                if step.kind == "height" and step.after < step.before:
                    assert step.after >= tall[cure.crop] + 0.05 - 1e-9, cure


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
    alone = written(tmp_path, rack(FAIR, "photoperiod_h = 12", "basil"))
    kinds = {step.kind for cure in Judged(alone).cures() for step in cure.steps}
    assert "hours" in kinds
    both = written(
        tmp_path,
        rack(FAIR, "photoperiod_h = 12", "basil cilantro"),
    )
    for cure in Judged(both).cures():
        longer = any(step.kind == "hours" and step.after > 14 for step in cure.steps)
        assert not longer or cure.harms
