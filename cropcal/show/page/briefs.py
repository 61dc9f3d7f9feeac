"""What is in each part of the page, in one line: shown where the part is folded away."""

from collections.abc import Mapping, Sequence

from cropcal.records.plan import BedLight, SeasonPlan
from cropcal.show import text
from cropcal.show.lanes import BedRows
from cropcal.show.page.bill import in_all
from cropcal.show.wording import cost_range, crop_name, kwh_range, lamp_hours, number_of

MOST_ZONES = 3


def briefs(
    plan: SeasonPlan,
    names: Mapping[str, str],
    beds: Sequence[BedRows],
    assumed: int,
) -> dict[str, str]:
    """Return a line for each part that can be folded.

    Parameters
    ----------
    plan
        The plan.
    names
        Slug of a crop -> its name.
    beds
        Nurseries and beds of the calendar.
    assumed
        How many assumptions are listed.
    """
    return {
        "light": _light(plan, names),
        "hours": _hours(plan.lights),
        "cost": _cost(plan),
        "calendar": _calendar(plan, beds),
        "sources": f"{number_of(assumed, 'assumption')}; where each value of each crop comes from",
    }


def _light(plan: SeasonPlan, names: Mapping[str, str]) -> str:
    """Return how many crops have a bed that suits them, and how bright the beds are."""
    crops = list(dict.fromkeys(fit.crop for fit in plan.fits))
    well = {fit.crop for fit in plan.fits if fit.verdict == "ok"}
    if not crops:
        suits = "No wanted crop has a bed of its kind"
    elif len(crops) == 1:
        suits = f"{crop_name(crops[0], names)} {'grows well' if well else 'does not grow well'} here"
    else:
        suits = f"{len(well) or 'None'} of {len(crops)} crops have a bed in which they grow well"
    lamps = [bed.ppfd_umol_m2_s for bed in plan.lights if not bed.halves]
    if not lamps:
        return suits
    low, high = text.ppfd(min(lamps)), text.ppfd(max(lamps))
    return f"{suits}; {low if low == high else f'{low}-{high}'} µmol/m²/s in {number_of(len(lamps), 'bed')}"


def _hours(lights: Sequence[BedLight]) -> str:
    """Return the lamp hours of each zone."""
    by_zone = {bed.zone: lamp_hours(bed) for bed in lights}
    if len({*by_zone.values()}) == 1 and len(by_zone) > 1:
        return f"{next(iter(by_zone.values()))} of lamp light a day in every zone"
    shown = [f"{text.clean(zone)} {hours}" for zone, hours in list(by_zone.items())[:MOST_ZONES]]
    more = len(by_zone) - len(shown)
    return ", ".join(shown) + (f" and {number_of(more, 'more zone')}" if more > 0 else "")


def _cost(plan: SeasonPlan) -> str:
    """Return the power of all weeks together, no more exactly than watts are known."""
    if not plan.bill:
        return "Nothing here draws power"
    kwh, cost = in_all(plan.bill)
    of = plan.bill_range.in_all if plan.bill_range else None
    energy = f"{text.plain(kwh, 0)} kWh"
    if cost is None:
        return f"About {energy} in all{_in_brackets(kwh_range(of))}; no tariff is given"
    money = f"{text.plain(cost, 0)} {text.clean(plan.currency or '')}".strip()
    return f"About {money} in all{_in_brackets(cost_range(of))}, {energy}"


def _in_brackets(shown: str) -> str:
    return f" ({shown})" if shown else ""


def _calendar(plan: SeasonPlan, beds: Sequence[BedRows]) -> str:
    """Return how much the calendar shows."""
    if not plan.batches:
        return "Nothing is sown"
    crops = len({batch.crop for batch in plan.batches})
    nurseries = sum(bed.kind == "nursery" for bed in beds)
    where = [number_of(len(beds) - nurseries, "bed")]
    where += [number_of(nurseries, "nursery", "nurseries")] if nurseries else []
    batches = number_of(len(plan.batches), "batch", "batches")
    return f"{batches} of {number_of(crops, 'crop')} in {' and '.join(where)}, week by week"
