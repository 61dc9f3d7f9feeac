"""The hours in which a lamp is on: given hours stay, picked hours are quiet, then cheap, then by day."""

import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.power.lamp_hours import lit_stretches, quiet_overlap_h, quiet_warning
from cropcal.planning.power.tariff import calendar_of, sorted_rates
from cropcal.records.space import Quiet, Zone
from cropcal.records.tariff import Block, Rate, Tariff

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
OFFICE = Quiet(hours=(("09:00", "17:00"),), days=WEEKDAYS[:5])
CHEAP_NIGHT = Tariff(rate=(Rate(per_kwh=0.29), Rate(name="night", per_kwh=0.17, hours=(("23:00", "07:00"),))))


def a_zone(**more):
    return Zone(**{"name": "landing", "length_m": 1.0, "width_m": 0.5, **more})


def at(*stretches):
    return tuple(
        tuple(f"{minute // 60:02d}:{minute % 60:02d}" for minute in stretch) for stretch in stretches
    )


def picked(tariff=None, **zone):
    """Return the one picked stretch as text, "on-off"."""
    (stretch,) = at(*lit_stretches(a_zone(**zone), tariff))
    return "-".join(stretch)


def test_given_hours_stay():
    """Whoever set a timer keeps it, at whatever price and in whatever quiet hours."""
    zone = a_zone(lit=(("09:00", "12:00"), ("13:00", "19:00")), quiet=(OFFICE,))
    assert at(*lit_stretches(zone, CHEAP_NIGHT)) == (("09:00", "12:00"), ("13:00", "19:00"))


def test_blocks_count_at_the_price_on_top_of_the_homes_other_use():
    """A night at .20 is dearer than the first block at .10 and cheaper than the second at .30."""
    blocks = (Block(up_to_kwh=200.0, per_kwh=0.10), Block(per_kwh=0.30))
    night = Rate(name="night", per_kwh=0.20, hours=(("00:00", "08:00"),))
    for other, expected in ((0.0, "10:00-18:00"), (200.0, "00:00-08:00")):
        tariff = Tariff(rate=(Rate(blocks=blocks), night), other_use_kwh_per_month=other)
        assert picked(tariff, photoperiod_h=8.0) == expected


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        (16.0, "06:00-22:00"),
        (12.0, "08:00-20:00"),
        (20.0, "04:00-24:00"),
        (22.0, "03:00-01:00"),
        (14.26, "06:45-21:01"),  # 14 h 16 min: its middle is 7 min early; from 07:00 it were 8 min late
        (24.0, "00:00-24:00"),
    ],
)
def test_without_wishes_the_light_is_centred_on_two_in_the_afternoon(hours, expected):
    """No quiet hours and one price: the lamp is on by day, its middle nearest to 14:00."""
    assert picked(photoperiod_h=hours) == expected
    assert picked(Tariff(rate=(Rate(per_kwh=0.3),)), photoperiod_h=hours) == expected


def test_of_two_starts_as_near_to_the_afternoon_the_earlier_is_picked():
    """Quiet from 13:00 to 15:00 leaves 12:00 and 15:00 equally good for one hour of light."""
    quiet = Quiet(hours=(("13:00", "15:00"),))
    assert picked(photoperiod_h=1.0, quiet=(quiet,)) == "12:00-13:00"


@pytest.mark.parametrize(
    ("hours", "expected"),
    [
        (8.0, "23:00-07:00"),  # all of the cheap night and nothing else
        (6.0, "01:00-07:00"),  # anywhere in it: of the ends, 07:00 is nearest to the afternoon
        (16.0, "23:00-15:00"),  # all of it and, of both sides, the one with more of the day
    ],
)
def test_the_cheap_hours_are_found(hours, expected):
    """With a night rate the lamp is on at night."""
    assert picked(CHEAP_NIGHT, photoperiod_h=hours) == expected


def test_quiet_comes_before_cheap():
    """A bedroom that sleeps in the cheap hours is lit in the dear ones."""
    sleep = Quiet(hours=(("22:00", "08:00"),))
    assert picked(CHEAP_NIGHT, photoperiod_h=14.0, quiet=(sleep,)) == "08:00-22:00"
    # Two hours too long: from 06:00, 07:00 and 08:00 it is equally loud, and from 06:00 an hour is cheap.
    assert picked(CHEAP_NIGHT, photoperiod_h=16.0, quiet=(sleep,)) == "06:00-22:00"


