"""A little more light or less changes little: round a crop's least, hours, days and cost move smoothly."""

from datetime import date
from itertools import pairwise

import pytest
from depth import few_of

from cropcal.planning.photoperiod.fill_hours import zone_case
from cropcal.planning.power.quarter_hour_prices import quarter_prices
from cropcal.planning.site.bed_light import bed_lights
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space_text
from cropcal.records.hours import SUITS

SHELF = """
[place]
timezone = "UTC"

[[zone]]
name = "shelf"
length_m = 1.0
width_m = 0.5
air_c = 20
{fan}

[[bed]]
name = "box"
zone = "shelf"
{kind}
sites = 8

[[fixture]]
zone = "shelf"
watts = 90

[[reading]]
bed = "box"
umol_m2_s = [[{ppfd}]]

[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.3

[plan]
start = 2027-01-04
weeks = 26

[[want]]
crops = ["{crop}"]
"""
TABLES = read_crop_tables(None)[0]


def pick_at(crop, ppfd):
    """Return the hours picked for one crop under some light, their cost, days to harvest, how they suit."""
    kind = 'kind = "tray"' if TABLES.crops[crop].kind in ("tray", "shoots") else ""
    text = SHELF.format(crop=crop, ppfd=ppfd, kind=kind, fan="air_moving = true")
    space, problems = read_space_text(text, TABLES, today=date(2027, 1, 4))
    assert problems == []
    case = zone_case(space, TABLES, bed_lights(space, TABLES), space.zones[0], quarter_prices(space))
    judged, place = case.judged, case.place
    hours, cost = case.on.lit_h[place[1]], case.on.money[place[1]]
    return hours, cost, judged.days[0][place], SUITS[judged.codes[0][place]]


@pytest.mark.parametrize(
    ("crop", "hours"),
    few_of(
        [
            ("lettuce-butterhead", 16),
            ("spinach-baby", 13),
            ("lettuce-butterhead", 20),
            ("basil", 16),
            ("kale", 16),
            ("microgreens-brassica", 16),
            ("spinach-baby", 20),
            ("cilantro", 12),
        ],
        1,
    ),
)
def test_round_the_least_light_nothing_jumps(crop, hours):
    """From 80 to 120 % of the light that brings the least tested in some hours, by steps of 2 %."""
    least = TABLES.crops[crop].dli_min_mol_m2_d / (hours * 0.0036)
    picks = [pick_at(crop, least * percent / 100) for percent in range(80, 121, 2)]
    for (hours_h, cost, days, suit), (next_h, next_cost, next_days, next_suit) in pairwise(picks):
        assert {suit, next_suit} <= {"slow", "right"}
        assert abs(next_h - hours_h) <= 1
        assert next_cost == pytest.approx(cost, rel=0.08)
        assert 0.97 * days <= next_days <= 1.02 * days
