"""The power bill: kWh and money by calendar month, user of power and rate; and what a zone costs a day."""

from calendar import monthrange
from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from cropcal.planning.power.lamp_hours import Stretches, lit_by_month
from cropcal.planning.power.tariff import (
    RatePrice,
    calendar_of,
    holidays_of,
    rate_prices,
    sorted_rates,
    tax_factor,
)
from cropcal.records.plan import BillLine
from cropcal.science.power import (
    in_blocks,
    kwh,
    local_clock,
    mean_watts,
    rate_calendar,
    rounded,
    use_by_rate_and_month,
    week_table,
)
from cropcal.units import HOURS_PER_DAY, MINOR_DIGITS

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from cropcal.records.space import Load, Space
    from cropcal.records.tariff import Tariff

LAMPS = "lamps"
STANDING = "standing charge"
TAX = "tax"
NO_PRICE = RatePrice(("",), (), (0.0,))
Floats = NDArray[np.float64]
_Key = tuple[str, str, str]
"""User of power, zone and rate."""


class ZoneDay(NamedTuple):
    """Mean power of one zone a day: kWh, and its marginal cost with tax (None: no tariff)."""

    kwh: float
    cost: float | None


class _User(NamedTuple):
    """Something that draws power: mean watts while on, in which months (January is 0).

    Stretches None is always on, zone "" is in none.
    """

    what: str
    zone: str
    watts: float
    stretches: Stretches | None
    follows_clock: bool = True
    months: tuple[int, ...] = tuple(range(12))


class _Use(NamedTuple):
    """What one user takes in one month at one price (a rate, or a block of one); cost before tax."""

    user: _User
    month: str
    rate: str
    kwh: float
    cost: float


def bill(
    space: "Space", start: date, days: int, dark: "Mapping[str, Collection[date]] | None" = None
) -> tuple[BillLine, ...]:
    """Return the bill from the first moment of ``start`` over whole calendar days.

    One line a month ("2027-01"), user of power and rate name: first the lamps of each zone (``what``
    is "lamps"), then each load by its name (``zone`` empty if it serves all zones), then "standing
    charge" and "tax" (0 kWh, ``rate`` empty) where there are any. A line without use is left out.
    Without a tariff the kWh are there, ``rate`` is empty, ``cost`` None.

    - Fixture watts are those drawn at the wall at the output in use: times count, never times output.
      Standby watts are drawn while the lamp is off.
    - Loads by hours a day or on a cycle count with their mean power at all hours, spread evenly.
    - In a rate by blocks the home's other use comes first; all users of the space share the blocks that
      are left in the same proportion. Each block is a rate of its own: "day above 250 kWh".
    - The standing charge a month is shared out by calendar days where only part of a month is billed;
      other use is that of whole months.
    - Tax is on everything, the standing charge too; prices that include it get no tax line.
    - Rounded by line as on a printed bill: the energy at each rate of all users, the standing charge and
      the tax, half up to the currency's smallest unit; by total: the sum of the month. Single lines then
      share the rounded sum in whole units.

    Parameters
    ----------
    space
        Its place's time zone is that of the clock (None: this computer's).
    start
        First local date.
    days
        Calendar days.
    dark
        Days on which the lamps of a zone are off all day, by its name; standby is drawn all the same.

    Raises
    ------
    ValueError
        If rates overlap or leave a gap, a rate has no price, or a zone or a load does not say when it is
        on (reading refuses such files).
    """
    used: dict[str, dict[_Key, list[float]]] = defaultdict(dict)
    for user, month, rate, energy_kwh, cost in _consumption(space, start, days, dark):
        sums = used[month].setdefault((user.what, user.zone, rate), [0.0, 0.0])
        sums[0] += energy_kwh
        sums[1] += cost
    lines: list[BillLine] = []
    for month, days_in in _days_by_month(start, days).items():
        of_month = used[month]
        costs: list[float] | list[None] = [None] * len(of_month)
        if space.tariff:
            costs = _costs(space.tariff, month, days_in, of_month)
            of_month |= {(STANDING, "", ""): [0.0], (TAX, "", ""): [0.0]}
        lines += [
            BillLine(month=month, what=what, zone=zone, rate=rate, kwh=sums[0], cost=cost)
            for ((what, zone, rate), sums), cost in zip(of_month.items(), costs, strict=True)
            if sums[0] or cost
        ]
    return tuple(lines)


def year_days(start: date) -> int:
    """Return the days of the twelve months from a date."""
    leap_day = (start.month, start.day) == (2, 29)
    last = (
        start.replace(year=start.year + 1, month=3, day=1) if leap_day else start.replace(year=start.year + 1)
    )
    return (last - start).days


def _costs(tariff: "Tariff", month: str, days_in: int, used: "Mapping[_Key, list[float]]") -> list[float]:
    """Return the cost of each use, the standing charge and the tax of ``days_in`` days of a month."""
    days_of_month = monthrange(int(month[:4]), int(month[5:]))[1]
    standing = days_in * (tariff.standing_per_day + tariff.standing_per_month / days_of_month)
    costs = np.array([*(cost for _, cost in used.values()), standing])
    rates = np.array([*(rate for _, _, rate in used), STANDING])
    digits = MINOR_DIGITS.get(tariff.currency or "", 2)
    if tariff.round == "line":
        for rate in set(rates):
            costs[rates == rate] = rounded(costs[rates == rate], digits)
    costs = np.append(costs, costs.sum() * (tax_factor(tariff) - 1))
    whole: list[float] = (costs if tariff.round is None else rounded(costs, digits)).tolist()
    return whole