def test_where_quiet_cannot_be_kept_it_is_kept_longest():
    """Four quiet weekdays lose to seven: sixteen hours around a school day and a nightly sleep."""
    school = Quiet(hours=(("08:00", "16:00"),), days=("mon", "tue", "thu", "fri"))
    sleep = Quiet(hours=(("22:00", "06:00"),))
    zone = a_zone(photoperiod_h=16.0, quiet=(school, sleep))
    lit = lit_stretches(zone, CHEAP_NIGHT)
    assert at(*lit) == (("06:00", "22:00"),)
    assert quiet_overlap_h(zone, lit) == 4 * 8


def test_a_rate_of_some_months_weighs_as_many_months():
    """Seven cheap summer nights outweigh five cheap winter noons, five do not."""

    def rates(summer, winter):
        night = Rate(name="night", per_kwh=0.1, hours=(("00:00", "04:00"),), months=summer)
        noon = Rate(name="noon", per_kwh=0.1, hours=(("10:00", "14:00"),), months=winter)
        return Tariff(rate=(Rate(per_kwh=0.3), night, noon))

    five, seven = (1, 2, 3, 11, 12), (4, 5, 6, 7, 8, 9, 10)
    assert picked(rates(seven, five), photoperiod_h=4.0) == "00:00-04:00"
    assert picked(rates(five, seven), photoperiod_h=4.0) == "10:00-14:00"


def test_a_zone_has_to_say_something_of_its_light():
    """Without hours or length of day nothing can be picked."""
    with pytest.raises(ValueError, match="zone landing has neither lit nor photoperiod_h"):
        lit_stretches(a_zone(), None)


quarters = st.integers(0, 95)
some_days = st.sets(st.sampled_from(WEEKDAYS), min_size=1).map(tuple)
some_months = st.sets(st.integers(1, 12), min_size=1).map(tuple)


def by_quarter_hours(zone, tariff):
    """Pick the start by trying all 96, adding quarter hours one by one (all edges lie on quarter hours)."""

    def holds(spans, days, weekday, quarter):
        for start, end in spans:
            first, last = start // 15, end // 15
            if first < last:
                began = weekday if first <= quarter < last else None
            else:
                began = weekday if quarter >= first else (weekday - 1) % 7 if quarter < last else None
            if began is not None and WEEKDAYS[began] in days:
                return True
        return False

    def price(month, weekday, quarter):
        for rate in tariff.rate:
            if rate.is_base:
                base = rate.per_kwh
            elif month in (rate.months or range(1, 13)) and holds(
                rate.hours, rate.days or WEEKDAYS, weekday, quarter
            ):
                return rate.per_kwh
        return base

    week = range(7)
    quiet = [
        sum(any(holds(each.hours, each.days, day, q) for each in zone.quiet) for day in week)
        for q in range(96)
    ]
    cost = [sum(price(month, day, q) for month in range(1, 13) for day in week) for q in range(96)]
    length = round(zone.photoperiod_h * 4)

    def rank(start):
        block = [(start + step) % 96 for step in range(length)]
        off = abs((start + length / 2) % 96 - 56)
        return sum(quiet[q] for q in block), sum(cost[q] for q in block), min(off, 96 - off), start

    start = min(range(96), key=rank) * 15
    return ((start, (start + length * 15) % 1440 or 1440),)


@settings(max_examples=examples(30))
@given(
    st.integers(4, 95),
    st.lists(quarters, min_size=4, max_size=4, unique=True).map(sorted),
    st.lists(st.integers(0, 5), min_size=3, max_size=3),
    st.tuples(quarters, quarters).filter(lambda pair: pair[0] != pair[1]),
    some_days,
    some_days,
    some_months,
)
def test_the_pick_is_that_of_trying_all_starts(length, edges, prices, span, quiet_days, days, months):
    """Trying every start by hand, quarter hour by quarter hour, gives the same hours."""
    a, b, c, d = (quarter * 15 for quarter in edges)
    tariff = Tariff(
        rate=(
            Rate(name="one", per_kwh=float(prices[0]), hours=at((d, a)), days=days),
            Rate(name="two", per_kwh=float(prices[1]), hours=at((b, c)), months=months),
            Rate(per_kwh=float(prices[2])),
        )
    )
    quiet = Quiet(hours=at((span[0] * 15, span[1] * 15)), days=quiet_days)
    zone = a_zone(photoperiod_h=length / 4, quiet=(quiet,))
    assert lit_stretches(zone, tariff) == by_quarter_hours(zone, tariff)


