"""A box that its lamp heats: every command says so, and the cure that is offered does cure."""

import re

import pytest

from cropcal.planning.growth.suitability import suitabilities
from cropcal.planning.photoperiod.advice import advice
from cropcal.planning.photoperiod.fill_hours import with_hours
from cropcal.planning.site.bed_light import bed_lights

BOX = """
[[zone]]
name = "box"
length_m = 0.6
width_m = 0.6
room_c = 19
fan_m3_h = {fan}
loss_w_per_k = 2.5
wall_reflectance = 0.85
air_moving = true
{hours}
[[bed]]
name = "raft"
zone = "box"
sites = 8
[[fixture]]
zone = "box"
watts = 115
watts_from = "meter"
ppf_umol_s = 250
lamp_to_canopy_m = 0.4
[[want]]
crops = ["lettuce-batavia"]
per_week = 1
"""


@pytest.fixture
def box(read_text):
    """Return a function from a fan's flow, and hours if any, to the space."""
    return lambda fan, hours="": read_text(BOX.format(fan=fan, hours=hours))


def test_air_that_is_hot_only_while_the_lamp_burns_is_told(box, tables):
    """4 h at 36 C leave a mean of 22 C: growth goes by the mean, but from 33 C on nothing grows."""
    space = box(12, "photoperiod_h = 4")
    (found,) = suitabilities(space, bed_lights(space, tables), (tables.crops["lettuce-batavia"],))
    assert found.verdict in ("risk", "no")
    if found.verdict == "risk":
        assert "while the lamp is on" in found.why
    # 115 W through 12 m3/h (4 W/K) and walls of 2.5 W/K: 17.7 K above the room's 19 C, by hand
    assert pytest.approx(36.7, abs=0.1) == 115 / (12 * 1.2 / 3.6 + 2.5) + 19


def test_the_fan_that_is_offered_lets_all_do_well(box, tables):
    """The flow named as a cure, written into the file, gives a pick that is right; a third of it does not."""
    zone = advice(box(12), tables).zones[0]
    assert zone.pick.suits["lettuce-batavia"] != "right"
    (flow,) = (int(said[1]) for cure in zone.cures if (said := re.search(r"blows (\d+) m³/h", cure)))
    assert advice(box(flow), tables).zones[0].pick.suits["lettuce-batavia"] == "right"
    assert advice(box(round(flow / 3)), tables).zones[0].pick.suits["lettuce-batavia"] != "right"


def test_with_the_fan_no_command_warns_of_heat(box, tables):
    """What `photoperiod` finds right, `light` does not call too warm."""
    space = with_hours(box(40), tables)
    (found,) = suitabilities(space, bed_lights(space, tables), (tables.crops["lettuce-batavia"],))
    assert "air of" not in found.why
