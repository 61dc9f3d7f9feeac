"""Why a bill is not what was computed: each cause alone, with the number that explains the difference.

One sum of money cannot show which cause it was. They are ordered by how far each would be from what is
usual, in units that are rules of thumb (assumed throughout): a label is hardly trusted, a timer is off by
hours, a price by tenths. Where the energy of a bill is noted, use and price are judged apart.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import log
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from cropcal.planning.power.bill_range import (
    DUTY_LN_SD,
    PricedEnergy,
    priced_energy,
)
from cropcal.planning.power.consumption import LAMPS, DarkDays, User, lamp_source, load_source
from cropcal.records.space import Load
from cropcal.science.light import LABEL_LN_SD
from cropcal.units import HOURS_PER_DAY

if TYPE_CHECKING:
    from cropcal.records.space import Space

LEAST_OF_LABEL, MOST_OF_LABEL = 0.05, 1.25
"""What lamps may draw of their labels (assumed: labels that name the lamp they replace are ten times off)."""
MOST_CAUSES = 4
NONE_ALONE = "no watts, hours or price alone: is it of another month, of a part of one, or of another meter?"
SAME = 0.02
"""Bills that differ by no more are the same (assumed)."""
MOST_FACTOR = 30.0
MOST_UNKNOWN_W = 50.0
"""Most that a load may draw, day and night, of which nobody thought (assumed)."""
WHOLE_HOME = 1.5
"""Times as much as the space can have drawn, from which on it may be the whole home's bill (assumed)."""


class BillCause(NamedTuple):
    """A cause in words, and how far it is from what is usual: the least is the likeliest."""

    far: float
    words: str


@dataclass(frozen=True, eq=False)
class BillCase:
    """The computed bill of some days of one month: what was on, and what it cost."""

    space: "Space"
    priced: PricedEnergy
    first: date
    days: int
    dark: DarkDays

    def sums(self, factor: float = 1.0, of: Callable[[User], bool] = lambda _: True) -> tuple[float, float]:
        """Return kWh and cost, with the watts of some users multiplied."""
        factors = np.array([factor if of(user) else 1.0 for user in self.priced.energy.users])
        kwh, cost = self.priced.totals(factors)
        return float(kwh.sum()), float(cost.sum())

    @cached_property
    def kwh(self) -> float:
        """Return the energy."""
        return self.sums()[0]

    @cached_property
    def cost(self) -> float:
        """Return the cost, with tax and standing charge."""
        return self.sums()[1]

    @property
    def standing(self) -> float:
        """Return the standing charge with tax."""
        return float(self.priced.standing.sum()) * self.priced.tax

    @cached_property
    def steady(self) -> tuple[float, float]:
        """Return kWh and cost, without the standing charge, of 1 W day and night."""
        watt = Load(name="1 W", watts=1.0, always=True)
        alone = self.space.model_copy(update={"fixtures": (), "loads": (watt,)})
        priced = priced_energy(alone, self.first, self.days)
        if priced is None:  # never: it draws 1 W
            return HOURS_PER_DAY * self.days / 1000, 0.0
        kwh, cost = priced.totals()
        return float(kwh.sum()), float(cost.sum()) - self.standing

    def dark_d(self, zone: str) -> int:
        """Return on how many of the days the lamps of a zone are off, since nothing grows there."""
        after = self.first + timedelta(days=self.days)
        return sum(self.first <= day < after for day in self.dark.get(zone, ()))

    def cost_of(self, kwh: float) -> tuple[float, float]:
        """Return the least and most that another energy would cost: it is not known at which rate."""
        per_kwh = [each * self.priced.tax for price in self.priced.energy.prices for each in price.per_kwh]
        ends = [self.cost + (kwh - self.kwh) * each for each in per_kwh]
        return max(min(ends), 0.0), max(*ends, 0.0)

    def factor(self, of: Callable[[User], bool], target: float, *, money: bool) -> float | None:
        """Return by how much the watts of some users are multiplied to reach an energy or a cost."""
        low, high = 0.0, MOST_FACTOR
        ends = [self.sums(factor, of)[money] for factor in (low, high)]
        if not ends[0] < target < ends[1]:
            return None
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if self.sums(middle, of)[money] < target else (low, middle)
        return (low + high) / 2


