"""Growth over days of changing light: each sowing goes through the half months that follow it."""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property
from math import ceil, floor
from typing import Any

import numpy as np
import numpy.typing as npt

from cropcal.optimize.programme import IntArray
from cropcal.planning.growth.crop_constants import days_to_emerge, promised_eps, temperature_factor
from cropcal.planning.growth.crop_growth import LAST_DAY, Array, GrowthTable, Stages, grow, growth_table
from cropcal.planning.growth.pace import Pace
from cropcal.planning.growth.suitability import FAR_TOO_LITTLE, FAR_TOO_MUCH
from cropcal.planning.site.growing_conditions import GrowingConditions, with_season
from cropcal.planning.site.sunlight import HalfMonthSun
from cropcal.records.crop import Crop, CropTables
from cropcal.records.daylight import HALVES, half_of
from cropcal.science import growth

MOST_TURNS = 15
"""Half months that begin within the days a crop is followed, at most."""

LEEWAY_D = 8
"""Days before and after readiness and its window whose masses may be asked for."""


@dataclass(frozen=True, eq=False)
class SeasonalGrowth(Stages):
    """Stages that also turn with the half months: place (0 the nursery) and half month of each, (n, S)."""

    place: IntArray
    half: IntArray

    def mean_dli_mol_m2_d(self, until_d: Array) -> Array:
        """Return the mean light on the site from the day a sowing stands there to another, shape (n,)."""
        start = np.concatenate([np.zeros((len(self.ends_d), 1)), self.ends_d[:, :-1]], axis=1)
        days = np.clip(np.minimum(self.ends_d, until_d[:, None]) - start, 0, None) * (self.place == 1)
        light = np.array([season.dli_mol_m2_d for season in _seasons(self.spots[-1])])[self.half]
        mean: Array = (days * light).sum(axis=1) / np.maximum(days.sum(axis=1), 1e-9)
        return mean

    @property
    def rows_alike(self) -> bool:
        """Return that they are not: each goes through half months of its own."""
        return False

    def one_for_each(self, row: int, speed: Array, light: Array, emergence_shift: Array) -> tuple[Array, ...]:
        """Return what ``science.growth`` needs for one sowing under many shifts, each of shape (n,)."""

        def times(table: npt.NDArray[Any]) -> npt.NDArray[Any]:
            return np.repeat(table[row : row + 1], len(speed), axis=0)

        many = replace(self, ends_d=times(self.ends_d), place=times(self.place), half=times(self.half))
        return many._arrays(speed, light, emergence_shift)

    def _arrays(self, speed: Array, light: Array, emergence_shift: Array) -> tuple[Array, ...]:
        pace = self.pace
        light = pace.ln_light + light + pace.light_with_speed * speed
        speed, emergence_shift = pace.ln_speed + speed, pace.ln_emergence + emergence_shift
        light, speed = (np.asarray(shift, float)[..., None] for shift in (light, speed))
        dli, enriched, promised, *at = self._of_stages
        c, k = growth.rates(promised * np.exp(speed), growth.capped_dli(dli * np.exp(light), enriched), *at)
        density = np.array([self.density(spot) for spot in self.spots])[self.place]
        start_g = np.full(len(self.ends_d), self.start_g)
        return self._starts_d(emergence_shift), start_g, self.ends_d, density, c, k

    @cached_property
    def _of_stages(self) -> tuple[Array, ...]:
        """Return what no shift changes: DLI, whether CO2 is added, promised eps, hours, factor of warmth."""
        seasons = [_seasons(spot) for spot in self.spots]
        dli, hours, air_c = (
            np.array([[getattr(season, name) for season in year] for year in seasons])[self.place, self.half]
            for name in ("dli_mol_m2_d", "photoperiod_h", "air_c")
        )
        enriched = np.array([spot.co2_enriched for spot in self.spots])[self.place]
        at = hours, temperature_factor(self.crop, air_c)
        promised = promised_eps(self.crop, self.tables, growth.capped_dli(dli, enriched), *at)
        return dli, enriched, promised, *at


def season_of(spot: GrowingConditions, half: int) -> HalfMonthSun:
    """Return one half month of a place; without a window all are alike."""
    return _seasons(spot)[half]


def _seasons(spot: GrowingConditions) -> tuple[HalfMonthSun, ...]:
    """Return each half month of a place; without a window all are alike."""
    if spot.seasons:
        return spot.seasons
    same = HalfMonthSun(
        dli_mol_m2_d=spot.dli_mol_m2_d,
        sun_mol_m2_d=0.0,
        sd_ln_light=spot.sd_ln_light,
        lamp_h=spot.photoperiod_h,
        photoperiod_h=spot.photoperiod_h,
        air_c=spot.air_c,
    )
    return (same,) * HALVES


