"""Growth of one crop in one bed: emergence, readiness, and yield per site on each day.

Turns records into the arrays of ``science.growth`` and back. Everything is relative to the sowing day; the
calendar comes later. All transplant ages of a crop are computed at once.
"""

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from cropcal.planning.growth.crop_constants import (
    days_to_emerge,
    expected_stand,
    promised_eps,
    seedling_g,
    temperature_factor,
    young_lag_d,
)
from cropcal.planning.growth.pace import UNLEARNED, Pace
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.crop import Crop, CropTables
from cropcal.science import growth, spread
from cropcal.units import Z_80

Array = npt.NDArray[np.float64]

LAST_DAY = 200
"""Days after sowing up to which a crop is followed; one that is ready later is not planned."""

SHOOTS_LN_SD_DAYS = 0.15
"""Spread of ln days of seed-fed shoots (assumed: 10 to 14 d is printed for pea shoots)."""
SHOOTS_LN_SD_YIELD = 0.30
"""Spread of ln yield of seed-fed shoots (assumed: trade figures differ by a factor of two)."""


GRAM_DIGITS = 1
"""Decimals of the grams of a site: whole grams would cost a tiny site a good part of its harvest."""

WEEKLY_D = 6
"""Days of window that a weekly visit always meets; a shorter one of a by-weight crop begins earlier."""


@dataclass(frozen=True, eq=False)
class GrowthTable:
    """One crop in one bed, days counted from sowing; A transplant ages, D days.

    ``amount`` is what a site brings if its first cut falls on that day, in the crop's unit; ``low`` and
    ``high`` are its 80 % range. ``ready`` holds low, middle and high day of readiness, (3, A). ``stand``
    is the share of seeds that make plants: the legal minimum, or less where the temperature allows less.
    ``plug_age_d``: bought plants of that age, days counted from planting.
    ``late_d``: days by which a batch that was looked at is later than its stages say.
    Where light changes with the seasons, each row is one sowing of the plan: ``sown_d`` and ``planted_d``
    are its days from the plan's start.
    """

    crop: Crop
    spot: GrowingConditions
    nursery: str | None
    ages_d: npt.NDArray[np.int64]
    emergence_d: tuple[float, float, float]
    ready_d: Array
    cut_gaps_d: Array
    amount: Array
    low: Array
    high: Array
    g_per_plant: Array
    stand: float
    plug_age_d: int | None = None
    late_d: int = 0
    stages: "Stages | None" = None
    """What it grows by, one row an age; None for shoots, whose days are fixed."""
    sown_d: npt.NDArray[np.int64] | None = None
    planted_d: npt.NDArray[np.int64] | None = None

    @property
    def early_d(self) -> int:
        """Return how many days before it is ready a cut may fall: none for heads, nor for shoots.

        Of shoots no weight is known but the last, so an early cut would be promised too much.
        """
        whole = self.crop.unit == "heads" or self.crop.kind == "shoots"
        return 0 if whole else max(WEEKLY_D - self.crop.window_d, 0)


def grow(
    crop: Crop,
    tables: CropTables,
    site: GrowingConditions,
    nursery: GrowingConditions | None,
    pace: Pace = UNLEARNED,
) -> GrowthTable | None:
    """Return the growth table of a crop in a bed, from a nursery or sown in place; None if never ready."""
    if crop.kind == "shoots":
        return _shoots(crop, tables, site)
    start = nursery or site
    emerges = days_to_emerge(crop, tables, start.air_c)
    if not np.isfinite(emerges):
        return None
    ages = np.arange(crop.nursery_d, crop.nursery_d + crop.nursery_hold_d + 1) if nursery else np.array([0])
    spots = (nursery, site) if nursery else (site,)
    ends = np.column_stack([ages, np.full(len(ages), np.inf)])[:, -len(spots) :]
    return growth_table(Stages(crop, tables, spots, ends, emerges, pace), ages, nursery)


