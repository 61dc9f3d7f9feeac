"""The range of a bill: watts are known to so much, what is switched by a timer is on when it should be."""

from collections.abc import Iterator
from datetime import date
from math import hypot
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cropcal.planning.power.bill import days_by_month, standing_charge
from cropcal.planning.power.consumption import DarkDays, Energy, Floats, energy_of, lamp_source, load_source
from cropcal.planning.power.tariff import tax_factor
from cropcal.records.tariff import BillRange, PowerRange
from cropcal.science.light import LABEL_LN_SD, METER_LN_SD
from cropcal.units import Z_80

if TYPE_CHECKING:
    from cropcal.records.space import Load, Space

MONTH_D = 365.25 / 12
LOAD_LN_SD = 0.20
"""Spread of the watts of a fan, pump or heater against its label (assumed)."""
DUTY_LN_SD = 0.30
"""Spread of hours a day that no timer keeps, as of a heater with a thermostat (assumed)."""


class PricedEnergy(NamedTuple):
    """The energy of a period with all that is paid beside it.

    ``standing`` is the standing charge of each month before tax, shape (m,); ``tax`` multiplies all.
    """

    energy: Energy
    standing: Floats
    tax: float
    priced: bool

    def totals(self, factors: Floats | None = None) -> tuple[Floats, Floats]:
        """Return kWh and cost of each month, with the watts of each user multiplied: shapes (m,), (m,)."""
        energy = self.energy if factors is None else self.energy.times(factors)
        kwh, cost = energy.totals()
        return kwh, (cost + self.standing) * self.tax


def priced_energy(
    space: "Space", start: date, days: int, dark: DarkDays | None = None
) -> PricedEnergy | None:
    """Return the energy of whole calendar days and what goes with it; None if nothing draws power."""
    energy = energy_of(space, start, days, dark)
    if energy is None:
        return None
    tariff, held = space.tariff, days_by_month(start, days)
    standing = [standing_charge(tariff, month, held[month]) if tariff else 0.0 for month in energy.months]
    return PricedEnergy(energy, np.array(standing), tax_factor(tariff) if tariff else 1.0, tariff is not None)


def source_sds(space: "Space") -> dict[str, float]:
    """Return the standard deviation of ln watts (of ln energy, for guessed hours) of each source."""
    lamps = {
        lamp_source(lamp): METER_LN_SD if lamp.watts_from == "meter" else LABEL_LN_SD
        for lamp in space.fixtures
    }
    return lamps | {load_source(load): _load_sd(load) for load in space.loads}


def _load_sd(load: "Load") -> float:
    return LOAD_LN_SD if load.hours_per_day is None else hypot(LOAD_LN_SD, DUTY_LN_SD)


def bill_range(space: "Space", start: date, days: int, dark: DarkDays | None = None) -> BillRange | None:
    """Return the range of a bill in four cases of five; None if nothing draws power.

    Lamps of one kind whose watts are known in the same way err together, in all months; different loads err
    independently (assumed), each log-normal. Each source alone is moved to its own 10 % and 90 % point and
    all is priced anew, in blocks too; the rises and the falls are added as squares. Not rounded as a printed
    bill is.

    Parameters and errors as those of ``bill``.
    """
    priced = priced_energy(space, start, days, dark)
    if priced is None:
        return None
    middle = np.stack(priced.totals())
    sds = source_sds(space)
    changes = [
        [np.stack(priced.totals(factors)) - middle for factors in _ends(priced.energy, source, sd)]
        for source, sd in sds.items()
    ]
    of_month = _range(middle, np.array(changes))
    in_all = _range(middle.sum(axis=1, keepdims=True), np.array(changes).sum(axis=-1, keepdims=True))
    return BillRange(
        months={
            month: _record(values, priced=priced.priced)
            for month, values in zip(priced.energy.months, np.moveaxis(of_month, -1, 0), strict=True)
        },
        in_all=_record(in_all[..., 0], priced=priced.priced),
        a_month=_record(in_all[..., 0] * MONTH_D / days, priced=priced.priced),
    )


def _ends(energy: Energy, source: str, sd: float) -> Iterator[Floats]:
    """Yield the factors of all users with one source at its 10 % and at its 90 % point."""
    of_source = np.array([user.source == source for user in energy.users])
    for z in (-Z_80, Z_80):
        yield np.where(of_source, np.exp(z * sd), 1.0)


def _range(middle: Floats, changes: Floats) -> Floats:
    """Return low, middle and high (3, 2, m) of kWh and cost (2, m) from changes (sources, ends, 2, m)."""
    fall, rise = np.minimum(changes.min(axis=1), 0), np.maximum(changes.max(axis=1), 0)
    low, high = middle - np.sqrt((fall**2).sum(axis=0)), middle + np.sqrt((rise**2).sum(axis=0))
    return np.stack([np.maximum(low, 0.0), middle, high])


def _record(values: Floats, *, priced: bool) -> PowerRange:
    (kwh_low, cost_low), (kwh, cost), (kwh_high, cost_high) = values.tolist()
    energy = PowerRange(kwh=kwh, kwh_low_80=kwh_low, kwh_high_80=kwh_high)
    money = {"cost": cost, "cost_low_80": cost_low, "cost_high_80": cost_high}
    return energy.model_copy(update=money) if priced else energy
