"""Daylight: the sun's hours at a place, outdoor radiation, and the part of it that reaches the leaves.

Radiation follows the equations of FAO-56 (Allen R.G., Pereira L.S., Raes D., Smith M. 1998. Crop
evapotranspiration. FAO Irrigation and Drainage Paper 56, Rome, chapter 3), whose day is the geometric one: no
refraction, no width of the sun. The sun's hours are those on a clock: its upper rim on a level horizon, air
bending the light. Sunrise and sunset are found on the sun's height, from astral's series, and not by astral's
own search: that one shifts whole days by UTC date, mixes two days' events, and fails on days that have both.
"""

from calendar import monthrange
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from math import asin, cos, degrees, radians, sin

import numpy as np
import numpy.typing as npt

from cropcal.units import HOURS_PER_DAY

Array = npt.NDArray[np.float64]

SOLAR_CONSTANT_MJ_M2_MIN = 0.0820
"""FAO-56 eq. 21."""

MOL_PER_KWH = 7.265
"""PAR photons in a kWh of global radiation: 0.007265 mol/Wh, that is 2.018 mol/MJ (Faust J.E., Logan J. 2018.
HortScience 53:1250-1257, abstract; 45 % of the energy is PAR, 4.48 umol/J). Others have 1.96 to 2.3."""

MJ_PER_KWH = 3.6

CLEARNESS = 0.45
"""Monthly share of the extraterrestrial radiation that reaches the ground, where none is given (assumed).
FAO-56 eq. 35 has 0.25 for a day without sun and 0.75 for a clear one."""

CLEARNESS_LN_SD = 0.25
"""Spread of that share between places and months (assumed): 80 % between 0.33 and 0.62."""

YEAR_LN_SD = 0.15
"""Spread of a month's radiation between years (assumed: 80 % between 0.83 and 1.21 of its long mean)."""

SHARE_LN_SD = 0.30
"""Spread of the share of daylight that reaches the leaves, which is hardly ever measured (assumed)."""

RIM_DEG = -0.8333
"""Height of the sun's centre at sunrise and sunset: 34' of refraction and 16' of radius (the usual almanac
values; NREL's SPA has 0.5667 and 0.26667 degrees, Reda & Andreas 2004)."""

TWILIGHT_DEG = -6.0
"""Height of the sun's centre at the ends of civil twilight (almanac definition)."""

YEARS = (1800, 2200)
"""Years in which the sun's series of astral can be trusted (assumed)."""


@dataclass(frozen=True)
class SunDay:
    """One day's sun: the solar day whose noon falls on the date. Times are in UTC.

    ``sunrise``, ``sunset``, ``dawn`` and ``dusk`` (civil twilight) are None where the sun does not cross that
    height between one solar midnight and the next; the hours show on which side it stays. At the poles the
    sun may set before noon or rise after it.
    """

    noon: datetime
    sunrise: datetime | None
    sunset: datetime | None
    dawn: datetime | None
    dusk: datetime | None
    day_length_h: float
    with_twilight_h: float

    @property
    def polar(self) -> str | None:
        """Return ``day`` where the sun stays up, ``night`` where it stays down, else None."""
        if self.day_length_h >= HOURS_PER_DAY:
            return "day"
        return "night" if self.day_length_h <= 0 else None


def declination_rad(day_of_year: npt.ArrayLike) -> Array:
    """Return the sun's declination, radians (FAO-56 eq. 24)."""
    angle: Array = 0.409 * np.sin(2 * np.pi / 365 * np.asarray(day_of_year, float) - 1.39)
    return angle


def inverse_distance(day_of_year: npt.ArrayLike) -> Array:
    """Return the inverse relative distance of earth and sun, unitless (FAO-56 eq. 23)."""
    ratio: Array = 1 + 0.033 * np.cos(2 * np.pi / 365 * np.asarray(day_of_year, float))
    return ratio


def sunset_angle_rad(latitude: npt.ArrayLike, day_of_year: npt.ArrayLike) -> Array:
    """Return the sun's hour angle at its setting, radians: 0 in polar night, pi in polar day (eq. 25)."""
    phi = np.radians(_within(latitude, 90, "latitude"))
    angle: Array = np.arccos(np.clip(-np.tan(phi) * np.tan(declination_rad(day_of_year)), -1, 1))
    return angle