def growth_table(
    stages: "Stages",
    ages: npt.NDArray[np.int64],
    nursery: GrowingConditions | None,
    span: tuple[int, int] = (0, LAST_DAY),
) -> GrowthTable | None:
    """Return the growth table of a crop that goes through these stages; None if it never gets ready.

    Parameters
    ----------
    stages
        Conditions of each stage, one row for each age.
    ages
        Days after sowing on which it is moved to its site, shape (A,).
    nursery
        Where it waits until then, None: nowhere.
    span
        First and last day after sowing for which mass is computed; it is 0 on all others.
    """
    crop, tables, pace, site = stages.crop, stages.tables, stages.pace, stages.spots[-1]
    emerges, start = stages.emerges_d, stages.spots[0]
    sds = stages.spreads()
    ready = np.stack(spread.range_80(stages.along_light(stages.ready_d), *sds))
    if not np.all(ready[1] + crop.window_d < LAST_DAY):
        return None
    days = np.arange(span[0], span[1] + 1, dtype=float)
    mass = np.stack(spread.range_80(stages.along_light(lambda *shift: stages.fresh_g(days, *shift)), *sds))
    mass = np.pad(mass, ((0, 0), (0, 0), (span[0], LAST_DAY - span[1])))
    early, comes_up = np.exp(pace.sd_ln_emergence * Z_80), emerges * np.exp(pace.ln_emergence)
    site_g = np.round(mass * plants_per_site(crop, site), GRAM_DIGITS)
    heads = crop.unit == "heads"
    ones = np.ones_like(site_g[1])
    return GrowthTable(
        crop=crop,
        spot=site,
        nursery=nursery.bed if nursery else None,
        ages_d=ages,
        emergence_d=(comes_up / early, comes_up, comes_up * early),
        ready_d=ready,
        cut_gaps_d=stages.cut_gaps_d(),
        amount=ones if heads else site_g[1],
        low=ones if heads else site_g[0],
        high=ones if heads else site_g[2],
        g_per_plant=mass,
        stand=expected_stand(crop, tables, start.air_c),
        stages=stages,
    )


def plants_per_site(crop: Crop, site: GrowingConditions) -> float:
    """Return how many plants stand on one site; trays are sown all over, shoots by weight of seed."""
    if crop.kind == "shoots":
        return (crop.shoots_seed_g_m2 or 0.0) * site.site_area_m2 / crop.seed_g_per_1000 * 1000
    return crop.anchor_plants_m2 * site.site_area_m2 if crop.kind == "tray" else crop.plants_per_site


def light_density(crop: Crop, place: GrowingConditions, target_g: float | None = None) -> float:
    """Return the plants on a square metre of a place; no fewer than can cover its ground when cut.

    ``target_g`` is the fresh mass at which one is cut, None: that of the reference harvest.
    """
    standing = plants_per_site(crop, place) / place.site_area_m2
    share = (target_g or crop.anchor_g_per_plant) / crop.anchor_g_per_plant
    return float(growth.closest_density(standing, crop.anchor_plants_m2, share))


