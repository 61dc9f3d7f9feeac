"""What ``cropcal bill`` prints: months with their range, users of power, prices, noted bills."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from cropcal.records.plan import BillLine, UnitCost
from cropcal.records.tariff import BillRange, NotedBill, PowerRange
from cropcal.records.written_plan import Bills, PlanPower
from cropcal.show import text
from cropcal.show.wording import cost_range, crop_name, kwh_range, value_range

RANGE = "4 in 5: the range for four cases out of five, which shows how well the watts are known."
EXAMPLE = "No bill is noted yet. When one comes, note this space's share of it"
NO_TARIFF = (
    "space.toml has no [tariff], so there is no cost to compare it with: add one, or note the kWh (--kwh)."
)
HOME = 2.0
"""Times as much as the space can have cost, from which on its bill is asked about (assumed)."""
OF_HOME = (
    "Is it for this space alone? If it is the bill of the whole home, take it back and note what the space"
    " added: this bill less that of the same month without the space, or what a plug meter counts."
)
APART = "A bill noted with its kWh (--kwh) shows whether use or price is off."


def bill(
    lines: Sequence[BillLine],
    unit_costs: Sequence[UnitCost],
    currency: str | None,
    names: Mapping[str, str],
    period: tuple[date, date],
    year: Sequence[BillLine] = (),
    bills: Bills | None = None,
    example: str = "",
) -> str:
    """Return the bill by month, by user of power and by rate, noted bills, and power for one more unit.

    Parameters
    ----------
    lines, unit_costs, currency
        The bill, the power for one more unit, and what money is in.
    names
        Slug of a crop -> its name.
    period
        The first and the last day that is billed.
    year
        The lines of twelve months.
    bills
        Ranges, what the written plan saves, noted bills.
    example
        A command that notes a bill, shown where none is noted.
    """
    if not lines:
        return "Nothing here draws power, so there is no bill.\n"
    bills = bills or Bills(range=None)
    cost = f"cost {currency or ''}".strip()
    uses = _summed(lines, lambda line: (line.what, line.zone))
    by_price = sorted((line for line in lines if line.kwh), key=lambda line: (line.cost or 0.0) / line.kwh)
    rates = _summed(by_price, lambda line: (line.rate,))
    no_price = "" if money_of(lines) is not None else "\nNo tariff is given, so no cost is shown.\n"
    note = f"\n{text.wrap(RANGE)}" if bills.range else ""
    asks = f"\n{EXAMPLE}:\n  {example}\n" if example and not bills.noted else ""
    return (
        f"{months(lines, currency, period, bills.range)}{note}\n"
        + (f"\n{twelve_months(year, currency, bills.year)}\n" if year else "")
        + no_price
        + text.section("By the plan", plan_power(bills.plan, currency) if bills.plan else "")
        + text.section("Against the bills you noted", noted_bills(bills.noted, currency))
        + asks
        + text.section("What uses it", text.table(("what", "zone", "kWh", cost), uses, "llrr"))
        + text.section("At which price", text.table(("rate", "kWh", cost), rates, "lrr") if rates[1:] else "")
        + text.section("Power for one more", _unit_costs(unit_costs, currency, names))
    )


def twelve_months(year: Sequence[BillLine], currency: str | None, its_range: BillRange | None) -> str:
    """Return what twelve months take and cost, with its range."""
    of = its_range.in_all if its_range else None
    spent = ""
    if money_of(year) is not None:
        spent = f" and cost {text.money(money_of(year), currency)}{_in_brackets(of)}"
    energy = "" if spent else _in_brackets(of)
    return f"Twelve months take {text.kwh(energy_of(year))} kWh{energy}{spent}."


def _in_brackets(of: PowerRange | None) -> str:
    """Return the range of the money, or of the energy where there is no money, in brackets."""
    if of is None:
        return ""
    return f" ({kwh_range(of) if of.cost is None else cost_range(of)})"


def plan_power(plan: PlanPower, currency: str | None) -> str:
    """Return what the written plan saves by empty beds, and what each of its choices costs a month."""
    zones = ", ".join(f"{text.clean(zone)} {days} days" for zone, days in plan.dark_d.items())
    if plan.saved_cost is None:
        saved = f"{text.kwh(plan.saved_kwh)} kWh less"
    else:
        saved = f"{text.money(plan.saved_cost, currency)} less, already counted above"
    sentences = [f"The lamp is off while nothing grows below it ({zones}): {saved}."] if plan.dark_d else []
    costs = {
        choice.name + (" (this plan)" if choice.chosen else ""): (
            f"{text.plain(choice.power, 1) if plan.saved_cost is None else text.money(choice.power)}"
            f" ({value_range(choice.power_low, choice.power_high)})"
        )
        for choice in plan.choices
        if choice.power is not None
    }
    unit = text.clean(currency or "cost") if plan.saved_cost is not None else "kWh"
    if len({*costs.values()}) == 1:
        sentences.append(f"A month takes {next(iter(costs.values()))} {unit}, whichever choice you make.")
    elif costs:
        each = ", ".join(f"{name} {cost}" for name, cost in costs.items())
        sentences.append(f"A month, in {unit}, by choice: {each}.")
    return "\n".join(map(text.wrap, sentences))


def noted_bills(noted: Sequence[NotedBill], currency: str | None) -> str:
    """Return each noted bill beside the computed one; of the last that differs, all likely causes."""
    odd = [bill for bill in noted if bill.causes]
    lines = []
    for bill in noted:
        earlier = bill in odd[:-1]
        words = with_likeliest(bill, currency) if earlier else noted_bill(bill, currency)
        lines.append(text.wrap(words, later="  "))
        if bill.causes and not earlier:
            lines.append("  One of these alone would explain it, the likeliest first:")
            lines += [text.wrap(text.clean(cause), first="- ", later="  ") for cause in bill.causes]
    apart = odd and odd[-1].kwh is None
    return "\n".join([*lines, *([APART] if apart else [])])


def with_likeliest(bill: NotedBill, currency: str | None) -> str:
    """Return a noted bill and, where it differs from the computed one, the likeliest cause."""
    cause = f" Likeliest: {text.clean(bill.causes[0])}" if bill.causes else ""
    return f"{noted_bill(bill, currency)}{cause}"


def odd_bills(noted: Sequence[NotedBill], currency: str | None) -> str:
    """Return the bills that differ from the computed ones, each with its likeliest cause; "" if none does."""
    odd = [with_likeliest(bill, currency) for bill in noted if bill.causes]
    return text.section("What the bills point to", text.bullets(odd))


def after_noting(bill: NotedBill, currency: str | None, command: str) -> str:
    """Return what to say of a bill that was just noted: how it compares, and whether it is of this space."""
    lines = [text.wrap(noted_bill(bill, currency), later="  ")]
    of = bill.computed
    if of is None or (bill.kwh is None and of.cost is None):
        lines += [] if of is None else [text.wrap(NO_TARIFF)]
    elif bill.causes:
        lines.append(f"Likely causes: {command}")
    most = None if of is None else of.cost_high_80
    if most is not None and bill.amount is not None and bill.amount > HOME * most:
        lines.append(text.wrap(OF_HOME))
    return "".join(f"{line}\n" for line in lines)


def noted_bill(bill: NotedBill, currency: str | None) -> str:
    """Return one sentence on a noted bill: what it came to, what was computed, by how much they differ."""
    month = text.month(bill.month, (bill.first, bill.last))
    paid = [] if bill.amount is None else [text.money(bill.amount, currency)]
    used = [] if bill.kwh is None else [f"{text.plain(bill.kwh, 1)} kWh"]
    head = f"{month}: {' and '.join([*paid, *used])} on the bill"
    parts = [_against_energy(bill), _against_money(bill, currency)]
    against = "; ".join(filter(None, parts)) or "the plan has no bill for that time to compare it with"
    before = f" It replaces {', '.join(bill.instead_of)}." if bill.instead_of else ""
    return f"{head}; {against}.{before}"


def _against_energy(bill: NotedBill) -> str:
    of = bill.computed
    if of is None or bill.kwh is None:
        return ""
    verdict = _verdict(bill.kwh, of.kwh_low_80, of.kwh_high_80, f"{text.kwh(abs(bill.kwh - of.kwh))} kWh")
    return f"{text.kwh(of.kwh)} kWh computed ({kwh_range(of)}), {verdict}"


def _against_money(bill: NotedBill, currency: str | None) -> str:
    of = bill.computed
    if (
        of is None
        or of.cost is None
        or bill.amount is None
        or bill.cost_low is None
        or bill.cost_high is None
    ):
        return ""
    between = value_range(bill.cost_low, bill.cost_high)
    off = text.money(abs(bill.amount - of.cost), currency)
    if bill.kwh is None:
        verdict = _verdict(bill.amount, bill.cost_low, bill.cost_high, off)
        return f"{text.money(of.cost, currency)} computed ({between}), {verdict}"
    middle = (bill.cost_low + bill.cost_high) / 2
    off = text.money(abs(bill.amount - middle), currency)
    return f"{between} for that energy, {_verdict(bill.amount, bill.cost_low, bill.cost_high, off)}"


def _verdict(value: float, low: float, high: float, off: str) -> str:
    if low <= value <= high:
        return "they agree"
    return f"the bill is {off} {'higher' if value > high else 'lower'}"


def months(
    lines: Sequence[BillLine],
    currency: str | None,
    period: tuple[date, date],
    its_range: BillRange | None = None,
) -> str:
    """Return a table of kWh and money a calendar month, with the total under it; part months say so."""
    by_month: dict[str, list[BillLine]] = {}
    for line in sorted(lines, key=lambda line: line.month):
        by_month.setdefault(line.month, []).append(line)
    of_month = its_range.months if its_range else {}
    rows = [
        _month_row(text.month(name, period), group, of_month.get(name)) for name, group in by_month.items()
    ]
    if len(rows) > 1:
        rows.append(_month_row("in all", lines, its_range.in_all if its_range else None))
    shown = [0, 1, 2, 3, 4] if its_range else [0, 1, 3]
    if its_range and its_range.in_all.cost is None:
        shown.pop()
    headers = ("month", "kWh", "4 in 5", f"cost {currency or ''}".strip(), "4 in 5")
    picked = [tuple(row[column] for column in shown) for row in rows]
    return text.table([headers[column] for column in shown], picked, "".join("lrrrr"[at] for at in shown))


def _month_row(label: str, lines: Sequence[BillLine], of: PowerRange | None) -> tuple[str, ...]:
    return label, text.kwh(energy_of(lines)), kwh_range(of), text.money(money_of(lines)), cost_range(of)


def _summed(lines: Iterable[BillLine], key: Callable[[BillLine], tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Return a row for each key with its kWh and money; what is no power (charge, tax) comes last."""
    groups: dict[tuple[str, ...], list[BillLine]] = {}
    for line in lines:
        groups.setdefault(key(line), []).append(line)
    rows = sorted(groups.items(), key=lambda group: energy_of(group[1]) == 0)
    return [
        (*labels, text.kwh(energy_of(group)) if energy_of(group) else "", text.money(money_of(group)))
        for labels, group in rows
    ]


def energy_of(lines: Iterable[BillLine]) -> float:
    """Return the energy of lines of a bill [kWh]."""
    return sum(line.kwh for line in lines)


def money_of(lines: Iterable[BillLine]) -> float | None:
    """Return what lines of a bill cost, None without a tariff."""
    known = [line.cost for line in lines if line.cost is not None]
    return sum(known) if known else None


def _unit_costs(costs: Sequence[UnitCost], currency: str | None, names: Mapping[str, str]) -> str:
    """Return kWh and money a head, or 100 g: one gram would be all zeros."""
    rows = []
    for cost in costs:
        size, unit = (100, "100 g") if cost.unit == "g" else (1, "head")
        price = None if cost.cost_per_unit is None else cost.cost_per_unit * size
        energy = text.plain(cost.kwh_per_unit * size, 2)
        rows.append(
            (crop_name(cost.crop, names), cost.bed, f"1 {unit}" if size == 1 else unit, energy, price)
        )
    shown = [(*row[:4], text.money(row[4])) for row in rows]
    headers = ("crop", "bed", "for", "kWh", f"cost {currency or ''}".strip())
    return text.table(headers, shown, "lllrr") if shown else ""
