"""A space on a window sill with a lamp: its text, and read."""

from datetime import date

from cropcal.planning.photoperiod.fill_hours import settled
from cropcal.planning.site.bed_light import bed_lights
from cropcal.reading.space.read import read_space_text

SILL = """\
[place]
name = "Krokus 3"
timezone = "{timezone}"
latitude = {latitude}
longitude = {longitude}
{outdoor}
[[zone]]
name = "sill"
length_m = 1.2
width_m = 0.3
air_c = 21
{zone}
[[bed]]
name = "pots"
zone = "sill"
sites = 6

[[fixture]]
zone = "sill"
watts = 40
watts_from = "meter"
ppf_umol_s = 90
lamp_to_canopy_m = 0.3

[plan]
start = {start}
weeks = {weeks}
work_days = ["tue", "fri"]

[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
YEAR_KWH = [1.0, 1.8, 3.0, 4.2, 5.0, 5.6, 5.7, 4.9, 3.5, 2.0, 1.1, 0.8]


def text(
    zone="photoperiod_h = 12\ndaylight_share = 0.35",
    latitude=47.3,
    longitude=8.6,
    timezone="Europe/Zurich",
    outdoor=f"outdoor_kwh_m2_d = {YEAR_KWH}\n",
    start="2027-01-04",
    weeks=26,
):
    """Return the text of a space with one window, by default at 47 N with radiation by month."""
    return SILL.format(**locals())


def a_sill(tables, **more):
    """Return the space of that text, with its lamp hours filled in."""
    space, problems = read_space_text(text(**more), tables, today=date(2027, 1, 4))
    assert problems == []
    return settled(space, tables)


def light_of(space, tables):
    """Return the light of the only bed."""
    (light,) = bed_lights(space, tables)
    return light
