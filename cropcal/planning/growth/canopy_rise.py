"""Light when a crop is planted and when it has grown nearer to the lamp."""

from cropcal.planning.growth.crop_in_bed import crop_in_bed, suits_bed
from cropcal.planning.site.lamp_light import CLEAR_OF_LAMP_M, lamps_over
from cropcal.records.crop import Crop, CropTables
from cropcal.records.fit import Rise
from cropcal.records.plan import BedLight
from cropcal.records.space import Space


def rises(
    space: Space, tables: CropTables, lights: tuple[BedLight, ...], crops: tuple[Crop, ...]
) -> tuple[Rise, ...]:
    """Return the rise of each crop in each bed whose lamps hang at a given distance and clear of it.

    A grown crop stands its height nearer to every lamp (careful: a seedling has some height already).
    Readings are scaled by what geometry says of both distances.
    """
    rows = []
    for bed_light in lights:
        bed = space.bed(bed_light.bed)
        lamps = lamps_over(bed, space, tables)
        if lamps is None or bed_light.lamp_to_canopy_m is None:
            continue
        planted = lamps.mean_umol_m2_s()
        for crop in crops:
            nearer = crop.height_cm / 100
            left = bed_light.lamp_to_canopy_m - nearer
            if suits_bed(crop, bed) and left >= (bed_light.lamp_clearance_m or CLEAR_OF_LAMP_M):
                ceiling = crop_in_bed(space, crop, bed, bed_light).ceiling_mol_m2_d
                grown = bed_light.ppfd_umol_m2_s * lamps.mean_umol_m2_s(nearer) / planted
                rows.append(
                    Rise(
                        crop=crop.slug,
                        bed=bed.name,
                        nearer_m=nearer,
                        left_m=left,
                        planted_umol_m2_s=bed_light.ppfd_umol_m2_s,
                        grown_umol_m2_s=grown,
                        too_bright=bed_light.dli_mol_m2_d() <= ceiling < bed_light.dli_mol_m2_d(grown),
                    )
                )
    return tuple(rows)