def likely_causes(
    case: BillCase,
    *,
    kwh: float | None,
    amount: float | None,
    wrong_kwh: bool,
    between: tuple[float, float] | None,
) -> tuple[str, ...]:
    """Return the likely causes of a difference, the likeliest first, each of which explains it alone.

    Parameters
    ----------
    case
        The computed bill.
    kwh, amount
        What was noted, None where it was not.
    wrong_kwh
        Whether the energy does not agree with what was computed.
    between
        The range that the amount is not in: of the computed bill, or of that for the energy noted.
    """
    of_use, of_price = [], []
    if kwh is not None and wrong_kwh:
        of_use = [*_causes_of_use(case, kwh, money=False)]
    if amount is not None and between is not None:
        at = case.cost if kwh is None else float(np.mean(case.cost_of(kwh)))
        of_price = [*_causes_of_price(case, amount, at, between)]
        if kwh is None:
            of_price += _causes_of_use(case, amount, money=True)
    parts = [sorted(part)[:MOST_CAUSES] for part in (of_use, of_price)]
    if not any(parts) and (wrong_kwh or between is not None):
        return (NONE_ALONE,)
    return tuple(cause.words for part in parts for cause in part)


def _causes_of_use(case: BillCase, target: float, *, money: bool) -> Iterator[BillCause]:
    """Yield what explains more or less energy, or the cost of it."""
    now = (case.kwh, case.cost)[money]
    yield from _labels(case, target, money=money)
    yield from _timers(case, target, money=money)
    yield from _duties(case, target, money=money)
    more_w = (target - now) / case.steady[money] if case.steady[money] > 0 else 0.0
    mean_w = case.kwh / case.steady[0]
    if 0.5 <= more_w <= max(MOST_UNKNOWN_W, 2 * mean_w):
        words = f"standby of drivers and timers, or a load that is not in the file: {more_w:.0f} W"
        yield BillCause(more_w / 20, f"{words} day and night")
    elif 0.5 <= -more_w <= mean_w:
        words = f"a load that is off, or on another meter: {-more_w:.0f} W day and night"
        yield BillCause(1 - more_w / 20, words)
    if target > WHOLE_HOME * now:
        other_kwh = more_w * case.steady[0]
        words = f"the bill of the whole home: {other_kwh:.0f} kWh of other use"
        yield BillCause(1.2, words)


def _labels(case: BillCase, target: float, *, money: bool) -> Iterator[BillCause]:
    labelled = {lamp_source(lamp) for lamp in case.space.fixtures if lamp.watts_from == "label"}
    factor = case.factor(lambda user: user.source in labelled, target, money=money)
    if factor is not None and LEAST_OF_LABEL <= factor <= MOST_OF_LABEL:
        words = f"watts by label: lamps that draw {factor:.0%} of theirs"
        yield BillCause(min(abs(log(factor)) / LABEL_LN_SD, 0.9), words)


def _timers(case: BillCase, target: float, *, money: bool) -> Iterator[BillCause]:
    """Yield the likeliest zone whose timer explains it, and lamps left on over empty beds."""
    causes = []
    for zone in case.space.zones:
        hours = _lit_h(case, zone.name)
        factor = case.factor(lambda user, zone=zone: _is_lit(user, zone.name), target, money=money)  # type: ignore[misc]
        if hours is None or factor is None or hours * factor > HOURS_PER_DAY + 0.2:
            continue
        then_h = min(hours * factor, HOURS_PER_DAY)
        far = 0.5 if then_h > HOURS_PER_DAY - 0.4 else 0.25 + abs(then_h - hours) / 10
        words = f"the timer of {zone.name}: its lamp on {then_h:.1f} h a day in place of {hours:.3g} h"
        causes.append(BillCause(far, words))
    yield from sorted(causes)[:1]
    dark_d = sum(case.dark_d(zone.name) for zone in case.space.zones)
    always_on = priced_energy(case.space, case.first, case.days) if dark_d else None
    if always_on is not None:
        there = float(always_on.totals()[money].sum())
        if abs(target - there) <= SAME * target:
            yield BillCause(0.1, "the lamp stayed on over empty beds, where the plan has it off")


