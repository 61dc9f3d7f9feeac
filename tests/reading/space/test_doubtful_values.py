"""What cannot be is refused, what is most often a slip is asked about; the same values a step lower pass."""

import json
import time
from datetime import timedelta

import pytest
from on_a_day import DAY
from typer.testing import CliRunner

from cropcal.cli.main import app
from cropcal.reading.text.timezones import position

SPACE = """
[place]
name = "Lodge"
timezone = "Europe/Dublin"
{place}
[[zone]]
name = "alcove"
length_m = 0.9
width_m = 0.38
photoperiod_h = 13
[[bed]]
name = "gutter"
zone = "alcove"
{bed}
[[fixture]]
zone = "alcove"
watts = {watts}
lamp_to_canopy_m = 0.3
{lamp}
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
{more}
"""


@pytest.fixture
def lodge(tmp_path):
    """Return a function that writes the space with some values of its own, and returns its folder."""

    def write(place="", bed="rows = 2\ncolumns = 3", watts=45, lamp="", more=""):
        text = SPACE.format(place=place, bed=bed, watts=watts, lamp=lamp, more=more)
        (tmp_path / "space.toml").write_text(text, encoding="utf-8")
        return tmp_path

    return write


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def reading(umol):
    return f'[[reading]]\nbed = "gutter"\numol_m2_s = [[{umol}]]'


def price(value, currency='currency = "EUR"'):
    return f"[tariff]\n{currency}\n[[tariff.rate]]\nper_kwh = {value}"


REFUSED = {
    "5 umol a joule": (
        {"more": reading(660)},
        "found 5.02 µmol on the leaves for each joule, expected at most 4.5",
    ),
    "1 W lights a bench": ({"watts": 1, "more": reading(120)}, "µmol on the leaves for each joule"),
    "a latitude of the other half": (
        {"place": "latitude = -45\nlongitude = -6.3"},
        "expected a place in its timezone: north and east are above 0, south and west below, latitude with "
        "the other sign?",
    ),
    "a longitude of the other half": ({"place": "latitude = 53\nlongitude = 170"}, "from Europe/Dublin"),
    "2000 x 2000 sites": (
        {"bed": "rows = 2000\ncolumns = 2000"},
        "found 4,000,000 sites (rows times columns)",
    ),
    "15,000 sites on 0.34 m2": (
        {"bed": "rows = 100\ncolumns = 150"},
        "0.48 cm apart, expected sites at least 2 cm",
    ),
}
ASKED = {
    "3.8 umol a joule": (
        {"more": reading(500)},
        "found 3.8 µmol on the leaves for each joule, expected up to 3.5",
    ),
    "a lamp of 3.8 umol/J": ({"lamp": "ppf_umol_s = 171"}, "found 3.8 µmol from the lamp for each joule"),
    "30 euros a kWh": (
        {"more": price(30)},
        "found 30, expected less than 2 EUR for a kWh, hundredths? write 0.3",
    ),
    "30 of no currency": ({"more": price(30, "")}, "found 30, expected less than 5 for a kWh"),
    "5,400 cells": (
        {"bed": 'kind = "tray"\nrows = 60\ncolumns = 90\n[[bed]]\nname = "raft"\nzone = "alcove"\nsites = 2'},
        "found 5,402 sites in all",
    ),
    "one basil": (
        {"more": '[[want]]\ncrops = ["basil"]\nper_week = 1'},
        "found 1 g a week, expected at least 5 g, a few leaves, Basil: grams are counted; one plant gives",
    ),
    "4 cm apart": ({"bed": "rows = 10\ncolumns = 21"}, "found 210 sites on 0.342 m², 4 cm apart, expected"),
}
FINE = {
    "3.3 umol a joule": {"more": reading(430)},
    "south with its own clock": {"place": "latitude = 51.9\nlongitude = -8.5"},
    "30 yen": {"more": price(30, 'currency = "JPY"')},
    "0.30 euros": {"more": price(0.30)},
    "8 cm apart": {"bed": "rows = 4\ncolumns = 11"},
}


@pytest.mark.parametrize("given", REFUSED)
def test_what_cannot_be_is_refused(lodge, given):
    """By every command, at once, with exit code 2."""
    values, expected = REFUSED[given]
    folder = lodge(**values)
    for command in ("check", "light"):
        start = time.monotonic()
        done = run(command, folder)
        assert time.monotonic() - start < 5
        assert done.exit_code == 2
        assert expected in done.stderr


@pytest.mark.parametrize("given", ASKED)
def test_what_is_most_often_a_slip_is_asked_about(lodge, given):
    """With its line; it can be meant, so the exit code stays 0."""
    values, expected = ASKED[given]
    folder = lodge(**values)
    done = run("check", folder)
    assert done.exit_code == 0
    (line,) = (line for line in done.stdout.splitlines() if line.startswith("Is this meant?"))
    assert expected in line
    assert "space.toml:" in line
    (doubt,) = json.loads(run("check", folder, "--json").stdout)["doubts"]
    assert doubt["line"] > 0
    assert expected in run("light", folder).stderr


