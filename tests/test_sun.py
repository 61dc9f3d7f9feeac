"""The sun through a window: by half months, added to the lamp's, and lived through by each sowing."""

import csv
import json
import subprocess
import sys
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.bill import bill
from cropcal.planning.changing import Turning, grow_from, turns
from cropcal.planning.conditions import conditions
from cropcal.planning.daylight_year import daylight_year
from cropcal.planning.fits import fit_through
from cropcal.planning.growing import (
    Stages,
    days_to_emerge,
    eps,
    grow,
)
from cropcal.planning.light_budget import bed_lights
from cropcal.planning.pace import UNLEARNED
from cropcal.planning.photoperiod import advice
from cropcal.planning.planner import Effort, plan
from cropcal.planning.settle import settled, timer_lines
from cropcal.planning.spots import spot, under
from cropcal.planning.sun import Season, sun_of
from cropcal.reading.space import read_space_text
from cropcal.records.daylight import half_of, rough_spans
from cropcal.science import timing
from cropcal.show import daylight_drawing, hours_screen, page_light
from cropcal.show.shapes import Boxes, Words

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


@pytest.fixture
def sill(tables):
    """Return a maker of spaces with one window, by default at 47 N with a radiation for each month."""

    def make(
        zone="photoperiod_h = 12\ndaylight_share = 0.35",
        latitude=47.3,
        longitude=8.6,
        timezone="Europe/Zurich",
        outdoor=f"outdoor_kwh_m2_d = {YEAR_KWH}\n",
        start="2027-01-04",
        weeks=26,
    ):
        text = SILL.format(**locals())
        space, problems = read_space_text(text, tables, today=date(2027, 1, 4))
        assert problems == []
        return settled(space, tables)

    return make


def light_of(space, tables):
    """Return the light of the only bed."""
    (light,) = bed_lights(space, tables)
    return light


# ---- light


def test_lamp_and_sun_add(sill, tables):
    """By hand: 1 kWh/m2 in January is 7.265 mol (Faust & Logan 2018), of which 35 % reach the leaves."""
    space = sill()
    light = light_of(space, tables)
    lamp = light.ppfd_umol_m2_s * 12 * 0.0036
    january = [light.with_sun_mol_m2_d(half) - lamp for half in (0, 1)]
    assert (january[0] * 15 + january[1] * 16) / 31 == pytest.approx(7.265 * 1.0 * 0.35, rel=1e-6)
    assert light.dli_mol_m2_d() == pytest.approx(lamp)


def test_the_share_may_change_by_month(sill, tables):
    """Twelve shares: none in June leaves June to the lamp, and its day as long as the lamp burns."""
    share = [0.1] * 5 + [0.0] + [0.2] * 6
    light = light_of(sill(zone=f"photoperiod_h = 12\ndaylight_share = {share}"), tables)
    assert light.halves[10].sun_mol_m2_d == light.halves[11].sun_mol_m2_d == 0
    assert light.halves[10].day_seen_h == light.halves[10].light_h == 12
    assert light.halves[12].sun_mol_m2_d > 0
    assert light.halves[12].light_h > 15


def test_spreads_of_lamp_and_sun_are_apart(sill, tables):
    """Two sources of equal light, 20 % and 34 % off, give a sum known better than the worse of them."""
    light = light_of(sill(), tables)
    for half in range(24):
        both = light.sd_ln_with_sun(half)
        sun = light.halves[half].sun_mol_m2_d
        lamp = light.with_sun_mol_m2_d(half) - sun
        assert (both * (sun + lamp)) ** 2 == pytest.approx((0.2 * lamp) ** 2 + (light.sd_ln_sun * sun) ** 2)
    assert light.sd_ln == pytest.approx(0.2, abs=0.005)
    assert light.sd_ln_sun == pytest.approx(np.hypot(0.15, 0.30))


def test_assumed_clearness_is_said_with_its_spread(sill, tables):
    """Without radiation the light comes from latitude, less surely, and that stands among the assumptions."""
    given_, guessed = light_of(sill(), tables), light_of(sill(outdoor=""), tables)
    assert guessed.sd_ln_sun > given_.sd_ln_sun
    said = {item.key: item.value for item in guessed.assumed}
    assert said["outdoor light"].startswith(
        "45% of what comes in above the air, known within a factor of 1.45"
    )


