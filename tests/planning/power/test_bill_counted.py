"""The bill against a count of minutes, and what holds for any lamp and tariff."""

from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from billed_spaces import (
    WEEKDAYS,
    a_space,
    a_zone,
    at,
    energy,
    money,
    three_zones,
)
from depth import examples, few_of
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.power.bill import bill, zone_day
from cropcal.records.space import Fixture, Load
from cropcal.records.tariff import Block, Rate, Tariff

# --- a plain count of minutes --------------------------------------------------------------------


def counted(space, start, days):
    """Return kWh by month, user, zone and rate name, counting every minute with its local time.

    Written apart from the code under test: all UTC minutes one by one, the time zone asked every quarter
    hour (no clock changes within one); standard time is local time less the summer time that the time
    zone itself names; a holiday's minutes are those of a Sunday.
    """
    tz = ZoneInfo(space.place.timezone)
    first = datetime(start.year, start.month, start.day, tzinfo=UTC) - timedelta(days=1)
    quarters = [(first + timedelta(minutes=15 * n)).astimezone(tz) for n in range((days + 3) * 96)]

    def minutes(of_quarter):
        steps = [of_quarter(local) // timedelta(minutes=1) for local in quarters]
        return np.repeat(steps, 15) + np.tile(np.arange(15), len(quarters))

    epoch = datetime(1970, 1, 1)  # noqa: DTZ001 - a wall clock
    local = minutes(lambda at: at.replace(tzinfo=None) - epoch)
    standard = minutes(lambda at: at.replace(tzinfo=None) - at.dst() - epoch) % 1440
    day_number = (start - date(1970, 1, 1)).days
    counts = (local >= day_number * 1440) & (local < (day_number + days) * 1440)
    local, standard = local[counts], standard[counts]
    day, minute = local // 1440, local % 1440
    month = day.astype("datetime64[D]").astype("datetime64[M]").astype(int)

    def within(stretches, at):
        spans = [
            (begins <= at) & (at < ends) if begins < ends else (at >= begins) | (at < ends)
            for begins, ends in stretches
        ]
        return np.any(spans, axis=0)

    holidays = [(holiday - date(1970, 1, 1)).days for holiday in space.tariff.holidays]
    weekday = np.where(np.isin(day, holidays), 6, (day + 3) % 7)
    rates = sorted(space.tariff.rate, key=lambda rate: not rate.is_base)
    which = np.zeros(local.size, int)
    for number, rate in enumerate(rates):
        for begins, ends in () if rate.is_base else rate.hours or ((0, 1440),):
            began = np.where((begins > ends) & (minute < ends), (weekday - 1) % 7, weekday)
            wanted = [WEEKDAYS.index(name) for name in rate.days or WEEKDAYS]
            holds = within([(begins, ends)], minute) & np.isin(began, wanted)
            which[holds & np.isin(month % 12 + 1, rate.months or range(1, 13))] = number

    sums = defaultdict(float)
    cell = month * len(rates) + which

    def add(what, zone, watts, on):
        for number, minutes_on in enumerate(np.bincount(cell[on], minlength=1)):
            if watts and minutes_on:
                name = str(np.datetime64(number // len(rates), "M"))
                sums[name, what, zone, rates[number % len(rates)].name] += watts * minutes_on / 60000

    for zone in space.zones:
        lit = within(zone.lit, minute if zone.timer_follows_clock else standard)
        for lamp in space.fixtures:
            if lamp.zone == zone.name:
                add("lamps", zone.name, lamp.watts * lamp.count, lit)
                add("lamps", zone.name, lamp.standby_watts * lamp.count, ~lit)
    for load in space.loads:
        share = 1.0
        if load.hours_per_day is not None:
            share = load.hours_per_day / 24
        if load.on_minutes is not None:
            share = load.on_minutes / load.every_minutes
        on = np.ones(local.size, bool) if load.on is None else within(load.on, minute)
        add(load.name, load.zone or "", load.watts * share, on)
    return sums


WHOLE_YEARS = ["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "America/Santiago", "Asia/Tokyo"]
"""Both changes of the clock, in the north and in the south, by an hour and by half of one; and none."""


@pytest.mark.parametrize(
    ("timezone", "start", "days"),
    [
        ("Europe/Berlin", date(2027, 3, 26), 4),
        ("Europe/Berlin", date(2027, 10, 30), 3),
        ("America/New_York", date(2027, 3, 13), 3),
        ("America/New_York", date(2027, 11, 7), 1),
        ("Australia/Lord_Howe", date(2027, 4, 3), 3),
        ("Australia/Lord_Howe", date(2027, 10, 2), 3),
        ("Atlantic/Azores", date(2027, 3, 28), 1),
        ("Atlantic/Azores", date(2027, 10, 30), 2),
        ("America/Nuuk", date(2027, 3, 27), 2),
        ("America/Nuuk", date(2027, 10, 30), 2),
        ("Asia/Kathmandu", date(2027, 12, 31), 2),
        *few_of([(timezone, date(2027, 1, 1), 365) for timezone in WHOLE_YEARS], 1),
    ],
)
def test_bill_agrees_with_a_count_of_minutes(timezone, start, days):
    """Every line is what counting minutes one by one gives, over both changes of the clock."""
    space = three_zones(timezone)
    expected = counted(space, start, days)
    lines = bill(space, start, days)
    assert {(line.month, line.what, line.zone, line.rate) for line in lines} == set(expected)
    for line in lines:
        assert line.kwh == pytest.approx(expected[line.month, line.what, line.zone, line.rate], abs=1e-9)


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2027, 3, 28), 23), (date(2027, 10, 31), 25), (date(2027, 6, 6), 24)]
)
def test_a_lamp_that_is_never_off_is_billed_for_the_day_there_was(day, hours):
    """A zone lit from 00:00 to 24:00 in Berlin: 23 h in March, 25 h in October (Directive 2000/84/EC)."""
    bench = a_zone(lit=(("00:00", "24:00"),))
    lines = bill(a_space([bench], [Fixture(zone=bench.name, watts=1000.0)]), day, 1)
    assert [line.kwh for line in lines] == [hours]


