"""Spaces and tariffs for the tests of the bill."""

from datetime import date

from cropcal.records.space import Fixture, Load, Place, Settings, Space, Zone
from cropcal.records.tariff import Rate, Tariff

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
