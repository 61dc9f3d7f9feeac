"""The hours on the screen, as JSON and as a picture: what is said, and that nothing runs out of the page."""

import json
import re
from datetime import date

import pytest

from cropcal.records.hours import (
    CropHours,
    HoursAdvice,
    HoursChoice,
    HoursSpan,
    TimerLine,
    ZoneHours,
)
from cropcal.records.space import Assumption
from cropcal.show import text
from cropcal.show.data import hours_json
from cropcal.show.data import json_forms as as_json
from cropcal.show.pictures import photoperiod as hours_drawing
from cropcal.show.pictures.render import hours_png
from cropcal.show.pictures.shapes import Boxes, Strokes, TextLine
from cropcal.show.terminal import photoperiod as hours_screen


def a_choice(hours, **more):
    """Return a setting that begins at 20:00 and costs 0.5 EUR an hour of light."""
    given = {
        "photoperiod_h": hours,
        "lit": ((20 * 60, int(20 * 60 + hours * 60) % 1440 or 1440),),
        "output": 1.0,
        "day_seen_h": hours,
        "dli_mol_m2_d": 0.8 * hours,
        "kwh_per_month": 3.0 * hours,
        "cost_per_month": 0.5 * hours,
        "quiet_h_per_week": 0.0,
        "suits": {
            "cress": "right" if 10 <= hours <= 14 else "slow",
            "sorrel": "bolt" if hours > 13 else "right",
        },
        "harvest_days": {"cress": 200 / hours, "sorrel": 300 / hours},
        "per_week": {"cress": 10 * hours, "sorrel": hours / 4},
        "kwh_per_unit": {"cress": 0.02, "sorrel": 1.5},
        "cost_per_unit": {"cress": 0.004, "sorrel": 0.02 * hours},
        "problems": ("Sorrel: bolts",) if hours > 13 else (),
    }
    return HoursChoice(**{**given, **more})


def a_crop(slug, name, unit, *spans, longest=None):
    return CropHours(
        crop=slug, name=name, unit=unit, sites=6, longest_h=longest, longest_why="as printed",
        longest_source="Somebody 2001", chance=0.9, cheapest_h=10.0,
        spans=tuple(HoursSpan(from_h=a, to_h=b, suit=suit) for a, b, suit in spans),
    )  # fmt: skip


def an_advice(zone_name="porch", place="Test hall", **more):
    choices = tuple(a_choice(quarters / 4) for quarters in range(16, 97))
    pick = next(choice for choice in choices if choice.photoperiod_h == 12.5)
    given = {
        "zone": zone_name,
        "pick": pick,
        "now": a_choice(16.0, lit=((6 * 60, 22 * 60),), quiet_h_per_week=2.5),
        "choices": choices,
        "crops": (
            a_crop("cress", "Cress", "g", (4, 9.75, "slow"), (10, 14, "right"), (14.25, 24, "unknown")),
            a_crop("sorrel", "Sorrel", "heads", (4, 13, "right"), (13.25, 24, "bolt"), longest=13.0),
        ),
        "suits_all": True,
        "why": "the cheapest hours that suit everything wanted here",
        "pays": (),
        "cures": (),
        "warnings": ("keep the dark hours dark",),
        "quiet": ((13 * 60, 15 * 60),),
        "price_by_quarter": (0.1,) * 28 + (0.3,) * 68,
    }
    return HoursAdvice(
        place=place,
        currency="EUR",
        zones=(ZoneHours(**{**given, **more}),),
        timers=(TimerLine(zone=zone_name, start=date(2027, 1, 4), on=1200, off=510, output=0.8),),
        cautions=("do not look into the lamp",),
        assumptions=(Assumption(key="a", value="b", why="c"),),
    )


def test_the_screen_says_the_pick_the_cost_and_the_card():
    """Pick, hours of today with what they do wrong, each crop's own hours, and how to set the timer."""
    shown = hours_screen.photoperiod(an_advice())
    assert "pick   12.5 h, lamp on 20:00-08:30, 6.25 EUR a month; right for all" in shown
    today = (
        "now 16 h, lamp on 06:00-22:00, 8.00 EUR a month; slow: Cress; bolts: Sorrel; 2.5 h a week in quiet"
    )
    assert today in " ".join(shown.split())
    assert re.search(r"Cress +10-14 h +limit not known +\? +90%", shown)
    assert re.search(r"Sorrel +4-13 h +it bolts +13 h +90%", shown)
    assert re.search(r"> 12\.5 +20:00-08:30 +10\.0 +38 +6\.25 +right for all", shown)
    assert re.search(r"EUR/head +\*0\.16 +0\.20 +0\.24 +0\.25 +0\.28", shown)
    assert re.search(r"porch +Mon 4 Jan 2027 +20:00 +08:30 +80%", shown)
    assert 'to plan with these, lit = [["20:00",\n  "08:30"]]' in shown
    assert "do not look into the lamp" in shown
    assert "Cress: as printed (Somebody 2001)" in shown


