"""What the wanted crops ask of one zone: limits of light, day length and air, and the sites they may have."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from cropcal.planning.growth.cautions import SEEDLING_DLI_MOL_M2_D, wanted_crops
from cropcal.planning.growth.crop_in_bed import suits_bed
from cropcal.planning.growth.suitability import FAR_TOO_LITTLE, FAR_TOO_MUCH, NEAR_TARGET, WATCHED_DAY_H
from cropcal.planning.site.bed_light import light_of_sites, site_groups
from cropcal.records.crop import Crop, CropTables
from cropcal.records.plan import BedLight
from cropcal.records.space import (
    Bed,
    Space,
    Want,
    Zone,
)
from cropcal.science.suiting import Limits

SEEDLINGS = "seedlings"
SEEDLINGS_WELL_MOL_M2_D = 8.0
"""Daily light from which seedlings grow stocky: 8 to 14 (Ebba J., University of New Hampshire Extension)."""


@dataclass(frozen=True, eq=False)
class SiteClass:
    """Like sites of one bed: how many, their mean light at today's output, and its spread."""

    bed: Bed
    sites: int
    ppfd_umol_m2_s: float
    sd_ln: float


@dataclass(frozen=True, eq=False)
class LightRequirement:
    """One wanted crop, or the seedlings of all, in one zone: its limits, its sites, and light of the sun."""

    slug: str
    name: str
    crop: Crop | None
    limits: Limits
    longest_why: str
    longest_source: str
    groups: tuple[SiteClass, ...]
    sun_mol_m2_d: float = 0.0

    @cached_property
    def sites(self) -> npt.NDArray[np.int64]:
        """Return the sites of each group."""
        return np.array([group.sites for group in self.groups])

    @cached_property
    def ppfd_umol_m2_s(self) -> npt.NDArray[np.float64]:
        """Return the light of each group at today's output."""
        return np.array([group.ppfd_umol_m2_s for group in self.groups])

    @property
    def mean_ppfd_umol_m2_s(self) -> float:
        """Return the mean over all its sites."""
        return float(self.ppfd_umol_m2_s @ self.sites / self.sites.sum())


def requirements(
    space: Space, tables: CropTables, lights: tuple[BedLight, ...], zone: Zone
) -> tuple[LightRequirement, ...]:
    """Return the requirements in a zone: of each wanted crop that may grow there, then of the seedlings."""
    by_bed = {light.bed: light for light in lights}
    beds = [bed for bed in space.beds if bed.zone == zone.name]
    rows = []
    for crop in wanted_crops(space, tables):
        own = [bed for bed in beds if any(_may_grow(want, crop, bed) for want in space.wants)]
        groups = tuple(group for bed in own for group in _groups(bed, by_bed[bed.name]))
        if groups:
            why, source = crop.photoperiod_reason, crop.source_of("photoperiod_reason").words
            rows.append(
                LightRequirement(crop.slug, crop.name, crop, limits_of(crop, zone), why, source, groups)
            )
    nurseries = [bed for bed in beds if bed.kind == "nursery"]
    raised = [crop for crop in wanted_crops(space, tables) if crop.nursery_d > 0]
    groups = tuple(group for bed in nurseries for group in _groups(bed, by_bed[bed.name]))
    if groups and raised:
        rows.append(_seedlings(raised, zone, groups))
    return tuple(rows)


def mean_ppfd(wanted: Sequence[LightRequirement]) -> float:
    """Return the mean light of all sites on which anything wanted may grow, each bed once; 0 if none."""
    groups = {(group.bed.name, group.ppfd_umol_m2_s): group for need in wanted for group in need.groups}
    sites = sum(group.sites for group in groups.values())
    return sum(group.sites * group.ppfd_umol_m2_s for group in groups.values()) / sites if sites else 0.0


def limits_of(crop: Crop, zone: Zone) -> Limits:
    """Return the limits of a crop in a zone: more light where a fan moves the leaves."""
    ceiling = crop.dli_max_mol_m2_d if zone.air_moving else crop.dli_max_still_air_mol_m2_d
    return Limits(
        dark_dli=FAR_TOO_LITTLE * crop.dli_min_mol_m2_d,
        least_dli=crop.dli_min_mol_m2_d,
        enough_dli=max(NEAR_TARGET * crop.dli_target_mol_m2_d, crop.dli_min_mol_m2_d),
        ceiling_dli=ceiling,
        far_dli=FAR_TOO_MUCH * crop.dli_max_mol_m2_d,
        longest_h=np.nan if crop.photoperiod_max_h is None else crop.photoperiod_max_h,
        watched_h=WATCHED_DAY_H,
        base_c=crop.air_base_c,
        max_c=crop.air_max_c,
        quality_c=np.inf if crop.air_quality_max_c is None else crop.air_quality_max_c,
    )


def _may_grow(want: Want, crop: Crop, bed: Bed) -> bool:
    return (
        crop.slug in want.crops
        and suits_bed(crop, bed)
        and (want.beds is None or bed.name in want.beds)
        and (want.zones is None or bed.zone in want.zones)
    )


def _groups(bed: Bed, light: BedLight) -> list[SiteClass]:
    return [
        SiteClass(bed, len(sites), light_of_sites(light, sites).ppfd_umol_m2_s, light.sd_ln)
        for sites in site_groups(light)
    ]


def _seedlings(raised: list[Crop], zone: Zone, groups: tuple[SiteClass, ...]) -> LightRequirement:
    """Return the joint requirement of the seedlings of several crops: the narrowest of all their limits."""
    each = [limits_of(crop, zone) for crop in raised]
    known = [limits.longest_h for limits in each if not np.isnan(limits.longest_h)]
    limits = Limits(
        dark_dli=FAR_TOO_LITTLE * SEEDLING_DLI_MOL_M2_D,
        least_dli=SEEDLING_DLI_MOL_M2_D,
        enough_dli=SEEDLINGS_WELL_MOL_M2_D,
        ceiling_dli=min(limits.ceiling_dli for limits in each),
        far_dli=min(limits.far_dli for limits in each),
        longest_h=min(known) if known else np.nan,
        watched_h=WATCHED_DAY_H,
        base_c=max(limits.base_c for limits in each),
        max_c=min(limits.max_c for limits in each),
        quality_c=min(limits.quality_c for limits in each),
    )
    why = f"of {', '.join(crop.name for crop in raised)}"
    return LightRequirement(SEEDLINGS, "Seedlings", None, limits, why, "as the crops", groups)
