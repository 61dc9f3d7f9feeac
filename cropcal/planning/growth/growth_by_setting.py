"""Days to harvest and amount per site for many lamp settings at once: ``crop_growth`` along another axis."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cropcal.planning.growth.crop_constants import curve_of, promised_eps, seedling_g, young_lag_d
from cropcal.planning.growth.crop_growth import GRAM_DIGITS, LAST_DAY, light_density, plants_per_site
from cropcal.planning.growth.pace import UNLEARNED, Pace
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.crop import Crop, CropTables
from cropcal.science import emergence, growth
from cropcal.science.distinct import distinct

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class LightSettings:
    """Light and air of one place under R lamp settings, each of shape (R,)."""

    dli_mol_m2_d: Array
    photoperiod_h: Array
    air_c: Array


@dataclass(frozen=True, eq=False)
class Yield:
    """Days from sowing to the first cut, those in the nursery, and amount a site, (R,); nan if never."""

    ready_d: Array
    in_nursery_d: float
    amount: Array

    @property
    def on_site_d(self) -> Array:
        """Return the days a site is held."""
        return self.ready_d - self.in_nursery_d


def constant_setting(spot: GrowingConditions, rows: int) -> LightSettings:
    """Return the light and air of a place, the same under all ``rows`` settings."""
    return LightSettings(
        np.full(rows, spot.dli_mol_m2_d), np.full(rows, spot.photoperiod_h), np.full(rows, spot.air_c)
    )


def growth_by_setting(
    crop: Crop,
    tables: CropTables,
    site: GrowingConditions,
    at: LightSettings,
    nursery: tuple[GrowingConditions, LightSettings] | None,
    pace: Pace = UNLEARNED,
) -> Yield:
    """Return days to harvest and amount per site under each setting; middle values.

    ``site`` gives fan, added CO2 and area; its own light and air are not used. ``nursery``: conditions of the
    shortest time as a seedling; None sows it in place.
    """
    rows = len(at.dli_mol_m2_d)
    places = [nursery, (site, at)] if nursery else [(site, at)]
    places = [place for place in places if place is not None]
    curve = curve_of(crop, tables)
    days = np.array([np.nan if day is None else day for day in curve.days])
    emerged = emergence.emergence_days(places[0][1].air_c, curve.air_c, days)
    if crop.kind == "shoots":
        return _shoots(crop, site, np.asarray(emerged))
    constants = [_rates(crop, tables, spot, setting, pace) for spot, setting in places]
    c = np.stack([pair[0] for pair in constants], axis=1)
    k = np.stack([pair[1] for pair in constants], axis=1)
    per_m2 = np.array([light_density(crop, spot, crop.target_g) for spot, _ in places])
    age = float(crop.nursery_d) if nursery else 0.0
    arrays = (
        emerged * np.exp(pace.ln_emergence) + young_lag_d(crop, places[0][1].air_c),
        np.full(rows, seedling_g(crop)),
        np.tile([age, np.inf][-len(places) :], (rows, 1)),
        np.tile(per_m2, (rows, 1)),
        c,
        k,
    )
    ready = growth.day_of_mass(np.full(rows, crop.target_g * crop.dry_matter), *arrays)
    ready = np.where(ready + crop.window_d < LAST_DAY, ready, np.nan)
    if crop.unit == "heads":
        return Yield(ready, age, np.where(np.isnan(ready), np.nan, 1.0))
    cut = np.ceil(ready)
    asked = distinct(cut[~np.isnan(cut)])
    if not len(asked):
        return Yield(ready, age, np.full(rows, np.nan))
    mass = growth.mass_by_day(asked, *arrays)[np.arange(rows), np.searchsorted(asked, cut) % len(asked)]
    amount = np.round(mass / crop.dry_matter * plants_per_site(crop, site), GRAM_DIGITS)
    return Yield(ready, age, np.where(np.isnan(ready), np.nan, amount))


def _rates(
    crop: Crop, tables: CropTables, spot: GrowingConditions, at: LightSettings, pace: Pace
) -> tuple[Array, Array]:
    warm = growth.temperature_factor(at.air_c, crop.air_base_c, crop.air_optimum_c, crop.air_max_c)
    given = growth.capped_dli(at.dli_mol_m2_d, spot.co2_enriched)
    return growth.rates(
        promised_eps(crop, tables, given, at.photoperiod_h, warm) * np.exp(pace.ln_speed),
        growth.capped_dli(at.dli_mol_m2_d * np.exp(pace.ln_light), spot.co2_enriched),
        at.photoperiod_h,
        warm,
    )


def _shoots(crop: Crop, site: GrowingConditions, emerged: Array) -> Yield:
    comes_up = emerged < crop.anchor_days
    gram = (crop.shoots_seed_g_m2 or 0.0) * site.site_area_m2 * (crop.shoots_g_per_g_seed or 0.0)
    return Yield(
        np.where(comes_up, crop.anchor_days, np.nan),
        0.0,
        np.where(comes_up, np.round(gram, GRAM_DIGITS), np.nan),
    )
