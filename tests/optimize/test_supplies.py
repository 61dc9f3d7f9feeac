"""How much a space could give week after week, worked out by hand for cases one can follow."""

from dataclasses import replace

import numpy as np
import pytest

from cropcal.optimize.programme import Columns
from cropcal.optimize.steady_state import alone, mix
from cropcal.planning.candidates.assessment import prospect
from cropcal.planning.candidates.steady_supply import _rounded, even_supply, nursery_gain


def one_way(want, days_on_site, amount, nursery_days=0):
    """Return a way sown on day 0, moved after the nursery, that holds a site for a number of days."""
    return (want, 0 if nursery_days else -1, nursery_days, nursery_days + days_on_site, amount)


def ways(*rows):
    count = len(rows)
    return Columns(
        want=np.array([row[0] for row in rows], dtype=np.int64),
        place=np.zeros(count, dtype=np.int64),
        nursery=np.array([row[1] for row in rows], dtype=np.int64),
        sown=np.zeros(count, dtype=np.int64),
        planted=np.array([row[2] for row in rows], dtype=np.int64),
        freed=np.array([row[3] for row in rows], dtype=np.int64),
        cost=np.ones(count),
        staleness=np.zeros(count),
        supply_column=np.arange(count),
        supply_week=np.zeros(count, dtype=np.int64),
        supply_amount=np.array([row[4] for row in rows], dtype=float),
    )


SITES, CELLS, NONE = np.array([12]), np.array([4]), np.array([], dtype=np.int64)


def test_little_s_law():
    """Twelve sites, each held for three weeks: four heads a week (sites = rate x time, Little 1961)."""
    assert alone(ways(one_way(0, 21, 1.0)), SITES, NONE, 1) == pytest.approx([4.0])


def test_a_part_week_holds_a_site_for_its_busiest_day():
    """Held for 22 days, four sowings overlap on one weekday: three heads a week, not 3.8."""
    assert alone(ways(one_way(0, 22, 1.0)), SITES, NONE, 1) == pytest.approx([3.0])


def test_the_nursery_may_be_the_limit():
    """Four cells, two weeks each: two heads a week, whatever the sites could hold."""
    assert alone(ways(one_way(0, 21, 1.0, nursery_days=14)), SITES, CELLS, 1) == pytest.approx([2.0])


def test_wants_with_a_number_come_first():
    """Two heads a week take six sites of twelve; the rest feeds the want that takes as much as fits."""
    both = ways(one_way(0, 21, 1.0), one_way(1, 14, 30.0))
    by_itself = alone(both, SITES, NONE, 2)
    assert by_itself == pytest.approx([4.0, 180.0])
    got = mix(both, SITES, NONE, np.array([2.0, 0.0]), np.ones(2), by_itself)
    assert got == pytest.approx([2.0, 90.0])


def test_shares_weigh_what_has_no_number():
    """Shares of 2 and 1, relative to what each could reach alone: two thirds and one third of the sites."""
    both = ways(one_way(0, 21, 1.0), one_way(1, 14, 30.0))
    got = mix(both, SITES, NONE, np.zeros(2), np.array([2.0, 1.0]), alone(both, SITES, NONE, 2))
    assert got == pytest.approx([4.0 * 2 / 3, 180.0 / 3])


def test_what_does_not_fit_is_met_in_part():
    """Eight heads a week where four fit: half of what is wanted."""
    one = ways(one_way(0, 21, 1.0))
    got = mix(one, SITES, NONE, np.array([8.0]), np.ones(1), alone(one, SITES, NONE, 1))
    assert got == pytest.approx([4.0])


def test_a_hopeless_want_takes_nothing_from_the_others():
    """Forty heads a week cannot be had from its own three sites; the want in the other bed is met whole."""
    apart = ways(one_way(0, 21, 1.0), one_way(1, 21, 1.0))
    apart.place[1] = 1
    sites = np.array([12, 3])
    by_itself = alone(apart, sites, NONE, 2)
    got = mix(apart, sites, NONE, np.array([3.0, 40.0]), np.ones(2), by_itself)
    assert got == pytest.approx([3.0, 1.0])


def test_wants_that_compete_share_the_shortage():
    """Two wants of four a week where four fit in all: neither goes without while the other is met whole."""
    both = ways(one_way(0, 21, 1.0), one_way(1, 21, 1.0))
    got = mix(both, SITES, NONE, np.array([4.0, 4.0]), np.ones(2), alone(both, SITES, NONE, 2))
    assert got == pytest.approx([2.0, 2.0])


def test_a_want_that_nothing_serves_gets_nothing():
    """No crop, no supply, no error."""
    one = ways(one_way(0, 21, 1.0))
    by_itself = alone(one, SITES, NONE, 2)
    assert by_itself[1] == 0.0
    assert mix(one, SITES, NONE, np.array([0.0, 3.0]), np.ones(2), by_itself)[1] == 0.0


@pytest.mark.parametrize(
    ("amount", "unit", "target"),
    [
        (1.97, "heads", 1.9),
        (0.58, "heads", 0.58),
        (0.049, "heads", 0.04),
        (178.0, "g", 170.0),
        (15.8, "g", 15.0),
    ],
)
def test_as_much_as_fits_loses_little_by_rounding(amount, unit, target):
    """Half a head a week is a head every second week; a small space keeps its few grams."""
    assert _rounded(amount, unit) == pytest.approx(target)


TWO_SHELVES = """
[[zone]]
name = "dim"
length_m = 0.8
width_m = 0.4
photoperiod_h = 16
air_c = 21
[[zone]]
name = "bright"
length_m = 0.8
width_m = 0.4
photoperiod_h = 16
air_c = 21
[[bed]]
name = "dim pots"
zone = "dim"
sites = 6
[[bed]]
name = "bright pots"
zone = "bright"
sites = 6
[[reading]]
bed = "dim pots"
umol_m2_s = [[60]]
[[reading]]
bed = "bright pots"
umol_m2_s = [[260]]
[plan]
start = 2027-01-04
weeks = 20
[[want]]
crops = ["lettuce-looseleaf"]
"""


def test_a_nursery_is_imagined_in_the_best_light(read_text, tables):
    """The first shelf is too dark for seedlings to be worth it; a nursery on the bright one is reported."""
    space = read_text(TWO_SHELVES)
    seen = prospect(space, tables)
    even = even_supply(space, seen.offers, seen.land)
    dim = replace(seen.land, places=tuple(place for place in seen.land.places if place.bed.zone == "dim"))
    assert nursery_gain(space, tables, dim, replace(even, alone=np.array([9.0]))) == ""
    assert "of Loose-leaf lettuce a week" in nursery_gain(space, tables, seen.land, even)