@dataclass(frozen=True, eq=False)
class Stages:
    """Growing conditions in sequence (nursery, then site), for shifts of speed, light and emergence.

    ``ends_d`` holds the days after sowing on which each stage ends, one row a sowing; the last has no end.
    Shifts are numbers, or one a sowing.
    """

    crop: Crop
    tables: CropTables
    spots: tuple[GrowingConditions, ...]
    ends_d: Array
    emerges_d: float
    pace: Pace

    def _arrays(self, speed: Array, light: Array, emergence_shift: Array) -> tuple[Array, ...]:
        count, pace = len(self.ends_d), self.pace
        light = pace.ln_light + light + pace.light_with_speed * speed
        speed, emergence_shift = pace.ln_speed + speed, pace.ln_emergence + emergence_shift
        constants = [
            growth.rates(eps * np.exp(speed), self._dli(place, light), place.photoperiod_h, f_t)
            for place, (eps, f_t) in zip(self.spots, self._unshifted, strict=True)
        ]
        c, k = (np.stack([np.broadcast_to(pair[at], count) for pair in constants], axis=1) for at in (0, 1))
        density = np.tile([self.density(place) for place in self.spots], (count, 1))
        return self._starts_d(emergence_shift), np.full(count, self.start_g), self.ends_d, density, c, k

    @cached_property
    def _unshifted(self) -> list[tuple[Array, Array]]:
        """Return the promised eps and the factor of temperature of each place, which no shift changes."""
        factors = [temperature_factor(self.crop, place.air_c) for place in self.spots]
        return [
            (promised_eps(self.crop, self.tables, self._dli(place, 0.0), place.photoperiod_h, f_t), f_t)
            for place, f_t in zip(self.spots, factors, strict=True)
        ]

    def _starts_d(self, emergence_shift: Array) -> Array:
        """Return the day on which each sowing begins to grow: emergence, and the lag of young plants."""
        lag = float(young_lag_d(self.crop, self.spots[0].air_c))
        return np.full(len(self.ends_d), self.emerges_d) * np.exp(emergence_shift) + lag

    def _dli(self, place: GrowingConditions, ln_light: Array | float) -> Array:
        """Return the DLI that counts in a place whose light is ``ln_light`` (ln) above what was given."""
        return growth.capped_dli(place.dli_mol_m2_d * np.exp(ln_light), place.co2_enriched)

    def density(self, place: GrowingConditions) -> float:
        """Return the plants on a square metre of a place, as they count for light."""
        return light_density(self.crop, place, self.crop.target_g)

    @property
    def start_g(self) -> float:
        """Return the shoot dry mass of a plant as it emerges."""
        return seedling_g(self.crop)

    def _dry_target_g(self) -> Array:
        return np.full(len(self.ends_d), self.crop.target_g * self.crop.dry_matter)

    def ready_d(self, speed: npt.ArrayLike, light: npt.ArrayLike, emergence_shift: npt.ArrayLike) -> Array:
        """Return days from sowing to the harvest mass, shape (A,)."""
        arrays = self._arrays(*(np.asarray(shift, float) for shift in (speed, light, emergence_shift)))
        return growth.day_of_mass(self._dry_target_g(), *arrays)

    def fresh_g(self, days: Array, speed: npt.ArrayLike, light: npt.ArrayLike, shift: npt.ArrayLike) -> Array:
        """Return fresh g per plant on each day, shape (A, D)."""
        arrays = self._arrays(*(np.asarray(value, float) for value in (speed, light, shift)))
        return growth.mass_by_day(days, *arrays) / self.crop.dry_matter

    def spreads(self) -> tuple[float, float, float]:
        """Return sds of ln: of the speed were the light known, of the light, and of the days to emergence."""
        pace, site = self.pace, self.spots[-1]
        sd_light = site.sd_ln_light if pace.sd_ln_light is None else pace.sd_ln_light
        with_speed = pace.light_with_speed * pace.sd_ln_speed
        light = float(np.hypot(sd_light, with_speed))
        left = sd_light / light if light > 0 and with_speed else 1.0
        return pace.sd_ln_speed * left, light, pace.sd_ln_emergence

    def along_light(self, outcome: spread.Outcome) -> spread.Outcome:
        """Return an outcome for shifts of what ``spreads`` lists: with the light goes the speed.

        A harvest shows only what light and speed do together: more light than assumed means slower plants.
        But only by as much as it lets them grow faster: light above what a crop can use hides no slowness.
        """
        pace, site = self.pace, self.spots[-1]
        _, sd_light, _ = self.spreads()
        share = pace.light_with_speed * pace.sd_ln_speed**2 / sd_light**2 if pace.light_with_speed else 0.0

        def useful(light: Array) -> Array:
            return np.asarray(np.log(self._dli(site, pace.ln_light + light) / self._dli(site, pace.ln_light)))

        def shifted(speed: npt.ArrayLike, light: npt.ArrayLike, emergence_shift: npt.ArrayLike) -> Array:
            up = np.asarray(light, float)
            used = useful(up) - useful(-up)
            along = np.where(used == 0, up, 2 * up * useful(up) / np.where(used == 0, 1.0, used))
            total = np.asarray(speed, float) + share * along
            return outcome(total, up - pace.light_with_speed * total, emergence_shift)

        return shifted if share else outcome

    def fresh_g_at(self, row: int, cuts: tuple[int, ...], shifted: tuple[Array, ...]) -> Array:
        """Return fresh g per plant of one sowing on the last of some cut days, cut on those before too.

        ``shifted`` is what ``one_for_each`` returned; shape as they are, (n,).
        """
        emerged, seedling, _, *rest = shifted
        ends = np.repeat(self.ends_d[row : row + 1], len(emerged), axis=0)
        days = [np.array([day], dtype=float) for day in cuts]
        mass = growth.mass_by_day(days[0], emerged, seedling, ends, *rest)[:, 0]
        for before, day in pairwise(days):
            start = np.full(len(mass), min(before[0] + self.crop.cut_lag_d, day[0]))
            left = self.crop.cut_leaves_share * mass
            mass = growth.mass_by_day(day, start, left, ends, *rest)[:, 0]
        return mass / self.crop.dry_matter

    @property
    def rows_alike(self) -> bool:
        """Return whether sowings differ in nothing but when their stages end."""
        return True

    def one_for_each(self, row: int, speed: Array, light: Array, emergence_shift: Array) -> tuple[Array, ...]:
        """Return what ``science.growth`` needs for one sowing under many shifts, each of shape (n,)."""
        many = replace(self, ends_d=np.repeat(self.ends_d[row : row + 1], len(speed), axis=0))
        return many._arrays(speed, light, emergence_shift)

    def cut_gaps_d(self) -> Array:
        """Return days from each cut to the next, shape (A, cuts - 1)."""
        zero = np.asarray(0.0)
        arrays = self._arrays(zero, zero, zero)
        count = len(self.ends_d)
        cuts = growth.cut_days(
            growth.day_of_mass(self._dry_target_g(), *arrays),
            self._dry_target_g(),
            np.full(count, self.crop.cut_leaves_share),
            np.full(count, float(self.crop.cut_lag_d)),
            self.crop.cuts_max,
            *arrays[2:],
        )
        return np.diff(cuts, axis=1)


