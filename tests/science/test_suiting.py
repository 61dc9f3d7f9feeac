"""How hours suit a crop: one code for light, day length and air, and what most of its sites say."""

import numpy as np
import pytest

from cropcal.science import suiting
from cropcal.science.suiting import (
    Limits,
    chance_between,
    codes,
    dominant_code,
)

SPINACH = Limits(4, 8, 9.8, 17, 34, 13, 16, 2, 27, 24)
UNPRINTED = SPINACH._replace(longest_h=np.nan)


@pytest.mark.parametrize(
    ("dli", "seen", "mean", "top", "limits", "expected"),
    [
        (9.8, 13, 20, 22, SPINACH, suiting.RIGHT),
        (9.7, 10, 20, 22, SPINACH, suiting.SLOW),
        (7.9, 10, 20, 22, SPINACH, suiting.SLOW),  # below the least that was tested: no wall
        (3.9, 10, 20, 22, SPINACH, suiting.DARK),
        (12, 10, 20, 22, SPINACH, suiting.RIGHT),  # 10 h: 0 % bolted (Chun 2001, HortScience 36:889)
        (12, 16, 20, 22, SPINACH, suiting.BOLT),  # 16 h: over 85 % bolted (the same)
        (12, 16, 20, 22, UNPRINTED, suiting.RIGHT),
        (12, 16.25, 20, 22, UNPRINTED, suiting.UNKNOWN),
        (17.1, 10, 20, 22, SPINACH, suiting.BURN),
        (34.1, 10, 20, 22, SPINACH, suiting.GLARE),
        (12, 10, 24.1, 26, SPINACH, suiting.HOT),
        (12, 10, 20, 27, SPINACH, suiting.HOT),
        (12, 10, 27, 27, SPINACH, suiting.AIR),
        (12, 10, 2, 2, SPINACH, suiting.AIR),
        (7, 16, 27, 27, SPINACH, suiting.AIR),  # the gravest of several
    ],
)
def test_the_gravest_that_applies_is_told(dli, seen, mean, top, limits, expected):
    """Spinach: not worth it below 4 mol, grows well from 9.8, bolts above 13 h, quality falls above 24 C."""
    assert codes(dli, seen, mean, top, limits) == expected


@pytest.mark.parametrize(
    ("groups", "sites", "expected"),
    [
        ([suiting.DARK, suiting.RIGHT], [3, 5], suiting.RIGHT),
        ([suiting.DARK, suiting.RIGHT], [5, 3], suiting.DARK),
        ([suiting.DARK, suiting.RIGHT], [4, 4], suiting.DARK),
        ([suiting.SLOW, suiting.RIGHT], [4, 4], suiting.RIGHT),
        ([suiting.SLOW, suiting.BURN], [4, 4], suiting.BURN),
        ([suiting.DARK, suiting.BURN, suiting.RIGHT], [3, 2, 4], suiting.DARK),
        ([suiting.BURN, suiting.SLOW, suiting.BOLT], [2, 3, 2], suiting.BOLT),
        ([suiting.SLOW, suiting.UNKNOWN, suiting.RIGHT], [2, 2, 3], suiting.SLOW),
        ([suiting.UNKNOWN, suiting.RIGHT], [4, 3], suiting.UNKNOWN),
    ],
)
def test_what_holds_for_most_sites_holds_for_the_crop(groups, sites, expected):
    """A danger counts from half of the sites on, slowness on more than half."""
    assert dominant_code(np.array(groups, np.int8), sites) == expected


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (10, 1e9, 0.5),
        (10 / np.e**0.2, 10 * np.e**0.2, 0.6827),  # one sd either way: 68.27 % (any table of the normal)
        (10 / np.e**0.4, 10 * np.e**0.4, 0.9545),
        (10 * np.e ** (0.2 * 1.2816), 1e9, 0.10),
    ],
)
def test_chances_are_those_of_the_normal_table(low, high, expected):
    """Light known as 10 mol with a spread of 20 %."""
    assert chance_between(low, high, 10.0, 0.2) == pytest.approx(expected, abs=1e-4)