def test_lamp_hours_that_lie_in_daylight_add_no_day(sill, tables):
    """Lamp from 10 to 14 lengthens no day at 47 N; from 4 to 8 and 18 to 21 it does, to 17 h."""
    noon = light_of(sill(zone='lit = [["10:00", "14:00"]]\ndaylight_share = 0.3'), tables)
    ends = light_of(sill(zone='lit = [["04:00", "08:30"], ["16:00", "21:00"]]\ndaylight_share = 0.3'), tables)
    sun = sun_of(sill())
    for half in range(24):
        assert noon.halves[half].day_seen_h == pytest.approx(sun.day_length_h[half], abs=0.02)
    assert ends.halves[0].day_seen_h == ends.halves[23].day_seen_h == 17


# ---- places and calendars


@pytest.mark.parametrize(
    ("latitude", "brightest", "dimmest", "longest_h", "shortest_h"),
    [
        (47.3, (5, 6), (11,), 15.9, 8.4),  # Zurich 15 h 55 min and 8 h 26 min (from memory)
        (-43.5, (11, 0), (5,), 15.4, 8.9),  # Christchurch 15 h 26 min, 8 h 56 min (from memory)
    ],
)
def test_hemispheres(sill, tables, latitude, brightest, dimmest, longest_h, shortest_h):
    """North of the equator June is brightest and longest, south of it December."""
    found = daylight_year(sill(latitude=latitude, outdoor=""), tables)
    assert int(np.argmax(found.outdoor_mol_m2_d)) in brightest
    assert int(np.argmin(found.outdoor_mol_m2_d)) in dimmest
    assert max(found.day_length_h) == pytest.approx(longest_h, abs=0.15)
    assert min(found.day_length_h) == pytest.approx(shortest_h, abs=0.15)


def test_the_equator(sill, tables):
    """Every day lasts 12 h 7 min (refraction and the sun's width), and light hardly changes."""
    found = daylight_year(sill(latitude=0, outdoor="", timezone="Africa/Nairobi", longitude=36.8), tables)
    assert found.day_length_h == pytest.approx([12.12] * 12, abs=0.02)
    assert max(found.outdoor_mol_m2_d) / min(found.outdoor_mol_m2_d) < 1.2


def test_polar_day_and_night(sill, tables):
    """At 70 N the sun stays up in June and down in December; lamp hours make no day longer than 24."""
    space = sill(latitude=70.1, longitude=29.7, timezone="Europe/Oslo", outdoor="")
    found = daylight_year(space, tables)
    assert found.day_length_h[5] == 24
    assert found.day_length_h[11] == found.outdoor_mol_m2_d[11] == 0
    (zone,) = found.zones
    assert zone.day_seen_h[5] == 24
    assert zone.day_seen_h[11] == 12
    assert zone.up[11] == ((0, 1440),)
    assert zone.up[23] == ()


def test_summer_time_moves_the_clock_and_not_the_sun(sill):
    """On the clock noon comes an hour later in July; on standard time and without summer time it does not."""

    def noon(sun, half):
        minutes = np.flatnonzero(sun.up[half])
        return (minutes[0] + minutes[-1]) / 2

    space = sill()
    clock, standard = sun_of(space), sun_of(space, follows_clock=False)
    tokyo = sun_of(sill(latitude=35.7, longitude=139.7, timezone="Asia/Tokyo"))
    assert noon(clock, 13) - noon(clock, 0) == pytest.approx(60, abs=8)
    assert noon(standard, 13) - noon(standard, 0) == pytest.approx(0, abs=8)
    assert noon(tokyo, 13) - noon(tokyo, 0) == pytest.approx(0, abs=8)


def test_halves_across_the_years_end_and_the_leap_day():
    """29 February belongs to the second half of February; a span may cross the year's end."""
    assert [half_of(date(2028, *day)) for day in ((1, 1), (1, 15), (1, 16), (2, 29), (3, 1), (12, 31))] == [
        0, 0, 1, 3, 4, 23,
    ]  # fmt: skip
    assert rough_spans([22, 23, 0, 1], 24) == "Dec to Jan"


def test_a_leap_year_has_a_day_more(sill, tables):
    """The year of the plan's start is drawn day by day: 366 of them in 2028."""
    assert len(daylight_year(sill(start="2028-01-03"), tables).outdoor_by_day_mol_m2_d) == 366


