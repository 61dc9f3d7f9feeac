"""Power by the local clock: day lengths, tables of the week, seconds by rate and month."""

import time
from datetime import date, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.science import power

ZONES = [
    "Europe/Berlin",
    "America/New_York",
    "Australia/Lord_Howe",
    "Europe/Dublin",
    "Atlantic/Azores",  # falls back from 01:00 to midnight, springs over midnight
    "America/Nuuk",  # falls back from midnight to 23:00, springs from 23:00 to midnight
    "Africa/Cairo",
    "Asia/Kathmandu",
    "Pacific/Kiritimati",
    "UTC",
]
zones = st.sampled_from(ZONES).map(ZoneInfo)
starts = st.dates(date(2025, 1, 1), date(2030, 12, 31))
minutes = st.integers(0, 1439)
stretches = st.tuples(minutes, minutes).filter(lambda pair: pair[0] != pair[1])

# When clocks change. European Union: Directive 2000/84/EC, articles 2 and 3 (last Sundays of March and
# October, 01:00 UTC). United States: Energy Policy Act of 2005, section 110 (second Sunday of March to
# first Sunday of November). Lord Howe Island, from memory: first Sundays of October and April, half an hour.
DAY_LENGTHS_H = [
    ("Europe/Berlin", date(2027, 3, 28), 23.0),
    ("Europe/Berlin", date(2027, 10, 31), 25.0),
    ("Europe/Berlin", date(2027, 10, 30), 24.0),
    ("America/New_York", date(2027, 3, 14), 23.0),
    ("America/New_York", date(2027, 11, 7), 25.0),
    ("Australia/Lord_Howe", date(2027, 4, 4), 24.5),
    ("Australia/Lord_Howe", date(2027, 10, 3), 23.5),
]


@pytest.mark.parametrize(("zone", "day", "hours"), DAY_LENGTHS_H)
def test_whatever_is_always_on_is_on_for_the_true_length_of_the_day(zone, day, hours):
    """A lamp lit from 00:00 to 24:00 is on for 23 hours on a day of 23, 25 on a day of 25."""
    clock = power.local_clock(day, 1, ZoneInfo(zone))
    always = power.week_table([(0, 1440)])[None]
    use = power.use_by_rate_and_month(clock, always, np.array([True]), np.zeros((12, 10080), np.int64))
    assert use.seconds.tolist() == [[[hours * 3600]]]


@pytest.mark.parametrize("zone", ZONES)
def test_days_meet_without_gap_or_overlap(zone):
    """Each day begins where the last one ended, all year, and the year has 365 times 24 hours."""
    tz = ZoneInfo(zone)
    first = date(2027, 1, 1)
    edges = [power.local_clock(first + timedelta(days=day), 1, tz).edges_s[[0, -1]] for day in range(365)]
    assert all(before[1] == after[0] for before, after in pairwise(edges))
    assert edges[-1][1] - edges[0][0] == 8760 * 3600


@pytest.mark.parametrize(
    ("zone", "hours"),
    [
        ("Europe/Berlin", 1),
        ("America/New_York", -5),
        ("Australia/Lord_Howe", 10.5),
        ("Europe/Dublin", 0),
        ("America/Phoenix", -7),
        ("UTC", 0),
    ],
)
def test_standard_time_is_that_of_winter(zone, hours):
    """A timer left alone shows winter time, in the south and in Ireland as well."""
    assert power.local_clock(date(2027, 5, 1), 3, ZoneInfo(zone)).standard_s == hours * 3600


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="this system cannot change its zone for a process")
def test_without_a_zone_the_clock_is_this_computers(monkeypatch):
    """No time zone means the one this computer is set to, its summer time too."""
    monkeypatch.setenv("TZ", "America/New_York")
    time.tzset()
    try:
        here = power.local_clock(date(2027, 1, 1), 365, None)
    finally:
        monkeypatch.undo()
        time.tzset()
    there = power.local_clock(date(2027, 1, 1), 365, ZoneInfo("America/New_York"))
    assert here.edges_s.tolist() == there.edges_s.tolist()
    assert here.offsets_s.tolist() == there.offsets_s.tolist() == [-18000, -14400, -18000]
    assert here.standard_s == there.standard_s


