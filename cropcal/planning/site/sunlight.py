"""The sun at a place and the part a zone gets, by half months: light, hours and their spread."""

from dataclasses import astuple, dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from cropcal.planning.power.lamp_hours import Stretches, lit_by_month
from cropcal.planning.site.air import zone_air
from cropcal.records.daylight import HALVES, HalfMonth, half_of
from cropcal.records.plan import BedLight
from cropcal.records.space import (
    Assumption,
    Place,
    Space,
    Zone,
)
from cropcal.science import daylight
from cropcal.science.power import MINUTES_PER_DAY, week_table
from cropcal.science.timing import longest_run
from cropcal.units import known_to

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

MIDDLES = (8, 23)
"""Days of the month that stand for its halves where the sun's hours are asked for."""


@dataclass(frozen=True, eq=False)
class Sun:
    """A place's sun over a year: light of each day outdoors, and of each half month light and hours.

    ``up`` (24, 1440) marks the minutes of the clock in which the sun is up in each half month; a timer that
    stays on standard time has a clock of its own.
    """

    days: tuple[date, ...]
    by_day_mol_m2_d: Array
    outdoor_mol_m2_d: Array
    day_length_h: Array
    up: Bools
    sd_ln: float


def days_of(year: int) -> tuple[date, ...]:
    """Return all days of a year."""
    first = date(year, 1, 1)
    return tuple(first + timedelta(days=day) for day in range((date(year + 1, 1, 1) - first).days))


def sun_of(space: Space, *, follows_clock: bool = True) -> Sun | None:
    """Return the sun at a space's place; None where the place is not given."""
    return _sun(space.place, space.settings.start.year, follows_clock)