@settings(deadline=None, max_examples=40)
@given(
    latitude=st.floats(-90, 90),
    longitude=st.floats(-180, 180),
    timezone=st.sampled_from(["UTC", "Europe/Oslo", "Pacific/Apia", "Pacific/Chatham", "America/St_Johns"]),
    year=st.sampled_from([2024, 2027, 2028, 2100]),
    follows=st.booleans(),
)
def test_any_place_has_a_year(tables, latitude, longitude, timezone, year, follows):
    """No place raises: hours lie within the day, and as many minutes are marked as the day is long."""
    text = SILL.format(
        zone=f"photoperiod_h = 12\ndaylight_share = 1\ntimer_follows_clock = {str(follows).lower()}",
        latitude=latitude, longitude=longitude, timezone=timezone, outdoor="", start="2027-01-04", weeks=26,
    )  # fmt: skip
    space, problems = read_space_text(text, tables, today=date(2027, 1, 4))
    assert problems == []
    first = date(year, 2, 29) if year == 2028 else date(year, 1, 1)
    start = {"settings": space.settings.model_copy(update={"start": first})}
    space = space.model_copy(update=start)
    sun = sun_of(space, follows_clock=follows)
    assert np.all((sun.day_length_h >= 0) & (sun.day_length_h <= 24))
    assert np.all(np.isfinite(sun.by_day_mol_m2_d) & (sun.by_day_mol_m2_d >= 0))
    assert sun.up.sum(axis=1) / 60 == pytest.approx(sun.day_length_h, abs=0.04)
    found = daylight_year(space, tables)
    (zone,) = found.zones
    assert all(12 <= hours <= 24 for hours in zone.day_seen_h)
    assert all(hours is None or 0 <= hours <= 24 for hours in (*zone.needed_h, *zone.enough_h))


# ---- growth


def by_small_steps(crop, tables, seasons, sown, area_m2, step_d=0.01):
    """Return the day a plant of a crop is ready, by walking its growth in small steps through the real days.

    dW/dt = C (1 - exp(-k W)), C and k of the light of each day; not the closed form.
    """
    from cropcal.science import growth

    per_m2 = crop.plants_per_site / area_m2
    emerges = days_to_emerge(crop, tables, 21.0)
    mass = crop.seed_g_per_1000 / 1000 * growth.SEEDLING_SHARE * per_m2
    target = crop.anchor_g_per_plant * crop.dry_matter * per_m2
    warm = float(growth.temperature_factor(21.0, crop.air_base_c, crop.air_optimum_c, crop.air_max_c))
    day = emerges
    while mass < target:
        now = seasons[half_of(sown + timedelta(days=int(day)))]
        light = min(now.dli_mol_m2_d, crop.dli_max_still_air_mol_m2_d, 20.0)
        c = eps(crop, tables) * np.exp(-0.25) * 17 * (light / 17) ** 0.70 * (now.photoperiod_h / 16) ** 0.10
        c *= warm**0.3
        k = 0.028 * (light / 17) ** -0.35 * warm**0.7
        mass += step_d * c * (1 - np.exp(-k * mass))
        day += step_d
    return day


@pytest.mark.parametrize("sown", [date(2027, 2, 9), date(2027, 8, 20), date(2027, 11, 28), date(2028, 2, 20)])
def test_a_sowing_lives_through_the_days_that_follow(sill, tables, sown):
    """Ready when a walk in hundredths of days through the changing light says so, within a fifth of a day."""
    space, crop = sill(), tables.crops["lettuce-butterhead"]
    place = spot(space.beds[0], space, light_of(space, tables))
    grown, good = grow_from(crop, tables, place, None, UNLEARNED, [sown], np.array([0]), for_itself=True)
    assert good.tolist() == [True]
    walked = by_small_steps(crop, tables, place.seasons, sown, place.site_area_m2)
    assert grown.ready_d[1, 0] == pytest.approx(walked, abs=0.2)


def test_light_that_does_not_change_is_as_before(sill, tables):
    """Half months all alike give what one stage gives, to the last digit that matters, ranges included."""
    space, crop = sill(), tables.crops["lettuce-butterhead"]
    place = spot(space.beds[0], space, light_of(space, tables))
    flat = Season(12.0, 2.0, 0.2, 10.0, 14.0, 21.0)
    place = under(place, (flat,) * 24, flat)
    one = grow(crop, tables, replace(place, seasons=()), None)
    many, _ = grow_from(
        crop, tables, place, None, UNLEARNED, [date(2027, 3, 4), date(2027, 12, 28)], np.array([0, 0]),
        for_itself=True,
    )  # fmt: skip
    assert many.ready_d == pytest.approx(np.repeat(one.ready_d, 2, axis=1), rel=1e-9)
    assert many.g_per_plant == pytest.approx(np.repeat(one.g_per_plant, 2, axis=1), rel=1e-9)


