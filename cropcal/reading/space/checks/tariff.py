"""Checks of the tariff: one price at any time, blocks in order."""

from collections.abc import Iterator
from itertools import combinations, pairwise
from typing import Final

from cropcal.problems import Problem
from cropcal.reading.space.checks.hours import in_week, overlap
from cropcal.reading.space.draft import Draft, readable_parts
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.records.base import MINUTES_PER_DAY, WEEKDAYS
from cropcal.records.tariff import Rate

WHOLE_DAY: Final = (0, MINUTES_PER_DAY)
HARD_MONEY: Final = ("eur", "€", "gbp", "£", "usd", "$", "us$", "chf", "cad", "aud", "nzd")
"""Currencies in which a kWh costs well below one (common practice)."""
DEAR_PER_KWH: Final = 2.0
"""Price for a kWh in one of them above which it is most likely in hundredths (assumed)."""
DEAR_WITHOUT_CURRENCY: Final = 5.0
"""The same where no currency is given (assumed)."""


def one_base_rate(draft: Draft) -> Iterator[Problem]:
    """Ask for one rate that applies whenever no other does."""
    if (
        draft.tariff is None
        or "rate" in draft.tariff.bad
        or not draft.unsure.isdisjoint({"tariff", "tariff.rate"})
    ):
        return
    if any(part.bad & {"hours", "days", "months"} for part in draft.rates):
        return
    if {("tariff", key) for key in ("per_kwh", "blocks")} & set(draft.source.spots):
        return  # the rate has lost its header, which is reported as an unknown key
    bases = [part for part in draft.rates if part.record.is_base]
    if not bases:
        wrong = "there is no price for all other times" if draft.rates else "there is no price"
        cure = "add a [[tariff.rate]] with per_kwh and without hours, days and months"
        yield draft.source.fault(("tariff",), wrong, cure)
    for part in bases[1:]:
        line = draft.source.line(bases[0].path)
        wrong = f"it holds at all times, and so does the rate of line {line}"
        yield draft.source.fault(part.path, wrong, "give one of the two its hours, days or months")


def rates_do_not_overlap(draft: Draft) -> Iterator[Problem]:
    """Ask that no two overriding rates apply at once: it would be a guess which counts."""
    rates = [
        part for part in readable_parts(draft.rates, "hours", "days", "months") if not part.record.is_base
    ]
    for first, second in combinations(rates, 2):
        months = set(first.record.months or range(1, 13)) & set(second.record.months or range(1, 13))
        if months and overlap(_week(first.record), _week(second.record)):
            line = draft.source.line(first.path)
            wrong = f'it holds at some of the times of the rate "{first.record.name}" of line {line}'
            cure = "change hours, days or months of one, so that there is one price at any time"
            yield draft.source.fault(second.path, wrong, cure)


def one_price(draft: Draft) -> Iterator[Problem]:
    """Ask that a rate gives its price once: for every kWh, or by blocks."""
    for part in readable_parts(draft.rates, "per_kwh", "blocks"):
        rate, path = part.record, (*part.path, "per_kwh")
        if rate.per_kwh is None and rate.blocks is None:
            expected = "a price per kWh, or blocks of prices"
            yield draft.source.problem(path, expected, "add it: per_kwh = ...", found="nothing")
        elif rate.per_kwh is not None and rate.blocks is not None:
            yield draft.source.problem(path, "per_kwh or blocks, not both", "leave this one out")


def blocks_in_order(draft: Draft) -> Iterator[Problem]:
    """Ask that each block but the last ends, later than the one before, and the last does not."""
    for part in readable_parts(draft.rates, "blocks"):
        blocks, path = part.record.blocks or (), (*part.path, "blocks")
        tops = [block.up_to_kwh for block in blocks]
        for place, (before, top) in enumerate(pairwise(tops[:-1]), 1):
            if before is not None and top is not None and top <= before:
                expected = f"more than {before:g}, where the block before ends"
                hint = "each up_to_kwh counts from the start of the month"
                yield draft.source.problem((*path, place, "up_to_kwh"), expected, hint, found=f"{top:g}")
        for place, top in enumerate(tops):
            if place < len(tops) - 1 and top is None:
                wrong = "this block has no end, and another follows"
                cure = "add up_to_kwh = ..., the kWh of a month at which it ends"
                yield draft.source.fault((*path, place, "up_to_kwh"), wrong, cure)
            if place == len(tops) - 1 and top is not None:
                expected = "a last block without up_to_kwh, for all use above"
                yield draft.source.problem((*path, place, "up_to_kwh"), expected, found=f"{top:g}")


def blocks_all_day(draft: Draft) -> Iterator[Problem]:
    """Ask that a rate by blocks is not one of some hours: a home's other use is known by the month only."""
    for part in readable_parts(draft.rates, "blocks", "hours", "days"):
        rate = part.record
        for key in ("hours", "days"):
            if rate.blocks is not None and getattr(rate, key) is not None:
                yield draft.source.problem((*part.path, key), "no hours or days in a rate by blocks")


def price_in_cents(draft: Draft) -> Iterator[Problem]:
    """Ask whether a price is in hundredths where a kWh costs less than a whole unit of the money."""
    if draft.tariff is None or "currency" in draft.tariff.bad:
        return
    currency = (draft.tariff.record.currency or "").strip()
    if currency and currency.casefold() not in HARD_MONEY:
        return
    limit = DEAR_PER_KWH if currency else DEAR_WITHOUT_CURRENCY
    for part in readable_parts(draft.rates, "per_kwh", "blocks"):
        prices: list[tuple[KeyPath, float | None]] = [(("per_kwh",), part.record.per_kwh)]
        prices += [
            (("blocks", at, "per_kwh"), block.per_kwh) for at, block in enumerate(part.record.blocks or ())
        ]
        for key, price in prices:
            if price is not None and price > limit:
                expected = f"less than {limit:g} {currency}".rstrip() + " for a kWh"
                hint = f"hundredths? write {price / 100:.4g}"
                yield draft.source.problem((*part.path, *key), expected, hint)


def _prices(rate: Rate) -> Iterator[tuple[KeyPath, float]]:
    if rate.per_kwh is not None:
        yield ("per_kwh",), rate.per_kwh
    for place, block in enumerate(rate.blocks or ()):
        yield ("blocks", place, "per_kwh"), block.per_kwh


def _week(rate: Rate) -> list[tuple[int, int]]:
    """Return when a rate applies, in minutes of a week; a stretch counts by the day it begins."""
    days = rate.days if rate.days is not None else WEEKDAYS
    stretches = rate.hours if rate.hours is not None else (WHOLE_DAY,)
    return [minutes for stretch in stretches for minutes in in_week(stretch, days)]
