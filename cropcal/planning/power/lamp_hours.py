"""In which hours a lamp is on: those given, or a start picked for the quiet hours and the price."""

from typing import TYPE_CHECKING

import numpy as np

from cropcal.planning.power.tariff import calendar_of, marginal_prices, sorted_rates
from cropcal.records.base import WEEKDAYS, clock
from cropcal.science.power import (
    MINUTES_PER_DAY,
    Bools,
    Ints,
    week_table,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from cropcal.records.space import Space, Zone
    from cropcal.records.tariff import Tariff

Stretches = tuple[tuple[int, int], ...]

START_STEP_MIN = 15
MIDDLE_OF_LIGHT_MIN = 14 * 60
"""Where hours that are equally quiet and cheap are centred, so that 16 h are 06:00-22:00 (assumed)."""


def lit_stretches(zone: "Zone", tariff: "Tariff | None") -> Stretches:
    """Return the hours in which the lamp of a zone is on each day, in minutes after local midnight.

    Given hours stay. Where only the length of the day is given, it is one block, rounded to a minute,
    that starts on a quarter hour and

    1. is least in the zone's quiet hours (over a week),
    2. then costs least (one week of each calendar month, each weighing the same; in a rate by blocks, at
       the price of the first kWh on top of the home's other use),
    3. then has its middle nearest to 14:00, and of two as near the earlier start.

    The choice goes by the clock on the wall; nights on which clocks change, and timers that stay on
    standard time, are not looked at.

    Raises
    ------
    ValueError
        If the zone has neither hours nor a length of day.
    """
    if zone.lit is not None:
        return zone.lit
    if zone.photoperiod_h is None:
        message = f"zone {zone.name} has neither lit nor photoperiod_h"
        raise ValueError(message)
    length = round(zone.photoperiod_h * 60)
    if length >= MINUTES_PER_DAY:
        return ((0, MINUTES_PER_DAY),)
    starts = np.arange(0, MINUTES_PER_DAY, START_STEP_MIN)
    quiet = _in_block(quiet_minutes(zone), starts, length)
    starts = starts[quiet == quiet.min()]
    if tariff is not None:
        price = _prices(tariff, starts, length)
        starts = starts[price <= price.min() * (1 + 1e-12)]
    off_middle = (starts + length / 2 - MIDDLE_OF_LIGHT_MIN) % MINUTES_PER_DAY
    start = int(starts[np.minimum(off_middle, MINUTES_PER_DAY - off_middle).argmin()])
    return ((start, (start + length) % MINUTES_PER_DAY or MINUTES_PER_DAY),)


def lit_by_month(space: "Space", zone: "Zone") -> tuple[Stretches, ...]:
    """Return the hours in which the lamp of a zone is on by month, January first; given hours always."""
    for hours in space.month_hours:
        if hours.zone == zone.name:
            return hours.lit
    return (lit_stretches(zone, space.tariff),) * 12


def quiet_minutes(zone: "Zone") -> Ints:
    """Return on how many days of the week each minute of the day should be quiet, shape (1440,)."""
    return _by_minute_of_day(quiet_table(zone))


def quiet_overlap_h(zone: "Zone", lit: "Sequence[tuple[int, int]]") -> float:
    """Return the hours a week in which a lamp with these hours is on in the zone's quiet hours."""
    return int((quiet_table(zone) & week_table(lit)).sum()) / 60


def quiet_by_lamp_h(zone: "Zone") -> tuple[float, float]:
    """Return the zone's quiet hours a day, in the mean of a week: with the lamp on, and with it off.

    Where only the length of the lamp's day is given, as few of its hours are quiet as can be. A zone without
    either has no lamp hours.
    """
    if not zone.quiet:
        return 0.0, 0.0
    lit = lit_stretches(zone, None) if zone.lit is not None or zone.photoperiod_h is not None else ()
    lit_h = quiet_overlap_h(zone, lit) / 7
    return lit_h, int(quiet_table(zone).sum()) / 60 / 7 - lit_h


def quiet_warning(zone: "Zone", lit: "Sequence[tuple[int, int]]") -> str | None:
    """Return in plain words how much of the zone's quiet time the lamp takes, None if it takes none."""
    overlap_h = quiet_overlap_h(zone, lit)
    if overlap_h == 0:
        return None
    of_h = int(quiet_table(zone).sum()) / 60
    cure = (
        "change lit or quiet in space.toml" if zone.lit is not None else "no start of so long a day avoids it"
    )
    return (
        f"{zone.name}: the lamp is on {_spans(lit)}, which takes {_length(overlap_h)} of the "
        f"{_length(of_h)} a week that should be quiet; {cure}"
    )


def _length(hours: float) -> str:
    """Return a time as people say it: "30 min", "2 h", "1 h 30 min"."""
    whole, minutes = divmod(round(hours * 60), 60)
    return " ".join([f"{whole} h"] * bool(whole) + [f"{minutes} min"] * bool(minutes)) or "0 h"


def quiet_table(zone: "Zone") -> Bools:
    """Return the minutes of the week that should be quiet, shape (10080,)."""
    table = week_table(())
    for quiet in zone.quiet:
        table |= week_table(quiet.hours, [WEEKDAYS.index(day) for day in quiet.days])
    return table


def _by_minute_of_day(weekly: Bools) -> Ints:
    """Return on how many days of the week each minute of the day is marked, shape (..., 1440)."""
    days: Ints = weekly.reshape(*weekly.shape[:-1], 7, MINUTES_PER_DAY).sum(axis=-2)
    return days


def _in_block(by_minute: Ints, starts: Ints, length: int) -> Ints:
    """Return the sum over the block of that many minutes from each start, round the clock."""
    total = np.concatenate([[0], np.cumsum(np.tile(by_minute, 2))])
    block: Ints = total[starts + length] - total[starts]
    return block


def _prices(tariff: "Tariff", starts: Ints, length: int) -> "NDArray[np.float64]":
    """Return what a steady load costs over a week of each month from each start (any scale)."""
    calendar = calendar_of(sorted_rates(tariff))
    price = np.zeros(starts.size)
    for index, per_kwh in enumerate(marginal_prices(tariff)):
        minutes = _by_minute_of_day(calendar == index).sum(axis=0)
        price += per_kwh * _in_block(minutes, starts, length)
    return price


def _spans(lit: "Sequence[tuple[int, int]]") -> str:
    """Return the stretches as text."""
    return " and ".join(f"{clock(start)}-{clock(end)}" for start, end in lit)