def test_the_cheapest_head_that_the_crop_bears_is_marked():
    """Sorrel is cheapest at 8 h and bolts above 13; cress costs the same at all hours that do not slow it."""
    shown = hours_screen.photoperiod(an_advice())
    assert "*0.16" in shown
    bolted = an_advice(
        crops=(a_crop("sorrel", "Sorrel", "heads", (4, 13, "right"), (13.25, 24, "bolt")),),
        choices=tuple(a_choice(h, cost_per_unit={"sorrel": 5 - 0.1 * h}) for h in (8.0, 12.5, 16.0)),
    )
    assert "*3.75" in hours_screen.photoperiod(bolted)  # at 12.5 h; 3.40 at 16 h would have bolted


def test_no_line_is_wider_than_a_terminal():
    """Long names give way; only a table of numbers may be as wide as it must."""
    long = an_advice(zone_name="the shelf beside the door to the yard where the bins are " * 2)
    assert max(map(text.display_width, hours_screen.photoperiod(long).split("\n"))) <= text.WIDTH


def test_without_a_tariff_there_is_energy_and_no_money():
    """No price: kWh decide, and no column of dashes is shown."""
    free = {"cost_per_month": None, "cost_per_unit": {}}
    choices = tuple(a_choice(h, **free) for h in (8.0, 12.5))
    advice = an_advice(pick=choices[1], choices=choices, now=None, price_by_quarter=())
    shown = hours_screen.photoperiod(advice.model_copy(update={"currency": None}))
    assert "pick   12.5 h, lamp on 20:00-08:30; right for all" in shown
    assert "kWh/head" in shown
    assert "cost  drawbacks" not in shown
    assert hours_png(advice).startswith(b"\x89PNG")


def test_json_has_the_agreed_keys():
    """zones, pick with its why, choices: the keys that others read, times as HH:MM."""
    form = json.loads(as_json.dumps(hours_json.photoperiod(an_advice())))
    zone = form["zones"][0]
    assert {"photoperiod_h", "lit", "why"} <= set(zone["pick"])
    assert zone["pick"]["lit"] == [["20:00", "08:30"]]
    assert len(zone["choices"]) == 81
    keys = {"photoperiod_h", "lit", "dli_mol_m2_d", "kwh_per_month", "cost_per_month", "harvest_days"}
    assert keys | {"cost_per_unit", "problems"} <= set(zone["choices"][0])
    assert form["timers"] == [
        {"zone": "porch", "from": "2027-01-04", "on": "20:00", "off": "08:30", "output": 0.8}
    ]


def test_the_picture_shades_what_harms_and_marks_the_pick():
    """Sorrel bolts above 13 h: shaded from 13.125 to 24 h; a line is at 12.5 h, another at today's 16."""
    drawn = hours_drawing.drawing(an_advice())

    def x(hours):
        return hours_drawing.LEFT + (hours - 4) / 20 * (hours_drawing.RIGHT_EDGE - hours_drawing.LEFT)

    boxes = [box[:2] for shape in drawn.shapes if isinstance(shape, Boxes) for box in shape.boxes]
    assert any(box == pytest.approx((x(13.125), x(24))) for box in boxes)
    upright = {
        round(line[0][0], 6)
        for shape in drawn.shapes
        if isinstance(shape, Strokes)
        for line in shape.lines
        if line[0][0] == line[1][0]
    }
    assert {round(x(12.5), 6), round(x(16), 6)} <= upright
    words = [shape.text for shape in drawn.shapes if isinstance(shape, TextLine)]
    assert {"pick", "now", "bolts", "grows well", "limit not known", "6.25"} <= set(words)


def test_a_long_name_of_a_zone_leaves_room_for_its_hours():
    """The name is cut, never the hours."""
    words = [
        shape.text
        for shape in hours_drawing.drawing(an_advice("porch " * 13)).shapes
        if isinstance(shape, TextLine)
    ]
    assert any(said.endswith("…: 12.5 h a day, 20:00-08:30") for said in words)


def test_the_cost_of_a_short_day_stays_inside_the_curve():
    """A pick of 4 h is at the left edge: its cost is written to its right."""
    shapes = hours_drawing.drawing(an_advice(pick=a_choice(4.0), now=None)).shapes
    cost = next(shape for shape in shapes if isinstance(shape, TextLine) and shape.text == "2.00")
    assert cost.side == "left"


@pytest.mark.parametrize("place", ["Test hall", "x" * 80, ""])
def test_nothing_in_the_picture_leaves_the_page(place):
    """Every box and the start of every text lie within the page."""
    drawn = hours_drawing.drawing(an_advice(place=place, zone_name="y" * 80))
    for shape in drawn.shapes:
        if isinstance(shape, Boxes):
            for left, right, top, bottom in shape.boxes:
                assert 0 <= left < right <= drawn.width
                assert 0 <= top < bottom <= drawn.height
        if isinstance(shape, TextLine):
            assert 0 <= shape.x <= drawn.width
            assert 0 <= shape.y <= drawn.height
    assert hours_png(an_advice(place=place)).startswith(b"\x89PNG")