@lru_cache(maxsize=16)
def _sun(place: Place, year: int, follows_clock: bool) -> Sun | None:
    if place.latitude is None or place.longitude is None:
        return None
    days = days_of(year)
    measured = place.outdoor_kwh_m2_d
    if measured is not None:
        outdoor = daylight.by_day_kwh_m2_d(measured, days)
    else:
        outdoor = daylight.clear_share_kwh_m2_d(place.latitude, days)
    by_day = daylight.dli_mol_m2_d(outdoor)
    half = np.array([half_of(day) for day in days])
    middles = [date(year, 1 + number // 2, MIDDLES[number % 2]) for number in range(HALVES)]
    zone = ZoneInfo(place.timezone or "UTC")
    length, up = np.zeros(HALVES), np.zeros((HALVES, MINUTES_PER_DAY), np.bool_)
    for number, day in enumerate(middles):
        sun_day = daylight.sun_day(place.latitude, place.longitude, day, zone)
        noon = sun_day.noon.astimezone(zone)
        summer = timedelta() if follows_clock else noon.dst() or timedelta()
        length[number] = sun_day.day_length_h
        up[number] = _minutes_around_noon(
            noon.hour * 60 + noon.minute - summer.total_seconds() / 60, sun_day.day_length_h
        )
    return Sun(
        days=days,
        by_day_mol_m2_d=by_day,
        outdoor_mol_m2_d=np.bincount(half, by_day) / np.bincount(half),
        day_length_h=length,
        up=up,
        sd_ln=daylight.YEAR_LN_SD
        if measured is not None
        else float(np.hypot(daylight.CLEARNESS_LN_SD, daylight.YEAR_LN_SD)),
    )


def _minutes_around_noon(noon_min: float, hours: float) -> Bools:
    """Return the minutes of a day within half of some hours before and after noon, round the clock."""
    from_noon = np.abs((np.arange(MINUTES_PER_DAY) + 0.5 - noon_min + 720) % MINUTES_PER_DAY - 720)
    near: Bools = from_noon < hours * 30
    return near


def with_sun(space: Space, light: BedLight) -> BedLight:
    """Return the light of a bed with the sun's added; unchanged where no sun comes in."""
    zone = space.zone(light.zone)
    sun = sun_of(space, follows_clock=zone.timer_follows_clock) if zone.has_daylight else None
    if sun is None:
        return light
    sd_ln = float(np.hypot(sun.sd_ln, daylight.SHARE_LN_SD))
    return light.model_copy(
        update={
            "halves": half_months(zone, sun, _lamp_stretches(space, zone)),
            "sd_ln_sun": sd_ln,
            "sd_ln": sd_ln if light.source == "daylight" else light.sd_ln,
            "assumed": (*light.assumed, *sun_assumptions(space.place, zone)),
        }
    )


def _lamp_stretches(space: Space, zone: Zone) -> tuple[Stretches, ...]:
    """Return the hours in which a zone's lamp is on, by month; none while its hours are open."""
    open_hours = zone.lit is None and zone.photoperiod_h is None
    return ((),) * 12 if open_hours else lit_by_month(space, zone)


def half_months(zone: Zone, sun: Sun, lit: tuple[Stretches, ...]) -> tuple[HalfMonth, ...]:
    """Return light and hours of sun and lamp in each half month; ``lit``: the lamp's hours by month."""
    tables = [week_table(stretches)[:MINUTES_PER_DAY] for stretches in lit]
    share = np.repeat(np.array(zone.daylight_share), 2)
    months = []
    for number in range(HALVES):
        lamp = tables[number // 2]
        bright = lamp | sun.up[number] if share[number] > 0 else lamp
        months.append(
            HalfMonth(
                sun_mol_m2_d=float(sun.outdoor_mol_m2_d[number] * share[number]),
                sun_h=float(sun.up[number].sum()) / 60 if share[number] > 0 else 0.0,
                lamp_h=float(lamp.sum()) / 60,
                light_h=float(bright.sum()) / 60,
                day_seen_h=24 - longest_run(~bright) / 60,
            )
        )
    return tuple(months)


def outdoor_assumptions(place: Place) -> tuple[Assumption, ...]:
    """Return the assumptions about the light outdoors, with its spread."""
    if place.outdoor_kwh_m2_d is not None:
        year = known_to(daylight.YEAR_LN_SD)
        value = f"of each month as given; that of a year is known to within {year}, in four cases out of five"
        return (Assumption(key="outdoor light", value=value, why="assumed"),)
    sky = known_to(float(np.hypot(daylight.CLEARNESS_LN_SD, daylight.YEAR_LN_SD)))
    return (
        Assumption(
            key="outdoor light",
            value=f"{daylight.CLEARNESS:.0%} of what comes in above the air,"
            f" known to within {sky}, in four cases out of five",
            why="assumed; outdoor_kwh_m2_d, the mean day of each month, would improve it",
        ),
    )


def sun_assumptions(place: Place, zone: Zone) -> tuple[Assumption, ...]:
    """Return the assumptions about the sun in a zone, with its spread."""
    share = known_to(daylight.SHARE_LN_SD)
    return (
        *outdoor_assumptions(place),
        Assumption(
            key=f"sun in {zone.name}",
            value=f"its share at the leaves is known to within {share}, in four cases out of five",
            why="assumed: hardly ever measured; light at the leaves against light outdoors, on a grey noon",
        ),
        Assumption(
            key=f"day in {zone.name}",
            value="from sunrise to sunset over a level horizon, and while the lamp is on",
            why="assumed; lamps of the room that shine on the leaves in the dark make it longer",
        ),
    )


def planned_halves(space: Space) -> Array:
    """Return the share of the planned days in each half month, shape (24,)."""
    start, days = space.settings.start, space.settings.weeks * 7
    count = np.bincount([half_of(start + timedelta(days=day)) for day in range(days)], minlength=HALVES)
    return np.asarray(count / days)


@dataclass(frozen=True)
class HalfMonthSun:
    """Growing conditions of a bed in one half month: total light and its spread, the sun's part, air."""

    dli_mol_m2_d: float
    sun_mol_m2_d: float
    sd_ln_light: float
    lamp_h: float
    photoperiod_h: float
    air_c: float


def seasons(space: Space, light: BedLight) -> tuple[HalfMonthSun, ...]:
    """Return the growing conditions of a bed in each half month; empty where no sun comes in."""
    if not light.halves:
        return ()
    air = zone_air(space.zone(light.zone), space.fixtures)
    return tuple(
        HalfMonthSun(
            dli_mol_m2_d=light.with_sun_mol_m2_d(number),
            sun_mol_m2_d=half.sun_mol_m2_d,
            sd_ln_light=light.sd_ln_with_sun(number),
            lamp_h=half.lamp_h,
            photoperiod_h=half.light_h,
            air_c=replace(air, lit_h=half.lamp_h).mean_c,
        )
        for number, half in enumerate(light.halves)
    )


def mean_season(half_months: tuple[HalfMonthSun, ...], weights: Array) -> HalfMonthSun:
    """Return the mean of the half months, each weighed; ``weights`` (24,) add up to 1."""
    rows = np.array([astuple(season) for season in half_months])
    return HalfMonthSun(*(float(value) for value in weights @ rows))