def test_a_period_cannot_be_negative():
    """Fewer than no days are refused."""
    with pytest.raises(ValueError, match="days must not be negative, not -1"):
        power.local_clock(date(2027, 1, 1), -1, None)


def test_no_days_have_no_use():
    """A period of no days has no month and no seconds."""
    clock = power.local_clock(date(2027, 1, 1), 0, ZoneInfo("Europe/Berlin"))
    always = power.week_table(None)[None]
    use = power.use_by_rate_and_month(clock, always, np.array([False]), np.zeros((12, 10080), np.int64))
    assert use.months.size == 0
    assert use.seconds.shape == (1, 1, 0)


def test_a_stretch_over_midnight_belongs_to_the_day_on_which_it_begins():
    """Sunday 22:00 to 06:00 fills the end of Sunday and, the week going round, Monday morning."""
    table = power.week_table([(22 * 60, 6 * 60)], [6])
    monday, sunday = table[:1440], table[6 * 1440 :]
    assert monday[: 6 * 60].all()
    assert sunday[22 * 60 :].all()
    assert table.sum() == 8 * 60


def test_a_stretch_from_24_00_begins_its_day():
    """On Tuesdays from 24:00 to 06:00 is the same as from 00:00 to 06:00."""
    assert power.week_table([(1440, 360)], [1]).tolist() == power.week_table([(0, 360)], [1]).tolist()


@settings(max_examples=examples(60))
@given(st.lists(stretches, max_size=3), st.sets(st.integers(0, 6)), st.integers(0, 6), minutes)
def test_a_minute_is_in_the_table_when_its_stretch_began_on_one_of_the_days(spans, weekdays, day, minute):
    """Asking for one minute by hand agrees with the table."""

    def within(start, end):
        if start < end:
            return start <= minute < end and day in weekdays
        began_today = minute >= start and day in weekdays
        return began_today or (minute < end and (day - 1) % 7 in weekdays)

    assert power.week_table(spans, weekdays)[day * 1440 + minute] == any(within(*span) for span in spans)


def test_rates_that_hold_at_the_same_time_are_refused():
    """Two overriding rates in one minute are a contradiction."""
    week = np.array([power.week_table(None), power.week_table([(0, 120)]), power.week_table([(60, 180)])])
    with pytest.raises(ValueError, match="two rates hold at the same time"):
        power.rate_calendar(week, np.ones((3, 12), bool), 0)


def test_a_time_without_a_rate_is_refused():
    """Without a base rate the others have to fill the week."""
    week = power.week_table([(0, 1200)])[None]
    with pytest.raises(ValueError, match="at some time no rate holds"):
        power.rate_calendar(week, np.ones((1, 12), bool), None)


def test_rates_can_fill_the_week_without_a_base():
    """Day and night rates that meet leave no gap."""
    week = np.array([power.week_table([(420, 1380)]), power.week_table([(1380, 420)])])
    calendar = power.rate_calendar(week, np.ones((2, 12), bool), None)
    assert (calendar == 0).sum() == 12 * 7 * 960
    assert (calendar == 1).sum() == 12 * 7 * 480


