"""What ``cropcal bill`` says first: a month, a year, the biggest user, the months, power for one more."""

from collections.abc import Mapping, Sequence
from datetime import date

from cropcal.records.plan import BillLine, UnitCost
from cropcal.records.tariff import NotedBill
from cropcal.records.written_plan import Bills
from cropcal.show import text
from cropcal.show.glance.fitting import ScreenPart, sentence
from cropcal.show.terminal.bill import energy_of, money_of, months, twelve_months, with_likeliest
from cropcal.show.wording import cost_range, crop_name, kwh_range


def bill_glance(
    lines: Sequence[BillLine],
    unit_costs: Sequence[UnitCost],
    currency: str | None,
    names: Mapping[str, str],
    period: tuple[date, date],
    year: Sequence[BillLine],
    bills: Bills,
) -> list[ScreenPart]:
    """Return what matters first; the arguments are those of ``bill``, ``year`` always the twelve months."""
    if not lines:
        return []
    head = [
        *_month(bills, currency),
        twelve_months(year, currency, bills.year or bills.range),
        sentence(_biggest(lines, currency), 2),
    ]
    first, rule, *rows = months(lines, currency, period, bills.range).split("\n")
    in_all = rows[-1:] if len(rows) > 1 else []
    return [
        ScreenPart((), "\n".join(head)),
        ScreenPart(
            tuple(sentence(f"Last bill: {with_likeliest(bill, currency)}", 4) for bill in bills.noted[-1:])
        ),
        ScreenPart((*in_all, *rows[: len(rows) - len(in_all)]), f"{first}\n{rule}"),
        ScreenPart(tuple(_each(unit_costs, currency, names)), "Power for one more"),
    ]


def _last_bill(bill: NotedBill, currency: str | None) -> str:
    return sentence(f"Last bill: {with_likeliest(bill, currency)}", 4)


def _month(bills: Bills, currency: str | None) -> list[str]:
    """Return what a mean month takes, with its range."""
    if bills.range is None:
        return []
    month = bills.range.a_month
    energy = f"A month takes {text.kwh(month.kwh)} kWh ({kwh_range(month)})"
    if month.cost is None:
        return [f"{energy}.", "No tariff is given, so energy is shown without its cost."]
    return [f"{energy} and costs {text.money(month.cost, currency)} ({cost_range(month)})."]


def _biggest(lines: Sequence[BillLine], currency: str | None) -> str:
    """Return what takes most of the power."""
    uses: dict[tuple[str, str], list[BillLine]] = {}
    for line in lines:
        if line.kwh:
            uses.setdefault((line.what, line.zone), []).append(line)
    (what, zone), most = max(uses.items(), key=lambda use: energy_of(use[1]))
    where = f" of {zone}" if zone else ""
    cost = money_of(most)
    spent = "" if cost is None else f", {text.money(cost, currency)}"
    share = text.percent(energy_of(most) / energy_of(lines))
    return f"Most of the plan's energy: {what}{where}, {text.kwh(energy_of(most))} kWh{spent}, {share} of it."


def _each(costs: Sequence[UnitCost], currency: str | None, names: Mapping[str, str]) -> list[str]:
    """Return a line a crop: the power for one more head or 100 g, in the bed where it takes least."""
    least: dict[str, UnitCost] = {}
    for cost in sorted(costs, key=lambda cost: cost.kwh_per_unit):
        least.setdefault(cost.crop, cost)
    lines = []
    for crop in dict.fromkeys(cost.crop for cost in costs):
        cost = least[crop]
        size, unit = (100, "100 g") if cost.unit == "g" else (1, "a head")
        money = None if cost.cost_per_unit is None else cost.cost_per_unit * size
        spent = (
            f"{text.plain(cost.kwh_per_unit * size, 2)} kWh" if money is None else text.money(money, currency)
        )
        lines.append(text.clip(f"  {crop_name(crop, names)}, {unit}: {spent} in {cost.bed}", text.WIDTH))
    return lines
