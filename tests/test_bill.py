"""The power bill against printed bills, and against a plain count of minutes."""

from collections import defaultdict
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.bill import bill, year_days, zone_day
from cropcal.records.space import Bed, Block, Fixture, Load, Place, Quiet, Rate, Settings, Space, Tariff, Zone

JUNE = date(2021, 6, 1)
"""A month of 30 days, 22 of them Monday to Friday."""
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MON_TO_FRI = WEEKDAYS[:5]


def a_zone(name="cellar bench", **more):
    return Zone(**{"name": name, "length_m": 1.0, "width_m": 0.5, **more})


def a_space(zones=(), fixtures=(), loads=(), tariff=None, timezone="Europe/Berlin", beds=()):
    return Space(
        place=Place(timezone=timezone),
        zones=tuple(zones),
        beds=tuple(beds),
        fixtures=tuple(fixtures),
        readings=(),
        loads=tuple(loads),
        tariff=tariff,
        settings=Settings(start=JUNE),
        wants=(),
        chores=(),
    )


def at(*stretches):
    """Return stretches in minutes as a file has them."""
    return tuple(
        tuple(f"{minute // 60:02d}:{minute % 60:02d}" for minute in stretch) for stretch in stretches
    )


def flat(per_kwh, **more):
    return Tariff(rate=(Rate(per_kwh=per_kwh),), **more)


def money(lines):
    return sum(line.cost for line in lines)


def energy(lines):
    return sum(line.kwh for line in lines)


# --- printed bills -------------------------------------------------------------------------------


def test_window_fan_as_printed():
    """200 W for 4 h on 120 days: 96 kWh and 8.16 (AC Energy, "Energy Costs Estimator", acenergy.ca)."""
    # The page writes ".0850 cents", where 8.16 takes dollars.
    fan = Load(name="window fan", watts=200.0, hours_per_day=4.0)
    lines = bill(a_space(loads=[fan], tariff=flat(0.085), timezone="America/Phoenix"), JUNE, 120)
    assert energy(lines) == pytest.approx(96, abs=1e-9)
    assert money(lines) == pytest.approx(8.16, abs=1e-9)


def test_computer_as_printed_as_load_and_as_lamp():
    """120 + 150 W for 4 h on 365 days: 394.2 kWh (same page, printed as 394), whichever way it is said."""
    pc = Load(name="computer", watts=270.0, hours_per_day=4.0)
    by_the_clock = Load(name="computer by the clock", watts=270.0, on=(("18:00", "22:00"),))
    bench = a_zone(lit=(("22:00", "02:00"),))
    lamp = Fixture(zone=bench.name, watts=135.0, count=2)
    lines = bill(a_space([bench], [lamp], [pc, by_the_clock], timezone="America/Phoenix"), JUNE, 365)
    for what in ("computer", "computer by the clock", "lamps"):
        assert energy(line for line in lines if line.what == what) == pytest.approx(394.2, abs=1e-9)


def test_flat_bill_of_goodland():
    """1000 kWh at .127 and 15.00 a month: 142.00 (City of Goodland, Kansas, "Utility Rates")."""
    all_month = Load(name="all of it", watts=1000 / 720 * 1000, always=True)
    lines = bill(a_space(loads=[all_month], tariff=flat(0.127, standing_per_month=15.0)), JUNE, 30)
    assert [line.what for line in lines] == ["all of it", "standing charge"]
    assert money(lines) == pytest.approx(142.00, abs=1e-9)


# City of Seymour, "Residential Electricity: Bill Comparison": blocks of 250 and 450 kWh at .064 and .049,
# then .0446 in winter; in summer 550 kWh at .0475 come between. Power cost of .085 is on every kWh: it is
# added to each block here. Base 7.50, 1 % tax, and each printed line is rounded half up.
POWER_COST = 0.085
SEYMOUR = Tariff(
    rate=(
        Rate(
            name="winter",
            blocks=(
                Block(up_to_kwh=250.0, per_kwh=0.064 + POWER_COST),
                Block(up_to_kwh=700.0, per_kwh=0.049 + POWER_COST),
                Block(per_kwh=0.0446 + POWER_COST),
            ),
        ),
        Rate(
            name="summer",
            months=(6, 7, 8, 9),
            blocks=(
                Block(up_to_kwh=250.0, per_kwh=0.064 + POWER_COST),
                Block(up_to_kwh=700.0, per_kwh=0.049 + POWER_COST),
                Block(up_to_kwh=1250.0, per_kwh=0.0475 + POWER_COST),
                Block(per_kwh=0.0446 + POWER_COST),
            ),
        ),
    ),
    standing_per_month=7.50,
    tax_percent=1.0,
    currency="USD",
    round="line",
)


