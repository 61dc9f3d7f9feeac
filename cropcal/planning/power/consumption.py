"""What draws power, when, and how much of it in each month at each price."""

from collections.abc import Collection, Iterator, Mapping, Sequence
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
)
from cropcal.science.power import (
    in_blocks,
    kwh,
    local_clock,
    mean_watts,
    rate_calendar,
    use_by_rate_and_month,
    week_table,
)
from cropcal.units import HOURS_PER_DAY

if TYPE_CHECKING:
    from cropcal.records.space import Fixture, Load, Space

LAMPS = "lamps"
NO_PRICE = RatePrice(("",), (), (0.0,))
Floats = NDArray[np.float64]
DarkDays = Mapping[str, Collection[date]]
"""Days on which the lamps of a zone are off all day, by its name."""


class User(NamedTuple):
    """Something that draws power: mean watts while on, in which months (January is 0).

    Stretches None is always on, zone "" is in none. Users of one ``source`` have the same error of their
    watts: lamps of one kind that are known in the same way.
    """

    what: str
    zone: str
    source: str
    watts: float
    stretches: Stretches | None
    follows_clock: bool = True
    months: tuple[int, ...] = tuple(range(12))


class PricedUse(NamedTuple):
    """What one user takes in one month at one price (a rate, or a block of one); cost before tax."""

    user: User
    month: str
    rate: str
    kwh: float
    cost: float


class Energy(NamedTuple):
    """kWh of each user (u) in each month (m) at each rate (r), and the prices of the rates.

    ``by_rate_kwh`` has the shape (r, u, m), ``months`` are like "2027-01", ``before_kwh`` is what the home
    uses besides, in a month.
    """

    users: tuple[User, ...]
    months: tuple[str, ...]
    by_rate_kwh: Floats
    prices: tuple[RatePrice, ...]
    before_kwh: float

    def times(self, factors: Floats) -> "Energy":
        """Return the energy with the watts of each user multiplied, shape (u,)."""
        return self._replace(by_rate_kwh=self.by_rate_kwh * factors[None, :, None])

    def by_price_kwh(self) -> Floats:
        """Return the kWh at each price: each block of a rate is one; shape (u, prices, m)."""
        parts = [
            _blocks(of_users, self.before_kwh, price)
            for of_users, price in zip(self.by_rate_kwh, self.prices, strict=False)
        ]
        return np.concatenate(parts, axis=1)

    def totals(self) -> tuple[Floats, Floats]:
        """Return kWh and cost before tax, without the standing charge, of each month: both of shape (m,)."""
        of_price = self.by_price_kwh().sum(axis=0)
        per_kwh = np.array([each for price in self.prices for each in price.per_kwh])
        return of_price.sum(axis=0), per_kwh[: len(of_price)] @ of_price

    def uses(self) -> Iterator[PricedUse]:
        """Yield what each user takes in each month at each price, wherever there is any use."""
        energy_kwh = self.by_price_kwh()
        priced = [pair for price in self.prices for pair in zip(price.names, price.per_kwh, strict=True)]
        for user, number, month in np.argwhere(energy_kwh):
            rate, per_kwh = priced[number]
            taken = float(energy_kwh[user, number, month])
            yield PricedUse(self.users[user], self.months[month], rate, taken, taken * per_kwh)


def energy_of(space: "Space", start: date, days: int, dark: DarkDays | None = None) -> Energy | None:
    """Return the energy of whole calendar days from the first moment of ``start``; None if nothing draws any.

    Parameters and errors as those of ``bill``.
    """
    users = tuple(_users(space))
    if not users or days <= 0:
        return None
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
    names = tuple(months.astype("datetime64[M]").astype(str).tolist())
    by_rate = kwh(watts[:, None, None], seconds).swapaxes(0, 1)
    return Energy(users, names, by_rate, prices, before_kwh)


def _users(space: "Space") -> Iterator[User]:
    """Yield the lamps of each zone that has any, on and standing by, then the loads."""
    for zone in space.zones:
        of_zone = [lamp for lamp in space.fixtures if lamp.zone == zone.name]
        for source in dict.fromkeys(map(lamp_source, of_zone)):
            lamps = [lamp for lamp in of_zone if lamp_source(lamp) == source]
            watts = sum(lamp.watts * lamp.count for lamp in lamps)
            standby = sum(lamp.standby_watts * lamp.count for lamp in lamps)
            by_month = lit_by_month(space, zone)
            for lit in dict.fromkeys(by_month):
                months = tuple(number for number, other in enumerate(by_month) if other == lit)
                lit_watts = watts - standby
                yield User(LAMPS, zone.name, source, lit_watts, lit, zone.timer_follows_clock, months)
            yield User(LAMPS, zone.name, source, standby, None)
    for load in space.loads:
        yield User(load.name, load.zone or "", load_source(load), _mean_watts_on(load), load.on)


def lamp_source(lamp: "Fixture") -> str:
    """Return what lamps have in common that err together: their kind, and how their watts are known."""
    return f"lamps {lamp.lamp} by {lamp.watts_from}"


def load_source(load: "Load") -> str:
    """Return the source of a load's watts: each load errs by itself."""
    return f"load {load.name}"


def _dark_stretches(
    users: Sequence[User], dark: DarkDays, start: date, days: int
) -> Iterator[tuple[int, date, int]]:
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


def _blocks(energy_kwh: Floats, before_kwh: float, price: RatePrice) -> Floats:
    """Return energy by user and month (u, m) as (u, blocks, m): all users share each block alike."""
    total = energy_kwh.sum(axis=0)
    share = in_blocks(total, before_kwh, price.tops_kwh) / np.where(total > 0, total, 1.0)[:, None]
    parts: Floats = energy_kwh[:, None, :] * share.T
    return parts
