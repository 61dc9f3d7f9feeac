"""What the crop table says of how a crop grows: emergence, first days, warmth, and the one number eps."""

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from cropcal.records.crop import Crop, CropTables, EmergenceCurve
from cropcal.science import emergence, growth

Array = npt.NDArray[np.float64]

SLOWEST_YOUNG = 0.25
"""Growth for that at 22 C below which a seedling's first days are drawn out no further (assumed)."""


LOWEST_STAND = 0.1
"""Share of seeds that come up below which more seed is no answer (assumed)."""


def curve_of(crop: Crop, tables: CropTables) -> EmergenceCurve:
    """Return the table of days to emergence that a crop goes by."""
    return tables.emergence[crop.emergence_curve]


def days_to_emerge(crop: Crop, tables: CropTables, air_c: float) -> float:
    """Return days from sowing to emergence, nan where the table knows none at that temperature."""
    curve = curve_of(crop, tables)
    days = np.array([np.nan if day is None else day for day in curve.days])
    return float(emergence.emergence_days(air_c, curve.air_c, days))


def stand_share(crop: Crop, tables: CropTables, air_c: float) -> float:
    """Return the share of seeds that make normal seedlings at that temperature, nan where not printed."""
    curve = curve_of(crop, tables)
    stand = np.array([np.nan if share is None else share for share in curve.stand])
    return float(emergence.stand_share(air_c, curve.air_c, stand))


def expected_stand(crop: Crop, tables: CropTables, air_c: float) -> float:
    """Return the share of seeds that make plants: the legal minimum, or less where it is too warm or cold."""
    printed = stand_share(crop, tables, air_c)
    lowest = max(min(crop.germination_min, printed), LOWEST_STAND) if np.isfinite(printed) else None
    return crop.germination_min if lowest is None else lowest


def seedling_g(crop: Crop) -> float:
    """Return the shoot dry mass of a plant as it emerges."""
    return crop.seed_g_per_1000 / 1000 * growth.SEEDLING_SHARE


def young_lag_d(crop: Crop, air_c: npt.ArrayLike) -> Array:
    """Return the days from emergence until a seedling has leaves to grow by: longer where it is cool.

    The crop table has them at 22 C; they shrink and stretch as growth does, at most fourfold.
    """
    return np.asarray((crop.young_lag_d or 0.0) / np.maximum(temperature_factor(crop, air_c), SLOWEST_YOUNG))


def temperature_factor(crop: Crop, air_c: npt.ArrayLike) -> Array:
    """Return the crop's response to temperature (see science.growth)."""
    return growth.temperature_factor(air_c, crop.air_base_c, crop.air_optimum_c, crop.air_max_c)


def home_ln_speed(crop: Crop) -> float:
    """Return ln of the speed that a home is taken to begin with, against the crop's reference harvest."""
    best = growth.BEST_ROOM_LN_SPEED if crop.anchor_co2 == "enriched" else 0.0
    return growth.HOME_LN_SPEED_MEAN - best


def promised_eps(
    crop: Crop,
    tables: CropTables,
    dli_mol_m2_d: npt.ArrayLike,
    photoperiod_h: npt.ArrayLike,
    f_t: npt.ArrayLike,
) -> Array:
    """Return eps of a home before anything is learned: no more than the best that is in print for its light.

    ``dli_mol_m2_d`` is the light that counts, as it is given; the shape is that of the inputs.
    """
    at_home = eps(crop, tables) * np.exp(home_ln_speed(crop))
    return np.asarray(np.minimum(at_home, growth.record_eps(dli_mol_m2_d, photoperiod_h, f_t)))


def eps(crop: Crop, tables: CropTables) -> float:
    """Return the one number of a crop that makes its anchor harvest come out exactly (see science.growth)."""
    curve = curve_of(crop, tables)
    return _eps(crop, curve)


@lru_cache(maxsize=256)
def _eps(crop: Crop, curve: EmergenceCurve) -> float:
    days = np.array([np.nan if day is None else day for day in curve.days])
    emerges = emergence.emergence_days(crop.anchor_air_c, curve.air_c, days)
    starts = float(emerges) + float(young_lag_d(crop, crop.anchor_air_c))
    young = crop.anchor_young_until_d is not None and crop.anchor_young_plants_m2 is not None
    first_end = crop.anchor_young_until_d if young else 0.0
    first_density = crop.anchor_young_plants_m2 if young else crop.anchor_plants_m2
    solved = growth.solve_eps(
        np.array([crop.anchor_days]),
        np.array([crop.anchor_g_per_plant * crop.dry_matter]),
        np.array([starts]),
        np.array([seedling_g(crop)]),
        np.array([[first_end, np.inf]], dtype=float),
        np.array([[first_density, crop.anchor_plants_m2]], dtype=float),
        np.array([crop.anchor_dli_mol_m2_d]),
        np.array([crop.anchor_photoperiod_h]),
        np.array([float(temperature_factor(crop, crop.anchor_air_c))]),
    )
    return float(solved[0])