@pytest.mark.parametrize("given", FINE)
def test_ordinary_values_are_not_asked_about(lodge, given):
    done = run("check", lodge(**FINE[given]))
    assert done.exit_code == 0, done.output
    assert "meant" not in done.output


def test_a_sun_is_no_lamp(lodge):
    """By a window, much light for few watts is no slip."""
    folder = lodge(place="latitude = 53.3\nlongitude = -6.3", more=reading(660))
    text = (folder / "space.toml").read_text(encoding="utf-8")
    sunny = text.replace("photoperiod_h = 13", "photoperiod_h = 13\ndaylight_share = 0.4")
    (folder / "space.toml").write_text(sunny, encoding="utf-8")
    assert run("check", folder).exit_code == 0


@pytest.mark.parametrize("ratio", [1.2, 3.0, 4.5, 6.5, 7.3, 15.0, 40.0])
def test_readings_far_above_the_lamp_are_spoken_of(lodge, ratio):
    """Tubes give 0.8 umol/J: silent within the spread, then never, whatever would explain it or nothing."""
    folder = lodge(
        watts=200, lamp='lamp = "fluorescent"', more=reading(f"{0.8 * 200 * 0.66 / 0.342 * ratio:.0f}")
    )
    done = run("light", folder, "--all")
    spoken = done.exit_code == 2 or "Readings of gutter and the lamp disagree" in done.stdout
    assert spoken == (ratio > 2)


def meter(folder, values, first=None):
    first = first or DAY - timedelta(days=len(values))
    rows = [f"{first + timedelta(days=day)},{value}" for day, value in enumerate(values)]
    (folder / "meter.csv").write_text("\n".join(["date,kwh", *rows]) + "\n", encoding="utf-8")


@pytest.mark.parametrize(
    ("values", "line"),
    [
        ([12.1, 13.5, 148.0, 16.3, 17.7, 19.1], 4),  # a lost point
        ([112.1, 113.5, 14.8, 116.3, 117.7, 119.1], 4),  # a digit forgotten
        ([12.1, 13.5, 14.9, 16.3, 17.7, 191.0], 7),  # a lost point in the newest line
        ([12.1, 13.5, 14.9, 16.3, 17.7, 71.1], 7),  # two digits swapped in the newest line
    ],
)
def test_a_meter_reading_out_of_line_is_refused_by_its_line(lodge, values, line):
    """One slip made kilowatts of standby."""
    folder = lodge()
    meter(folder, values)
    for command in ("check", "bill"):
        done = run(command, folder)
        assert done.exit_code == 2
        assert f"meter.csv:{line}: kwh: found" in done.stderr
        assert done.stderr.count("meter.csv:") == 1


@pytest.mark.parametrize(
    "values",
    [
        [12.1, 13.5, 14.9, 16.3, 17.7],
        [12.1, 13.5, 0.4, 1.8, 3.2, 4.6],  # set back to zero
        [0.2, 2.2, 1.1, 2.5, 3.9, 5.3],  # set back on the second day
        [0, 1.4, 2.8, 0.5, 1.9, 3.3, 4.7],  # set back, and soon above where it was
        [5, 5, 5, 6.4, 7.8, 9.2],  # off for some days
        [1, 2.1, 3.6, 4.2, 7.9, 9.0],  # a day with a heater
        [10, 2000],
    ],
)
def test_a_counter_may_do_what_counters_do(lodge, values):
    folder = lodge()
    meter(folder, values)
    assert run("check", folder).exit_code == 0


@pytest.mark.parametrize(("name", "head"), [("air.csv", "time,air_c"), ("meter.csv", "time,kwh")])
def test_nothing_is_measured_in_the_future(lodge, name, head):
    """The first line from a day that has not come is named, and how many more there are."""
    folder = lodge()
    now = DAY
    days = [now - timedelta(days=1), now, now + timedelta(days=2), now + timedelta(days=3)]
    rows = [f"{day} 08:00,{20 + number}" for number, day in enumerate(days)]
    (folder / name).write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    for command in ("check", "light"):
        done = run(command, folder)
        assert done.exit_code == 2
        assert f"{name}:4: time: found" in done.stderr
        assert "a time up to now" in done.stderr
        assert "1 more line" in done.stderr
    (folder / name).write_text("\n".join([head, *rows[:2]]) + "\n", encoding="utf-8")
    assert run("check", folder).exit_code == 0


def test_towns_of_timezones():
    """From the tz database: Dublin, the southernmost of Tasmania's, and a zone without a town."""
    assert position("Europe/Dublin") == pytest.approx((53 + 20 / 60, -6.25))
    assert position("Australia/Hobart") == pytest.approx((-(42 + 53 / 60), 147 + 19 / 60), abs=0.01)
    assert position("Etc/UTC") is None