# --- laws ----------------------------------------------------------------------------------------

timezones = st.sampled_from(["Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Tokyo"])


starts = st.dates(date(2026, 1, 1), date(2029, 12, 31))


days_in_a_row = st.integers(1, 120)


some_months = st.sets(st.integers(1, 12), min_size=1).map(lambda months: tuple(sorted(months)))


some_days = st.sets(st.sampled_from(WEEKDAYS), min_size=1).map(tuple)


prices = st.floats(0, 2)


minutes = st.integers(0, 1439)


roundings = st.sampled_from([None, "line", "total"])


@st.composite
def tariffs(draw, *, by_blocks=True, rounding=roundings):
    """Draw a base (perhaps by blocks) and two overriding rates that hold at unlike times of the day."""
    a, b, c, d = sorted(draw(st.lists(minutes, min_size=4, max_size=4, unique=True)))
    tops = sorted(draw(st.lists(st.floats(1, 400), max_size=3, unique=True))) if by_blocks else []
    blocks = tuple(Block(up_to_kwh=top, per_kwh=draw(prices)) for top in [*tops, None])
    rates = [
        Rate(blocks=blocks) if tops else Rate(per_kwh=draw(prices)),
        Rate(
            name="one",
            per_kwh=draw(prices),
            hours=at((d, a)),
            days=draw(st.none() | some_days),
            months=draw(st.none() | some_months),
        ),
        Rate(
            name="two",
            per_kwh=draw(prices),
            hours=at((b, c)),
            days=draw(st.none() | some_days),
            months=draw(st.none() | some_months),
        ),
    ]
    return Tariff(
        rate=tuple(draw(st.permutations(rates))),
        standing_per_day=draw(prices),
        standing_per_month=draw(prices),
        tax_percent=draw(st.floats(0, 100)),
        prices_include_tax=draw(st.booleans()),
        other_use_kwh_per_month=draw(st.floats(0, 300)),
        holidays=tuple(sorted(draw(st.sets(starts, max_size=3)))),
        round=draw(rounding),
        currency=draw(st.sampled_from([None, "EUR", "JPY", "KWD"])),
    )


