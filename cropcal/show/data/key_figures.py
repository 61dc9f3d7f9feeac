"""Key figures for comparing tried values, where a command's whole form has too many."""

from collections.abc import Sequence

from cropcal.records.fit import Fit
from cropcal.records.plan import Batch, BillLine, SeasonPlan, UnitCost
from cropcal.show.data.bill_json import bill as bill_form
from cropcal.show.data.json_forms import Json
from cropcal.show.wording import counted


def bill(lines: Sequence[BillLine], costs: Sequence[UnitCost], currency: str | None) -> Json:
    """Return a bill's total, the power for one more unit, and the months."""
    return {
        "currency": currency,
        "in_all": _sum(lines),
        "one_more": [_one_more(cost) for cost in costs],
        **bill_form(lines, currency),
    }


def _one_more(cost: UnitCost) -> Json:
    """Return the energy and cost of one head, or of 100 g: one gram would round to zero."""
    size = 100 if cost.unit == "g" else 1
    return {
        "crop": cost.crop,
        "bed": cost.bed,
        "for": "100 g" if cost.unit == "g" else "1 head",
        "kwh": cost.kwh_per_unit * size,
        "cost": None if cost.cost_per_unit is None else cost.cost_per_unit * size,
    }


def crops(fits: Sequence[Fit]) -> Json:
    """Return which crop suits which bed."""
    return {"fits": [fit.model_dump() for fit in fits]}


def plan(result: SeasonPlan) -> Json:
    """Return the key figures of a plan: short weeks, first harvest and total of each crop, power, supply."""
    weeks = counted(result)
    by_crop: dict[str, list[Batch]] = {}
    for batch in result.batches:
        by_crop.setdefault(batch.crop, []).append(batch)
    return {
        "status": result.outcome.status,
        "weeks_missed": result.expected.short_want_weeks if result.expected else None,
        "weeks_too_much": result.expected.surplus_want_weeks if result.expected else None,
        "cells_sown": result.expected.cells if result.expected else None,
        "short_weeks": sum(row.short > 0 for row in weeks),
        "wanted_weeks": len(weeks),
        "currency": result.currency,
        "in_all": _sum(result.bill),
        "crops": [
            {
                "crop": crop,
                "unit": batches[0].unit,
                "in_all": sum(batch.amount for batch in batches),
                "first_ready": min(batch.ready_from for batch in batches).isoformat(),
            }
            for crop, batches in by_crop.items()
        ],
        "wants": [
            {
                "want": want.label,
                "unit": want.unit,
                "each_week_in_this_mix": want.in_mix_per_week,
                "each_week_grown_alone": want.alone_per_week,
            }
            for want in result.outcome.steady
        ],
    }


def _sum(lines: Sequence[BillLine]) -> Json:
    costs = [line.cost for line in lines if line.cost is not None]
    return {"kwh": sum(line.kwh for line in lines), "cost": sum(costs) if costs else None}