@pytest.mark.parametrize(
    ("start", "days", "use_kwh", "blocks", "before_tax", "tax", "total"),
    [
        (date(2021, 1, 1), 31, 1200, [(250, 16.00), (450, 22.05), (500, 22.30)], 169.85, 1.70, 171.55),
        (JUNE, 30, 2000, [(250, 16.00), (450, 22.05), (550, 26.13), (750, 33.45)], 275.13, 2.75, 277.88),
    ],
)
@pytest.mark.parametrize("rounding", ["line", "total"])
def test_block_bills_of_seymour_to_the_cent(rounding, start, days, use_kwh, blocks, before_tax, tax, total):
    """Winter and summer as printed, block by block, with base charge and tax, however it is rounded."""
    all_month = Load(name="all of it", watts=use_kwh / (24 * days) * 1000, always=True)
    tariff = SEYMOUR.model_copy(update={"round": rounding})
    *energy_lines, standing, taxed = bill(a_space(loads=[all_month], tariff=tariff), start, days)
    assert [round(line.kwh, 9) for line in energy_lines] == [kwh for kwh, _ in blocks]
    assert [line.cost - POWER_COST * line.kwh for line in energy_lines] == pytest.approx(
        [printed for _, printed in blocks], abs=0.0051
    )
    assert (standing.what, standing.cost) == ("standing charge", 7.50)
    assert taxed.what == "tax"
    assert round(money([*energy_lines, standing, taxed]), 9) == total
    if rounding == "line":
        assert taxed.cost == tax
        assert round(money([*energy_lines, standing]), 9) == before_tax


def test_a_space_pays_the_blocks_that_the_home_leaves():
    """240 of the first 250 kWh are gone: 30 more are 10 at .20 and 20 at .25, 7.00 in all, worked by hand."""
    tariff = Tariff(
        rate=(Rate(blocks=(Block(up_to_kwh=250.0, per_kwh=0.20), Block(per_kwh=0.25))),),
        other_use_kwh_per_month=240.0,
    )
    loads = [
        Load(name="mat", watts=20 / 720 * 1000, always=True),
        Load(name="fan", watts=10 / 720 * 1000, always=True),
    ]
    lines = bill(a_space(loads=loads, tariff=tariff), JUNE, 30)
    assert [(line.what, line.rate) for line in lines] == [
        ("mat", "base to 250 kWh"),
        ("mat", "base above 250 kWh"),
        ("fan", "base to 250 kWh"),
        ("fan", "base above 250 kWh"),
    ]
    # Both users have the same mix: a third of each in the cheap block.
    assert [line.kwh for line in lines] == pytest.approx([20 / 3, 40 / 3, 10 / 3, 20 / 3])
    assert money(lines) == pytest.approx(7.00)
    assert money(lines[:2]) == pytest.approx(2 / 3 * 7.00)


# River Falls Municipal Utilities, Wisconsin, "Time-of-Day Rates" (rates of 29 September 2020): 675.54 kWh a
# month, 45 % of it on-peak, and what time-of-day rates save when 0, 10, 15, 20 % of all use moves off-peak.
# The fixed charge of 14.00 is not printed: it is what the standard bill of 88.98 leaves over.
@pytest.mark.parametrize(
    ("on_peak", "printed", "saved"),
    [(0.45, 96.58, -7.60), (0.35, 88.14, 0.84), (0.30, 83.92, 5.07), (0.25, 79.70, 9.29)],
)
def test_time_of_day_bills_of_river_falls(on_peak, printed, saved):
    """Standard bill, time-of-day bill and their difference as printed, over a month by the calendar."""
    use_kwh = 675.54
    day_w = on_peak * use_kwh / (22 * 12) * 1000  # 22 working days of 12 h are on-peak
    night_w = (use_kwh - day_w * 30 * 12 / 1000) / (30 * 12) * 1000
    loads = [
        Load(name="by day", watts=day_w, on=(("07:00", "19:00"),)),
        Load(name="by night", watts=night_w, on=(("19:00", "07:00"),)),
    ]
    standard = flat(0.111, standing_per_month=14.0)
    peak = Rate(name="on-peak", per_kwh=0.191, hours=(("07:00", "19:00"),), days=MON_TO_FRI)
    time_of_day = Tariff(rate=(Rate(name="off-peak", per_kwh=0.066), peak), standing_per_month=14.0)
    paid = {
        name: bill(a_space(loads=loads, tariff=tariff, timezone="America/Chicago"), JUNE, 30)
        for name, tariff in (("standard", standard), ("time of day", time_of_day))
    }
    assert energy(paid["time of day"]) == pytest.approx(use_kwh, abs=1e-9)
    on_peak_kwh = energy(line for line in paid["time of day"] if line.rate == "on-peak")
    assert on_peak_kwh == pytest.approx(on_peak * use_kwh, abs=1e-9)
    assert round(money(paid["standard"]), 2) == 88.98
    assert round(money(paid["time of day"]), 2) == printed
    assert round(money(paid["standard"]) - money(paid["time of day"]), 2) == saved


