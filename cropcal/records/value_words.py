"""The values of a crop as a reader sees them: their group, a short name, and their unit."""

from typing import Final, NamedTuple

from cropcal.records.crop import Crop


class ValueWords(NamedTuple):
    """What a value of a crop is called: its group, a short name, its unit ("" for texts and counts)."""

    group: str
    name: str
    unit: str = ""


VALUE_WORDS: Final = {
    "dli_min_mol_m2_d": ValueWords("light", "least light", "mol"),
    "dli_target_mol_m2_d": ValueWords("light", "good light", "mol"),
    "dli_max_mol_m2_d": ValueWords("light", "most light", "mol"),
    "dli_max_still_air_mol_m2_d": ValueWords("light", "most light in still air", "mol"),
    "photoperiod_max_h": ValueWords("day length", "longest day", "h"),
    "photoperiod_reason": ValueWords("day length", "what limits its day"),
    "air_base_c": ValueWords("temperature", "coldest air it grows in", "°C"),
    "air_optimum_c": ValueWords("temperature", "best air", "°C"),
    "air_max_c": ValueWords("temperature", "warmest air it grows in", "°C"),
    "air_quality_max_c": ValueWords("temperature", "warmest air for quality", "°C"),
    "emergence_curve": ValueWords("emergence", "comes up like"),
    "young_lag_d": ValueWords("emergence", "days before it starts growing", "d"),
    "seed_g_per_1000": ValueWords("seed", "1000 seeds", "g"),
    "germination_min": ValueWords("germination", "share that comes up"),
    "seeds_per_plant": ValueWords("spacing", "seeds a plant"),
    "anchor_days": ValueWords("reference harvest", "days to harvest", "d"),
    "anchor_g_per_plant": ValueWords("reference harvest", "mass of a plant", "g"),
    "anchor_plants_m2": ValueWords("reference harvest", "plants", "per m²"),
    "anchor_young_plants_m2": ValueWords("reference harvest", "young plants", "per m²"),
    "anchor_young_until_d": ValueWords("reference harvest", "spaced out on day", ""),
    "anchor_dli_mol_m2_d": ValueWords("reference harvest", "its light", "mol"),
    "anchor_photoperiod_h": ValueWords("reference harvest", "its hours of light", "h"),
    "anchor_air_c": ValueWords("reference harvest", "its air", "°C"),
    "anchor_co2": ValueWords("reference harvest", "its CO2"),
    "dry_matter": ValueWords("dry matter", "dry share"),
    "plants_per_site": ValueWords("spacing", "plants a site"),
    "nursery_d": ValueWords("spacing", "days in the nursery", "d"),
    "nursery_hold_d": ValueWords("spacing", "may wait there", "d"),
    "nursery_plants_m2": ValueWords("spacing", "plants in the nursery", "per m²"),
    "window_d": ValueWords("window", "stays good", "d"),
    "cuts_max": ValueWords("cuts", "cuts"),
    "cut_leaves_share": ValueWords("cuts", "share left by a cut"),
    "cut_lag_d": ValueWords("cuts", "rest after a cut", "d"),
    "keeping_d": ValueWords("keeping", "keeps", "d"),
    "height_cm": ValueWords("height", "height", "cm"),
    "shoots_seed_g_m2": ValueWords("shoots", "seed", "g per m²"),
    "shoots_g_per_g_seed": ValueWords("shoots", "mass for 1 g of seed", "g"),
}
"""Words for each value of a crop that has a source, in the order of ``crops/columns.csv``."""


def bare(crop: Crop, column: str) -> str:
    """Return a value of a crop without its unit."""
    value = getattr(crop, column)
    return value if isinstance(value, str) else f"{value:.10g}"


def amount(crop: Crop, column: str) -> str:
    """Return a value of a crop with its unit in short: "14 mol"; a text as it is."""
    return f"{bare(crop, column)} {VALUE_WORDS[column].unit}".rstrip()