@settings(deadline=None, max_examples=50)
@given(
    sown=st.lists(st.dates(date(2026, 1, 1), date(2029, 1, 1)), min_size=1, max_size=5),
    age=st.integers(0, 40),
)
def test_every_day_is_in_its_own_half_month(sown, age):
    """Day by day from sowing on, a stage is of its own half month, in the nursery until the move."""
    sown = [sown[0] + (day - sown[0]) % timedelta(days=160) for day in sown]
    ends, place, half = turns(sown, np.full(len(sown), age))
    for row, first in enumerate(sown):
        for day in range(0, 190, 7):
            stage = int(np.searchsorted(ends[row], day, side="right"))
            assert half[row, stage] == half_of(first + timedelta(days=day))
            assert place[row, stage] == (day >= age)


def test_stages_are_those_of_the_closed_form(sill, tables):
    """A nursery without a window hands over to a site with one."""
    space, crop = sill(), tables.crops["lettuce-butterhead"]
    site = spot(space.beds[0], space, light_of(space, tables))
    nursery = replace(site, seasons=(), dli_mol_m2_d=9.0, photoperiod_h=16.0, site_area_m2=0.002)
    ends, place, half = turns([date(2027, 4, 6)], np.array([20]))
    turning = Turning(crop, tables, (nursery, site), ends, 4.0, UNLEARNED, place, half)
    first = Stages(crop, tables, (nursery,), np.array([[np.inf]]), 4.0, UNLEARNED)
    days = np.arange(20.0)
    assert turning.fresh_g(days, 0.0, 0.0, 0.0) == pytest.approx(first.fresh_g(days, 0.0, 0.0, 0.0))


# ---- the plan


def figures(found):
    """Return everything a plan says but how long the search took."""
    form = found.model_dump()
    form["outcome"].pop("seconds")
    return form


def test_without_a_window_every_figure_is_as_before(sill, tables):
    """A place on Earth alone, or a window that lets nothing in, changes nothing in a plan."""
    effort = Effort(time_limit_s=20)
    dark = "photoperiod_h = 14"
    nowhere = sill(zone=dark, weeks=14)
    bare = nowhere.place.model_copy(update={"latitude": None, "longitude": None, "outdoor_kwh_m2_d": None})
    expected = figures(plan(nowhere.model_copy(update={"place": bare}), tables, effort))
    assert figures(plan(nowhere, tables, effort)) == expected
    assert figures(plan(sill(zone=f"{dark}\ndaylight_share = 0", weeks=14), tables, effort)) == expected


def test_each_batch_knows_its_own_sun(sill, tables):
    """In a sill batches sown later into spring take fewer days, as `when` says of the same sowing."""
    space = sill(zone="photoperiod_h = 10\ndaylight_share = 0.3")
    found = plan(space, tables, Effort(time_limit_s=20))
    days = {batch.sow_on: (batch.ready_from - batch.sow_on).days for batch in found.batches}
    first, last = min(days), max(days)
    assert days[first] - days[last] > 10
    place = spot(space.beds[0], space, light_of(space, tables))
    crop = tables.crops["lettuce-butterhead"]
    for batch in found.batches:
        grown, _ = grow_from(
            crop, tables, place, None, UNLEARNED, [batch.sow_on], np.array([0]), for_itself=True
        )
        assert (batch.ready_from - batch.sow_on).days == int(np.ceil(grown.ready_d[1, 0]))
    assert {"outdoor light", "sun in sill", "day in sill"} <= {item.key for item in found.assumptions}


def test_a_sill_without_a_lamp_grows_in_summer_only(sill, tables):
    """Nothing is sown so late that it would stand in too little light; no lamp hours are asked for."""
    space = sill(zone="daylight_share = 0.35", start="2027-03-01", weeks=40)
    lampless = space.model_copy(
        update={"fixtures": (), "zones": tuple(z.model_copy(update={"lit": ()}) for z in space.zones)}
    )
    found = plan(lampless, tables, Effort(time_limit_s=20))
    sown = [batch.sow_on for batch in found.batches]
    assert sown
    assert max(sown) < date(2027, 9, 15)
    assert not found.bill
    (light,) = found.lights
    assert light.source == "daylight"