def _is_lit(user: User, zone: str) -> bool:
    return user.what == LAMPS and user.zone == zone and user.stretches is not None


def _lit_h(case: BillCase, zone: str) -> float | None:
    """Return the hours a day of a zone's lamps, on days on which they are on; None where there are none."""
    energy = case.priced.energy
    kwh = energy.by_rate_kwh.sum(axis=(0, 2))
    of_zone = [
        (float(taken), user.watts)
        for user, taken in zip(energy.users, kwh, strict=True)
        if _is_lit(user, zone) and taken > 0
    ]
    lit_d = case.days - case.dark_d(zone)
    if not of_zone or lit_d <= 0:
        return None
    taken, watts = of_zone[0]
    return taken * 1000 / watts / lit_d


def _duties(case: BillCase, target: float, *, money: bool) -> Iterator[BillCause]:
    """Yield loads whose hours a day are a guess, and loads that did not run at all."""
    for load in case.space.loads:
        source = load_source(load)

        def of_load(user: User, source: str = source) -> bool:
            return user.source == source

        if load.hours_per_day is not None:
            factor = case.factor(of_load, target, money=money)
            if factor is not None and 0 < load.hours_per_day * factor <= HOURS_PER_DAY:
                far = min(abs(log(factor)) / DUTY_LN_SD / 2, 1.2)
                then_h = f"{load.hours_per_day * factor:.1f} h a day in place of {load.hours_per_day:g} h"
                yield BillCause(far, f"{load.name}: {then_h}")
        if abs(case.sums(0.0, of_load)[money] - target) <= SAME * target:
            yield BillCause(0.4, f"{load.name} did not run")


def _causes_of_price(
    case: BillCase, amount: float, at: float, between: tuple[float, float]
) -> Iterator[BillCause]:
    """Yield what explains another price of the same energy; ``at`` is its cost by the file."""
    tariff, standing, tax = case.space.tariff, case.standing, case.priced.tax
    without = (
        (standing > 0, standing, 1.0, "the standing charge", 0.1),
        (tax > 1, 0.0, tax, f"the tax of {(tax - 1) * 100:.3g}%", 0.1),
        (standing > 0 and tax > 1, standing, tax, "standing charge and tax", 0.7),
    )
    for given, less, divided, what, far in without:
        low, cost, high = ((value - less) / divided for value in (between[0], at, between[1]))
        if given and low * (1 - SAME) <= amount <= high * (1 + SAME):
            off = abs(amount - cost) / max(high - low, SAME * amount)
            yield BillCause(far + off, f"the bill is without {what} of space.toml: {cost:.2f} then")
    if at > standing and amount > standing:
        factor = (amount - standing) / (at - standing)
        if 0.3 <= factor <= 3:
            more = f"{abs(factor - 1):.0%} {'more' if factor > 1 else 'less'} than space.toml has"
            yield BillCause(0.3 + abs(log(factor)) / 0.3, f"the price of a kWh: {more}")
    if tariff is None or amount <= at:
        return
    if standing == 0:
        yield BillCause(1.3, f"a standing charge of {amount - at:.2f} that space.toml leaves out")
    percent = (amount / at - 1) * 100 if at > 0 else 0.0
    if tax == 1 and not tariff.prices_include_tax and 3 <= percent <= 30:
        far = 1.2 + 2 * abs(percent - round(percent))
        yield BillCause(far, f"a tax of {percent:.3g}% that space.toml leaves out")
