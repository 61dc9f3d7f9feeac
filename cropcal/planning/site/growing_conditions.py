"""Growing conditions of a bed: light, hours, air, and area of each site."""

from dataclasses import dataclass, replace

from cropcal.planning.site.air import zone_air
from cropcal.planning.site.sunlight import (
    HalfMonthSun,
    mean_season,
    planned_halves,
    seasons,
)
from cropcal.records.plan import BedLight
from cropcal.records.space import Bed, Space


@dataclass(frozen=True)
class GrowingConditions:
    """Growing conditions of a bed: light and its spread, hours, air, added CO2, fan, area of each site.

    Where the sun comes in these are means over the plan, and ``seasons`` holds each half month of the year.
    """

    bed: str
    dli_mol_m2_d: float
    sd_ln_light: float
    photoperiod_h: float
    air_c: float
    air_moving: bool
    co2_enriched: bool
    site_area_m2: float
    seasons: tuple[HalfMonthSun, ...] = ()

    def shared_out(self, sites_each: int) -> "GrowingConditions":
        """Return the conditions of a plant that holds some sites, all but one of them left empty."""
        return replace(self, site_area_m2=self.site_area_m2 * sites_each) if sites_each > 1 else self


def conditions_in(bed: Bed, space: Space, bed_light: BedLight) -> GrowingConditions:
    """Return the growing conditions of a bed, at the mean light of its sites."""
    zone = space.zone(bed.zone)
    length, width = bed.length_m or zone.length_m, bed.width_m or zone.width_m
    without_sun = GrowingConditions(
        bed=bed.name,
        dli_mol_m2_d=bed_light.dli_mol_m2_d(),
        sd_ln_light=bed_light.sd_ln,
        photoperiod_h=bed_light.photoperiod_h,
        air_c=zone_air(zone, space.fixtures).mean_c,
        air_moving=zone.air_moving,
        co2_enriched=zone.co2 == "enriched",
        site_area_m2=length * width / bed.site_count,
    )
    half_months = seasons(space, bed_light)
    return (
        with_season(without_sun, half_months, mean_season(half_months, planned_halves(space)))
        if half_months
        else without_sun
    )


def with_season(
    place: GrowingConditions, half_months: tuple[HalfMonthSun, ...], season: HalfMonthSun
) -> GrowingConditions:
    """Return the conditions of a place with the light and air of one season."""
    return replace(
        place,
        dli_mol_m2_d=season.dli_mol_m2_d,
        sd_ln_light=season.sd_ln_light,
        photoperiod_h=season.photoperiod_h,
        air_c=season.air_c,
        seasons=half_months,
    )
