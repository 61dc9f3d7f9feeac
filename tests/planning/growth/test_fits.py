"""Verdicts on crop and bed: ok, slow, risk, no, each with its reason and its cure."""

import pytest

from cropcal.planning.growth.crop_in_bed import CropInBed
from cropcal.planning.growth.suitability import suitability
from cropcal.planning.site.air import zone_air
from cropcal.records.plan import BedLight
from cropcal.records.space import Bed, Zone


@pytest.fixture
def verdict(tables):
    """Return a function: crop, PPFD, hours -> verdict, in a zone that may be changed."""

    def judge(slug, ppfd, hours, headroom_m=None, **zone):
        given = {"name": "z", "length_m": 1.0, "width_m": 1.0, "photoperiod_h": hours, "air_c": 20.0}
        light = BedLight(
            bed="b", zone="z", source="readings", how="", sd_ln=0.05,
            photoperiod_h=hours, site_ppfd_umol_m2_s=(float(ppfd),),
        )  # fmt: skip
        bed = Bed(name="b", zone="z", headroom_m=headroom_m)
        place = Zone(**(given | zone))
        return suitability(CropInBed(tables.crops[slug], light, place, bed, zone_air(place, ())))

    return judge


def test_hours_that_would_do_are_named(verdict):
    """At 200 umol, 12 h give 8.64 mol: 17 mol would take 236 umol for 20 h (17 / (20 x 0.0036))."""
    found = verdict("lettuce-butterhead", 200, 12.0, air_moving=True)
    assert found.verdict == "slow"
    assert "8.6 mol a day" in found.why
    assert "12 mol needs 16.7 h at this light" in found.cure
    assert "17 mol is out of reach by hours: 236 µmol for 20 h" in found.cure


def test_enough_light_is_ok(verdict):
    """15 mol a day is within what a butterhead lettuce likes, with a fan over it."""
    assert verdict("lettuce-butterhead", 260, 16.0, air_moving=True).verdict == "ok"


def test_still_air_lowers_the_ceiling(verdict):
    """15.6 mol in still air burns the tips of heading lettuce; a fan is the first cure named.

    Gavhane et al. 2023 and Pennisi et al. 2020 both put the useful ceiling at 11.5-14.4 mol.
    """
    found = verdict("lettuce-butterhead", 270, 16.0, air_moving=False)
    assert found.verdict == "risk"
    assert found.cure.startswith("a small fan")


def test_spinach_bolts_in_a_long_day(verdict):
    """Of spinach raised at 16 h over 85 % bolted, at 10 h none (Chun et al. 2001, HortScience 36:889)."""
    assert verdict("spinach-baby", 250, 16.0).verdict == "risk"
    assert "bolts" in verdict("spinach-baby", 250, 16.0).why
    assert verdict("spinach-baby", 350, 10.0).verdict != "risk"


def test_too_dim_is_no(verdict):
    """A crop below the least light at which it was ever grown well is kept out of the bed."""
    found = verdict("lettuce-butterhead", 60, 12.0)
    assert found.verdict == "no"


def test_too_warm_is_no(verdict):
    """No light helps a crop in air above its highest temperature."""
    found = verdict("lettuce-butterhead", 250, 16.0, air_c=38.0)
    assert found.verdict == "no"
    assert "38 °C" in found.why


def test_headroom_is_looked_at(verdict):
    """A plant taller than its headroom grows into the lamp."""
    assert "headroom" in verdict("kale", 220, 16.0, headroom_m=0.1, air_moving=True).why


def test_no_light_at_all_is_told(verdict):
    """A dark bed gives a verdict, not a division by zero."""
    assert verdict("basil", 0, 16.0).verdict == "no"
