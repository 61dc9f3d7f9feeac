"""What a verdict goes by: the crop, and the light, air, day and room that it has in a bed."""

from dataclasses import dataclass, replace
from math import hypot

from cropcal.planning.site.air import Air, zone_air
from cropcal.records.crop import Crop
from cropcal.records.plan import BedLight
from cropcal.records.space import Bed, Space, Zone
from cropcal.science.spread import chance_above

LONGEST_DAY_H = 20.0
"""Hours offered as a cure at the most: 18 to 20 h are the usual upper limit of supplemental light
(Runkle, Greenhouse Product News; longer days save nothing and some crops are harmed)."""


@dataclass(frozen=True)
class CropInBed:
    """Inputs of a verdict: the crop, and the bed's light, air and height; the sun's part, if any."""

    crop: Crop
    light: BedLight
    zone: Zone
    bed: Bed
    air: Air
    sun_mol_m2_d: float = 0.0
    day_seen_h: float | None = None
    sun_h: float = 0.0

    @property
    def dli_mol_m2_d(self) -> float:
        """Return the mean daily light integral of the bed, lamp and sun."""
        return self.light.dli_mol_m2_d() + self.sun_mol_m2_d

    @property
    def sd_ln(self) -> float:
        """Return the spread of ln light: the errors of lamp and sun are independent."""
        lamp_mol_m2_d = self.light.dli_mol_m2_d()
        if not self.sun_mol_m2_d:
            return self.light.sd_ln
        parts = self.light.sd_ln * lamp_mol_m2_d, self.light.sd_ln_sun * self.sun_mol_m2_d
        return hypot(*parts) / self.dli_mol_m2_d

    @property
    def chance_enough(self) -> float:
        """Return the chance that it gets the least light with which it was tested."""
        return chance_above(self.crop.dli_min_mol_m2_d, self.dli_mol_m2_d, self.sd_ln)

    @property
    def chance_not_too_much(self) -> float:
        """Return the chance that its light stays below the ceiling."""
        return 1 - chance_above(self.ceiling_mol_m2_d, self.dli_mol_m2_d, self.sd_ln)

    @property
    def day_h(self) -> float:
        """Return the length of the day: the lamp's, or with the sun's as plants see it."""
        return self.light.photoperiod_h if self.day_seen_h is None else self.day_seen_h

    @property
    def ceiling_mol_m2_d(self) -> float:
        """Return the DLI above which quality suffers: higher where a fan moves the leaves."""
        return self.crop.dli_max_mol_m2_d if self.zone.air_moving else self.crop.dli_max_still_air_mol_m2_d

    @property
    def best_mol_m2_d(self) -> float:
        """Return the DLI at which it grows best here: its target, or the ceiling where that is lower."""
        return min(self.crop.dli_target_mol_m2_d, self.ceiling_mol_m2_d)

    @property
    def clumps_m2(self) -> float:
        """Return the sites on a square metre of the bed."""
        length, width = self.bed.length_m or self.zone.length_m, self.bed.width_m or self.zone.width_m
        return self.bed.site_count / (length * width)

    @property
    def longest_h(self) -> float:
        """Return the longest day that may be offered."""
        return min(self.crop.photoperiod_max_h or LONGEST_DAY_H, LONGEST_DAY_H)


def crop_in_bed(space: Space, crop: Crop, bed: Bed, bed_light: BedLight) -> CropInBed:
    """Return the inputs of the verdict on a crop in a bed of a space."""
    zone = space.zone(bed.zone)
    return CropInBed(crop, bed_light, zone, bed, zone_air(zone, space.fixtures))


def suits_bed(crop: Crop, bed: Bed) -> bool:
    """Return whether crops of that kind grow in beds of that kind at all, and this one in this bed."""
    if bed.kind == "nursery" or (bed.crops is not None and crop.slug not in bed.crops):
        return False
    return (bed.kind == "tray") == (crop.kind in ("tray", "shoots"))


def in_half_month(whole: CropInBed, half: int) -> CropInBed:
    """Return the inputs of the verdict in one half month."""
    now = whole.light.halves[half]
    return replace(
        whole,
        light=whole.light.model_copy(update={"photoperiod_h": now.lamp_h}),
        air=replace(whole.air, lit_h=now.lamp_h),
        sun_mol_m2_d=now.sun_mol_m2_d,
        day_seen_h=now.day_seen_h,
        sun_h=now.sun_h,
    )
