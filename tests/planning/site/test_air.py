"""The air of a zone: as given or warmed by the lamps, held against the crops' ceilings, and cured."""

import json
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.growth.crop_in_bed import crop_in_bed
from cropcal.planning.growth.suitability import suitabilities
from cropcal.planning.hazards import hazards
from cropcal.planning.site.air import cooling, room_notes, zone_air
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.growing_conditions import conditions_in
from cropcal.records.space import Fixture, Zone

BOX = """\
[place]
name = "lockside cupboard"
timezone = "Europe/Dublin"

[[zone]]
name = "cupboard"
length_m = 1.0
width_m = 0.625
photoperiod_h = 16
wall_reflectance = 0.9
air_moving = true
room_c = 20

[[bed]]
name = "tub"
zone = "cupboard"
rows = 2
columns = 4
headroom_m = 0.6

[[fixture]]
zone = "cupboard"
watts = 100
watts_from = "meter"

[plan]
start = 2027-01-04
weeks = 10

[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
"""A closed box of 1 x 0.625 x 0.8 m, 0.5 m3, with a lamp of 100 W."""


def a_zone(**changes):
    return Zone(**{"name": "z", "length_m": 1.0, "width_m": 0.5, "photoperiod_h": 16.0, **changes})


def a_lamp(watts, count=1, zone="z", standby=0.0):
    return Fixture(zone=zone, watts=watts, count=count, standby_watts=standby)


def cropcal(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


# ---- the two numbers


def test_given_temperatures_stand():
    """Lamps warm nothing where the file says how warm it is; the mean of 23 and 19 C for 16 h is 21.67."""
    air = zone_air(a_zone(lamp_on_air_c=23, lamp_off_air_c=19), [a_lamp(500)])
    assert (air.lamp_on_c, air.lamp_off_c) == (23, 19)
    assert air.mean_c == pytest.approx((23 * 16 + 19 * 8) / 24, rel=1e-12)
    assert zone_air(a_zone(air_c=21.3), [a_lamp(500)]).mean_c == 21.3


def test_lamps_warm_a_room():
    """Two lamps of 50 W, 30 m3/h (10 W/K) and 10 W/K of walls: 5 K while on, a third less all day."""
    zone = a_zone(room_c=18, fan_m3_h=30, loss_w_per_k=10)
    air = zone_air(zone, [a_lamp(50, count=2), a_lamp(400, zone="elsewhere")])
    assert (air.lamp_on_c, air.lamp_off_c) == pytest.approx((23, 18))
    assert air.mean_c == pytest.approx(18 + 5 * 16 / 24)


def test_a_lamp_that_is_off_may_warm_too():
    """Two drivers of 5 W on standby warm 20 W/K by 0.5 K through the night, and by no more in the day."""
    zone = a_zone(room_c=18, fan_m3_h=30, loss_w_per_k=10)
    air = zone_air(zone, [a_lamp(50, count=2, standby=5)])
    assert (air.lamp_on_c, air.lamp_off_c) == pytest.approx((23, 18.5))


def test_growth_and_verdicts_go_by_it(read_text, tables):
    """What a crop finds in a bed, and what is said of it, is the same warmed air."""
    space = read_text(BOX)
    (light,) = bed_lights(space, tables)
    crop = tables.crops["lettuce-butterhead"]
    mean = 20 + 100 / (2.8 * (2 * 1.625 * 0.8 + 0.625)) * 16 / 24
    assert conditions_in(space.beds[0], space, light).air_c == pytest.approx(mean, abs=0.02)
    assert crop_in_bed(space, crop, space.beds[0], light).air.mean_c == pytest.approx(mean, abs=0.02)


def test_the_warmed_air_is_told(read_text):
    """How warm it gets, from what, and which way that errs; of explicit temperatures nothing is said."""
    (note,) = room_notes(read_text(BOX))
    assert note.key == "air of cupboard"
    assert note.value == "31 °C with the lamp on, 20 °C off"
    assert "100 W" in note.why
    assert "too warm than too cool" in note.why
    assert room_notes(read_text(BOX.replace("room_c", "air_c"))) == ()
    unlit = BOX.replace('[[fixture]]\nzone = "cupboard"\nwatts = 100\nwatts_from = "meter"\n', "")
    unlit += '\n[[reading]]\nbed = "tub"\numol_m2_s = [[200, 200, 200, 200], [200, 200, 200, 200]]\n'
    assert "no lamp heat counted" in room_notes(read_text(unlit))[0].why


# ---- the cures


def in_words(read_text, tables, text):
    """Return verdict, why and cure as they are before cures are computed by trying them."""
    space = read_text(text)
    (fit,) = suitabilities(space, bed_lights(space, tables), (tables.crops["lettuce-butterhead"],))
    return fit


def test_a_box_that_is_too_warm_is_cured_through_the_file(read_text, tables):
    """Each cure that is named removes the warning when it is written into the file: fan, lamp, room."""
    told = in_words(read_text, tables, BOX)
    assert told.verdict == "risk"
    assert "quality falls above 24 °C" in told.why
    fan = re.search(r"a fan of about (\d+) m³/h", told.cure)[1]
    lamp = re.search(r"at most (\d+) W of lamp", told.cure)[1]
    room = re.search(r"a room of ([\d.]+) °C", told.cure)[1]
    for old, new, barely in (
        ("room_c = 20", f"room_c = 20\nfan_m3_h = {fan}", f"room_c = 20\nfan_m3_h = {int(fan) - 7}"),
        ("watts = 100", f"watts = {lamp}", f"watts = {int(lamp) + 2}"),
        ("room_c = 20", f"room_c = {room}", f"room_c = {float(room) + 0.7}"),
    ):
        assert "quality falls" not in in_words(read_text, tables, BOX.replace(old, new)).why, new
        assert "quality falls" in in_words(read_text, tables, BOX.replace(old, barely)).why, barely


def test_the_command_names_cures_that_end_the_heat(tmp_path):
    """Each cure of a warm box that ``light`` names, tried as it is typed, ends the warning."""
    (tmp_path / "space.toml").write_text(BOX, encoding="utf-8")
    cures = json.loads(cropcal("light", tmp_path, "--json").stdout)["cures"]
    assert cures
    for cure in cures:
        sets = [word for setting in cure["settings"] for word in ("--set", setting)]
        (fit,) = json.loads(cropcal("light", tmp_path, "--json", *sets).stdout)["fits"]
        assert "quality falls" not in fit["why"]
        assert fit["verdict"] in ("ok", "slow")


def test_heat_is_told_beside_too_much_light(read_text, tables):
    """Two things wrong are two things said."""
    told = in_words(read_text, tables, BOX.replace("watts = 100", "watts = 140").replace("= 16", "= 18"))
    assert "costs no weight; air of" in told.why
    assert "turned down; a fan of about" in told.cure


def test_a_crop_that_cannot_grow_for_heat_gets_the_same_cure(read_text, tables):
    """Lettuce ends at 34 C; the cure aims at the 24 C of good quality, not at bare survival."""
    told = in_words(
        read_text, tables, BOX.replace("room_c = 20", "room_c = 22\nfan_m3_h = 0\nloss_w_per_k = 4")
    )
    assert told.verdict == "no"
    assert "it grows between" in told.why
    assert "keep it under 24 °C" in told.cure


def test_no_fan_cools_below_the_room():
    """In a room at the ceiling only the room helps; just below it a fan would have to be a storm."""
    zone = a_zone(room_c=24, fan_m3_h=0, loss_w_per_k=5)
    assert cooling(zone, zone_air(zone, [a_lamp(60)]), 24).endswith("the room alone is too warm")
    zone = a_zone(room_c=23.9, fan_m3_h=0, loss_w_per_k=5)
    assert "fan" not in cooling(zone, zone_air(zone, [a_lamp(60)]), 24)
    assert cooling(a_zone(air_c=30), zone_air(a_zone(air_c=30), []), 24) == "", "nothing to reckon with"


@given(
    room=st.floats(10, 30), fan=st.floats(0, 50), loss=st.floats(1, 20),
    watts=st.floats(20, 400), hours=st.floats(8, 24), standby=st.sampled_from([0.0, 3.0]),
)  # fmt: skip
def test_every_cure_does(room, fan, loss, watts, hours, standby):
    """Each single cure brings the mean strictly below the ceiling, with the fan's own watts counted."""
    given_ = {"room_c": room, "fan_m3_h": fan, "loss_w_per_k": loss, "photoperiod_h": hours}
    air = zone_air(a_zone(**given_), [a_lamp(watts, standby=standby)])
    if air.mean_c < 24:
        return
    said = cooling(a_zone(**given_), air, 24)
    flow = re.search(r"about (\d+) m³/h", said)
    lamp = re.search(r"at most (\d+) W", said)
    cooler = re.search(r"a room of (-?[\d.]+) °C", said)
    if flow:
        windy = a_zone(**given_ | {"fan_m3_h": float(flow[1])})
        fans = 0.1 * float(flow[1])
        assert zone_air(windy, [a_lamp(watts + fans, standby=standby + fans)]).mean_c < 24
    if lamp:
        assert zone_air(a_zone(**given_), [a_lamp(float(lamp[1]), standby=standby)]).mean_c < 24
    if cooler:
        mild = a_zone(**given_ | {"room_c": float(cooler[1])})
        assert zone_air(mild, [a_lamp(watts, standby=standby)]).mean_c < 24
    assert lamp or room > 20, "4 K are left, and at least 1 W/K to carry them off"


# ---- care


def test_air_too_hot_for_lamps_is_a_danger(read_text, tables):
    """Past 40 C it is no matter of salad any more; below it nothing is said."""
    hot = read_text(BOX.replace("room_c = 20", "room_c = 20\nloss_w_per_k = 2.5"))
    assert any(danger.code == "heat" for danger in hazards(hot, tables))
    assert hazards(read_text(BOX), tables) == ()
