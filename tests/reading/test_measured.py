"""Measured series: what a thermometer and a plug meter wrote, and their means."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from cropcal.reading.series import (
    parse_air,
    parse_meter,
    read_air,
    read_meter,
)
from cropcal.science.series import (
    daily_means,
    day_and_night,
    kwh_between,
    mean_over,
)

HOURS = np.arange(0.0, 48.01, 0.5)


def test_air_of_a_spreadsheet():
    """Semicolons, decimal commas and any order give readings by time."""
    text = "\ufeffair_c;time\n19,5;2026-05-04 07:00\n\n23;2026-05-04T06:00:30\n"
    readings, problems = parse_air(text.removeprefix("\ufeff"), "air.csv")
    assert problems == []
    assert [(one.at.isoformat(), one.air_c) for one in readings] == [
        ("2026-05-04T06:00:30", 23.0), ("2026-05-04T07:00:00", 19.5),
    ]  # fmt: skip


def test_a_meter_by_date():
    """A bare date is its midnight."""
    readings, problems = parse_meter("date,kwh\n2026-05-04,10\n2026-05-05,12.5\n", "meter.csv")
    assert problems == []
    assert [(one.at.isoformat(), one.kwh) for one in readings] == [
        ("2026-05-04T00:00:00", 10.0), ("2026-05-05T00:00:00", 12.5),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("time,air_c\n2026-05-04 06:00,72\n",
         'air.csv:2: air_c: found "72", expected a number from -30 to 60 (°C), looks like °F: 22.2'),
        ("time,air_c\n04.05.2026 06:00,20\n",
         'air.csv:2: time: found "04.05.2026 06:00", expected a date and time like 2027-01-06 18:30'),
        ("time,air_c\n2026-05-04 06:00,\n", "air.csv:2: air_c: found nothing"),
        ("time,temp\n2026-05-04 06:00,20\n", "air.csv:1: air_c: found no such column"),
        ("time,air_c\n2026-05-04 06:00,20\n2026-05-04 06:00,21\n",
         'air.csv:3: time: found "2026-05-04 06:00:00" again, expected each time once, line 2 has it'),
        ("", "air.csv: found an empty file"),
    ],
)  # fmt: skip
def test_each_mistake_has_one_message(text, message):
    """With its line."""
    _, problems = parse_air(text, "air.csv")
    assert len(problems) == 1
    assert str(problems[0]).startswith(message)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("time,air_c\n2026-05-04 06:00,20\n",
         "air.csv:1: zone: found no such column, expected a column of that name in the first line"),
        ("time,air_c,zone\n2026-05-04 06:00,20,lofft\n",
         'air.csv:2: zone: found "lofft", expected the name of a zone, did you mean "loft"?'),
        ("time,air_c,zone\n2026-05-04 06:00,20,\n",
         "air.csv:2: zone: found nothing, expected the name of a zone"),
    ],
)  # fmt: skip
def test_of_several_zones_each_reading_has_its_own(text, message):
    """With two zones a reading of nowhere in particular is a mistake; the same time in both is none."""
    _, problems = parse_air(text, "air.csv", ["loft", "stairs"])
    assert len(problems) == 1
    assert str(problems[0]).startswith(message)
    both = "time,air_c,zone\n2026-05-04 06:00,20,loft\n2026-05-04 06:00,18,stairs\n"
    assert parse_air(both, "air.csv", ["loft", "stairs"])[1] == []


def series(column, values, minutes=20, start="2026-10-24T22:00+00:00"):
    """Return a file whose logger goes on evenly and writes what the clocks of Berlin show."""
    moments = [
        datetime.fromisoformat(start) + timedelta(minutes=minutes * number) for number in range(len(values))
    ]
    local = (at.astimezone(ZoneInfo("Europe/Berlin")) for at in moments)
    rows = (f"{at:%Y-%m-%d %H:%M},{value:g}" for at, value in zip(local, values, strict=True))
    return "\n".join([f"time,{column}", *rows]) + "\n"


def test_the_hour_that_comes_twice_in_autumn_counts_once():
    """Berlin, 25 October 2026, 02:00 to 03:00 twice: no mistake, and the mean of both in its place."""
    text = series("air_c", [20.0] * 6 + [21.0] * 3 + [23.0] * 3 + [20.0] * 6)
    readings, problems = parse_air(text, "air.csv", (), "Europe/Berlin")
    assert problems == []
    assert [one.air_c for one in readings] == [20.0] * 6 + [22.0] * 3 + [20.0] * 6
    assert len(parse_air(text, "air.csv", (), "Asia/Tokyo")[1]) == 3  # nobody sets clocks back there


@pytest.mark.parametrize("minutes", [7, 10, 60])
def test_a_meter_through_the_hour_that_comes_twice(minutes):
    """A counter that rises by 0.1 kWh at each reading: the energy is the last reading less the first."""
    counter = 100.0 + 0.1 * np.arange(8 * 60 // minutes)
    readings, problems = parse_meter(series("kwh", counter, minutes), "meter.csv", (), "Europe/Berlin")
    assert problems == []
    at_h = np.array([(one.at - readings[0].at) / timedelta(hours=1) for one in readings])
    kwh = np.array([one.kwh for one in readings])
    assert kwh_between(at_h, kwh, 0.0, at_h[-1]) == pytest.approx(counter[-1] - counter[0])


def test_a_time_thrice_is_a_mistake_even_in_that_hour():
    """With the lines that have it."""
    text = "time,air_c\n" + "2026-10-25 02:30,20\n" * 3
    (problem,) = parse_air(text, "air.csv", (), "Europe/Berlin")[1]
    assert "air.csv:4: time:" in str(problem)
    assert "lines 2 and 3 have it" in str(problem)


def test_no_file_is_no_reading(tmp_path):
    """Nobody needs a thermometer."""
    assert read_air(tmp_path / "air.csv") == ((), [])
    (tmp_path / "meter.csv").write_text("time,kwh\n2026-05-04 06:00,1\n", encoding="utf-8")
    assert read_meter(tmp_path / "meter.csv")[0][0].at == datetime.fromisoformat("2026-05-04T06:00")


def test_the_mean_of_a_constant_and_of_a_ramp():
    """Exact by arithmetic: 20 stays 20; a ramp of 1 an hour has the mean of its ends."""
    assert daily_means(HOURS, np.full_like(HOURS, 20.0), 0, 2) == pytest.approx([20.0, 20.0])
    assert mean_over(HOURS, HOURS, [(6.0, 18.0)]) == pytest.approx(12.0, abs=0.01)


def test_unevenly_read_times_weigh_by_their_time():
    """Ten readings in one warm hour do not outweigh the cool ones of the others."""
    at_h = np.array([0.0, 1.0, 2.0, 2.1, 2.2, 2.3, 2.4, 2.5, 3.0])
    air_c = np.where((at_h >= 2.0) & (at_h <= 2.5), 30.0, 20.0)
    assert mean_over(at_h, air_c, [(0.0, 3.0)]) == pytest.approx(20 + 10 * (2.75 - 1.5) / 3.0)


def test_a_silent_logger_knows_nothing():
    """A day without a reading has no mean."""
    means = daily_means(np.array([1.0, 2.0, 50.0]), np.array([20.0, 20.0, 24.0]), 0, 3)
    assert np.isnan(means).tolist() == [False, True, False]


def test_day_and_night_over_midnight():
    """Lamp on 18 to 10: 23 while it is on, 19 while it is off; at the edges half a reading's time mixes."""
    burning = (HOURS % 24 >= 18) | (HOURS % 24 < 10)
    day_c, night_c = day_and_night(HOURS, np.where(burning, 23.0, 19.0), [(18.0, 10.0)], 0, 2)
    assert day_c == pytest.approx(23.0, abs=0.1)
    assert night_c == pytest.approx(19.0, abs=0.15)


def test_kwh_between_readings():
    """Evenly between readings; a counter set back to zero goes on; outside nothing is known."""
    at_h, counter = np.array([0.0, 24.0, 48.0, 72.0]), np.array([100.0, 102.4, 1.0, 3.4])
    assert kwh_between(at_h, counter, 0.0, 12.0) == pytest.approx(1.2)
    assert kwh_between(at_h, counter, 0.0, 72.0) == pytest.approx(2.4 + 1.0 + 2.4)
    assert np.isnan(kwh_between(at_h, counter, -1.0, 12.0))