def test_verdicts_name_the_part_of_the_year(sill, tables):
    """A verdict that changes with the seasons says when it holds."""
    space = sill(zone="photoperiod_h = 6\ndaylight_share = 0.35", start="2027-01-04", weeks=50)
    light = light_of(space, tables)
    crop = tables.crops["lettuce-butterhead"]
    found = fit_through(space, crop, space.beds[0], light, np.ones(24, bool))
    assert found.verdict in ("no", "slow", "risk")
    assert found.why.startswith("mid Oct to mid Feb: ")
    assert "; well Apr to mid May and mid Aug to mid Sep" in found.why
    one = fit_through(space, crop, space.beds[0], light, np.arange(24) == 11)
    assert " to " not in one.why


@pytest.mark.parametrize(
    ("halves", "said"),
    [
        ([2, 3, 4], "Feb to mid Mar"),
        ([3, 4, 5, 6, 7], "mid Feb to Apr"),
        ([4, 5], "Mar"),
        ([5], "late Mar"),
        ([22, 23, 0, 8], "early May and Dec to mid Jan"),
        ([0, 2, 4, 8], "in 4 of 13 half months"),
        (range(24), "all year"),
    ],
)
def test_verdicts_tell_few_spans(halves, said):
    """Half months of a verdict are told in two spans at most, else counted."""
    assert rough_spans(halves, 13) == said


def test_spinach_is_told_of_the_suns_own_day(sill, tables):
    """In June the sun alone is up for 16 h at 47 N: baby spinach bolts above 13 h whatever the lamp does."""
    space = sill(zone='lit = [["10:00", "14:00"]]\ndaylight_share = 0.2')
    found = fit_through(
        space, tables.crops["spinach-baby"], space.beds[0], light_of(space, tables), np.arange(24) == 11
    )
    assert found.verdict == "risk"
    assert "with the sun, bolts above 13 h" in found.why
    assert found.cure.startswith("the sun alone is up 15.9 h")


def test_what_plants_found_had_the_sun_in_it(sill, tables):
    """What the journal's harvests are held against: lamp and sun of each real day."""
    space = sill()
    light = light_of(space, tables)
    found = conditions(space, (light,), ())
    for day in (date(2027, 1, 3), date(2027, 6, 20), date(2028, 2, 29)):
        now = found.on("pots", day)
        assert now.dli_mol_m2_d == pytest.approx(light.with_sun_mol_m2_d(half_of(day)))
        assert now.seasons == ()


# ---- the command


def cropcal(*words):
    command = [str(Path(sys.executable).with_name("cropcal")), *words]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture
def folder(tmp_path):
    """Return a folder with the sill at 47 N."""
    text = SILL.format(
        zone="photoperiod_h = 12\ndaylight_share = 0.35", latitude=47.3, longitude=8.6,
        timezone="Europe/Zurich", outdoor=f"outdoor_kwh_m2_d = {YEAR_KWH}\n", start="2027-01-04", weeks=26,
    )  # fmt: skip
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    return tmp_path


def test_daylight_command(folder):
    """Twelve months with the agreed keys, a sheet and a picture."""
    done = cropcal("daylight", str(folder), "--json", "--out", str(folder / "year"))
    assert done.returncode == 0, done.stderr
    months = json.loads(done.stdout)["months"]
    assert [month["month"] for month in months] == [f"2027-{number:02d}" for number in range(1, 13)]
    for month, kwh in zip(months, YEAR_KWH, strict=True):
        assert month["outdoor_dli_mol_m2_d"] == pytest.approx(7.265 * kwh, rel=1e-6)
        assert month["indoor_dli_mol_m2_d"] == {"sill": pytest.approx(7.265 * kwh * 0.35, rel=1e-6)}
        assert set(month["lamp_hours_needed"]) == {"sill"}
        assert 0 < month["day_length_h"] < 24
    assert (folder / "year" / "daylight.png").read_bytes().startswith(b"\x89PNG")
    rows = list(csv.DictReader((folder / "year" / "daylight.csv").read_text().splitlines()))
    assert len(rows) == 12
    assert rows[0]["sun_dli_mol_m2_d"] == "2.543"


