"""Fifth part of the page: kWh and money by month, by use, and for one more unit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cropcal.records.plan import BillLine, SeasonPlan
from cropcal.show import text
from cropcal.show.data.bill_json import bill as bill_form
from cropcal.show.page.svg import (
    Markup,
    element,
    percent,
    rect,
)
from cropcal.show.wording import crop_name, period_of


@dataclass(frozen=True)
class MonthRow:
    """One calendar month."""

    month: str
    kwh: str
    cost: str
    picture: Markup


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
    top = max(values, default=0.0) or 1.0
    rows = [
        MonthRow(
            month=text.month(month["month"], period_of(result)),
            kwh=text.kwh(month["kwh"]),
            cost=text.money(month["cost"]),
            picture=_bar(value / top),
        )
        for month, value in zip(months, values, strict=True)
    ]
    if len(rows) > 1:
        kwh, cost = _sum(result.bill)
        rows.append(MonthRow("in all", text.kwh(kwh), text.money(cost), Markup("")))
    return tuple(rows)


def _bar(share: float) -> Markup:
    return element(
        "svg",
        rect(0, 2, percent(share), 12, "price"),
        class_="bar",
        width="100%",
        height=16,
        aria_hidden="true",
    )


def _sum(lines: Sequence[BillLine]) -> tuple[float, float | None]:
    costs = [line.cost for line in lines if line.cost is not None]
    return sum(line.kwh for line in lines), sum(costs) if costs else None


def use_rows(result: SeasonPlan) -> tuple[UseRow, ...]:
    """Return every user of power in every zone, all rates together."""
    groups: dict[tuple[str, str], list[BillLine]] = {}
    for line in result.bill:
        groups.setdefault((line.what, line.zone), []).append(line)
    rows = []
    for (what, zone), lines in groups.items():
        kwh, cost = _sum(lines)
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