def test_a_holiday_has_no_on_peak_hours():
    """River Falls: on-peak is Monday to Friday "except six holidays"; Labor Day 2020 was 7 September."""
    peak = Rate(name="on-peak", per_kwh=0.191, hours=(("07:00", "19:00"),), days=MON_TO_FRI)
    fan = Load(name="fan", watts=1000.0, always=True)
    for holidays, days_on_peak in (((), 22), ((date(2020, 9, 7),), 21)):
        tariff = Tariff(rate=(Rate(name="off-peak", per_kwh=0.066), peak), holidays=holidays)
        lines = bill(a_space(loads=[fan], tariff=tariff, timezone="America/Chicago"), date(2020, 9, 1), 30)
        assert [(line.rate, line.kwh) for line in lines] == [
            ("off-peak", 720 - 12 * days_on_peak),
            ("on-peak", 12 * days_on_peak),
        ]


@pytest.mark.parametrize(("efficacy_umol_j", "kwh_per_mol"), [(1.70, 0.1634), (2.3, 0.1208), (3.4, 0.0817)])
def test_energy_of_a_mol_of_light(efficacy_umol_j, kwh_per_mol):
    """A lamp of so many µmol per joule takes 1/(3.6 × efficacy) kWh a mol (by definition of the units)."""
    bench = a_zone(lit=(("06:00", "22:00"),))
    lines = bill(a_space([bench], [Fixture(zone=bench.name, watts=83.0)]), JUNE, 1)
    mol = 83.0 * efficacy_umol_j * 16 * 3600 / 1e6
    assert energy(lines) / mol == pytest.approx(kwh_per_mol, abs=5e-5)


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


THREE_RATES = Tariff(
    rate=(
        Rate(name="night", per_kwh=0.17, hours=(("23:00", "07:00"),)),
        Rate(per_kwh=0.29),
        Rate(
            name="summer peak",
            per_kwh=0.41,
            hours=(("16:00", "20:30"),),
            days=MON_TO_FRI,
            months=(3, 4, 5, 6, 10),
        ),
        Rate(name="weekend", per_kwh=0.21, hours=(("07:00", "15:30"),), days=("sat", "sun")),
        Rate(name="Sunday night", per_kwh=0.13, hours=(("21:00", "23:00"),), days=("sun",)),
    ),
    holidays=(date(2027, 4, 5), date(2027, 11, 8), date(2027, 12, 31)),
)


def three_zones(timezone, tariff=THREE_RATES):
    zones = [
        a_zone("attic", lit=(("17:00", "09:00"),)),
        a_zone(
            "window rack",
            lit=(("01:30", "02:15"), ("02:30", "02:45"), ("23:30", "00:30")),
            timer_follows_clock=False,
        ),
        a_zone("pantry", lit=(("00:00", "24:00"),), length_m=2.0),
    ]
    fixtures = [
        Fixture(zone="attic", watts=96.0, output=0.6, standby_watts=1.5),
        Fixture(zone="window rack", watts=41.5, count=3),
        Fixture(zone="window rack", watts=18.0),
        Fixture(zone="pantry", watts=150.0),
    ]
    loads = [
        Load(name="air pump", watts=4.0, always=True),
        Load(name="flood pump", watts=12.0, on_minutes=10.0, every_minutes=120.0),
        Load(name="dosing", zone="attic", watts=7.0, hours_per_day=2.5),
        Load(name="fan", watts=9.0, on=(("02:15", "03:15"), ("22:00", "01:40"))),
    ]
    return a_space(zones, fixtures, loads, tariff, timezone)


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
        *[(timezone, date(2027, 1, 1), 365) for timezone in WHOLE_YEARS],
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