def test_lamp_hours_needed_fill_up_what_the_sun_leaves(sill, tables):
    """Worked by hand, as on an extension worksheet: (target - sun inside) / (lamp PPFD x 0.0036)."""
    space = sill()
    light, (zone,) = light_of(space, tables), daylight_year(space, tables).zones
    target = min(17.0, 14.4)  # lettuce wants 17 mol, in still air its tips burn above 14.4
    for number, kwh in enumerate(YEAR_KWH):
        lacking = max(target - 7.265 * kwh * 0.35, 0)
        hours = lacking / (light.ppfd_umol_m2_s * 0.0036)
        assert zone.needed_h[number] == (None if hours > 24 else pytest.approx(hours, rel=1e-6))


def test_no_place_no_year(tmp_path):
    """Without latitude the command says what it lacks, and stops with exit code 2."""
    text = SILL.format(
        zone="photoperiod_h = 12", latitude=1, longitude=2, timezone="UTC", outdoor="", start="2027-01-04",
        weeks=26,
    )  # fmt: skip
    text = "\n".join(line for line in text.splitlines() if not line.startswith(("latitude", "longitude")))
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    done = cropcal("daylight", str(tmp_path))
    assert done.returncode == 2
    assert "no latitude and longitude" in done.stderr


def test_months_of_the_other_hemisphere_are_noticed(sill, tables):
    """Radiation typed for the wrong hemisphere brings more in December than comes in above the air."""
    found = daylight_year(sill(outdoor=f"outdoor_kwh_m2_d = {YEAR_KWH[6:] + YEAR_KWH[:6]}\n"), tables)
    assert len(found.warnings) == 1
    assert "more than comes in above the air" in found.warnings[0]
    assert daylight_year(sill(), tables).warnings == ()


@pytest.mark.parametrize("latitude", [47.3, -43.5, 70.1])
def test_the_picture_lies_on_its_page(sill, tables, latitude):
    """Nothing is drawn outside the page, sun and lamp are both there, and all texts can be read."""
    found = daylight_year(sill(latitude=latitude, outdoor=""), tables)
    drawn = daylight_drawing.drawing(found)
    for shape in drawn.shapes:
        if isinstance(shape, Boxes):
            boxes = np.array(shape.boxes)
            assert np.all((boxes[:, :2] >= 0) & (boxes[:, :2] <= drawn.width))
            assert np.all((boxes[:, 2:] >= 0) & (boxes[:, 2:] <= drawn.height))
            assert np.all(boxes[:, 2] <= boxes[:, 3] + 1e-9)
        if isinstance(shape, Words):
            assert 0 <= shape.y <= drawn.height
    faces = {shape.faces for shape in drawn.shapes if isinstance(shape, Boxes)}
    assert {daylight_drawing.SUN, daylight_drawing.LAMP} <= faces


def test_names_beside_six_crops_fit_on_the_picture(sill, tables):
    """Names beside six crops end on the page: a letter of 7.5 pt is some 0.065 inches wide."""
    space = sill()
    six = ["lettuce-butterhead", "basil", "parsley", "lettuce-romaine", "dill", "cilantro"]
    wants = tuple(space.wants[0].model_copy(update={"crops": (slug,)}) for slug in six)
    drawn = daylight_drawing.drawing(daylight_year(space.model_copy(update={"wants": wants}), tables))
    beside = [one for one in drawn.shapes if isinstance(one, Words) and one.x > daylight_drawing.RIGHT]
    assert any(one.text == "4 Romaine lettuce" for one in beside)
    for one in beside:
        assert one.x + 0.065 * daylight_drawing.NAME_LETTERS <= drawn.width


def test_clocks_of_the_picture_are_the_places(sill, tables):
    """In the picture the sun rises when it does on the wall clock: 23 June in Zurich 5:29 (from memory)."""
    (zone,) = daylight_year(sill(latitude=47.37, longitude=8.54), tables).zones
    ((rise, fall),) = zone.up[11]
    assert rise == pytest.approx(5 * 60 + 29, abs=3)
    assert fall == pytest.approx(21 * 60 + 25, abs=3)


# ---- lamp hours by month


def quarters_seen(lit, up):
    """Return the quarters of a day but the longest dark, by looking at every start."""
    light = [a or b for a, b in zip(lit, up, strict=True)]
    longest = 0
    for start in range(96):
        length = 0
        while length < 96 and not light[(start + length) % 96]:
            length += 1
        longest = max(longest, length)
    return 96 - longest