nights_of_change = st.sampled_from(
    [
        ("Europe/Berlin", date(2028, 3, 25)),
        ("Europe/Berlin", date(2028, 10, 29)),
        ("America/New_York", date(2028, 3, 12)),
        ("Australia/Lord_Howe", date(2028, 4, 2)),
        ("Australia/Lord_Howe", date(2028, 9, 30)),
    ]
)


near_the_change = st.integers(0, 300)


@settings(max_examples=examples(15))
@given(nights_of_change, tariffs(by_blocks=False), near_the_change, near_the_change, st.booleans())
def test_any_lamp_and_tariff_agree_with_a_count_of_minutes(night, tariff, on, off, follows):
    """Lamps that switch in the small hours when clocks change, and any rates, are counted to the minute."""
    bench = a_zone(lit=at((on, off if off != on else on + 1)), timer_follows_clock=follows)
    timezone, start = night
    space = a_space([bench], [Fixture(zone=bench.name, watts=700.0)], (), tariff, timezone)
    lines = [line for line in bill(space, start, 2) if line.kwh]
    found = {(line.month, line.what, line.zone, line.rate): line.kwh for line in lines}
    assert found == pytest.approx(dict(counted(space, start, 2)), abs=1e-9)


def by_line(lines):
    sums = defaultdict(lambda: [0.0, 0.0])
    for line in lines:
        key = (line.month, line.what, line.zone, line.rate)
        sums[key][0] += line.kwh
        sums[key][1] += line.cost
    return {key: pytest.approx(pair, rel=1e-9, abs=1e-9) for key, pair in sums.items()}, dict(sums)


@settings(max_examples=examples(25))
@given(timezones, starts, days_in_a_row, days_in_a_row, tariffs(by_blocks=False, rounding=st.none()))
def test_bills_of_two_stretches_add_up_to_that_of_both(timezone, start, first, second, tariff):
    """Wherever a period is cut in two, each line of the whole is the sum of the parts, and none negative."""
    space = three_zones(timezone, tariff)
    parts = bill(space, start, first) + bill(space, start + timedelta(days=first), second)
    whole = bill(space, start, first + second)
    assert by_line(whole)[0] == by_line(parts)[1]
    assert all(line.kwh >= 0 and line.cost >= 0 for line in whole)


@settings(max_examples=examples(25))
@given(timezones, starts, days_in_a_row, days_in_a_row, tariffs())
def test_bills_cut_where_a_month_ends_add_up_with_blocks_and_whole_cents(
    timezone, start, first, second, tariff
):
    """Blocks and cents go by the calendar month: cut between two, each line is that of the part it is in."""
    month_end = (start + timedelta(days=first)).replace(day=1)
    space = three_zones(timezone, tariff)
    days = (month_end - start).days
    if days < 1:
        return
    parts = bill(space, start, days) + bill(space, month_end, second)
    assert by_line(bill(space, start, days + second))[0] == by_line(parts)[1]
    assert all(line.kwh >= 0 and line.cost >= 0 for line in parts)


