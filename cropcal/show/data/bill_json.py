"""The ``--json`` form of a power bill, its range, and bills that were noted."""

from collections.abc import Sequence
from typing import Any

from cropcal.records.plan import BillLine, UnitCost
from cropcal.records.tariff import BillRange, NotedBill, PowerRange
from cropcal.records.written_plan import Bills

Json = dict[str, Any]


def bill(
    lines: Sequence[BillLine],
    currency: str | None,
    year: Sequence[BillLine] = (),
    unit_costs: Sequence[UnitCost] = (),
    bills: Bills | None = None,
) -> Json:
    """Return ``currency``, ``months[]``, what a whole ``year`` takes, and power for one more unit.

    Lines of the same use and rate in several zones are one. With ``bills``, also the ranges of months, of the
    year and ``in_all``, what the written ``plan`` saves and its choices, and the bills ``noted``.
    """
    months: dict[str, dict[tuple[str, str], list[BillLine]]] = {}
    for line in sorted(lines, key=lambda line: line.month):
        months.setdefault(line.month, {}).setdefault((line.what, line.rate), []).append(line)
    ranges = bills.range.months if bills and bills.range else {}
    return {
        "currency": currency,
        "months": [
            {
                "month": month,
                **_sum([line for group in groups.values() for line in group]),
                **_ranges(ranges.get(month)),
                "lines": [
                    {"what": what, "rate": rate, **_sum(group)} for (what, rate), group in groups.items()
                ],
            }
            for month, groups in months.items()
        ],
        "year": _sum(year) | _ranges(bills.year.in_all if bills and bills.year else None),
        "unit_costs": [cost.model_dump() for cost in unit_costs],
        **(_bills(lines, bills) if bills else {}),
    }


def _bills(lines: Sequence[BillLine], bills: Bills) -> Json:
    return {
        "in_all": _sum(lines) | _ranges(bills.range.in_all if bills.range else None),
        "plan": bills.plan.model_dump(mode="json") if bills.plan else None,
        "noted": [noted_bill(bill) for bill in bills.noted],
    }


def _ranges(of: PowerRange | None) -> Json:
    """Return the ranges of kWh and cost, {} where there are none."""
    if of is None:
        return {}
    cost = None if of.cost is None else [of.cost_low_80, of.cost_high_80]
    return {"kwh_range_80": [of.kwh_low_80, of.kwh_high_80], "cost_range_80": cost}


def noted_bill(bill: NotedBill) -> Json:
    """Return a bill that was noted, beside what was computed for its days."""
    computed = bill.computed
    money = None if bill.cost_low is None else [bill.cost_low, bill.cost_high]
    return {
        "id": bill.id,
        "month": bill.month,
        "from": bill.first.isoformat(),
        "until": bill.last.isoformat(),
        "amount": bill.amount,
        "kwh": bill.kwh,
        "computed": {"kwh": computed.kwh, "cost": computed.cost} | _ranges(computed) if computed else None,
        "agrees_between": money,
        "causes": list(bill.causes),
        "instead_of": list(bill.instead_of),
    }


def _sum(lines: Sequence[BillLine]) -> Json:
    costs = [line.cost for line in lines if line.cost is not None]
    return {"kwh": sum(line.kwh for line in lines), "cost": sum(costs) if costs else None}


def bill_range(of: BillRange) -> Json:
    """Return the ranges of each month, of all of them, and of a mean month."""
    months = [{"month": month, **_ranges(values)} for month, values in of.months.items()]
    return {"months": months, "in_all": _ranges(of.in_all), "a_month": _ranges(of.a_month)}
