"""The power bill: kWh and money by calendar month, user of power and rate; and what a zone costs a day.

Money is not rounded here. Blocks, holidays and rounding to the cent are not part of it.
"""

from calendar import monthrange
from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

import numpy as np

from cropcal.planning.hours import Stretches, calendar_of, lit_stretches, sorted_rates
from cropcal.records.plan import BillLine
from cropcal.science.power import (
    kwh,
    local_clock,
    mean_watts,
    rate_calendar,
    use_by_rate_and_month,
    week_table,
)
from cropcal.units import HOURS_PER_DAY

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from cropcal.records.space import Load, Rate, Space, Tariff

LAMPS = "lamps"
STANDING = "standing charge"
TAX = "tax"


class ZoneDay(NamedTuple):
    """Mean power of one zone a day: kWh, and its marginal cost with tax (None: no tariff)."""

    kwh: float
    cost: float | None


class MonthTotal(NamedTuple):
    """The sum of one month's lines ("2027-01"); cost is None if any of them has none."""

    month: str
    kwh: float
    cost: float | None


class _User(NamedTuple):
    """Something that draws power: mean watts while on; stretches None is always on."""

    what: str
    zone: str
    watts: float
    stretches: Stretches | None
    follows_clock: bool


def bill(space: "Space", start: date, days: int) -> tuple[BillLine, ...]:
    """Return the bill from the first moment of ``start`` over whole calendar days.

    One line a month ("2027-01"), user of power and rate name: first the lamps of each zone (``what``
    is "lamps"), then each load by its name (``zone`` empty), then "standing charge" and "tax" (0 kWh,
    ``rate`` empty) where there are any. A line without use is left out. Without a tariff the kWh are
    there, ``rate`` is empty, ``cost`` None.

    - Fixture watts are those drawn at the wall at the output in use: times count, never times output.
    - Loads by hours a day or on a cycle count with their mean power at all hours, spread evenly.
    - The standing charge a month is shared out by calendar days where only part of a month is billed.
    - Tax is on everything, the standing charge too; prices that include it get no tax line.

    Parameters
    ----------
    space
        Its place's time zone is that of the clock (None: this computer's).
    start
        First local date.
    days
        Calendar days.

    Raises
    ------
    ValueError
        If rates overlap or leave a gap, or a zone or a load does not say when it is on (reading
        refuses such files).
    """
    tariff = space.tariff
    used: dict[str, dict[tuple[str, str, str], list[float]]] = defaultdict(dict)
    for user, month, rate, energy_kwh in _consumption(space, start, days):
        key = (user.what, user.zone, rate.name if rate else "")
        line = used[month].setdefault(key, [0.0, 0.0])
        line[0] += energy_kwh
        line[1] += energy_kwh * rate.per_kwh if rate else 0.0
    lines: list[BillLine] = []
    for month, days_in in _days_by_month(start, days).items():
        of_month = [
            BillLine(
                month=month, what=what, zone=zone, rate=rate, kwh=sums[0], cost=sums[1] if tariff else None
            )
            for (what, zone, rate), sums in used[month].items()
        ]
        lines += of_month
        if tariff:
            lines += _charges(tariff, month, days_in, sum(line.cost or 0.0 for line in of_month))
    return tuple(lines)


def zone_day(space: "Space", start: date, days: int) -> dict[str, ZoneDay]:
    """Return for each zone its mean kWh and cost a day, over whole calendar days from ``start``.

    Its lamps, and its share of all loads by lit floor area; at the prices of the hours in which they
    run, with tax, without the standing charge (which is paid whatever grows).

    Raises
    ------
    ValueError
        As ``bill``; and if days is less than 1.
    """
    if days < 1:
        message = f"days must be at least 1, not {days}"
        raise ValueError(message)
    tariff = space.tariff
    with_tax = 1 + (_tax_share(tariff) if tariff else 0.0)
    area_m2 = sum(zone.area_m2 for zone in space.zones)
    shares = {zone.name: zone.area_m2 / area_m2 for zone in space.zones}
    sums = {zone.name: [0.0, 0.0] for zone in space.zones}
    for user, _, rate, energy_kwh in _consumption(space, start, days):
        for zone, share in ({user.zone: 1.0} if user.zone else shares).items():
            sums[zone][0] += share * energy_kwh / days
            sums[zone][1] += share * energy_kwh / days * (rate.per_kwh * with_tax if rate else 0.0)
    return {zone: ZoneDay(energy, cost if tariff else None) for zone, (energy, cost) in sums.items()}


