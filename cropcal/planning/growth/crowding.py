"""How densely plants stand in a bed, what it costs in days, and the choices: fewer sites, lighter plants."""

from collections.abc import Sequence
from dataclasses import replace
from math import floor

import numpy as np

from cropcal.planning.growth.alike import grouped
from cropcal.planning.growth.crop_constants import eps, home_ln_speed, promised_eps, temperature_factor
from cropcal.planning.growth.crop_growth import GrowthTable, grow, plants_per_site
from cropcal.planning.growth.crop_in_bed import suits_bed
from cropcal.planning.growth.pace import UNLEARNED, Pace, Paces
from cropcal.planning.site.growing_conditions import GrowingConditions, conditions_in
from cropcal.records.crop import Crop, CropTables
from cropcal.records.fit import Crowding, FewerSites
from cropcal.records.plan import BedLight
from cropcal.records.space import Assumption, Bed, Space
from cropcal.science import growth

CROWDED = 1.3
"""Times the density of the reference harvest from which a bed counts as crowded (assumed)."""

LATER_SHARE = 0.1
"""Share of days by which a crowded crop must be later, for a choice to be worth a line (assumed)."""

STEP_G = 5.0
"""Grams to which the weight of a lighter plant is rounded down."""


def crowdings(
    space: Space,
    tables: CropTables,
    lights: Sequence[BedLight],
    crops: Sequence[Crop],
    paces: Paces | None = None,
) -> tuple[Crowding, ...]:
    """Return the density of each crop in each bed but that of shoots, and what it does there."""
    by_bed = {light.bed: light for light in lights}
    spots = {bed.name: conditions_in(bed, space, by_bed[bed.name]) for bed in space.beds}
    rows = []
    for crop in crops:
        for bed in space.beds:
            if crop.kind == "shoots" or not suits_bed(crop, bed):
                continue
            pace = (paces or {}).get((crop.slug, bed.name), UNLEARNED)
            nursery = spots.get(_nursery(crop, space) or "")
            found = _crowding(crop, tables, bed, spots[bed.name], nursery, pace)
            rows += [found] if found is not None else []
    return tuple(rows)


def _nursery(crop: Crop, space: Space) -> str | None:
    """Return the first nursery in which a crop may be raised."""
    names = (
        bed.name
        for bed in space.beds
        if bed.kind == "nursery" and crop.nursery_d and (bed.crops is None or crop.slug in bed.crops)
    )
    return next(names, None)


def _crowding(
    crop: Crop,
    tables: CropTables,
    bed: Bed,
    site: GrowingConditions,
    nursery: GrowingConditions | None,
    pace: Pace,
) -> Crowding | None:
    def days(place: GrowingConditions) -> tuple[float, GrowthTable] | None:
        grown = grow(crop, tables, place, nursery, pace)
        return None if grown is None else (float(grown.ready_d[1, 0]), grown)

    standing = plants_per_site(crop, site) / site.site_area_m2
    full, fewer, lighter = days(site), None, None
    used = floor(bed.site_count * crop.anchor_plants_m2 / standing + 1e-9)
    if standing > CROWDED * crop.anchor_plants_m2 and 1 <= used < bed.site_count:
        wide = days(replace(site, site_area_m2=site.site_area_m2 * bed.site_count / used))
        if wide is not None and (full is None or full[0] >= (1 + LATER_SHARE) * wide[0]):
            fewer = FewerSites(sites=used, of=bed.site_count, days=wide[0])
            lighter = _lighter(full, wide[0], crop)
    if full is None and fewer is None:
        return None
    warm = float(temperature_factor(crop, site.air_c))
    counted = growth.capped_dli(site.dli_mol_m2_d, site.co2_enriched)
    return Crowding(
        crop=crop.slug,
        bed=bed.name,
        plants_m2=standing / crop.plants_per_site,
        usual_plants_m2=crop.anchor_plants_m2 / crop.plants_per_site,
        g_per_plant=crop.target_g,
        days=None if full is None else full[0],
        fewer=fewer,
        lighter_g=lighter,
        held_to_record=bool(
            promised_eps(crop, tables, counted, site.photoperiod_h, warm)
            < eps(crop, tables) * np.exp(home_ln_speed(crop))
        ),
    )


def _lighter(full: tuple[float, GrowthTable] | None, on_day: float, crop: Crop) -> float | None:
    """Return the fresh mass that a crowded plant has on the day on which one with room is ready."""
    if full is None:
        return None
    mass = float(full[1].g_per_plant[1, 0, round(on_day)])
    grams = STEP_G * floor(mass / STEP_G)
    return grams if STEP_G <= grams < crop.target_g else None


def record_notes(found: Sequence[Crowding], tables: CropTables) -> tuple[Assumption, ...]:
    """Return a note for each crop whose growth is held to the most dry mass a mol that is in print."""
    return tuple(
        Assumption(
            key=f"growth of {tables.crops[row.crop].name} in {row.bed}",
            value=f"held to {growth.RECORD_G_MOL:g} g dry mass a mol of light",
            why="the best lettuce in print (Carotti et al. 2021); the book harvest promises more",
        )
        for row in found
        if row.held_to_record
    )


def crowded_warnings(found: Sequence[Crowding], tables: CropTables) -> tuple[str, ...]:
    """Return one line for each crowded crop, by bed: what it costs in days, and the choices."""
    return tuple(
        grouped(
            (tables.crops[row.crop].name, row.bed, _crowded_words(row, tables.crops[row.crop]))
            for row in found
            if row.fewer is not None
        )
    )


def _crowded_words(row: Crowding, crop: Crop) -> str:
    fewer = row.fewer
    if fewer is None:
        message = f"{row.crop} is not crowded in {row.bed}"
        raise ValueError(message)
    what = "clumps" if crop.plants_per_site > 1 else "plants"
    late = (
        f"about {row.days:.0f} days from seed to {row.g_per_plant:.0f} g a plant"
        if row.days is not None
        else f"never {row.g_per_plant:.0f} g a plant"
    )
    choices = f"use {fewer.sites} of the {fewer.of} sites, {fewer.days:.0f} days"
    if row.lighter_g is not None:
        choices += f"; or cut at {row.lighter_g:.0f} g (cut_at_g), {fewer.days:.0f} days"
    return (
        f"crowded, {row.plants_m2:.0f} {what}/m² where {row.usual_plants_m2:.0f} are usual; {late}."
        f" Choices: {choices}"
    )