def test_months_go_by_the_local_date():
    """Where the new year is early, the first of January is in January from its first moment on."""
    clock = power.local_clock(date(2027, 12, 31), 2, ZoneInfo("Pacific/Kiritimati"))
    months = np.zeros((12, 10080), np.int64)
    months[0] = 1
    use = power.use_by_rate_and_month(clock, power.week_table(None)[None], np.array([True]), months)
    assert (1970 + use.months // 12).tolist() == [2027, 2028]
    assert (use.months % 12 + 1).tolist() == [12, 1]
    assert use.seconds.tolist() == [[[86400, 0], [0, 86400]]]


@settings(max_examples=examples(60))
@given(zones, starts, st.integers(1, 400), stretches, st.booleans())
def test_a_lamp_and_its_dark_fill_the_time_there_was(tz, start, days, lit, follows):
    """Lit seconds and dark seconds sum to the elapsed seconds, whatever the clock does."""
    clock = power.local_clock(start, days, tz)
    on = np.array([power.week_table([lit]), power.week_table([lit[::-1]])])
    calendar = np.tile(power.week_table([(420, 1260)], range(5)).astype(np.int64), (12, 1))
    use = power.use_by_rate_and_month(clock, on, np.array([follows, follows]), calendar)
    assert use.seconds.sum() == clock.edges_s[-1] - clock.edges_s[0]
    assert use.seconds.min() >= 0


@settings(max_examples=examples(40))
@given(zones, starts, st.integers(3, 400), stretches, st.data())
def test_a_timer_on_standard_time_burns_its_hours_every_day(tz, start, days, lit, data):
    """Such a timer knows no summer: over whole days of its own it is on for the same hours each."""
    clock = power.local_clock(start, days, tz)
    edges = clock.edges_s - clock.standard_s
    begin = data.draw(st.integers(0, 86400))
    own_days = (int(edges[-1] - edges[0]) - begin) // 86400
    first = int(clock.edges_s[0]) + begin
    inside = np.clip(clock.edges_s, first, first + own_days * 86400)
    kept = np.flatnonzero(np.diff(inside))
    whole = power.LocalClock(inside[[*kept, kept[-1] + 1]], clock.offsets_s[kept], clock.standard_s)
    on = power.week_table([lit])[None]
    use = power.use_by_rate_and_month(whole, on, np.array([False]), np.zeros((12, 10080), np.int64))
    assert use.seconds.sum() == own_days * ((lit[1] - lit[0]) % 1440) * 60


# Window fan, and computer with monitor: AC Energy, "Energy Costs Estimator" (acenergy.ca); the kWh lines
# also Midwest Electric Cooperative, "Helpful information", crediting the US Department of Energy. The 394
# kWh printed for the computer is 394.2 rounded.
@pytest.mark.parametrize(
    ("watts", "hours", "days", "printed_kwh"), [(200, 4, 120, 96.0), (120 + 150, 4, 365, 394.2)]
)
def test_energy_of_appliances_as_printed(watts, hours, days, printed_kwh):
    """Watts times hours over a thousand, for two household examples; as mean power, the same."""
    assert power.kwh(watts, hours * days * 3600) == pytest.approx(printed_kwh, abs=1e-9)
    assert power.kwh(power.mean_watts(watts, hours, 24), days * 86400) == pytest.approx(printed_kwh, abs=1e-9)


# City of Seymour, "Residential Electricity: Bill Comparison": 1200 kWh in winter, 2000 kWh in summer.
@pytest.mark.parametrize(
    ("use_kwh", "tops", "prices", "printed"),
    [
        (1200, (250, 700), (0.064, 0.049, 0.0446), [16.00, 22.05, 22.30]),
        (2000, (250, 700, 1250), (0.064, 0.049, 0.0475, 0.0446), [16.00, 22.05, 26.13, 33.45]),
    ],
)
def test_blocks_of_seymour_as_printed(use_kwh, tops, prices, printed):
    """Every block's line to the cent, 26.125 printed as 26.13."""
    amounts = power.in_blocks(use_kwh, 0.0, tops) * prices
    assert [float(power.rounded([amount], 2)[0]) for amount in amounts] == printed


energies = st.floats(0, 1e4)


@given(energies, energies, energies, st.lists(st.floats(1, 1e4), max_size=4, unique=True).map(sorted))
def test_blocks_add_up_however_use_is_split(before, first, second, tops):
    """Use in two goes fills the same blocks as in one; all of it lands in some block, none below zero."""
    whole = power.in_blocks(first + second, before, tops)
    parts = power.in_blocks(first, before, tops) + power.in_blocks(second, before + first, tops)
    assert whole.tolist() == pytest.approx(parts.tolist(), abs=1e-8)
    assert whole.sum() == pytest.approx(first + second, abs=1e-8)
    assert whole.min() >= 0


def test_blocks_take_arrays():
    """Three months at once, on top of what each had before."""
    filled = power.in_blocks([10.0, 10.0, 10.0], [0.0, 95.0, 300.0], [100.0, 200.0])
    assert filled.tolist() == [[10, 0, 0], [5, 5, 0], [0, 0, 10]]


@given(st.lists(st.floats(0, 1e5), max_size=20), st.integers(0, 3))
def test_rounded_amounts_add_up_to_the_rounded_sum(amounts, digits):
    """No line is off by a whole unit, the sum by half a unit at most."""
    rounded = power.rounded(amounts, digits)
    unit = 10.0**-digits
    assert rounded.sum() == pytest.approx(sum(amounts), abs=unit * 0.501)
    assert rounded.tolist() == pytest.approx(amounts, abs=unit * 1.001)
    assert (rounded / unit).tolist() == pytest.approx(np.round(rounded / unit).tolist(), abs=1e-3)


def test_a_holiday_is_a_sunday_from_midnight_to_midnight():
    """Wednesday 1 December 2027: what began on Tuesday ends at midnight, what began on Saturday goes on."""
    rates = np.array(
        [
            power.week_table(None),
            power.week_table([(1320, 360)], range(5)),  # nights that begin on Monday to Friday
            power.week_table([(1200, 120)], [5]),  # the night that begins on Saturday
        ]
    )
    calendar = power.rate_calendar(rates, np.ones((3, 12), bool), 0)
    always, follows = power.week_table(None)[None], np.array([True])

    def hours(day, holidays):
        clock = power.local_clock(day, 1, ZoneInfo("UTC"))
        use = power.use_by_rate_and_month(clock, always, follows, calendar, holidays)
        return (use.seconds[0, :, 0] / 3600).tolist()

    wednesday = date(2027, 12, 1)
    holiday = [(wednesday - date(1970, 1, 1)).days]
    assert hours(wednesday, []) == [16, 8, 0]
    assert hours(wednesday, holiday) == [22, 0, 2]
    assert hours(wednesday + timedelta(days=1), holiday) == [16, 8, 0]


def test_a_dimmed_lamp_draws_in_proportion_on_top_of_its_standby():
    """100 W with 4 W standby at full output: 52 W at half of it; from half, back to full."""
    assert power.lamp_watts(100.0, 0.5, standby_watts=4.0) == 52.0
    assert power.lamp_watts(52.0, 1.0, at_output=0.5, standby_watts=4.0) == 100.0
    assert power.lamp_watts(80.0, 0.25) == 20.0


@pytest.mark.parametrize("follows", [True, False])
def test_quarter_hours_are_those_of_ninety_six_users(follows):
    """Through both changes of the clock, two rates and a holiday: the same seconds, to the last."""
    weekend = power.week_table([(1325, 371)], [5, 6])
    calendar = power.rate_calendar(np.array([power.week_table(None), weekend]), np.ones((2, 12), bool), 0)
    clock = power.local_clock(date(2027, 3, 20), 240, ZoneInfo("Europe/Dublin"))
    holidays = [(date(2027, 5, 3) - date(1970, 1, 1)).days]
    on = np.array([power.week_table([(15 * number, 15 * number + 15)]) for number in range(96)])
    each = power.use_by_rate_and_month(clock, on, np.full(96, follows), calendar, holidays)
    at_once = power.use_by_quarter(clock, calendar, holidays, follows_clock=follows)
    assert at_once.months.tolist() == each.months.tolist()
    assert (at_once.seconds == each.seconds).all()
