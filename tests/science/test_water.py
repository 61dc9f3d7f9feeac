"""Water: litres against printed examples; floods, tanks and stops against what cannot be otherwise."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.science import water
from tests.support.depth import examples

DRY = water.LETTUCE_DRY_SHARE

PRINTED = {
    # Barbosa et al. 2015, Int. J. Environ. Res. Public Health 12:6879, abstract: 41 kg a square metre and
    # year with 20 litres a kg, so 820 litres a square metre and year.
    "hydroponic greenhouse": (41_000.0, 820.0),
    # Carotti et al. 2023, Agric. Water Manag. 285:108365, abstract: grams of lettuce for a litre.
    "flooded and drained pots": (28.1, 1.0),
    "roots in mist": (52.9, 1.0),
    # Pennisi et al. 2019, Sci. Rep. 9:14127, abstract.
    "best of five red to blue ratios": (75.0, 1.0),
    # Gavhane et al. 2023, Sci. Rep. 13:10923, abstract.
    "iceberg at 11.5 mol": (71.0, 1.0),
}


@pytest.mark.parametrize("case", PRINTED)
def test_printed_water_lies_in_the_range(case):
    fresh_g, litres = PRINTED[case]
    low, middle, high = water.litres(fresh_g * DRY)
    assert low <= middle <= high
    assert low * 0.999 <= litres <= high * 1.004  # 28 stands for 28.1


def test_the_middle_is_that_of_the_hydroponic_greenhouse():
    fresh_g, litres = PRINTED["hydroponic greenhouse"]
    assert float(water.litres(fresh_g * DRY)[1]) == pytest.approx(litres, rel=0.01)


def test_small_lettuces_in_a_running_film_are_outside():
    """The range does not hold everything, and is not to be widened unseen: 20.4 g was printed too.

    Intermittent pumps in "Effectiveness of Water Use on The Growth of Grand Rapid Lettuce Plants (...) in an
    Artificial Light Vertical Hydroponic System", journal AGENT, Universitas Mataram, article 9045, abstract.
    """
    assert float(water.litres(20.4 * DRY)[2]) < 1.0


@settings(max_examples=examples(60))
@given(st.floats(0, 500), st.floats(0, 500))
def test_more_growth_never_takes_less_water(some, more):
    less, most = sorted((some, more))
    for low, high in zip(water.litres(less), water.litres(most), strict=True):
        assert low <= high


@settings(max_examples=examples(60))
@given(st.floats(0.01, 20), st.floats(0.01, 20), st.floats(1, 70), st.floats(0, 0.5), st.floats(0, 0.5))
def test_a_larger_pot_lasts_longer_and_a_thirstier_plant_shorter(pot, other, age, use, more):
    small, large = sorted((pot, other))
    less, most = sorted((use, more))
    soonest, latest = water.pump_stop_h(small, age, most)
    assert 0 < soonest <= latest
    for short, long in zip((soonest, latest), water.pump_stop_h(large, age, less), strict=True):
        assert short <= long * (1 + 1e-9)


@settings(max_examples=examples(60))
@given(st.floats(0.01, 20), st.floats(0.01, 20))
def test_a_larger_pot_is_flooded_less_often_and_longer(pot, other):
    small, large = sorted((pot, other))
    assert water.flood_every_h(small) <= water.flood_every_h(large)
    assert water.flood_minutes(small) <= water.flood_minutes(large)


def test_usual_floods():
    """Ten minutes every four hours for half a litre, within bounds for a plug and a bucket."""
    assert (float(water.flood_every_h(0.5)), float(water.flood_minutes(0.5))) == (4.0, 10.0)
    assert (float(water.flood_every_h(0.01)), float(water.flood_minutes(0.01))) == (1.5, 5.0)
    assert (float(water.flood_every_h(10.0)), float(water.flood_minutes(10.0))) == (8.0, 20.0)


@settings(max_examples=examples(60))
@given(st.floats(1, 500), st.floats(1, 500), st.floats(1e-6, 50), st.floats(1e-6, 50))
def test_a_bigger_tank_never_lasts_shorter(tank, other, use, more):
    small, large = sorted((tank, other))
    less, most = sorted((use, more))
    assert water.tank_days(small, most) <= water.tank_days(large, less)
    assert water.change_every_d(small, most) <= water.change_every_d(large, less)


def test_a_tank_of_which_nothing_is_used_lasts():
    assert water.tank_days(20.0, 0.0) == np.inf
    assert water.change_every_d(20.0, 0.0) == water.CHANGE_D[1]


def test_a_solution_is_stale_by_age_or_by_what_was_topped_up():
    week = np.full(7, 3.0)
    assert water.is_stale(7, week, 21.0)
    assert not water.is_stale(7, week, 22.0)
    assert not water.is_stale(6, np.full(6, 50.0), 20.0)
    assert water.is_stale(21, np.zeros(21), 20.0)


def test_a_stop_kills_none_before_the_first_wilts_and_seedlings_sooner():
    assert water.lost_share(5.0, 6.0, 20.0, 4) == 0.0
    assert water.lost_share(30.0, 6.0, 20.0, 4) == water.LOST_OF_WILTED[True]
    assert water.lost_share(30.0, 6.0, 20.0, 30) == water.LOST_OF_WILTED[False]
    assert 0 < water.lost_share(13.0, 6.0, 20.0, 4) < water.lost_share(18.0, 6.0, 20.0, 4)
