"""The sun through a window: by half months, added to the lamp's, and lived through by each sowing."""

import re
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
import window_sills
from depth import examples, few_of
from hypothesis import given, settings
from hypothesis import strategies as st
from window_sills import SILL, light_of

from cropcal.planning.growth.crop_constants import days_to_emerge, eps, home_ln_speed
from cropcal.planning.growth.crop_growth import Stages, grow
from cropcal.planning.growth.pace import UNLEARNED
from cropcal.planning.growth.seasonal_growth import SeasonalGrowth, grow_sowings, seasonal_stages
from cropcal.planning.growth.suitability import suitability_over
from cropcal.planning.history.observed_conditions import observed_conditions
from cropcal.planning.photoperiod.daylight_year import daylight_year
from cropcal.planning.planner import SolveOptions, plan
from cropcal.planning.site.growing_conditions import conditions_in, with_season
from cropcal.planning.site.sunlight import HalfMonthSun, sun_of
from cropcal.reading.space.read import read_space_text
from cropcal.records.daylight import half_of, rough_spans

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
    """Twelve shares: none in June leaves June to the lamp, and its day as long as the lamp is on."""
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
    """Without radiation the light comes from latitude, less surely, and that is listed as an assumption."""
    given_, guessed = light_of(sill(), tables), light_of(sill(outdoor=""), tables)
    assert guessed.sd_ln_sun > given_.sd_ln_sun
    said = {item.key: item.value for item in guessed.assumed}
    assert said["outdoor light"].startswith(
        "45% of what comes in above the air, known to within 45%, in four cases out of five"
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
    ("place", "brightest", "dimmest", "longest_h", "shortest_h"),
    [
        (window_sills.ZURICH, (5, 6), (11,), 15.9, 8.4),  # Zurich 15 h 55 min and 8 h 26 min (from memory)
        (
            window_sills.CHRISTCHURCH,
            (11, 0),
            (5,),
            15.4,
            8.9,
        ),  # Christchurch 15 h 26 min, 8 h 56 min (from memory)
    ],
)
def test_hemispheres(sill, tables, place, brightest, dimmest, longest_h, shortest_h):
    """North of the equator June is brightest and longest, south of it December."""
    found = daylight_year(sill(**place, outdoor=""), tables)
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


@settings(max_examples=examples(40))
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
        latitude=latitude, longitude=longitude, timezone="UTC", outdoor="", start="2027-01-04", weeks=26,
    )  # fmt: skip
    space, problems = read_space_text(text, tables, today=date(2027, 1, 4))
    assert problems == []
    first = date(year, 2, 29) if year == 2028 else date(year, 1, 1)
    # a file with a place so far from its clock is refused, and the sun has to do with any
    place = space.place.model_copy(update={"timezone": timezone})
    start = space.settings.model_copy(update={"start": first})
    space = space.model_copy(update={"place": place, "settings": start})
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

    per_m2 = max(crop.plants_per_site / area_m2, crop.anchor_plants_m2 / growth.CROWN_SHARE)
    emerges = days_to_emerge(crop, tables, 21.0)
    mass = crop.seed_g_per_1000 / 1000 * growth.SEEDLING_SHARE * per_m2
    target = crop.anchor_g_per_plant * crop.dry_matter * per_m2
    warm = float(growth.temperature_factor(21.0, crop.air_base_c, crop.air_optimum_c, crop.air_max_c))
    day = emerges + crop.young_lag_d / warm
    while mass < target:
        now = seasons[half_of(sown + timedelta(days=int(day)))]
        light = min(now.dli_mol_m2_d, 20.0)
        per_eps = 17 * (light / 17) ** 0.70 * (now.photoperiod_h / 16) ** 0.10 * warm**0.3
        c = min(eps(crop, tables) * np.exp(home_ln_speed(crop)) * per_eps, 1.23 * light)
        k = 0.028 * (light / 17) ** -0.35 * warm**0.7
        mass += step_d * c * (1 - np.exp(-k * mass))
        day += step_d
    return day


@pytest.mark.parametrize(
    "sown", few_of([date(2027, 2, 9), date(2027, 11, 28), date(2027, 8, 20), date(2028, 2, 20)], 2)
)
def test_a_sowing_lives_through_the_days_that_follow(sill, tables, sown):
    """Ready when a walk in hundredths of days through the changing light says so, within a fifth of a day."""
    space, crop = sill(), tables.crops["lettuce-butterhead"]
    place = conditions_in(space.beds[0], space, light_of(space, tables))
    grown, good = grow_sowings(crop, tables, place, None, UNLEARNED, [sown], np.array([0]), for_itself=True)
    assert good.tolist() == [True]
    walked = by_small_steps(crop, tables, place.seasons, sown, place.site_area_m2)
    assert grown.ready_d[1, 0] == pytest.approx(walked, abs=0.2)


def test_light_that_does_not_change_is_as_before(sill, tables):
    """Half months all alike give what one stage gives, to the last digit that matters, ranges included."""
    space, crop = sill(), tables.crops["lettuce-butterhead"]
    place = conditions_in(space.beds[0], space, light_of(space, tables))
    flat = HalfMonthSun(12.0, 2.0, 0.2, 10.0, 14.0, 21.0)
    place = with_season(place, (flat,) * 24, flat)
    one = grow(crop, tables, replace(place, seasons=()), None)
    many, _ = grow_sowings(
        crop, tables, place, None, UNLEARNED, [date(2027, 3, 4), date(2027, 12, 28)], np.array([0, 0]),
        for_itself=True,
    )  # fmt: skip
    assert many.ready_d == pytest.approx(np.repeat(one.ready_d, 2, axis=1), rel=1e-9)
    assert many.g_per_plant == pytest.approx(np.repeat(one.g_per_plant, 2, axis=1), rel=1e-9)


