"""The light of each bed, with its spread, against what each wanted crop asks for."""

from collections.abc import Sequence

from cropcal.planning.fits import growing_in, suits_bed
from cropcal.planning.notes import wanted_crops
from cropcal.records.crop import CropTables
from cropcal.records.plan import BedLight, Range80
from cropcal.records.scene import LightRange
from cropcal.records.space import Space


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
    low, high = light.range_80_umol_m2_s
    return LightRange(
        crop=slug,
        bed=light.bed,
        dli=Range80(low=light.dli_mol_m2_d(low), middle=light.dli_mol_m2_d(), high=light.dli_mol_m2_d(high)),
        least=crop.dli_min_mol_m2_d,
        target=crop.dli_target_mol_m2_d,
        ceiling=growing_in(space, crop, space.bed(light.bed), light).ceiling_mol_m2_d,
    )