@settings(deadline=None, max_examples=60)
@given(
    start=st.integers(0, 95),
    length=st.integers(1, 96),
    rise=st.integers(0, 95),
    day=st.integers(0, 96),
    second=st.integers(0, 20),
)
def test_a_day_of_sun_and_lamp_by_looking(start, length, rise, day, second):
    """All but the longest dark, whatever the order of lamp and sun: counted quarter by quarter."""
    timer = timing.Timers(*(np.array([one]) for one in (start, length, (start + 50) % 96, second)))
    lit = [(at - start) % 96 < length or (at - start - 50) % 96 < second for at in range(96)]
    up = np.array([(at - rise) % 96 < day for at in range(96)])
    assert timing.day_seen_with(timer, up)[0] == quarters_seen(lit, up)
    assert timing.day_seen_with(timer, up, burns=False)[0] == quarters_seen([False] * 96, up)


def test_the_lamp_fills_what_the_sun_leaves(sill, tables):
    """Lettuce in a bright window: no lamp in June and July, and enough light wherever it can be had."""
    space = sill(zone="daylight_share = 0.35", weeks=50)
    found = daylight_year(space, tables)
    (zone,) = found.zones
    assert zone.lamp_h[5] == zone.lamp_h[6] == 0  # 14.2 and 14.5 mol of sun, 11.9 are enough
    assert zone.lamp_h[0] > 12
    for month in range(12):
        both = zone.sun_mol_m2_d[month] + zone.lamp_mol_m2_d[month]
        assert both >= 11.8 or zone.lamp_h[month] >= 16
        assert both <= 14.6  # where the tips of lettuce burn in still air
    assert "off" in {item.key: item.value for item in space.assumed}["hours of sill"]


def test_no_day_gets_longer_than_spinach_bears(sill, tables):
    """Baby spinach bolts above 13 h: lamp hours lie within the sun's day, or end with it at 13 h."""
    text = SILL.format(
        zone="daylight_share = 0.2", latitude=47.3, longitude=8.6, timezone="Europe/Zurich",
        outdoor=f"outdoor_kwh_m2_d = {YEAR_KWH}\n", start="2027-01-04", weeks=50,
    ).replace("lettuce-butterhead", "spinach-baby").replace("sites = 6", 'kind = "tray"').replace(
        "per_week = 1", "per_week = 40"
    ).replace("ppf_umol_s = 90", "ppf_umol_s = 160")  # fmt: skip
    space, problems = read_space_text(text, tables, today=date(2027, 1, 4))
    assert problems == []
    (zone,) = daylight_year(settled(space, tables), tables).zones
    days = sun_of(space).day_length_h.reshape(12, 2).max(axis=1)
    for month in range(12):
        assert zone.day_seen_h[month] <= max(13, days[month]) + 0.25, month
    assert zone.lamp_h[0] > 8


def test_given_hours_stand_and_the_bill_follows_the_months(sill, tables):
    """Given hours burn all year; picked ones are billed as they burn: 40 W times hours times days."""
    given_ = sill(zone="photoperiod_h = 12\ndaylight_share = 0.35", weeks=50)
    assert given_.month_hours == ()
    assert len(timer_lines(given_)) == 1
    space = sill(zone="daylight_share = 0.35", weeks=50)
    (zone,) = daylight_year(space, tables).zones
    lines = {line.month: line.kwh for line in bill(space, date(2027, 1, 1), 365)}
    for number, days in enumerate((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)):
        expected = 0.040 * zone.lamp_h[number] * days
        assert lines.get(f"2027-{number + 1:02d}", 0.0) == pytest.approx(expected, abs=0.05)
    timers = timer_lines(space)
    assert len(timers) > 2
    assert all(line.start.day == 1 for line in timers[1:])
    assert any(line.output == 0 for line in timers)


def test_heat_follows_the_months(sill, tables):
    """Where the lamp warms the air and burns less in summer, a bed is cooler in June than in December."""
    space = sill(zone="daylight_share = 0.35", weeks=50)
    (zone,) = space.zones
    warm = zone.model_copy(update={"air_c": None, "lamp_on_air_c": 25.0, "lamp_off_air_c": 18.0})
    space = space.model_copy(update={"zones": (warm,)})
    place = spot(space.beds[0], space, light_of(space, tables))
    june, december = place.seasons[11], place.seasons[23]
    assert june.air_c == pytest.approx(18 + 7 * june.lamp_h / 24)
    assert december.air_c == pytest.approx(18 + 7 * december.lamp_h / 24)
    assert december.air_c > june.air_c + 3


