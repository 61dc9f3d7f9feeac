"""What a crop finds in a bed: light, hours, air, and room for each site."""

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
    """What a crop finds in a bed: light and its spread, hours, air, added CO2, fan, room for each site.

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


def conditions_in(bed: Bed, space: Space, bed_light: BedLight) -> GrowingConditions:
    """Return what a crop finds in a bed of a space, at the mean light of its sites."""
    zone = space.zone(bed.zone)
    length, width = bed.length_m or zone.length_m, bed.width_m or zone.width_m
    plain = GrowingConditions(
        bed=bed.name,
        dli_mol_m2_d=bed_light.dli_mol_m2_d(),
        sd_ln_light=bed_light.sd_ln,
        photoperiod_h=bed_light.photoperiod_h,
        air_c=zone_air(zone, space.fixtures).mean_c,
        air_moving=zone.air_moving,
        co2_enriched=zone.co2 == "enriched",
        site_area_m2=length * width / bed.site_count,
    )
    found = seasons(space, bed_light)
    return with_season(plain, found, mean_season(found, planned_halves(space))) if found else plain


def with_season(
    place: GrowingConditions, found: tuple[HalfMonthSun, ...], now: HalfMonthSun
) -> GrowingConditions:
    """Return a place with the light and air of a season."""
    return replace(
        place,
        dli_mol_m2_d=now.dli_mol_m2_d,
        sd_ln_light=now.sd_ln_light,
        photoperiod_h=now.photoperiod_h,
        air_c=now.air_c,
        seasons=found,
    )
