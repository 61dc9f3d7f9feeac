"""Growth against growers and prints that nothing was tuned to: six rooms, a hoophouse, young plants, days."""

import sys
from pathlib import Path

import numpy as np
import pytest

from cropcal.planning.growth.crop_constants import days_to_emerge, eps, seedling_g, temperature_factor
from cropcal.science import growth

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "studies"))
import printed_days
import six_rooms


@pytest.fixture(scope="module")
def rooms():
    """Return the six rooms of the Autonomous Greenhouse Challenge 2022, first experiment."""
    return six_rooms.six_rooms()


def test_the_growth_law_beats_plain_rules_in_six_rooms(rooms):
    """Dry mass, level from the other five rooms: 19 % (rms), by light so far 24 %, fixed days 27 %."""
    law = six_rooms.rms(six_rooms.by_law(rooms))
    by_light = six_rooms.rms(six_rooms.by_rule(rooms, light=True))
    fixed = six_rooms.rms(six_rooms.by_rule(rooms, light=False))
    assert law < 0.20
    assert law < by_light - 0.03 < fixed


def test_a_cold_forecast_of_six_rooms_is_not_off_on_the_whole(rooms):
    """Fresh mass without a journal: no more than a tenth off in the mean, 30 % for one weighing."""
    fresh = np.concatenate(six_rooms.cold_fresh(rooms))
    assert abs(np.mean(fresh)) < 0.10
    assert np.sqrt(np.mean(fresh**2)) < 0.30
    assert np.mean(np.abs(six_rooms.dry_day_errors(rooms))) < 4.0


def test_three_weighings_bring_the_day_nearer(rooms):
    """The day of the last fresh mass: after three weighings nearer than cold, on the mean of the rooms."""
    cold, learned = (np.abs(six_rooms.day_errors(rooms, count)).mean() for count in (0, 3))
    assert learned < cold


def test_young_plants_of_a_hoophouse(tables):
    """'Cherokee' in NFT, 53 heads: 0.84 g on day 21, 52 g on day 38, anchored at 135 g on day 45.

    LumiGrow and Cabrillo College 2018. Without a lag the forecast of day 21 is 5 g. It is still within a
    factor of 2.5 only: the light of the nursery was not noted, and seedlings grow slower in less.
    """
    crop = tables.crops["lettuce-batavia"]
    warm = float(temperature_factor(crop, 20.0))

    def grams(lag_d):
        young = crop.model_copy(update={"young_lag_d": lag_d, "name": f"{crop.name} {lag_d}"})
        c, k = growth.rates(eps(young, tables), 17.1, 22.0, warm)
        start = days_to_emerge(young, tables, 20.0) + lag_d / warm
        stage = ([[np.inf]], [[43.0]], [[float(c)]], [[float(k)]])
        dry = growth.mass_by_day([21, 38, 45], [start], [seedling_g(young)], *stage)[0]
        return dry / young.dry_matter

    day_21, day_38, day_45 = grams(crop.young_lag_d)
    assert day_45 == pytest.approx(135, rel=1e-6)
    assert day_38 / 52 == pytest.approx(1.6, abs=0.1)
    assert day_21 / 0.84 < 2.5
    assert grams(0.0)[0] / 0.84 > 5


def test_young_lettuce_grows_as_in_the_cabinet(tables):
    """From emergence to 0.2 g dry the mean relative rate is 0.35 a day at 22 C (Scaife 1973)."""
    crop = tables.crops["lettuce-butterhead"]
    c, k = growth.rates(eps(crop, tables), 17.0, 16.0, 1.0)
    grows_d = growth.days_between(seedling_g(crop), 0.2, c, k)
    rate = np.log(0.2 / seedling_g(crop)) / (crop.young_lag_d + float(grows_d))
    assert rate == pytest.approx(0.35, abs=0.03)


OUTSIDE = {
    "green-onion": "its reference harvest is a dense stand in a room with much CO2",
    "spinach-baby": "the same, and a day later than the longest print",
    "chives": "a day later than the longest print",
}


def test_days_from_seed_lie_within_print():
    """29 crops in an ordinary room, each at its own density, beside printed ranges; three lie outside."""
    rows = printed_days.table()
    assert len(rows) == 29
    assert {row.crop for row in rows if not row.inside} == set(OUTSIDE)
    for row in rows:
        assert row.low_d * 0.9 < row.own_d < row.high_d * 1.2, row
