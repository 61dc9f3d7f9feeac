"""The sun by the commands: the year, its picture, and the lamp hours that it leaves."""

import csv
import json
from datetime import date

import numpy as np
import pytest
import window_sills
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st
from in_process import cropcal
from window_sills import SILL, YEAR_KWH, light_of

from cropcal.planning.photoperiod.advice import advice
from cropcal.planning.photoperiod.daylight_year import daylight_year
from cropcal.planning.photoperiod.fill_hours import timer_lines, with_hours
from cropcal.planning.power.bill import bill
from cropcal.planning.site.growing_conditions import conditions_in
from cropcal.planning.site.sunlight import sun_of
from cropcal.reading.space.read import read_space_text
from cropcal.science import timing
from cropcal.show.page import light as page_light
from cropcal.show.pictures import daylight as daylight_drawing
from cropcal.show.pictures.shapes import Boxes, TextLine
from cropcal.show.terminal import photoperiod as hours_screen

# ---- the command


@pytest.fixture
def folder(tmp_path):
    """Return a folder with the sill at 47 N."""
    (tmp_path / "space.toml").write_text(window_sills.text(), encoding="utf-8")
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
    done = cropcal("daylight", str(tmp_path), "--all")
    assert done.returncode == 2
    assert "no latitude and longitude" in done.stderr


def test_months_of_the_other_hemisphere_are_noticed(sill, tables):
    """Radiation typed for the wrong hemisphere brings more in December than comes in above the air."""
    found = daylight_year(sill(outdoor=f"outdoor_kwh_m2_d = {YEAR_KWH[6:] + YEAR_KWH[:6]}\n"), tables)
    assert len(found.warnings) == 1
    assert "more than comes in above the air" in found.warnings[0]
    assert daylight_year(sill(), tables).warnings == ()


@pytest.mark.parametrize("place", [window_sills.ZURICH, window_sills.CHRISTCHURCH, window_sills.VARANGER])
def test_the_picture_lies_on_its_page(sill, tables, place):
    """Nothing is drawn outside the page, sun and lamp are both there, and all texts can be read."""
    found = daylight_year(sill(**place, outdoor=""), tables)
    drawn = daylight_drawing.drawing(found)
    for shape in drawn.shapes:
        if isinstance(shape, Boxes):
            boxes = np.array(shape.boxes)
            assert np.all((boxes[:, :2] >= 0) & (boxes[:, :2] <= drawn.width))
            assert np.all((boxes[:, 2:] >= 0) & (boxes[:, 2:] <= drawn.height))
            assert np.all(boxes[:, 2] <= boxes[:, 3] + 1e-9)
        if isinstance(shape, TextLine):
            assert 0 <= shape.y <= drawn.height
    faces = {shape.faces for shape in drawn.shapes if isinstance(shape, Boxes)}
    assert {daylight_drawing.SUN, daylight_drawing.LAMP} <= faces


def test_names_beside_six_crops_fit_on_the_picture(sill, tables):
    """Names beside six crops end on the page: a letter of 7.5 pt is some 0.065 inches wide."""
    space = sill()
    six = ["lettuce-butterhead", "basil", "parsley", "lettuce-romaine", "dill", "cilantro"]
    wants = tuple(space.wants[0].model_copy(update={"crops": (slug,)}) for slug in six)
    drawn = daylight_drawing.drawing(daylight_year(space.model_copy(update={"wants": wants}), tables))
    beside = [one for one in drawn.shapes if isinstance(one, TextLine) and one.x > daylight_drawing.RIGHT]
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


@settings(max_examples=examples(60))
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
    assert timing.day_length_with_sun(timer, up)[0] == quarters_seen(lit, up)
    assert timing.day_length_with_sun(timer, up, lamp_on=False)[0] == quarters_seen([False] * 96, up)


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
    (zone,) = daylight_year(with_hours(space, tables), tables).zones
    days = sun_of(space).day_length_h.reshape(12, 2).max(axis=1)
    for month in range(12):
        assert zone.day_seen_h[month] <= max(13, days[month]) + 0.25, month
    assert zone.lamp_h[0] > 8


def test_given_hours_stand_and_the_bill_follows_the_months(sill, tables):
    """Given hours hold all year; picked ones are billed as the lamp is on: 40 W times hours times days."""
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
    """Where the lamp warms the air and is on less in summer, a bed is cooler in June than in December."""
    space = sill(zone="daylight_share = 0.35", weeks=50)
    (zone,) = space.zones
    warm = zone.model_copy(update={"air_c": None, "lamp_on_air_c": 25.0, "lamp_off_air_c": 18.0})
    space = space.model_copy(update={"zones": (warm,)})
    place = conditions_in(space.beds[0], space, light_of(space, tables))
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
    """In March the lamp of a sill is on before dawn, after dusk or through the day, as power is cheap."""
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
    ((on, off),) = with_hours(space, tables).month_hours[0].lit[2]
    assert on <= first_h * 60
    assert off >= last_h * 60


def test_at_one_price_the_lamp_burns_around_the_day(tables):
    """With one price the missing hour of the spring night is no reason to light it: the lamp is on by day."""
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
    for lit in with_hours(space, tables).month_hours[0].lit:
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
    assert "with the sun, it pays to set the timer month by month" in found.zones[0].why
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