@settings(deadline=None, max_examples=15)
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


@settings(deadline=None, max_examples=25)
@given(timezones, starts, days_in_a_row, days_in_a_row, tariffs(by_blocks=False, rounding=st.none()))
def test_bills_of_two_stretches_add_up_to_that_of_both(timezone, start, first, second, tariff):
    """Wherever a period is cut in two, each line of the whole is the sum of the parts, and none negative."""
    space = three_zones(timezone, tariff)
    parts = bill(space, start, first) + bill(space, start + timedelta(days=first), second)
    whole = bill(space, start, first + second)
    assert by_line(whole)[0] == by_line(parts)[1]
    assert all(line.kwh >= 0 and line.cost >= 0 for line in whole)


@settings(deadline=None, max_examples=25)
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


@settings(deadline=None, max_examples=25)
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


@settings(deadline=None, max_examples=25)
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


@settings(deadline=None, max_examples=25)
@given(timezones, starts, days_in_a_row, tariffs(), st.randoms(use_true_random=False))
def test_the_order_of_rates_changes_nothing(timezone, start, days, tariff, random):
    """Rates may stand in any order in the file: the bill is the same to the last digit."""
    rates = list(tariff.rate)
    random.shuffle(rates)
    other = tariff.model_copy(update={"rate": tuple(rates)})
    assert bill(three_zones(timezone, tariff), start, days) == bill(three_zones(timezone, other), start, days)


@settings(deadline=None, max_examples=25)
@given(timezones, starts, days_in_a_row, tariffs(), minutes, st.integers(1, 1439), st.integers(0, 600))
def test_a_longer_day_never_costs_less(timezone, start, days, tariff, on, length, more):
    """The lamp burns on for some time: no kWh and no cost goes down."""

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


@settings(deadline=None, max_examples=25)
@given(timezones, starts, days_in_a_row, tariffs(rounding=st.none()))
def test_days_of_the_zones_sum_to_the_bill_without_standing_charge(timezone, start, days, tariff):
    """What the zones cost a day, over all zones and days, is the energy of the bill with its tax."""
    space = three_zones(timezone, tariff)
    of_zones = zone_day(space, start, days)
    lines = [line for line in bill(space, start, days) if line.kwh]
    tax = 1 if tariff.prices_include_tax else 1 + tariff.tax_percent / 100
    assert days * sum(day.kwh for day in of_zones.values()) == pytest.approx(energy(lines))
    assert days * sum(day.cost for day in of_zones.values()) == pytest.approx(money(lines) * tax)


# --- what stands in which line -------------------------------------------------------------------


def test_lines_by_month_user_and_rate():
    """Months in order; in each the lamps of each zone, the loads, standing charge, tax; base rate first."""
    bench = a_zone(lit=(("22:00", "06:00"),))
    night = Rate(name="a night", per_kwh=0.1, hours=(("23:00", "07:00"),))
    tariff = Tariff(rate=(night, Rate(per_kwh=0.3)), standing_per_day=0.5, tax_percent=10.0)
    fan = Load(name="fan", watts=10.0, always=True)
    lines = bill(
        a_space([bench], [Fixture(zone=bench.name, watts=100.0)], [fan], tariff), date(2027, 1, 31), 2
    )
    assert [(line.month, line.what, line.zone, line.rate) for line in lines[:6]] == [
        ("2027-01", "lamps", "cellar bench", "base"),
        ("2027-01", "lamps", "cellar bench", "a night"),
        ("2027-01", "fan", "", "base"),
        ("2027-01", "fan", "", "a night"),
        ("2027-01", "standing charge", "", ""),
        ("2027-01", "tax", "", ""),
    ]
    assert {line.month for line in lines[6:]} == {"2027-02"}
    # Each day: lamp 1 h before the night rate, 7 h in it; fan 16 h and 8 h.
    assert [line.kwh for line in lines[:6]] == pytest.approx([0.1, 0.7, 0.16, 0.08, 0, 0])
    assert [line.cost for line in lines[:6]] == pytest.approx([0.03, 0.07, 0.048, 0.008, 0.5, 0.0656])