def zone_day(space: "Space", start: date, days: int) -> dict[str, ZoneDay]:
    """Return for each zone its mean kWh and cost a day, over whole calendar days from ``start``.

    Its lamps, the loads named as its own, and its share, by lit floor area of zones that hold beds, of all
    other loads; at the prices of the hours in which they run, on top of the home's other use, with tax,
    without the standing charge (which is paid whatever grows), not rounded.

    Raises
    ------
    ValueError
        As ``bill``; and if days is less than 1.
    """
    if days < 1:
        message = f"days must be at least 1, not {days}"
        raise ValueError(message)
    with_tax = tax_factor(space.tariff) if space.tariff else 1.0
    homes = {bed.zone for bed in space.beds}
    shared_by = [zone for zone in space.zones if zone.name in homes] or space.zones
    area_m2 = sum(zone.area_m2 for zone in shared_by)
    shares = {zone.name: zone.area_m2 / area_m2 for zone in shared_by}
    sums = {zone.name: [0.0, 0.0] for zone in space.zones}
    for use in _consumption(space, start, days):
        for zone, share in ({use.user.zone: 1.0} if use.user.zone else shares).items():
            sums[zone][0] += share * use.kwh / days
            sums[zone][1] += share * use.cost * with_tax / days
    return {zone: ZoneDay(energy, cost if space.tariff else None) for zone, (energy, cost) in sums.items()}


def _days_by_month(start: date, days: int) -> dict[str, int]:
    """Return how many days of each month the period has, in order."""
    count: dict[str, int] = defaultdict(int)
    for day in range(days):
        count[f"{start + timedelta(days=day):%Y-%m}"] += 1
    return count


def _users(space: "Space") -> "Iterator[_User]":
    """Yield the lamps of each zone that has any, on and standing by, then the loads."""
    for zone in space.zones:
        lamps = [lamp for lamp in space.fixtures if lamp.zone == zone.name]
        watts = sum(lamp.watts * lamp.count for lamp in lamps)
        standby = sum(lamp.standby_watts * lamp.count for lamp in lamps)
        if watts:
            by_month = lit_by_month(space, zone)
            for lit in dict.fromkeys(by_month):
                months = tuple(number for number, other in enumerate(by_month) if other == lit)
                yield _User(LAMPS, zone.name, watts - standby, lit, zone.timer_follows_clock, months)
            yield _User(LAMPS, zone.name, standby, None)
    for load in space.loads:
        yield _User(load.name, load.zone or "", _mean_watts_on(load), load.on)


def _dark_stretches(
    users: "Sequence[_User]", dark: "Mapping[str, Collection[date]]", start: date, days: int
) -> "Iterator[tuple[int, date, int]]":
    """Yield each lamp that is off for some whole days of a period: its number, the first day, how many."""
    for number, user in enumerate(users):
        if user.what != LAMPS or user.stretches is None:
            continue
        off = dark.get(user.zone, ())
        is_off = [False, *(start + timedelta(days=day) in off for day in range(days)), False]
        edges = np.flatnonzero(np.diff(np.array(is_off, dtype=np.int64)))
        for first, after in edges.reshape(-1, 2).tolist():
            yield number, start + timedelta(days=first), after - first


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


def _consumption(
    space: "Space", start: date, days: int, dark: "Mapping[str, Collection[date]] | None" = None
) -> "Iterator[_Use]":
    """Yield what each user takes in each month at each price, wherever there is any use."""
    users = list(_users(space))
    if not users or days == 0:
        return
    prices: tuple[RatePrice, ...] = (NO_PRICE,)
    calendar = rate_calendar(week_table(None)[None], np.ones((1, 12), np.bool_), base=0)
    holidays, before_kwh = [], 0.0
    if space.tariff:
        prices = rate_prices(space.tariff)
        calendar = calendar_of(sorted_rates(space.tariff))
        holidays = holidays_of(space.tariff)
        before_kwh = space.tariff.other_use_kwh_per_month
    timezone = ZoneInfo(space.place.timezone) if space.place.timezone else None
    clock = local_clock(start, days, timezone)
    on = np.array([week_table(user.stretches) for user in users])
    follows_clock = np.array([user.follows_clock for user in users])
    months, seconds = use_by_rate_and_month(clock, on, follows_clock, calendar, holidays)
    for lamp, first, length in _dark_stretches(users, dark or {}, start, days):
        off = local_clock(first, length, timezone)
        of_months, off_s = use_by_rate_and_month(off, on[[lamp]], follows_clock[[lamp]], calendar, holidays)
        seconds[lamp][:, np.searchsorted(months, of_months)] -= off_s[0]
    in_use = np.array([np.isin(months % 12, user.months) for user in users])
    seconds = np.where(in_use[:, None, :], seconds, 0)
    watts = np.array([user.watts for user in users])
    names = months.astype("datetime64[M]").astype(str)
    by_rate = kwh(watts[:, None, None], seconds).swapaxes(0, 1)
    by_price = [
        _blocks(of_users, before_kwh, price) for of_users, price in zip(by_rate, prices, strict=False)
    ]
    energy_kwh = np.concatenate(by_price, axis=1)
    priced = [pair for price in prices for pair in zip(price.names, price.per_kwh, strict=True)]
    for index in np.argwhere(energy_kwh):
        user, number, month = index
        rate, per_kwh = priced[number]
        taken = float(energy_kwh[user, number, month])
        yield _Use(users[user], str(names[month]), rate, taken, taken * per_kwh)


def _blocks(energy_kwh: Floats, before_kwh: float, price: RatePrice) -> Floats:
    """Return energy by user and month (u, m) as (u, blocks, m): all users share each block alike."""
    total = energy_kwh.sum(axis=0)
    share = in_blocks(total, before_kwh, price.tops_kwh) / np.where(total > 0, total, 1.0)[:, None]
    parts: Floats = energy_kwh[:, None, :] * share.T
    return parts