def test_overlap_with_quiet_hours_is_counted_by_the_week():
    """An office from 9 to 17, lamp from 15:00 to 01:00: two hours on five days."""
    zone = a_zone(quiet=(OFFICE,))
    assert quiet_overlap_h(zone, ((900, 60),)) == 10
    assert quiet_overlap_h(zone, ((1020, 540),)) == 0
    assert quiet_overlap_h(a_zone(), ((0, 1440),)) == 0


def test_quiet_over_midnight_belongs_to_the_evening_on_which_it_begins():
    """Quiet on Friday from 22:00 to 06:00, a lamp from 00:00 to 12:00: six hours of Saturday morning."""
    zone = a_zone(quiet=(Quiet(hours=(("22:00", "06:00"),), days=("fri",)),))
    assert quiet_overlap_h(zone, ((0, 720),)) == 6


def test_quiet_stretches_that_overlap_count_once():
    """Two wishes for the same hour are one hour."""
    zone = a_zone(quiet=(OFFICE, Quiet(hours=(("08:00", "12:00"),), days=("mon",))))
    assert quiet_overlap_h(zone, ((0, 1440),)) == 5 * 8 + 1


def test_the_warning_says_how_much_and_what_to_do():
    """A given timer can be changed; a picked start is already the best there is; silence is no warning."""
    given_hours = a_zone(lit=(("15:00", "01:00"),), quiet=(OFFICE,))
    assert quiet_warning(given_hours, given_hours.lit) == (
        "landing: the lamp is on 15:00-01:00, which takes 10 h of the 40 h a week that should be quiet; "
        "change lit or quiet in space.toml"
    )
    too_long = a_zone(photoperiod_h=18.0, quiet=(OFFICE,))
    warning = quiet_warning(too_long, lit_stretches(too_long, None))
    assert warning is not None
    assert warning.endswith(
        "10 h of the 40 h a week that should be quiet; no start of so long a day avoids it"
    )
    fits = a_zone(photoperiod_h=16.0, quiet=(OFFICE,))
    assert quiet_warning(fits, lit_stretches(fits, CHEAP_NIGHT)) is None


def test_rates_stand_base_first_then_by_name():
    """The order in the file does not matter."""
    weekend = Rate(name="weekend", per_kwh=0.2, days=("sat", "sun"))
    night = Rate(name="night", per_kwh=0.1, hours=(("00:00", "06:00"),), days=("mon",))
    tariff = Tariff(rate=(weekend, Rate(name="zone", per_kwh=0.3), night))
    assert [rate.name for rate in sorted_rates(tariff)] == ["zone", "night", "weekend"]
    calendar = calendar_of(sorted_rates(tariff))
    assert [(calendar == index).sum() // 12 / 60 for index in range(3)] == [7 * 24 - 48 - 6, 6, 48]


@pytest.mark.parametrize(
    ("rates", "message"),
    [
        ([Rate(per_kwh=0.1), Rate(per_kwh=0.2)], "more than one rate has neither hours, days nor months"),
        ([Rate(per_kwh=0.1, days=("mon",))], "at some time no rate holds"),
        (
            [
                Rate(per_kwh=0.1),
                Rate(per_kwh=0.2, hours=(("22:00", "06:00"),), days=("sun",)),
                Rate(per_kwh=0.3, days=("mon",)),
            ],
            "two rates hold at the same time",
        ),
    ],
)
def test_contradicting_rates_are_refused(rates, message):
    """Reading refuses such files; should one come through, there is no bill rather than a wrong one."""
    with pytest.raises(ValueError, match=message):
        calendar_of(rates)
