"""Lamp hours beside the sun follow the season: never more in a month with more sun, in either hemisphere."""

import json
from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st
from in_process import cropcal

from cropcal.planning.photoperiod.daylight_year import daylight_year
from cropcal.planning.photoperiod.fill_hours import with_hours
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space_text

BENCH = """
[place]
timezone = "{timezone}"
latitude = {latitude}
longitude = {longitude}

[[zone]]
name = "bench"
length_m = 1.2
width_m = 0.4
air_c = {air}
air_moving = {fan}
daylight_share = {share}
{quiet}

[[bed]]
name = "pots"
zone = "bench"
sites = 8

[[bed]]
name = "tray"
zone = "bench"
kind = "tray"
sites = 2

[[fixture]]
zone = "bench"
watts = {watts}
ppf_umol_s = {ppf}

[tariff]
currency = "EUR"
[[tariff.rate]]
per_kwh = 0.3
{rates}

[plan]
start = 2027-01-04
weeks = {weeks}
{wants}
"""
TABLES = read_crop_tables(None)[0]
CHEAP = '[[tariff.rate]]\nname = "cheap"\nper_kwh = 0.05\nhours = [["{}:00", "{}:00"]]\nmonths = {}\n'
CROPS = ["lettuce-butterhead", "spinach-baby", "basil", "kale", "cilantro", "microgreens-brassica", "dill"]


def a_bench(crops, share, ppf, latitude=52.0, cheap=(), air=20, fan="true", quiet="", weeks=50):
    """Return the text of a window bench with a lamp."""
    south = latitude < 0
    return BENCH.format(
        timezone="Pacific/Auckland" if south else "Europe/Berlin",
        longitude=172.0 if south else 13.0,
        latitude=latitude,
        share=share,
        air=air,
        fan=fan,
        quiet=quiet,
        watts=round(ppf / 2.5),
        ppf=ppf,
        rates="".join(CHEAP.format(*row) for row in cheap),
        weeks=weeks,
        wants="".join(f'[[want]]\ncrops = ["{crop}"]\n' for crop in crops),
    )


def year_of(text):
    """Return the sun and lamp of the bench, month by month."""
    space, problems = read_space_text(text, TABLES, today=date(2027, 1, 4))
    assert problems == []
    return daylight_year(with_hours(space, TABLES), TABLES).zones[0]


def months_of(folder, text):
    """Return the sun and the lamp hours of each month, as the command says them."""
    (folder / "space.toml").write_text(text)
    months = json.loads(cropcal("daylight", str(folder), "--json").stdout)["months"]
    suns = [month["indoor_dli_mol_m2_d"]["bench"] for month in months]
    return suns, [month["lamp_hours"]["bench"] for month in months]


def assert_follows_the_sun(suns, hours):
    """Fail where a month with more sun has more lamp hours than one with less."""
    rows = sorted(zip(suns, hours, strict=True))
    for (less, more_h), (more, fewer_h) in pairwise(rows):
        assert fewer_h <= more_h or more == less, (rows, less, more)


@given(
    crops=st.lists(st.sampled_from(CROPS), min_size=1, max_size=3, unique=True),
    share=st.floats(0.02, 0.5).map(lambda value: round(value, 3)),
    ppf=st.sampled_from([30, 60, 90, 140, 220, 400]),
    latitude=st.one_of(st.floats(35, 60), st.floats(-60, -35)).map(lambda value: round(value, 2)),
    cheap=st.lists(
        st.tuples(
            st.sampled_from(["00", "04", "10"]),
            st.sampled_from(["16", "20"]),
            st.sampled_from([[6, 7, 8], [12, 1], [3, 4, 5]]),
        ),
        max_size=1,
    ),
    air=st.sampled_from([17, 20, 23]),
    fan=st.sampled_from(["true", "false"]),
    quiet=st.sampled_from(["", 'quiet = [{ hours = [["22:00", "07:00"]] }]']),
    weeks=st.sampled_from([20, 50]),
)
@settings(max_examples=examples(60, 4))
def test_a_month_with_more_sun_has_no_more_lamp_hours(**bench):
    """Whatever grows at whatever window, price and latitude from 35 to 60 degrees, north or south."""
    zone = year_of(a_bench(**bench))
    assert_follows_the_sun(zone.sun_mol_m2_d, zone.lamp_h)


@pytest.mark.parametrize("latitude", [52.0, -52.0])
def test_the_command_gives_june_no_more_than_december(latitude, tmp_path):
    """A weak lamp: the June day is longer than any known to be borne, which is no reason for 20 h of lamp."""
    suns, hours = months_of(tmp_path, a_bench(["lettuce-butterhead"], 0.04, 60, latitude))
    assert_follows_the_sun(suns, hours)
    assert set(hours) == {16.0}


def test_the_lamp_makes_no_day_longer_that_the_sun_makes_too_long():
    """In June the sun is up for 17 h, more than lettuce is known to stand: cheap nights stay dark."""
    cheap = [("23", "06", [*range(1, 13)])]
    zone = year_of(a_bench(["lettuce-butterhead"], 0.15, 140, cheap=cheap))
    assert zone.lamp_h[5] > 4
    assert zone.day_seen_h[5] <= 17.25
    for month in (0, 2, 8, 11):
        assert zone.day_seen_h[month] <= 16.25


def test_the_screen_gives_the_hours_by_the_month(tmp_path):
    """The pick is that of each month, as the timer card has it; what one setting would bring is called so."""
    (tmp_path / "space.toml").write_text(a_bench(["lettuce-butterhead"], 0.3, 90))
    screen = " ".join(cropcal("photoperiod", str(tmp_path), "--all").stdout.split())
    card = json.loads(cropcal("photoperiod", str(tmp_path), "--json").stdout)["timers"]
    pick = screen[screen.index("pick month by month") : screen.index("fixed for one setting all year")]
    for line in card:
        if line["output"]:
            assert f"{line['on']}-{line['off']}" in pick
    assert "never more hours in a month with more sun" in pick
    zone = year_of(a_bench(["lettuce-butterhead"], 0.3, 90))
    light = np.add(zone.sun_mol_m2_d, zone.lamp_mol_m2_d)
    assert np.flatnonzero(light < 0.7 * 17).tolist() == [0, 1, 2, 8, 9, 10, 11]
    assert "light for good growth is still lacking Sep to Mar" in pick
    assert "the day is longer than known to be good" in pick
    assert "not compared where there is a window" in screen
    assert "too weak" not in screen


def test_a_crop_that_bolts_anyway_gets_the_light_it_lacks():
    """From April to August the sun alone is up for more than 13 h; spinach grows well from 9.8 mol.

    By hand: the lamp's hours within the sun's day, (9.8 mol - sun) / (lamp x 0.0036), to the next quarter.
    """
    zone = year_of(a_bench(["spinach-baby"], 0.2, 120))
    ppfd = zone.lamp_mol_m2_d[0] / zone.lamp_h[0] / 0.0036
    for month in (4, 5, 6):
        lacking = (9.8 - zone.sun_mol_m2_d[month]) / ppfd / 0.0036
        assert lacking - 0.1 <= zone.lamp_h[month] <= lacking + 0.5
    for month in (0, 11):
        assert zone.day_seen_h[month] <= 13.25
