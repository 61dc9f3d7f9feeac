"""Assessment of a space before planning: light, suitability, eligible options, power per unit."""

from dataclasses import dataclass

import numpy as np

from cropcal.planning.candidates.columns import Option
from cropcal.planning.candidates.eligible import Capacity, capacity, eligible_options
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.growth.cautions import wanted_crops
from cropcal.planning.growth.pace import Paces
from cropcal.planning.growth.suitability import suitabilities
from cropcal.planning.photoperiod.fill_hours import with_hours
from cropcal.planning.power.bill import zone_day
from cropcal.planning.site.bed_light import bed_lights
from cropcal.records.crop import CropTables
from cropcal.records.fit import Fit
from cropcal.records.plan import BedLight, UnitCost
from cropcal.records.space import Space


@dataclass(frozen=True, eq=False)
class Assessment:
    """What is known before the programme is solved: light, suitability, capacity, and eligible options."""

    lights: tuple[BedLight, ...]
    verdicts: tuple[Fit, ...]
    land: Capacity
    options: tuple[Option, ...]


def assess(space: Space, tables: CropTables, paces: Paces | None = None) -> Assessment:
    """Return the assessment of a space; ``paces`` are the growth rates learned so far."""
    space = with_hours(space, tables)
    lights = bed_lights(space, tables)
    verdicts = suitabilities(space, lights, wanted_crops(space, tables))
    days = space.settings.weeks * DAYS_PER_WEEK
    land = capacity(space, lights, zone_day(space, space.settings.start, days))
    return Assessment(lights, verdicts, land, eligible_options(space, tables, land, paces))


def unit_costs(assessment: Assessment, *, priced: bool) -> tuple[UnitCost, ...]:
    """Return the power that one more unit of each crop takes in each bed: its share of light while it stands.

    Priced at the marginal price of the hours in which the lamp is on, with tax, without the standing charge.
    """
    cheapest: dict[tuple[str, str], UnitCost] = {}
    for option in assessment.options:
        grown, bed = option.grown, option.grown.spot.bed
        ready = float(grown.ready_d[1, 0])
        in_nursery = float(grown.ages_d[0]) if grown.nursery else 0.0
        amount = float(grown.amount[0, int(np.ceil(ready))])
        if amount <= 0:
            continue
        site_days = (ready - in_nursery) * option.sites_each
        kwh = site_days * assessment.land.day_kwh[bed]
        cost = site_days * option.site_day_cost
        if grown.nursery:
            kwh += in_nursery * assessment.land.day_kwh[grown.nursery]
            cost += in_nursery * option.cell_day_cost
        key = (grown.crop.slug, bed)
        cost_row = UnitCost(
            crop=grown.crop.slug,
            bed=bed,
            unit=grown.crop.unit,
            kwh_per_unit=kwh / amount,
            cost_per_unit=cost / amount if priced else None,
        )
        best = cheapest.get(key)
        if best is None or cost_row.kwh_per_unit < best.kwh_per_unit:
            cheapest[key] = cost_row
    return tuple(cheapest.values())
