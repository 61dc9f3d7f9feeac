"""What a tariff says: which rate holds when, and what a kWh costs in it."""

from datetime import date
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from cropcal.records.base import WEEKDAYS
from cropcal.science.power import Ints, rate_calendar, week_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cropcal.records.tariff import Rate, Tariff

EPOCH = date(1970, 1, 1)


class RatePrice(NamedTuple):
    """The prices of one rate, block by block: ``tops_kwh`` says where each block but the last ends."""

    names: tuple[str, ...]
    tops_kwh: tuple[float, ...]
    per_kwh: tuple[float, ...]


def sorted_rates(tariff: "Tariff") -> "tuple[Rate, ...]":
    """Return the rates, base first, then by name: in whatever order they were written."""
    return tuple(sorted(tariff.rate, key=lambda rate: (not rate.is_base, rate.name, repr(rate))))


def calendar_of(rates: "Sequence[Rate]") -> Ints:
    """Return which rate (its index) holds in each month and minute of the week, shape (12, 10080).

    Raises
    ------
    ValueError
        If there are two base rates, two others hold at once, or at some time no rate holds.
    """
    days = [WEEKDAYS if rate.days is None else rate.days for rate in rates]
    week = [
        week_table(rate.hours, [WEEKDAYS.index(day) for day in begun])
        for rate, begun in zip(rates, days, strict=True)
    ]
    months = [[rate.months is None or month in rate.months for month in range(1, 13)] for rate in rates]
    bases = [index for index, rate in enumerate(rates) if rate.is_base]
    if len(bases) > 1:
        message = "more than one rate has neither hours, days nor months"
        raise ValueError(message)
    return rate_calendar(np.array(week), np.array(months), bases[0] if bases else None)


def holidays_of(tariff: "Tariff") -> list[int]:
    """Return the holidays in days since 1970."""
    return [(day - EPOCH).days for day in tariff.holidays]


def rate_prices(tariff: "Tariff") -> tuple[RatePrice, ...]:
    """Return the prices of each of the sorted rates.

    Raises
    ------
    ValueError
        If a rate has no price (reading refuses such files).
    """
    return tuple(_price(rate) for rate in sorted_rates(tariff))


def _price(rate: "Rate") -> RatePrice:
    if rate.blocks:
        tops = tuple(block.up_to_kwh for block in rate.blocks[:-1] if block.up_to_kwh is not None)
        names = [f"{rate.name} to {top:g} kWh" for top in tops]
        names += [f"{rate.name} above {top:g} kWh" for top in tops[-1:]] or [rate.name]
        return RatePrice(tuple(names), tops, tuple(block.per_kwh for block in rate.blocks))
    if rate.per_kwh is None:
        message = f"rate {rate.name} has no price"
        raise ValueError(message)
    return RatePrice((rate.name,), (), (rate.per_kwh,))


def marginal_prices(tariff: "Tariff") -> NDArray[np.float64]:
    """Return what the first kWh on top of the home's other use costs in each of the sorted rates, untaxed."""
    before = tariff.other_use_kwh_per_month
    return np.array(
        [price.per_kwh[sum(top <= before for top in price.tops_kwh)] for price in rate_prices(tariff)]
    )


def tax_factor(tariff: "Tariff") -> float:
    """Return by what prices are multiplied so that tax is in them."""
    return 1.0 if tariff.prices_include_tax else 1.0 + tariff.tax_percent / 100
