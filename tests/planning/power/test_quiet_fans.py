"""Quiet hours bind fans and pumps too: the air is worked out without the fan, and loud loads are named."""

import numpy as np
import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.growth.cautions import warnings
from cropcal.planning.hazards import hazards
from cropcal.planning.photoperiod.settings import air_of
from cropcal.planning.power.lamp_hours import quiet_by_lamp_h
from cropcal.planning.power.quiet_loads import loud_loads
from cropcal.planning.site.air import room_notes, zone_air

SPACE = """
[place]
name = "Bedroom box"
[[zone]]
name = "box"
length_m = 1.0
width_m = 0.6
{hours}
{quiet}
room_c = 20
fan_m3_h = 30
loss_w_per_k = 2
[[bed]]
name = "tray"
zone = "box"
rows = 2
columns = 3
length_m = 0.8
width_m = 0.4
[[fixture]]
zone = "box"
watts = 96
{loads}
[plan]
start = 2027-03-15
weeks = 8
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
NIGHT = 'quiet = [{ hours = [["22:00", "06:00"]] }]'


def space(read_text, hours='lit = [["06:00", "22:00"]]', quiet=NIGHT, loads=""):
    return read_text(SPACE.format(hours=hours, quiet=quiet, loads=loads))


def test_a_fan_that_rests_while_the_lamp_is_off_changes_nothing(read_text, tables):
    """No lamp, no heat: 96 W over 1.2/3.6 x 30 + 2 = 12 W/K are 8 K while it is on."""
    box = space(read_text)
    air = zone_air(box.zone("box"), box.fixtures)
    assert (air.lamp_on_c, air.lamp_off_c, air.highest_c) == pytest.approx((28, 20, 20))
    assert not any("fan" in line for line in warnings(box, tables, (), ()))
    assert "fan 30 m³/h, off in quiet hours" in room_notes(box)[0].why


@pytest.mark.parametrize(
    ("quiet", "share"),
    [(NIGHT, 4 / 16), ('quiet = [{ hours = [["22:00", "06:00"]], days = ["sat"] }]', 4 / 16 / 7)],
)
def test_quiet_hours_under_the_lamp_are_without_the_fan(read_text, tables, quiet, share):
    """Lamp 10:00-02:00, quiet from 22:00: 4 h of 16 at 20 + 96 / 2 = 68 °C, and that is a hazard."""
    box = space(read_text, 'lit = [["10:00", "02:00"]]', quiet)
    air = zone_air(box.zone("box"), box.fixtures)
    assert air.lamp_on_c == pytest.approx(28 + share * 40)
    assert air.highest_c == pytest.approx(68)
    (heat,) = [hazard for hazard in hazards(box, tables) if hazard.code == "heat"]
    assert heat.air_c == pytest.approx(68)


def test_a_fan_that_would_have_to_run_is_named(read_text, tables):
    """With the hours, both temperatures, and what to do."""
    box = space(read_text, 'lit = [["10:00", "02:00"]]')
    (line,) = [line for line in warnings(box, tables, (), ()) if "fan" in line]
    assert "28 h a week of them with the lamp on: the air then goes up to 68 °C in place of 28 °C" in line


def test_lamp_hours_left_open_move_out_of_the_quiet_ones(read_text):
    """16 h fit beside 8 quiet ones; of 20 h four are left, whatever power costs."""
    assert quiet_by_lamp_h(space(read_text, "photoperiod_h = 16").zone("box")) == (0, 8)
    assert quiet_by_lamp_h(space(read_text, "photoperiod_h = 20").zone("box")) == (4, 4)


def test_lengths_are_judged_with_the_air_of_their_own_hours(read_text):
    """Quarter by quarter: hot where the fan rests on any day, the mean by how often."""
    box = space(read_text, quiet='quiet = [{ hours = [["22:00", "06:00"]], days = ["sat"] }]')
    air = air_of(box.zone("box"), box.fixtures)
    assert (air.on_c[40], air.hottest_on_c[40]) == pytest.approx((28, 28))
    assert (air.on_c[90], air.hottest_on_c[90]) == pytest.approx((28 + 40 / 7, 68))
    plain = space(read_text, quiet="")
    flat = air_of(plain.zone("box"), plain.fixtures)
    assert np.ptp(flat.on_c) == 0
    assert flat.hottest_on_c is None


def load(name, when, more=""):
    return f'[[load]]\nname = "{name}"\nwatts = 5\n{when}\n{more}\n'


@pytest.mark.parametrize(
    ("loads", "says"),
    [
        (load("air pump", "always = true"), "the air pump runs in 56 of the 56 quiet hours a week; "
         "give it on hours outside them, if the plants can wait 8 h"),
        (load("flood pump", "on_minutes = 5\nevery_minutes = 60"), "let its timer leave them out, "
         "if the plants can wait 8 h"),
        (load("fan", 'on = [["05:00", "23:00"]]'), "fan runs in 14 of the 56 quiet hours a week; move its"),
        (load("pump", "hours_per_day = 20"), "20 h a day do not fit into the 16 h that are left"),
        (load("pump", "hours_per_day = 12"), ""),
        (load("heater", "always = true"), ""),
        (load("pump", "always = true", "silent = true"), ""),
        (load("fan", 'on = [["06:00", "22:00"]]'), ""),
    ],
)  # fmt: skip
def test_loud_loads_are_named_and_silent_ones_are_not(read_text, loads, says):
    """By their names; with what could be done."""
    box, loud = space(read_text, loads=loads), space(read_text, quiet="", loads=loads)
    lines = loud_loads(box, box.zone("box"))
    assert [says in line for line in lines] == ([True] if says else [])
    assert loud_loads(loud, loud.zone("box")) == []


def test_the_screen_of_hours_names_a_loud_pump(tmp_path):
    """Through the command."""
    text = SPACE.format(hours="photoperiod_h = 16", quiet=NIGHT, loads=load("air pump", "always = true"))
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    shown = CliRunner().invoke(app, ["photoperiod", str(tmp_path), "--all"]).stdout
    assert "the air pump runs in 56 of the 56 quiet hours a week" in " ".join(shown.split())