def geometric_day_h(latitude: npt.ArrayLike, day_of_year: npt.ArrayLike) -> Array:
    """Return the daylight hours N of FAO-56 eq. 34: without refraction, so shorter than the clock's."""
    hours: Array = HOURS_PER_DAY / np.pi * sunset_angle_rad(latitude, day_of_year)
    return hours


def extraterrestrial_mj_m2_d(latitude: npt.ArrayLike, day_of_year: npt.ArrayLike) -> Array:
    """Return the daily extraterrestrial radiation on a level square metre (FAO-56 eq. 21).

    Parameters
    ----------
    latitude
        Degrees, south negative.
    day_of_year
        1 on 1 January.

    Returns
    -------
    Array
        MJ m-2 d-1 in the broadcast shape, 0 in polar night.

    Raises
    ------
    ValueError
        If a latitude is not between -90 and 90.
    """
    phi = np.radians(_within(latitude, 90, "latitude"))
    delta, angle = declination_rad(day_of_year), sunset_angle_rad(latitude, day_of_year)
    turning = angle * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(angle)
    daily: Array = (
        24 * 60 / np.pi * SOLAR_CONSTANT_MJ_M2_MIN * inverse_distance(day_of_year) * np.maximum(turning, 0)
    )
    return daily


def from_sunshine_mj_m2_d(above_mj_m2_d: npt.ArrayLike, sunny_share: npt.ArrayLike) -> Array:
    """Return global radiation from the share of the day with sunshine (FAO-56 eq. 35: 0.25 and 0.50)."""
    daily: Array = (0.25 + 0.50 * np.asarray(sunny_share, float)) * np.asarray(above_mj_m2_d, float)
    return daily


def clear_share_kwh_m2_d(latitude: float, days: Sequence[date], clearness: float = CLEARNESS) -> Array:
    """Return each day's global radiation as a share of the extraterrestrial one, kWh m-2 d-1."""
    above = extraterrestrial_mj_m2_d(latitude, [day.timetuple().tm_yday for day in days])
    return clearness / MJ_PER_KWH * above


def by_day_kwh_m2_d(monthly: npt.ArrayLike, days: Sequence[date]) -> Array:
    """Return the global radiation of each day from twelve monthly means, which every month keeps.

    Days are interpolated linearly between the middles of the months; the values there are solved for, since a
    line through the means themselves would cut the peaks. Where that would take a day below zero (polar night
    beside a bright month) every day has its month's mean instead.

    Parameters
    ----------
    monthly
        Twelve means, January first, kWh m-2 d-1.
    days
        Any days, in any order, of one or more years.

    Raises
    ------
    ValueError
        If there are not twelve values, or one is negative or no number.
    """
    means = np.asarray(monthly, float)
    if means.shape != (12,) or not np.all(np.isfinite(means)) or np.any(means < 0):
        message = "twelve monthly values that are not negative are needed"
        raise ValueError(message)
    years = {year: _year_by_day(means, year) for year in {day.year for day in days}}
    return np.array([years[day.year][day.timetuple().tm_yday - 1] for day in days], float)


def _year_by_day(means: Array, year: int) -> Array:
    lengths = [monthrange(year, month)[1] for month in range(1, 13)]
    starts = np.concatenate([[0], np.cumsum(lengths)])
    middles, whole = (starts[:-1] + starts[1:]) / 2, float(starts[-1])
    centres = np.arange(starts[-1]) + 0.5
    weights = np.array([np.interp(centres, middles, column, period=whole) for column in np.eye(12)]).T
    in_month = np.add.reduceat(weights, starts[:-1], axis=0) / np.array(lengths)[:, None]
    daily: Array = weights @ np.linalg.solve(in_month, means)
    if np.any(daily < 0):
        return np.repeat(means, lengths)
    return daily


def dli_mol_m2_d(global_kwh_m2_d: npt.ArrayLike, share: npt.ArrayLike = 1.0) -> Array:
    """Return the PAR photons of a day's global radiation that reach the leaves, mol m-2 d-1."""
    light: Array = MOL_PER_KWH * np.asarray(global_kwh_m2_d, float) * np.asarray(share, float)
    return light