def test_without_a_tariff_there_is_energy_but_no_money():
    """The kWh of lamps and loads are known without prices; costs are not, and are never 0."""
    space = three_zones("Europe/Berlin", tariff=None)
    lines = bill(space, JUNE, 30)
    assert {line.rate for line in lines} == {""}
    assert {line.cost for line in lines} == {None}
    assert {line.what for line in lines} == {"lamps", "air pump", "flood pump", "dosing", "fan"}
    assert {day.cost for day in zone_day(space, JUNE, 30).values()} == {None}


def test_prices_that_include_tax_get_no_tax_line():
    """Tax is not charged twice, neither in the bill nor in the cost of a day."""
    tariff = flat(0.30, tax_percent=20.0, prices_include_tax=True)
    bench = a_zone(lit=(("06:00", "22:00"),))
    space = a_space([bench], [Fixture(zone=bench.name, watts=100.0)], (), tariff)
    assert [line.what for line in bill(space, JUNE, 30)] == ["lamps"]
    assert zone_day(space, JUNE, 30)["cellar bench"] == pytest.approx((1.6, 0.48))


def test_a_monthly_charge_is_shared_out_by_days():
    """Half of June and all of July: half a charge and a whole one."""
    tariff = flat(0.30, standing_per_month=12.0)
    lines = bill(a_space(tariff=tariff), date(2027, 6, 16), 15 + 31)
    assert [(line.month, line.what, line.cost) for line in lines] == [
        ("2027-06", "standing charge", pytest.approx(6.0)),
        ("2027-07", "standing charge", pytest.approx(12.0)),
    ]


def test_watts_at_the_wall_are_not_scaled_by_output():
    """Watts are those drawn at the output in use; only the count multiplies them."""
    bench = a_zone(lit=(("00:00", "10:00"),))
    lamps = [Fixture(zone=bench.name, watts=50.0, output=0.5, count=2), Fixture(zone=bench.name, watts=20.0)]
    assert [line.kwh for line in bill(a_space([bench], lamps), JUNE, 1)] == pytest.approx([1.2])


def test_rates_of_one_name_share_a_line():
    """Two night rates, winter and summer, both called night: one line a month."""
    tariff = Tariff(
        rate=(
            Rate(per_kwh=0.3),
            Rate(name="night", per_kwh=0.2, hours=(("23:00", "00:00"),)),
            Rate(name="night", per_kwh=0.1, hours=(("00:00", "07:00"),)),
        )
    )
    fan = Load(name="fan", watts=1000.0, always=True)
    lines = bill(a_space(loads=[fan], tariff=tariff), JUNE, 1)
    assert [(line.rate, line.kwh) for line in lines] == [("base", 16.0), ("night", 8.0)]
    assert lines[1].cost == pytest.approx(1 * 0.2 + 7 * 0.1)


def test_loads_are_shared_by_floor_area():
    """A zone of twice the floor bears twice the pump, and its own lamp alone."""
    zones = [
        a_zone("small", lit=(("00:00", "10:00"),)),
        a_zone("large", lit=(("00:00", "10:00"),), length_m=2.0),
    ]
    pump = Load(name="pump", watts=30.0, always=True)
    space = a_space(zones, [Fixture(zone="small", watts=100.0)], [pump], flat(0.5, standing_per_day=9.0))
    days = zone_day(space, JUNE, 7)
    assert days["small"] == pytest.approx((1.0 + 0.24, 0.62))
    assert days["large"] == pytest.approx((0.48, 0.24))


def test_a_lamp_that_is_off_draws_its_standby():
    """100 W for 16 h and 2 W for the other 8 h: 1.6 and 0.016 kWh, in one line."""
    bench = a_zone(lit=(("06:00", "22:00"),))
    lamp = Fixture(zone=bench.name, watts=100.0, standby_watts=2.0)
    (line,) = bill(a_space([bench], [lamp]), JUNE, 1)
    assert line.kwh == pytest.approx(1.6 + 0.016)


def test_a_load_of_one_zone_is_borne_by_it_alone():
    """A mat under the seedlings costs the heads of the other zone nothing."""
    zones = [a_zone("small", lit=(("00:00", "10:00"),)), a_zone("large", lit=(("00:00", "10:00"),))]
    mat = Load(name="mat", zone="small", watts=30.0, always=True)
    space = a_space(zones, loads=[mat], tariff=flat(0.5))
    assert [(line.zone, line.what) for line in bill(space, JUNE, 1)] == [("small", "mat")]
    days = zone_day(space, JUNE, 7)
    assert days["small"] == pytest.approx((0.72, 0.36))
    assert days["large"] == pytest.approx((0.0, 0.0))