def _shoots(crop: Crop, tables: CropTables, site: GrowingConditions) -> GrowthTable | None:
    """Return the growth of seed-fed shoots: fixed days and g per g of seed; light hardly matters."""
    if crop.shoots_seed_g_m2 is None or crop.shoots_g_per_g_seed is None:
        message = f"{crop.slug}: shoots need shoots_seed_g_m2 and shoots_g_per_g_seed"
        raise ValueError(message)
    tray_g = crop.shoots_seed_g_m2 * site.site_area_m2 * crop.shoots_g_per_g_seed
    late = np.exp(Z_80 * SHOOTS_LN_SD_DAYS)
    more = np.exp(Z_80 * SHOOTS_LN_SD_YIELD)
    flat = np.full((1, LAST_DAY + 1), tray_g)
    emerges = days_to_emerge(crop, tables, site.air_c)
    if not emerges < crop.anchor_days:
        return None
    return GrowthTable(
        crop=crop,
        spot=site,
        nursery=None,
        ages_d=np.array([0]),
        emergence_d=(emerges / late, emerges, emerges * late),
        ready_d=np.array([[crop.anchor_days / late], [crop.anchor_days], [crop.anchor_days * late]]),
        cut_gaps_d=np.full((1, crop.cuts_max - 1), crop.anchor_days),
        amount=np.round(flat, GRAM_DIGITS),
        low=np.round(flat / more, GRAM_DIGITS),
        high=np.round(flat * more, GRAM_DIGITS),
        g_per_plant=np.stack([flat / more, flat, flat * more]) / plants_per_site(crop, site),
        stand=crop.germination_min,
    )