def month_totals(lines: "Iterable[BillLine]") -> tuple[MonthTotal, ...]:
    """Return the sum of each month, in order."""
    by_month: dict[str, list[BillLine]] = defaultdict(list)
    for line in lines:
        by_month[line.month].append(line)
    return tuple(_total(month, by_month[month]) for month in sorted(by_month))


def _total(month: str, lines: list[BillLine]) -> MonthTotal:
    costs = [line.cost for line in lines if line.cost is not None]
    cost = sum(costs) if len(costs) == len(lines) else None
    return MonthTotal(month, sum(line.kwh for line in lines), cost)


def _tax_share(tariff: "Tariff") -> float:
    """Return the tax that comes on top of prices, as a share of them."""
    return 0.0 if tariff.prices_include_tax else tariff.tax_percent / 100


def _charges(tariff: "Tariff", month: str, days_in: int, energy_cost: float) -> "Iterator[BillLine]":
    """Yield the standing charge and the tax of one month of which so many days are billed."""
    days_of_month = monthrange(int(month[:4]), int(month[5:]))[1]
    standing = days_in * (tariff.standing_per_day + tariff.standing_per_month / days_of_month)
    tax = (energy_cost + standing) * _tax_share(tariff)
    for what, cost in ((STANDING, standing), (TAX, tax)):
        if cost > 0:
            yield BillLine(month=month, what=what, zone="", rate="", kwh=0.0, cost=cost)


def _days_by_month(start: date, days: int) -> dict[str, int]:
    """Return how many days of each month the period has, in order."""
    count: dict[str, int] = defaultdict(int)
    for day in range(days):
        count[f"{start + timedelta(days=day):%Y-%m}"] += 1
    return count


def _users(space: "Space") -> "Iterator[_User]":
    """Yield the lamps of each zone that has any, then the loads."""
    for zone in space.zones:
        watts = sum(lamp.watts * lamp.count for lamp in space.fixtures if lamp.zone == zone.name)
        if watts:
            lit = lit_stretches(zone, space.tariff)
            yield _User(LAMPS, zone.name, watts, lit, zone.timer_follows_clock)
    for load in space.loads:
        yield _User(load.name, "", _mean_watts_on(load), load.on, follows_clock=True)


def _mean_watts_on(load: "Load") -> float:
    """Return the mean watts of a load while it is switched on."""
    if load.on_minutes is not None and load.every_minutes is not None:
        return mean_watts(load.watts, load.on_minutes, load.every_minutes)
    if load.hours_per_day is not None:
        return mean_watts(load.watts, load.hours_per_day, HOURS_PER_DAY)
    if load.always or load.on is not None:
        return load.watts
    message = f"load {load.name} does not say when it is on"
    raise ValueError(message)


def _consumption(space: "Space", start: date, days: int) -> "Iterator[tuple[_User, str, Rate | None, float]]":
    """Yield user, month, rate (None: no tariff) and kWh wherever there is any use."""
    users = list(_users(space))
    if not users or days == 0:
        return
    rates: tuple[Rate | None, ...] = (None,)
    calendar = rate_calendar(week_table(None)[None], np.ones((1, 12), np.bool_), base=0)
    if space.tariff:
        rates = sorted_rates(space.tariff)
        calendar = calendar_of(sorted_rates(space.tariff))
    timezone = ZoneInfo(space.place.timezone) if space.place.timezone else None
    clock = local_clock(start, days, timezone)
    on = np.array([week_table(user.stretches) for user in users])
    follows_clock = np.array([user.follows_clock for user in users])
    months, seconds = use_by_rate_and_month(clock, on, follows_clock, calendar)
    names = months.astype("datetime64[M]").astype(str)
    for index in np.argwhere(seconds):
        user, rate, month = index
        energy_kwh = kwh(users[user].watts, int(seconds[user, rate, month]))
        yield users[user], str(names[month]), rates[rate], energy_kwh
