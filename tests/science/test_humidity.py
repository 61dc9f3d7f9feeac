"""Vapour pressure, dew point and deficit against printed examples."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.science.humidity import deficit_kpa, dew_point_c, saturation_kpa, vapour_kpa
from tests.support.depth import examples


@pytest.mark.parametrize(
    ("air_c", "kpa"),
    [(15.0, 1.705), (24.5, 3.075), (18.0, 2.064), (25.0, 3.168)],
)
def test_saturation_as_printed(air_c, kpa):
    """Allen et al. 1998 (FAO-56), examples 3 (15 and 24.5 C) and 5 (18 and 25 C), three decimals."""
    assert round(float(saturation_kpa(air_c)), 3) == kpa


def test_the_vapour_and_deficit_of_a_day_as_printed():
    """FAO-56, examples 5 and 6: 18 C at 82 % and 25 C at 54 % make 1.70 kPa in the mean, and lack 0.91."""
    air_c, humidity = [18.0, 25.0], [82.0, 54.0]
    assert round(float(vapour_kpa(air_c, humidity).mean()), 2) == 1.70
    assert round(float(deficit_kpa(air_c, humidity).mean()), 2) == 0.91


@pytest.mark.parametrize(("air_c", "percent"), [(17.5, 100), (25.0, 65), (30.0, 50)])
def test_the_humidity_of_the_same_water_in_warmer_air(air_c, percent):
    """15 g of water in a m3 of air, by E. Nederhoff, "Humidity in Greenhouses" (HortResearch), terminology.

    The printed figures are whole percents, round ones at that: two percent either way. Vapour is an ideal gas
    with 461.5 J/kgK.
    """
    kpa = 0.015 * 461.5 * (air_c + 273.15) / 1000
    assert 100 * kpa / float(saturation_kpa(air_c)) == pytest.approx(percent, abs=2)


@given(st.floats(0, 45), st.floats(5, 100))
@settings(max_examples=examples(60), derandomize=True, deadline=None)
def test_air_at_its_dew_point_is_saturated(air_c, humidity):
    """The dew point undoes saturation, and is never above the air; at 100 % it is the air's."""
    vapour = vapour_kpa(air_c, humidity)
    dew = dew_point_c(vapour)
    assert saturation_kpa(dew) == pytest.approx(float(vapour))
    assert dew <= air_c + 1e-9
    assert dew_point_c(vapour_kpa(air_c, 100)) == pytest.approx(air_c)


def test_what_cannot_be():
    """Humidity beyond 100 % is a mistake of the caller; dry air has no dew."""
    with pytest.raises(ValueError, match="0 to 100"):
        vapour_kpa(20, 101)
    assert np.isneginf(dew_point_c(0.0))
