"""The power bill: kWh and money by calendar month, user of power and rate; and what a zone costs a day."""

from calendar import monthrange
from collections import defaultdict
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cropcal.planning.power.consumption import DarkDays, PricedUse, energy_of
from cropcal.planning.power.tariff import tax_factor
from cropcal.records.plan import BillLine
from cropcal.science.power import rounded
from cropcal.units import MINOR_DIGITS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from cropcal.records.space import Space
    from cropcal.records.tariff import Tariff

STANDING = "standing charge"
TAX = "tax"
_Key = tuple[str, str, str]
"""User of power, zone and rate."""


class ZoneDay(NamedTuple):
    """Mean power of one zone a day: kWh, and its marginal cost with tax (None: no tariff)."""

    kwh: float
    cost: float | None


def bill(space: "Space", start: date, days: int, dark: DarkDays | None = None) -> tuple[BillLine, ...]:
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
    for user, month, rate, energy_kwh, cost in _uses(space, start, days, dark):
        sums = used[month].setdefault((user.what, user.zone, rate), [0.0, 0.0])
        sums[0] += energy_kwh
        sums[1] += cost
    lines: list[BillLine] = []
    for month, days_in in days_by_month(start, days).items():
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
    costs = np.array([*(cost for _, cost in used.values()), standing_charge(tariff, month, days_in)])
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
    for use in _uses(space, start, days):
        for zone, share in ({use.user.zone: 1.0} if use.user.zone else shares).items():
            sums[zone][0] += share * use.kwh / days
            sums[zone][1] += share * use.cost * with_tax / days
    return {zone: ZoneDay(energy, cost if space.tariff else None) for zone, (energy, cost) in sums.items()}


def standing_charge(tariff: "Tariff", month: str, days_in: int) -> float:
    """Return the standing charge of some days of a month ("2027-01"), before tax."""
    days_of_month = monthrange(int(month[:4]), int(month[5:]))[1]
    return days_in * (tariff.standing_per_day + tariff.standing_per_month / days_of_month)


def days_by_month(start: date, days: int) -> dict[str, int]:
    """Return how many days of each month the period has, in order."""
    count: dict[str, int] = defaultdict(int)
    for day in range(days):
        count[f"{start + timedelta(days=day):%Y-%m}"] += 1
    return count


def _uses(space: "Space", start: date, days: int, dark: DarkDays | None = None) -> "Iterator[PricedUse]":
    energy = energy_of(space, start, days, dark)
    return iter(()) if energy is None else energy.uses()