def sun_elevation_deg(latitude: float, longitude: float, when: datetime) -> float:
    """Return the height of the sun's centre over a level horizon, degrees, without refraction.

    Raises
    ------
    ValueError
        If the place is not on Earth, the year is not between 1800 and 2200, or the time has no zone.
    """
    if when.tzinfo is None:
        message = "a time with its zone is needed"
        raise ValueError(message)
    _within(latitude, 90, "latitude")
    _within(longitude, 180, "longitude")
    moment = when.astimezone(UTC)
    midnight = datetime(moment.year, moment.month, moment.day, tzinfo=UTC)
    return _height(latitude, longitude, moment.date())((moment - midnight) / timedelta(hours=1))


def sun_day(latitude: float, longitude: float, day: date, zone: tzinfo | None = None) -> SunDay:
    """Return sunrise, sunset, civil twilight and day length of one day, for any place on Earth.

    Parameters
    ----------
    latitude, longitude
        Degrees, south and west negative.
    day
        The date on the place's own clock.
    zone
        The clock's timezone, which decides whose noon is meant; None: solar time.

    Raises
    ------
    ValueError
        If the place is not on Earth, or the year is not between 1800 and 2200.
    """
    _within(latitude, 90, "latitude")
    _within(longitude, 180, "longitude")
    noon_h = _noon_h(longitude, day)
    if zone is not None:
        off = (day - _moment(day, noon_h).astimezone(zone).date()).days
        day += timedelta(days=off)
        noon_h = _noon_h(longitude, day)
    height = _height(latitude, longitude, day)
    rise, fall, up_h = _crossings(height, noon_h, RIM_DEG)
    dawn, dusk, bright_h = _crossings(height, noon_h, TWILIGHT_DEG)
    return SunDay(
        noon=_moment(day, noon_h),
        sunrise=_crossed(day, rise),
        sunset=_crossed(day, fall),
        dawn=_crossed(day, dawn),
        dusk=_crossed(day, dusk),
        day_length_h=up_h,
        with_twilight_h=bright_h,
    )


def _moment(day: date, hours: float) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(hours=hours)


def _crossed(day: date, hours: float | None) -> datetime | None:
    return None if hours is None else _moment(day, hours)


def _noon_h(longitude: float, day: date) -> float:
    """Return solar noon, hours after the day's UTC midnight."""
    from astral.sun import eq_of_time

    mean = 12 - longitude / 15
    return mean - eq_of_time(_century(day, mean)) / 60


def _height(latitude: float, longitude: float, day: date) -> Callable[[float], float]:
    """Return the sun's height in degrees as a function of hours after the day's UTC midnight."""
    from astral.sun import eq_of_time, sun_declination

    phi = radians(latitude)

    def height(hours: float) -> float:
        century = _century(day, hours)
        delta = radians(sun_declination(century))
        turned = radians(15 * (hours - 12) + longitude + eq_of_time(century) / 4)
        return degrees(asin(min(1, max(-1, sin(phi) * sin(delta) + cos(phi) * cos(delta) * cos(turned)))))

    return height


def _century(day: date, hours: float) -> float:
    from astral.julian import julianday, julianday_to_juliancentury

    if not YEARS[0] <= day.year <= YEARS[1]:
        message = f"year {day.year} is not between {YEARS[0]} and {YEARS[1]}"
        raise ValueError(message)
    return julianday_to_juliancentury(julianday(day) + hours / HOURS_PER_DAY)


def _crossings(
    height: Callable[[float], float], noon_h: float, level_deg: float
) -> tuple[float | None, float | None, float]:
    """Return when the sun rises above a height, when it sets below, and how long it is above, hours."""
    rise = fall = None
    up_h = 0.0
    for start, end in ((noon_h - 12, noon_h), (noon_h, noon_h + 12)):
        before, after = height(start) > level_deg, height(end) > level_deg
        if before == after:
            up_h += 12.0 * before
            continue
        low, high = start, end
        while high - low > 1 / 3600:
            middle = (low + high) / 2
            low, high = (middle, high) if (height(middle) > level_deg) == before else (low, middle)
        if after:
            rise, up_h = low, up_h + end - low
        else:
            fall, up_h = low, up_h + low - start
    return rise, fall, up_h


def _within(value: npt.ArrayLike, limit: float, name: str) -> Array:
    degrees_ = np.asarray(value, float)
    if not np.all(np.abs(degrees_) <= limit):
        message = f"a {name} is between -{limit} and {limit} degrees"
        raise ValueError(message)
    return degrees_