def test_a_zone_without_beds_bears_no_share():
    """What all zones share is borne where something grows: no watt is lost from the cost of the heads."""
    zones = [a_zone("used", lit=(("00:00", "10:00"),)), a_zone("empty", lit=(("00:00", "10:00"),))]
    pump = Load(name="pump", watts=100.0, always=True)
    space = a_space(zones, loads=[pump], beds=[Bed(name="box", zone="used")])
    assert {zone: day.kwh for zone, day in zone_day(space, JUNE, 3).items()} == {
        "used": pytest.approx(2.4),
        "empty": 0.0,
    }


def test_blocks_and_cents_are_no_part_of_a_days_cost_but_the_marginal_price_is():
    """On top of 300 kWh each kWh costs .40, not the .10 of the first block; nothing is rounded."""
    tariff = Tariff(
        rate=(Rate(blocks=(Block(up_to_kwh=200.0, per_kwh=0.10), Block(per_kwh=0.40))),),
        other_use_kwh_per_month=300.0,
        round="total",
    )
    bench = a_zone(lit=(("00:00", "10:00"),))
    space = a_space([bench], [Fixture(zone=bench.name, watts=1.0)], tariff=tariff)
    assert zone_day(space, JUNE, 30)[bench.name] == pytest.approx((0.01, 0.004))


def test_rounding_goes_by_the_currency():
    """Yen have no cents, dinars have thousandths (ISO 4217)."""
    fan = Load(name="fan", watts=1000.0, always=True)
    for currency, cost in (("JPY", 30.0), ("EUR", 29.63), ("KWD", 29.626)):
        tariff = flat(1.2344, currency=currency, round="total")
        assert money(bill(a_space(loads=[fan], tariff=tariff), JUNE, 1)) == pytest.approx(cost, abs=1e-12)


def test_lines_and_tax_are_rounded_one_by_one_and_the_total_once():
    """Two rates of 1.005: by line 1.01 + 1.01 and 10 % tax .20; by total 2.01 + .201, that is 2.21."""
    day = Load(name="by day", watts=1000.0, on=(("06:00", "07:00"),))
    night = Load(name="by night", watts=1000.0, on=(("01:00", "02:00"),))
    rates = (Rate(per_kwh=1.005), Rate(name="night", per_kwh=1.005, hours=(("00:00", "05:00"),)))
    for rounding, costs in (("line", [1.01, 1.01, 0.20]), ("total", [1.01, 1.00, 0.20]), (None, None)):
        tariff = Tariff(rate=rates, tax_percent=10.0, round=rounding)
        lines = bill(a_space(loads=[day, night], tariff=tariff), JUNE, 1)
        expected = costs or [1.005, 1.005, 0.201]
        assert [line.cost for line in lines] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("start", "days"), [(date(2027, 1, 4), 365), (date(2027, 6, 1), 366), (date(2028, 2, 29), 366)]
)
def test_twelve_months_end_on_the_eve_of_the_same_date(start, days):
    """From 4 January until 3 January; from a leap day until the last day of February."""
    assert year_days(start) == days


def test_hours_are_picked_where_only_the_length_of_the_day_is_given():
    """Eight hours of light find the night rate."""
    bench = a_zone(photoperiod_h=8.0, quiet=(Quiet(hours=(("08:00", "22:00"),)),))
    tariff = Tariff(rate=(Rate(per_kwh=0.3), Rate(name="night", per_kwh=0.1, hours=(("23:30", "07:30"),))))
    lines = bill(a_space([bench], [Fixture(zone=bench.name, watts=100.0)], (), tariff), JUNE, 1)
    assert [(line.rate, line.kwh) for line in lines] == [("night", 0.8)]


def test_no_days_no_lines():
    """A bill over no days is empty; the mean of no days is refused."""
    space = three_zones("Europe/Berlin")
    assert bill(space, JUNE, 0) == ()
    with pytest.raises(ValueError, match="days must be at least 1, not 0"):
        zone_day(space, JUNE, 0)


def test_a_load_has_to_say_when_it_is_on():
    """A load without any hours is a mistake, not a load that is off."""
    space = a_space(loads=[Load(name="mystery", watts=5.0)])
    with pytest.raises(ValueError, match="load mystery does not say when it is on"):
        bill(space, JUNE, 1)
