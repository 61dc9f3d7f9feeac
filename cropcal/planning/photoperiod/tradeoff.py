"""Outcomes of lamp settings: days to harvest, amount a week, power per unit, crop by crop."""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from cropcal.planning.growth.growth_by_setting import (
    LightSettings,
    Yield,
    constant_setting,
    growth_by_setting,
)
from cropcal.planning.growth.pace import UNLEARNED, Paces
from cropcal.planning.photoperiod.requirements import LightRequirement, SiteClass
from cropcal.planning.photoperiod.settings import Grid
from cropcal.planning.power.bill import ZoneDay
from cropcal.planning.power.quarter_hour_prices import Array
from cropcal.planning.site.growing_conditions import GrowingConditions, conditions_in
from cropcal.records.crop import CropTables
from cropcal.records.plan import BedLight
from cropcal.records.space import Bed, Space, Zone
from cropcal.units import MOL_PER_UMOL_H


@dataclass(frozen=True, eq=False)
class ZoneSettings:
    """R lamp settings of one zone: light relative to today's, hours, mean air, and power a day, each (R,).

    ``kwh`` and ``cost`` are of the whole zone, loads included; cost is 0 without a tariff.
    """

    brightness: Array
    lit_h: Array
    air_c: Array
    kwh: Array
    cost: Array


@dataclass(frozen=True, eq=False)
class SettingOutcome:
    """Outcome of a crop over all its sites in a zone under each setting, (R,); nan where never ready."""

    ready_d: Array
    per_week: Array
    kwh_per_unit: Array
    cost_per_unit: Array


@dataclass(frozen=True, eq=False)
class ZoneModel:
    """A space whose hours are settled: light of each bed, power of each zone a day, and what was learned.

    ``loads``: the power of a zone a day without its lamps, but with their standby.
    """

    space: Space
    tables: CropTables
    lights: dict[str, BedLight]
    days: dict[str, ZoneDay]
    loads: dict[str, ZoneDay] = field(default_factory=dict)
    paces: Paces = field(default_factory=dict)

    def spot_of(self, bed: Bed) -> GrowingConditions:
        """Return the growing conditions of a bed."""
        return conditions_in(bed, self.space, self.lights[bed.name])

    def share(self, bed: Bed) -> float:
        """Return the share of its zone's power that one site of a bed takes: by area, of what beds cover."""
        area = {
            other.name: self.spot_of(other).site_area_m2
            for other in self.space.beds
            if other.zone == bed.zone
        }
        covered = sum(
            area[other.name] * other.site_count for other in self.space.beds if other.zone == bed.zone
        )
        return area[bed.name] / covered


def setting_outcome(
    need: LightRequirement, zone: Zone, rows: ZoneSettings, model: ZoneModel
) -> SettingOutcome | None:
    """Return the outcome of a crop under each setting of its zone's lamp; None for seedlings.

    One cut each: days on site are those from planting to the first cut. Amount a week by Little's law:
    sites / (days on site + days of cleaning) × amount a site.
    """
    if need.crop is None:
        return None
    cell_kwh, cell_cost = _cell_day(_nursery_of(need, model.space), zone, rows, model)
    days, sites, amount, kwh, cost = (np.zeros(len(rows.lit_h)) for _ in range(5))
    for group, growth in _growths(need, zone, rows, model):
        share = model.share(group.bed)
        turns = group.sites / (growth.on_site_d + model.space.settings.clean_days)
        sites += group.sites
        days += group.sites * growth.ready_d
        amount += turns * growth.amount
        kwh += turns * (growth.on_site_d * share * rows.kwh + growth.in_nursery_d * cell_kwh)
        cost += turns * (growth.on_site_d * share * rows.cost + growth.in_nursery_d * cell_cost)
    return SettingOutcome(days / sites, 7 * amount, kwh / amount, cost / amount)


def days_to_harvest(need: LightRequirement, zone: Zone, on: Grid, model: ZoneModel) -> Array:
    """Return the days from sowing to the first cut, mean of all sites, (outputs, timers).

    nan where a crop is never ready, and for seedlings.
    """
    if need.crop is None:
        return np.full(on.mean_air_c.shape, np.nan)
    (brightness, lit_h, air_c), kind = on.kinds_of_light
    none = np.zeros(len(lit_h))
    rows = ZoneSettings(brightness, lit_h, air_c, kwh=none, cost=none)
    days = np.zeros(len(lit_h))
    for group, growth in _growths(need, zone, rows, model):
        days += group.sites * growth.ready_d
    return np.asarray(days / need.sites.sum())[kind]


def _growths(
    need: LightRequirement, zone: Zone, rows: ZoneSettings, model: ZoneModel
) -> Iterator[tuple[SiteClass, Yield]]:
    """Yield the sites of a crop, class by class, and how it grows there under each setting."""
    if need.crop is None:
        return
    nursery_light = _nursery_setting(_nursery_of(need, model.space), zone, rows, model)
    for group in need.groups:
        light = _setting(group.ppfd_umol_m2_s, rows, need.sun_mol_m2_d)
        pace = model.paces.get((need.crop.slug, group.bed.name), UNLEARNED)
        site = model.spot_of(group.bed)
        yield group, growth_by_setting(need.crop, model.tables, site, light, nursery_light, pace)


def _nursery_of(need: LightRequirement, space: Space) -> Bed | None:
    """Return the bed in which a crop is raised; None if it is sown in place."""
    return first_nursery(space) if need.crop is not None and need.crop.nursery_d > 0 else None


def first_nursery(space: Space) -> Bed | None:
    """Return the nursery whose light counts for days to harvest: the first by name."""
    return min((bed for bed in space.beds if bed.kind == "nursery"), key=lambda bed: bed.name, default=None)


def _setting(ppfd_umol_m2_s: float, rows: ZoneSettings, sun_mol_m2_d: float = 0.0) -> LightSettings:
    dli = ppfd_umol_m2_s * rows.brightness * rows.lit_h * MOL_PER_UMOL_H + sun_mol_m2_d
    return LightSettings(dli, rows.lit_h, rows.air_c)


def _nursery_setting(
    nursery: Bed | None, zone: Zone, rows: ZoneSettings, model: ZoneModel
) -> tuple[GrowingConditions, LightSettings] | None:
    """Return conditions and light of the nursery under each setting; the same lamp if in the same zone."""
    if nursery is None:
        return None
    place = model.spot_of(nursery)
    if nursery.zone != zone.name:
        return place, constant_setting(place, len(rows.lit_h))
    return place, _setting(model.lights[nursery.name].ppfd_umol_m2_s, rows)


def _cell_day(nursery: Bed | None, zone: Zone, rows: ZoneSettings, model: ZoneModel) -> tuple[Array, Array]:
    """Return kWh and cost of one nursery cell a day."""
    none = np.zeros(len(rows.lit_h))
    if nursery is None:
        return none, none
    share = model.share(nursery)
    if nursery.zone == zone.name:
        return share * rows.kwh, share * rows.cost
    day = model.days[nursery.zone]
    return none + share * day.kwh, none + share * (day.cost or 0.0)