def seasonal_stages(sown: list[date], planted_d: IntArray) -> tuple[Array, IntArray, IntArray]:
    """Return the stages that sowings go through: ends in days after sowing, place and half month, (n, S).

    Parameters
    ----------
    sown
        Day of each sowing, n of them.
    planted_d
        Days after sowing on which it is moved from the nursery (place 0) to its site (place 1), shape (n,).
    """
    if not sown:
        nothing = np.zeros((0, MOST_TURNS + 1), np.int64)
        return nothing.astype(float), nothing, nothing
    first, last = min(sown), max(sown)
    days = [first + timedelta(days=day) for day in range((last - first).days + LAST_DAY + 20)]
    half_by_day = np.array([half_of(day) for day in days])
    begins = np.flatnonzero(np.diff(half_by_day, prepend=half_by_day[0]))
    offset = np.array([(day - first).days for day in sown])
    at = np.searchsorted(begins, offset, side="right")[:, None] + np.arange(MOST_TURNS - 1)
    edges = np.where(at < len(begins), begins[np.minimum(at, len(begins) - 1)] - offset[:, None], LAST_DAY)
    edges = np.sort(np.minimum(np.concatenate([edges, planted_d[:, None]], axis=1), LAST_DAY), axis=1)
    start = np.concatenate([np.zeros((len(sown), 1), np.int64), edges], axis=1)
    half = half_by_day[np.minimum(offset[:, None] + start, len(days) - 1)]
    ends = np.concatenate([edges.astype(float), np.full((len(sown), 1), np.inf)], axis=1)
    return ends, (start >= planted_d[:, None]).astype(np.int64), half


def grow_sowings(
    crop: Crop,
    tables: CropTables,
    site: GrowingConditions,
    nursery: GrowingConditions | None,
    pace: Pace,
    sown: list[date],
    ages: IntArray,
    *,
    for_itself: bool = False,
) -> tuple[GrowthTable | None, npt.NDArray[np.bool_]]:
    """Return the growth table of sowings on given days, one row each, and a mask of those that get ready.

    Parameters
    ----------
    sown, ages
        Day of each sowing, and days after it on which it is moved to its site (0 without a nursery).
    for_itself
        Whether these very sowings are wanted: then no light is too poor or too much, and the mass of every
        day is computed, not only near readiness.
    """
    nothing = np.zeros(len(sown), np.bool_)
    start = nursery or site
    emerges = days_to_emerge(crop, tables, start.air_c)
    if not np.isfinite(emerges) or not sown:
        return None, nothing
    ends, place, half = seasonal_stages(sown, ages if nursery else np.zeros(len(sown), np.int64))
    spots = (nursery, site) if nursery else (site, site)
    stages = SeasonalGrowth(crop, tables, spots, ends, emerges, pace, place, half)
    ready = stages.ready_d(0.0, 0.0, 0.0)
    good = ready + crop.window_d < LAST_DAY
    if not for_itself:
        light = stages.mean_dli_mol_m2_d(np.where(good, ready, LAST_DAY))
        good &= light >= FAR_TOO_LITTLE * crop.dli_min_mol_m2_d
        good &= light <= FAR_TOO_MUCH * crop.dli_max_mol_m2_d
    if not good.any():
        return None, nothing
    stages = replace(stages, ends_d=ends[good], place=place[good], half=half[good])
    first, last = floor(ready[good].min()) - LEEWAY_D, ceil(ready[good].max()) + crop.window_d + LEEWAY_D
    span = (0, LAST_DAY) if for_itself else (max(first, 0), min(last, LAST_DAY))
    return growth_table(stages, ages[good], nursery, span), good


def grow_mean_or_best(
    crop: Crop, tables: CropTables, site: GrowingConditions, nursery: GrowingConditions | None, pace: Pace
) -> GrowthTable | None:
    """Return the growth table in the mean conditions of the plan; if never ready, in the best season."""
    in_mean = grow(crop, tables, site, nursery, pace)
    if in_mean is not None or not site.seasons:
        return in_mean
    best = max(range(HALVES), key=lambda half: site.seasons[half].dli_mol_m2_d)
    summer = [
        with_season(spot, spot.seasons, _seasons(spot)[best]) for spot in (site, nursery) if spot is not None
    ]
    return grow(crop, tables, summer[0], summer[1] if nursery else None, pace)
