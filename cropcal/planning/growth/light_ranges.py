"""The light of each bed, with its spread, against what each wanted crop asks for."""

from collections.abc import Sequence
from math import exp

from cropcal.planning.growth.cautions import wanted_crops
from cropcal.planning.growth.crop_in_bed import crop_in_bed, suits_bed
from cropcal.planning.site.sunlight import mean_season, planned_halves, seasons
from cropcal.records.crop import CropTables
from cropcal.records.forecast import Range80
from cropcal.records.plan import BedLight
from cropcal.records.scene import LightRange
from cropcal.records.space import Space
from cropcal.units import Z_80


def light_ranges(space: Space, tables: CropTables, lights: Sequence[BedLight]) -> tuple[LightRange, ...]:
    """Return each wanted crop in each bed in which it could grow, crops in the order of the file."""
    return tuple(
        _range(space, tables, crop_slug, light)
        for crop_slug in (crop.slug for crop in wanted_crops(space, tables))
        for light in lights
        if suits_bed(tables.crops[crop_slug], space.bed(light.bed))
    )


def _range(space: Space, tables: CropTables, slug: str, light: BedLight) -> LightRange:
    crop = tables.crops[slug]
    growing = crop_in_bed(space, crop, space.bed(light.bed), light)
    return LightRange(
        crop=slug,
        bed=light.bed,
        dli=_dli(space, light),
        least=crop.dli_min_mol_m2_d,
        target=growing.best_mol_m2_d,
        ceiling=growing.ceiling_mol_m2_d,
    )


def _dli(space: Space, light: BedLight) -> Range80:
    """Return the light of a day; where the sun comes in, lamp and sun, the mean over the planned days."""
    middle, sd_ln = light.dli_mol_m2_d(), light.sd_ln
    if light.halves:
        season = mean_season(seasons(space, light), planned_halves(space))
        middle, sd_ln = season.dli_mol_m2_d, season.sd_ln_light
    factor = exp(Z_80 * sd_ln)
    return Range80(low=middle / factor, middle=middle, high=middle * factor)
