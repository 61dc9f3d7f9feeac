"""Relative humidity in air.csv: read, shown, with hints for mould, dew and burnt tips; no column is lost."""

import json
from datetime import date, datetime, timedelta

import pytest
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.planning.schedule.scouting import scouting_list
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.measured_overrides import with_measurements
from cropcal.reading.series import parse_air
from cropcal.records.plan import Batch
from cropcal.show.wording import look

SPACE = """
[place]
name = "Cellar window"
[[zone]]
name = "cellar"
length_m = 1.0
width_m = 0.6
lit = [["06:00", "22:00"]]
[[bed]]
name = "gutter"
zone = "cellar"
rows = 2
columns = 3
length_m = 0.8
width_m = 0.4
[[fixture]]
zone = "cellar"
watts = 90
[plan]
start = 2027-03-15
weeks = 8
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""
FIRST = datetime.fromisoformat("2027-03-05T00:00")


def series(lit, dark, days=9):
    """Return an air.csv with hourly readings (air, humidity) while the lamp is on, and while it is off."""
    rows = []
    for hour in range(24 * days):
        at = FIRST + timedelta(hours=hour, minutes=30)
        air_c, humidity = lit if 6 <= at.hour < 22 else dark
        rows.append(f"{at:%Y-%m-%d %H:%M},{air_c},{humidity}")
    return "\n".join(["time,air_c,humidity_percent", *rows]) + "\n"


def lettuce():
    on = date(2027, 3, 10)
    return Batch(
        id="0310a", want=0, crop="lettuce-butterhead", bed="gutter", nursery=None, sow_on=on, emerge_on=on,
        transplant_on=None, ready_from=on + timedelta(days=40), ready_from_low_80=on + timedelta(days=36),
        ready_from_high_80=on + timedelta(days=44), ready_until=on + timedelta(days=50),
        clear_on=on + timedelta(days=45), sites=2, cells=0, seeds=4, unit="heads", harvests=(),
    )  # fmt: skip


def run(folder, text, *words):
    (folder / "space.toml").write_text(SPACE, encoding="utf-8")
    (folder / "air.csv").write_text(text, encoding="utf-8")
    return CliRunner().invoke(app, [words[0], str(folder), *words[1:]])


@pytest.fixture(autouse=True)
def in_march(monkeypatch):
    monkeypatch.setattr("cropcal.season.clock.today", lambda: date(2027, 3, 15))


DAMP, DRY, WELL = ((22, 90), (17, 96)), ((28, 40), (20, 45)), ((21, 65), (18, 70))


@pytest.mark.parametrize(
    ("air", "says", "silent"),
    [
        (DAMP, ("mould may start", "dew on cold leaves", "leaf tips may burn"), ("dry air slows",)),
        (DRY, ("dry air slows growth",), ("mould", "dew on", "leaf tips may burn")),
        (WELL, (), ("mould", "dew on", "leaf tips may burn", "dry air slows")),
    ],
)
def test_what_the_air_may_do_is_said_where_it_holds_and_nowhere_else(tmp_path, air, says, silent):
    """Damp day and night; dry; and in between, where there is nothing to say."""
    shown = " ".join(run(tmp_path, series(*air), "light", "--all").stdout.split())
    assert all(words in shown for words in says)
    assert not any(words in shown for words in silent)
    first = run(tmp_path, series(*air), "light").stdout
    assert all(words in first for words in says[:1])


def test_humidity_stands_beside_the_air_with_its_dew_point(tmp_path):
    """21 °C and 65 %: FAO-56 gives e° 2.487, so 0.87 kPa are lacking; by hand."""
    shown = " ".join(run(tmp_path, series(*WELL), "light", "--all").stdout.split())
    assert "humidity 65% with the lamp on, 70% off" in shown
    assert "dew point 14 °C; vapour pressure deficit 0.9 kPa with the lamp on" in shown
    seen = json.loads(run(tmp_path, series(*WELL), "light", "--json").stdout)["measured"][0]["humidity"]
    assert seen["lamp_on_vpd_kpa"] == pytest.approx(0.870, abs=0.002)
    assert seen["damp_h"] == 0


def test_the_week_says_it_for_zones_with_plants(read_text, tables):
    """Under what to look at, as long as something stands there."""
    readings, problems = parse_air(series(*DAMP), "air.csv")
    assert problems == []
    space = with_measurements(read_text(SPACE), readings, [])
    lights, monday = bed_lights(space, tables), date(2027, 3, 15)

    def seen(*batches):
        looks = scouting_list(batches, [], space, tables, lights, monday)
        return [look(item, {}) for item in looks if item.what == "humidity"]

    assert seen() == []
    mould, dew, tips = seen(lettuce())
    assert mould.startswith("cellar: mould may start: air of 85% and more")
    assert dew.startswith("cellar: dew on cold leaves")
    assert tips.startswith("cellar: leaf tips may burn")


@pytest.mark.parametrize(
    ("header", "message"),
    [
        ("time,air_c,rh", 'air.csv:1: rh: found an unknown column, expected one of "time", "air_c", '
         '"humidity_percent", "zone", "note", did you mean "humidity_percent"?'),
        ("time,air_c,Humidity", 'Humidity: found an unknown column'),
        ("time,air_c,battery", 'battery: found an unknown column'),
        ("time,temp,rh", 'expected a column of that name in the first line, is it the column "temp"?'),
    ],
)  # fmt: skip
def test_no_column_is_passed_over_in_silence(tmp_path, header, message):
    """One message, and exit code 2."""
    done = run(tmp_path, f"{header}\n2027-03-06 08:00,20,60\n", "light")
    assert done.exit_code == 2
    assert message in done.stderr
    assert done.stderr.count("air.csv:") == 1


@pytest.mark.parametrize(
    ("cell", "hint"), [("0.65", "a share of one: write percent"), ("104", "from 1 to 100 (%)")]
)
def test_a_humidity_that_cannot_be(cell, hint):
    """With its line; a blank one is only not known."""
    text = (
        f"time,air_c,humidity_percent,note\n2027-03-06 08:00,20,,open window\n2027-03-06 09:00,20,{cell},\n"
    )
    readings, (problem,) = parse_air(text, "air.csv")
    assert "air.csv:3: humidity_percent:" in str(problem)
    assert hint in str(problem)
    assert readings[0].humidity_percent is None
