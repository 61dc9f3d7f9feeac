"""A crop in a bed: it gets ready, its ranges make sense, and more of anything good never hurts."""

from dataclasses import replace

import numpy as np
import pytest

from cropcal.planning.growth.crop_constants import eps, home_ln_speed, temperature_factor
from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.growth.pace import Pace
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.science.growth import record_eps


def a_spot(**changes):
    given = {
        "bed": "b", "dli_mol_m2_d": 13.0, "sd_ln_light": 0.2, "photoperiod_h": 16.0, "air_c": 21.0,
        "air_moving": True, "co2_enriched": False, "site_area_m2": 0.03,
    }  # fmt: skip
    return GrowingConditions(**(given | changes))


NURSERY = a_spot(bed="n", site_area_m2=0.002)


def test_the_anchor_comes_out_again(tables):
    """In its own anchor conditions, at the book's speed, a crop is ready on its anchor day."""
    for crop in tables.crops.values():
        if crop.kind == "shoots" or crop.anchor_young_until_d is not None:
            continue
        spot = a_spot(
            dli_mol_m2_d=crop.anchor_dli_mol_m2_d,
            photoperiod_h=crop.anchor_photoperiod_h,
            air_c=crop.anchor_air_c,
            co2_enriched=True,
            site_area_m2=0.05 if crop.kind == "tray" else crop.plants_per_site / crop.anchor_plants_m2,
        )
        ready = grow(crop, tables, spot, None, Pace(ln_speed=-home_ln_speed(crop))).ready_d[1, 0]
        warm = temperature_factor(crop, crop.anchor_air_c)
        at_home = eps(crop, tables) * np.exp(home_ln_speed(crop))
        if at_home > record_eps(crop.anchor_dli_mol_m2_d, crop.anchor_photoperiod_h, warm):
            assert ready > crop.anchor_days, crop.slug
        else:
            assert ready == pytest.approx(crop.anchor_days, abs=1e-6), crop.slug


def test_every_crop_has_an_eps(tables):
    """The one number of each crop can be solved from its anchor."""
    for crop in tables.crops.values():
        if crop.kind != "shoots":
            assert np.isfinite(eps(crop, tables)), crop.slug


def test_a_range_holds_its_middle(tables):
    """Low, middle and high stand in that order for days and for grams."""
    grown = grow(tables.crops["basil"], tables, a_spot(), NURSERY)
    assert np.all(grown.ready_d[0] < grown.ready_d[1])
    assert np.all(grown.ready_d[1] < grown.ready_d[2])
    after = int(grown.ready_d[1, 0])
    assert grown.low[0, after] < grown.amount[0, after] < grown.high[0, after]


def test_worse_known_light_widens_the_range(tables):
    """The spread of the light travels into the harvest date."""
    lettuce = tables.crops["lettuce-looseleaf"]
    narrow = grow(lettuce, tables, a_spot(sd_ln_light=0.05), NURSERY).ready_d
    wide = grow(lettuce, tables, a_spot(sd_ln_light=0.5), NURSERY).ready_d
    assert (wide[2] - wide[0] > narrow[2] - narrow[0]).all()
    assert wide[1] == pytest.approx(narrow[1])


def test_more_light_is_faster_up_to_20_mol(tables):
    """No gain is promised above 20 mol without added CO2. Burnt leaf tips weigh as much: a fan adds none."""
    lettuce = tables.crops["lettuce-butterhead"]
    dim, good, most, more = (
        grow(lettuce, tables, a_spot(dli_mol_m2_d=dli), NURSERY).ready_d[1, 0]
        for dli in (9.0, 17.0, 20.0, 30.0)
    )
    assert more == most < good < dim
    still = grow(lettuce, tables, a_spot(dli_mol_m2_d=17.0, air_moving=False), NURSERY).ready_d[1, 0]
    assert still == good


def test_room_to_spare_beyond_what_a_plant_covers_brings_nothing(tables):
    """A lettuce in a room of its own grows like one that touches its neighbours; a crowded one is later."""
    lettuce = tables.crops["lettuce-butterhead"]
    crowded, book, wide, alone = (
        grow(lettuce, tables, a_spot(site_area_m2=1 / density), NURSERY).ready_d[1, 0]
        for density in (100, 38, 20, 1)
    )
    assert alone == pytest.approx(wide)
    assert wide < book < crowded


def test_frozen_or_scorched_seed_is_no_crop(tables):
    """Where nothing comes up or nothing grows there is no forecast instead of a wild one."""
    lettuce = tables.crops["lettuce-butterhead"]
    assert grow(lettuce, tables, a_spot(air_c=35.0), None) is None
    assert grow(lettuce, tables, a_spot(), replace(NURSERY, air_c=36.0)) is None


def test_shoots_live_on_their_seed(tables):
    """Pea shoots take fixed days and give a fixed mass for each gram of seed."""
    pea = tables.crops["pea-shoots"]
    grown = grow(pea, tables, a_spot(site_area_m2=0.1), None)
    assert grown.ready_d[1, 0] == pea.anchor_days
    assert grown.amount[0, 0] == round(pea.shoots_seed_g_m2 * 0.1 * pea.shoots_g_per_g_seed)
