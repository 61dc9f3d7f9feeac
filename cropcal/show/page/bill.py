"""Fifth part of the page: kWh and money by month, by use, and for one more unit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cropcal.records.plan import BillLine, SeasonPlan
from cropcal.records.tariff import PowerRange
from cropcal.show import text
from cropcal.show.data.bill_json import bill as bill_form
from cropcal.show.page.svg import (
    Markup,
    element,
    line,
    percent,
    rect,
)
from cropcal.show.terminal.bill import noted_bill
from cropcal.show.wording import cost_range, crop_name, kwh_range, period_of


@dataclass(frozen=True)
class MonthRow:
    """One calendar month."""

    month: str
    kwh: str
    kwh_range: str
    cost: str
    cost_range: str
    picture: Markup


@dataclass(frozen=True)
class NotedRow:
    """A bill that was noted, beside the computed one, with likely causes of a difference."""

    words: str
    causes: tuple[str, ...]


@dataclass(frozen=True)
class UseRow:
    """One user of power over the whole plan."""

    what: str
    zone: str
    kwh: str
    cost: str


@dataclass(frozen=True)
class UnitRow:
    """Power for one more unit of a crop in a bed."""

    crop: str
    bed: str
    unit: str
    kwh: str
    cost: str


def month_rows(result: SeasonPlan) -> tuple[MonthRow, ...]:
    """Return every month of the plan, and all of them together if there is more than one."""
    months = bill_form(result.bill, None)["months"]
    values = [month["kwh"] if month["cost"] is None else month["cost"] for month in months]
    ranges = result.bill_range.months if result.bill_range else {}
    spans = [_span(ranges.get(month["month"])) for month in months]
    top = max([*values, *(span[1] for span in spans if span)], default=0.0) or 1.0
    rows = [
        MonthRow(
            month=text.month(month["month"], period_of(result)),
            kwh=text.kwh(month["kwh"]),
            kwh_range=kwh_range(ranges.get(month["month"])),
            cost=text.money(month["cost"]),
            cost_range=cost_range(ranges.get(month["month"])),
            picture=_bar(value / top, tuple(end / top for end in span)),
        )
        for month, value, span in zip(months, values, spans, strict=True)
    ]
    if len(rows) > 1:
        kwh, cost = in_all(result.bill)
        of = result.bill_range.in_all if result.bill_range else None
        shown = text.kwh(kwh), kwh_range(of), text.money(cost), cost_range(of)
        rows.append(MonthRow("in all", *shown, Markup("")))
    return tuple(rows)


def noted_rows(result: SeasonPlan) -> tuple[NotedRow, ...]:
    """Return each bill that was noted."""
    return tuple(NotedRow(noted_bill(bill, result.currency), bill.causes) for bill in result.noted_bills)


def _span(of: PowerRange | None) -> tuple[float, ...]:
    """Return both ends of the range of a month's cost, or of its energy where there is no tariff."""
    if of is None:
        return ()
    if of.cost_low_80 is None or of.cost_high_80 is None:
        return of.kwh_low_80, of.kwh_high_80
    return of.cost_low_80, of.cost_high_80


def _bar(share: float, span: tuple[float, ...]) -> Markup:
    """Return a bar with its range as a line over its end."""
    ends = [percent(end) for end in span]
    return element(
        "svg",
        rect(0, 2, percent(share), 12, "price"),
        *([line(ends[0], 8, ends[1], 8, "spread")] if ends else []),
        *(line(end, 4, end, 12, "spread") for end in ends),
        class_="bar",
        width="100%",
        height=16,
        aria_hidden="true",
    )


def in_all(lines: Sequence[BillLine]) -> tuple[float, float | None]:
    """Return kWh and money of some lines of a bill together; no money where there is no price."""
    costs = [line.cost for line in lines if line.cost is not None]
    return sum(line.kwh for line in lines), sum(costs) if costs else None


def use_rows(result: SeasonPlan) -> tuple[UseRow, ...]:
    """Return every user of power in every zone, all rates together."""
    groups: dict[tuple[str, str], list[BillLine]] = {}
    for entry in result.bill:
        groups.setdefault((entry.what, entry.zone), []).append(entry)
    rows = []
    for (what, zone), lines in groups.items():
        kwh, cost = in_all(lines)
        rows.append(UseRow(what, zone, text.kwh(kwh) if kwh else "", text.money(cost)))
    return tuple(rows)


def unit_rows(result: SeasonPlan, names: Mapping[str, str]) -> tuple[UnitRow, ...]:
    """Return kWh and money of one more head, or of 100 g: one gram would be all zeros."""
    rows = []
    for cost in result.unit_costs:
        size, unit = (100, "100 g") if cost.unit == "g" else (1, "1 head")
        price = None if cost.cost_per_unit is None else cost.cost_per_unit * size
        energy = text.plain(cost.kwh_per_unit * size, 2)
        rows.append(UnitRow(crop_name(cost.crop, names), cost.bed, unit, energy, text.money(price)))
    return tuple(rows)