@settings(max_examples=examples(25))
@given(timezones, starts, tariffs(rounding=st.none()), st.floats(0, 300))
def test_the_space_pays_what_the_home_pays_more_for_it(timezone, start, tariff, other):
    """With the space, less without it: the difference of two whole bills, whatever the blocks."""
    fan = Load(name="fan", watts=400.0, always=True)
    before = tariff.model_copy(update={"other_use_kwh_per_month": other, "standing_per_day": 0.0})
    before = before.model_copy(update={"standing_per_month": 0.0, "prices_include_tax": True})
    lines = bill(a_space(loads=[fan], tariff=before, timezone=timezone), start.replace(day=1), 28)

    def whole_home(rate, kwh):
        if rate.blocks is None:
            return kwh * rate.per_kwh
        left, paid, below = kwh, 0.0, 0.0
        for block in rate.blocks:
            size = left if block.up_to_kwh is None else min(left, block.up_to_kwh - below)
            paid, left, below = paid + size * block.per_kwh, left - size, block.up_to_kwh
        return paid

    for rate in tariff.rate:
        mine = [line for line in lines if line.rate == rate.name or line.rate.startswith(f"{rate.name} ")]
        more = whole_home(rate, other + energy(mine)) - whole_home(rate, other)
        assert money(mine) == pytest.approx(more, abs=1e-9)


@settings(max_examples=examples(25))
@given(timezones, starts, days_in_a_row, tariffs(), st.sampled_from(["line", "total"]))
def test_a_rounded_bill_is_in_whole_cents_and_near_the_true_one(timezone, start, days, tariff, rounding):
    """Each line is in whole units of the currency; by total the month is off by half a unit at most."""
    unit = {"JPY": 1.0, "KWD": 0.001}.get(tariff.currency, 0.01)
    true, whole = (
        bill(three_zones(timezone, tariff.model_copy(update={"round": how})), start, days)
        for how in (None, rounding)
    )
    assert all(line.cost / unit == pytest.approx(round(line.cost / unit), abs=1e-6) for line in whole)
    assert energy(whole) == pytest.approx(energy(true))
    for month in {line.month for line in true}:
        exact, near = (money(line for line in lines if line.month == month) for lines in (true, whole))
        # By line: at most 8 rates and blocks, the standing charge and tax (on what is rounded) are off.
        off = 0.5 if rounding == "total" else 0.5 * (9 * 2 + 1)
        assert near == pytest.approx(exact, abs=off * unit * 1.0001)


@settings(max_examples=examples(25))
@given(timezones, starts, days_in_a_row, tariffs(), st.randoms(use_true_random=False))
def test_the_order_of_rates_changes_nothing(timezone, start, days, tariff, random):
    """Rates may stand in any order in the file: the bill is the same to the last digit."""
    rates = list(tariff.rate)
    random.shuffle(rates)
    other = tariff.model_copy(update={"rate": tuple(rates)})
    assert bill(three_zones(timezone, tariff), start, days) == bill(three_zones(timezone, other), start, days)


@settings(max_examples=examples(25))
@given(timezones, starts, days_in_a_row, tariffs(), minutes, st.integers(1, 1439), st.integers(0, 600))
def test_a_longer_day_never_costs_less(timezone, start, days, tariff, on, length, more):
    """The lamp stays on for longer: no kWh and no cost goes down."""

    def paid(minutes_on):
        lit = at((on, (on + minutes_on) % 1440) if minutes_on < 1440 else (0, 1440))
        bench = a_zone(lit=lit)
        lines = bill(
            a_space([bench], [Fixture(zone=bench.name, watts=80.0)], (), tariff, timezone), start, days
        )
        return energy(lines), money(lines)

    shorter, longer = paid(length), paid(length + more)
    assert longer[0] >= shorter[0] - 1e-9
    assert longer[1] >= shorter[1] - 1e-9


@settings(max_examples=examples(25))
@given(timezones, starts, days_in_a_row, tariffs(rounding=st.none()))
def test_days_of_the_zones_sum_to_the_bill_without_standing_charge(timezone, start, days, tariff):
    """What the zones cost a day, over all zones and days, is the energy of the bill with its tax."""
    space = three_zones(timezone, tariff)
    of_zones = zone_day(space, start, days)
    lines = [line for line in bill(space, start, days) if line.kwh]
    tax = 1 if tariff.prices_include_tax else 1 + tariff.tax_percent / 100
    assert days * sum(day.kwh for day in of_zones.values()) == pytest.approx(energy(lines))
    assert days * sum(day.cost for day in of_zones.values()) == pytest.approx(money(lines) * tax)