def test_where_the_year_is_even_the_timer_stays(sill, tables):
    """On the equator every month is like the next: one setting, and no change is worth it."""
    space = sill(
        zone="daylight_share = 0.1",
        latitude=0.0,
        longitude=36.8,
        timezone="Africa/Nairobi",
        outdoor="",
        weeks=50,
    )
    assert len(timer_lines(space)) == 1


@pytest.mark.parametrize(("first_h", "last_h"), [(3, 8), (18, 22), (10, 15)])
def test_lamp_hours_go_where_power_is_cheap(tables, first_h, last_h):
    """In March the lamp of a sill burns before dawn, after dusk or through the day, as power is cheap."""
    tariff = f"""
[tariff]
currency = "CHF"
[[tariff.rate]]
name = "day"
per_kwh = 0.40
[[tariff.rate]]
name = "cheap"
per_kwh = 0.10
hours = [["{first_h:02d}:00", "{last_h:02d}:00"]]
"""
    text = SILL.format(
        zone="daylight_share = 0.2", latitude=47.3, longitude=8.6, timezone="Europe/Zurich",
        outdoor=f"outdoor_kwh_m2_d = {YEAR_KWH}\n", start="2027-03-01", weeks=30,
    ).replace("ppf_umol_s = 90", "ppf_umol_s = 140")  # fmt: skip
    space, problems = read_space_text(text + tariff, tables, today=date(2027, 1, 4))
    assert problems == []
    ((on, off),) = settled(space, tables).month_hours[0].lit[2]
    assert on <= first_h * 60
    assert off >= last_h * 60


def test_at_one_price_the_lamp_burns_around_the_day(tables):
    """With one price the missing hour of the spring night is no reason to light it: the lamp burns by day."""
    tariff = """
[tariff]
currency = "CHF"
[[tariff.rate]]
name = "always"
per_kwh = 0.30
"""
    text = SILL.format(
        zone="daylight_share = 0.25", latitude=47.3, longitude=8.6, timezone="Europe/Zurich",
        outdoor=f"outdoor_kwh_m2_d = {YEAR_KWH}\n", start="2026-11-30", weeks=30,
    )  # fmt: skip
    space, problems = read_space_text(text + tariff, tables, today=date(2026, 11, 1))
    assert problems == []
    for lit in settled(space, tables).month_hours[0].lit:
        for on, off in lit:
            assert (on + off) / 2 == pytest.approx(14 * 60, abs=15)


def test_the_page_has_a_row_a_month(sill, tables):
    """A column a bed with light of both, the sun's part and lamp hours; no column without a window."""
    heads, rows = page_light.sun_table([light_of(sill(), tables)])
    assert heads == ("pots",)
    assert len(rows) == 12
    assert rows[0][0] == "Jan"
    assert rows[0][1].endswith(" (2.5), 12 h")  # 1 kWh x 7.265 mol x 0.35
    assert page_light.sun_table([light_of(sill(zone="photoperiod_h = 12"), tables)]) == ((), ())


def test_photoperiod_shows_the_hours_beside_the_sun(sill, tables):
    """The advice has the timer of each month, and says why; a window without a lamp has no row."""
    space = sill(zone="daylight_share = 0.35", weeks=50)
    open_zone = space.zones[0].model_copy(update={"lit": None})
    open_space = space.model_copy(update={"zones": (open_zone,), "month_hours": ()})
    found = advice(open_space, tables)
    assert found.timers == timer_lines(space)
    assert "beside the sun it pays to set the timer by month" in found.zones[0].why
    assert "mol of the lamp, without the sun's" in " ".join(hours_screen.photoperiod(found).split())
    bare = open_space.model_copy(update={"fixtures": ()})
    assert advice(bare, tables).zones == ()


def test_hours_where_the_sun_does_not_set(sill, tables):
    """In a polar day no timer makes the day shorter: hours are picked all the same."""
    space = sill(
        zone="daylight_share = 0.3",
        latitude=70.1,
        longitude=29.7,
        timezone="Europe/Oslo",
        outdoor="",
        weeks=50,
    )
    assert len(space.month_hours) == 1
    open_zone = space.zones[0].model_copy(update={"lit": None})
    found = advice(space.model_copy(update={"zones": (open_zone,), "month_hours": ()}), tables)
    assert found.timers == timer_lines(space)
