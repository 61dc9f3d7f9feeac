"""What it costs to have a lamp on: exact hours and money of any daily stretches over the planned days."""

from typing import NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from cropcal.planning.power.lamp_hours import Stretches
from cropcal.planning.power.tariff import (
    calendar_of,
    holidays_of,
    marginal_prices,
    sorted_rates,
    tax_factor,
)
from cropcal.records.space import Space
from cropcal.science.power import (
    LocalClock,
    Use,
    local_clock,
    rate_calendar,
    use_by_quarter,
    use_by_rate_and_month,
    week_table,
)

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

DAYS_PER_YEAR = 365
DAYS_PER_MONTH = 365.25 / 12


def priced_days(space: Space) -> int:
    """Return over how many days from the first day lamp hours are priced: a plan's weeks, at most a year.

    The days do not move with the horizon, else hours that were picked would change by planning again.
    """
    return min(space.asked_weeks * 7, DAYS_PER_YEAR)


def hours_and_money(
    space: Space, stretches: tuple[Stretches, ...], *, follows_clock: bool
) -> tuple[Ints, Array, Array]:
    """Return months, true hours and money for each of n daily switchings of a lamp of 1 kW.

    Over ``priced_days`` from the first day, at the marginal price with tax, without standing
    charge; in a rate by blocks that of the first kWh on top of the home's other use.

    Returns
    -------
    months, hours_h, money
        Months since January 1970, shape (m,); the others (n, m). Without a tariff all money is 0.
    """
    clock, calendar, holidays, price = _priced(space)
    on = np.array([week_table(lit) for lit in stretches])
    use = use_by_rate_and_month(clock, on, np.full(len(on), follows_clock), calendar, holidays)
    return _summed(use, price)


def _priced(space: Space) -> tuple[LocalClock, Ints, list[int], Array]:
    """Return the clock of the priced days, which rate holds when, the holidays, and their prices."""
    timezone = ZoneInfo(space.place.timezone) if space.place.timezone else None
    clock = local_clock(space.first_day, priced_days(space), timezone)
    if space.tariff:
        price = marginal_prices(space.tariff) * tax_factor(space.tariff)
        return clock, calendar_of(sorted_rates(space.tariff)), holidays_of(space.tariff), price
    one_rate = rate_calendar(week_table(None)[None], np.ones((1, 12), np.bool_), base=0)
    return clock, one_rate, [], np.zeros(1)


def _summed(use: Use, price: Array) -> tuple[Ints, Array, Array]:
    hours_h = use.seconds / 3600
    return use.months, hours_h.sum(axis=1), np.einsum("nrm,r->nm", hours_h, price[: hours_h.shape[1]])


class ByQuarter(NamedTuple):
    """Hours and money of 1 kW in each quarter hour of the day, over the priced days, each (96,).

    ``money_by_month`` (96, m) for each of ``months`` (m,), counted since January 1970.
    """

    hours_h: Array
    money: Array
    months: npt.NDArray[np.int64]
    money_by_month: Array


def quarter_prices(space: Space) -> dict[bool, ByQuarter]:
    """Return what each quarter of the day costs, for timers that follow the clock and those that do not.

    Every quarter counts as many hours as the mean one. Else the hour that is missing in the night in which
    clocks go forward would make that night hour the cheapest of a flat tariff.
    """
    prices = {}
    clock, calendar, holidays, price = _priced(space)
    for follows in {zone.timer_follows_clock for zone in space.zones}:
        use = use_by_quarter(clock, calendar, holidays, follows_clock=follows)
        months, hours_h, money = _summed(use, price)
        even = hours_h.mean(axis=0) / np.maximum(hours_h, 1e-9)
        hours_h, money = hours_h * even, money * even
        prices[follows] = ByQuarter(hours_h.sum(axis=1), money.sum(axis=1), months, money)
    return prices
