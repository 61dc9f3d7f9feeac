"""Bought young plants: raised elsewhere, planted on a work day at an age in days."""

from dataclasses import replace

import numpy as np

from cropcal.planning.growth.crop_constants import days_to_emerge
from cropcal.planning.growth.crop_growth import Array, GrowthTable, Stages, growth_table, plants_per_site
from cropcal.planning.growth.pace import UNLEARNED, Pace
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.crop import Crop, CropTables
from cropcal.records.space import Want


def plug_age_d(want: Want, crop: Crop) -> int:
    """Return the age of bought plants, days: as given, else that of own seedlings when they are moved."""
    return crop.nursery_d if want.plug_age_d is None else want.plug_age_d


def grow_plug(
    crop: Crop, tables: CropTables, site: GrowingConditions, age_d: int, pace: Pace = UNLEARNED
) -> GrowthTable | None:
    """Return the growth table of bought plants in a bed, days counted from planting; None if never ready.

    They are taken to be as large as seedlings of that age in the light, warmth and room of the crop's
    reference harvest (assumed: a nursery raises them under good light).
    """
    if crop.nursery_plants_m2 is None:
        return None
    raised = replace(
        site,
        bed="",
        dli_mol_m2_d=crop.anchor_dli_mol_m2_d,
        photoperiod_h=crop.anchor_photoperiod_h,
        air_c=crop.anchor_air_c,
        air_moving=True,
        site_area_m2=plants_per_site(crop, site) / crop.nursery_plants_m2,
    )
    emerges = days_to_emerge(crop, tables, crop.anchor_air_c)
    ends = np.array([[float(age_d), np.inf]])
    grown = growth_table(Stages(crop, tables, (raised, site), ends, emerges, pace), np.array([age_d]), None)
    if grown is None:
        return None
    return replace(
        grown,
        ages_d=np.array([0]),
        emergence_d=(0.0, 0.0, 0.0),
        ready_d=np.maximum(grown.ready_d - age_d, 0.0),
        amount=_shifted(grown.amount, age_d),
        low=_shifted(grown.low, age_d),
        high=_shifted(grown.high, age_d),
        g_per_plant=_shifted(grown.g_per_plant, age_d),
        stand=1.0,
        plug_age_d=age_d,
    )


def _shifted(by_day: Array, days: int) -> Array:
    """Return values by day from ``days`` days later on; the last one is repeated at the end."""
    end = np.repeat(by_day[..., -1:], days, axis=-1)
    return np.concatenate([by_day[..., days:], end], axis=-1)