@settings(max_examples=examples(50))
@given(
    sown=st.lists(st.dates(date(2026, 1, 1), date(2029, 1, 1)), min_size=1, max_size=5),
    age=st.integers(0, 40),
)
def test_every_day_is_in_its_own_half_month(sown, age):
    """Day by day from sowing on, a stage is of its own half month, in the nursery until the move."""
    sown = [sown[0] + (day - sown[0]) % timedelta(days=160) for day in sown]
    ends, place, half = seasonal_stages(sown, np.full(len(sown), age))
    for row, first in enumerate(sown):
        for day in range(0, 190, 7):
            stage = int(np.searchsorted(ends[row], day, side="right"))
            assert half[row, stage] == half_of(first + timedelta(days=day))
            assert place[row, stage] == (day >= age)


def test_stages_are_those_of_the_closed_form(sill, tables):
    """A nursery without a window hands over to a site with one."""
    space, crop = sill(), tables.crops["lettuce-butterhead"]
    site = conditions_in(space.beds[0], space, light_of(space, tables))
    nursery = replace(site, seasons=(), dli_mol_m2_d=9.0, photoperiod_h=16.0, site_area_m2=0.002)
    ends, place, half = seasonal_stages([date(2027, 4, 6)], np.array([20]))
    turning = SeasonalGrowth(crop, tables, (nursery, site), ends, 4.0, UNLEARNED, place, half)
    first = Stages(crop, tables, (nursery,), np.array([[np.inf]]), 4.0, UNLEARNED)
    days = np.arange(20.0)
    assert turning.fresh_g(days, 0.0, 0.0, 0.0) == pytest.approx(first.fresh_g(days, 0.0, 0.0, 0.0))


# ---- the plan


def figures(found):
    """Return everything a plan says but how long the search took."""
    form = found.model_dump()
    form["outcome"].pop("seconds")
    form["searched"].pop("seconds")
    return form


def test_without_a_window_every_figure_is_as_before(sill, tables):
    """A place on Earth alone, or a window that lets nothing in, changes nothing in a plan."""
    effort = SolveOptions(time_limit_s=20)
    dark = "photoperiod_h = 14"
    nowhere = sill(zone=dark, weeks=14)
    bare = nowhere.place.model_copy(update={"latitude": None, "longitude": None, "outdoor_kwh_m2_d": None})
    expected = figures(plan(nowhere.model_copy(update={"place": bare}), tables, effort))
    assert figures(plan(nowhere, tables, effort)) == expected
    assert figures(plan(sill(zone=f"{dark}\ndaylight_share = 0", weeks=14), tables, effort)) == expected


def test_each_batch_knows_its_own_sun(sill, tables):
    """In a sill batches sown later into spring take fewer days, as `when` says of the same sowing."""
    space = sill(zone="photoperiod_h = 10\ndaylight_share = 0.3")
    found = plan(space, tables, SolveOptions(time_limit_s=20))
    days = {batch.sow_on: (batch.ready_from - batch.sow_on).days for batch in found.batches}
    first, last = min(days), max(days)
    assert days[first] - days[last] > 10
    place = conditions_in(space.beds[0], space, light_of(space, tables))
    crop = tables.crops["lettuce-butterhead"]
    for batch in found.batches:
        grown, _ = grow_sowings(
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
    found = plan(lampless, tables, SolveOptions(time_limit_s=20))
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
    found = suitability_over(space, crop, space.beds[0], light, np.ones(24, bool))
    assert found.verdict == "risk"
    assert found.why.startswith("mid May to mid Aug: at worst in early Jul: ")
    assert "; well Apr to mid May and mid Aug to mid Sep" in found.why
    assert re.search(r"; darkest in (early Jan|late Dec): \d\.\d mol a day$", found.why)
    one = suitability_over(space, crop, space.beds[0], light, np.arange(24) == 11)
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
    """Half months of a verdict are named as two spans at most, else counted."""
    assert rough_spans(halves, 13) == said


def test_spinach_is_told_of_the_suns_own_day(sill, tables):
    """In June the sun alone is up for 16 h at 47 N: baby spinach bolts above 13 h whatever the lamp does."""
    space = sill(zone='lit = [["10:00", "14:00"]]\ndaylight_share = 0.2')
    found = suitability_over(
        space, tables.crops["spinach-baby"], space.beds[0], light_of(space, tables), np.arange(24) == 11
    )
    assert found.verdict == "risk"
    assert "with the sun, bolts above 13 h" in found.why
    assert found.cure.startswith("the sun alone is up 15.9 h")


def test_what_plants_found_had_the_sun_in_it(sill, tables):
    """What the journal's harvests are held against: lamp and sun of each real day."""
    space = sill()
    light = light_of(space, tables)
    found = observed_conditions(space, (light,), ())
    for day in (date(2027, 1, 3), date(2027, 6, 20), date(2028, 2, 29)):
        now = found.on("pots", day)
        assert now.dli_mol_m2_d == pytest.approx(light.with_sun_mol_m2_d(half_of(day)))
        assert now.seasons == ()
