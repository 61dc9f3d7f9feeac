"""A row of the crop table, and the tables beside it."""

from typing import Literal

from cropcal.records.base import Record

CropKind = Literal["head", "bunch", "tray", "shoots"]
Unit = Literal["heads", "g"]
NEEDS_NO_PRINT = ("from memory", "assumed", "common practice")
"""Source keys of values without a published source; shown as such wherever they decide something."""


def source_keys(source: str) -> tuple[str, ...]:
    """Return the keys of ``crops/sources.csv`` in a source cell, where they are joined by " + "."""
    return tuple(part for piece in source.split(" + ") if (part := piece.strip()))


def is_printed(source: str) -> bool:
    """Return whether every part of a source is published."""
    return not any(key in NEEDS_NO_PRINT for key in source_keys(source))


class Crop(Record):
    """One crop. Fields are the columns of ``crops/crops.csv``; units stand in the names.

    ``None`` means unknown; nothing is guessed: an unknown day-length limit stays unknown.
    """

    slug: str
    name: str
    latin: str
    kind: CropKind
    unit: Unit

    dli_min_mol_m2_d: float
    dli_target_mol_m2_d: float
    dli_max_mol_m2_d: float
    dli_max_still_air_mol_m2_d: float
    light_source: str

    photoperiod_max_h: float | None
    photoperiod_reason: str
    photoperiod_source: str

    air_base_c: float
    air_optimum_c: float
    air_max_c: float
    air_quality_max_c: float | None
    temperature_source: str

    emergence_curve: str
    emergence_source: str

    seed_g_per_1000: float
    seed_source: str
    germination_min: float
    germination_source: str
    seeds_per_plant: int

    anchor_days: float
    anchor_g_per_plant: float
    anchor_plants_m2: float
    anchor_young_plants_m2: float | None
    anchor_young_until_d: float | None
    anchor_dli_mol_m2_d: float
    anchor_photoperiod_h: float
    anchor_air_c: float
    anchor_source: str
    anchor_note: str
    dry_matter: float
    dry_matter_source: str

    plants_per_site: int
    nursery_d: int
    nursery_hold_d: int
    nursery_plants_m2: float | None
    spacing_source: str

    window_d: int
    window_source: str

    cuts_max: int
    cut_leaves_share: float
    cut_lag_d: int
    cuts_source: str

    keeping_d: int | None
    keeping_source: str
    height_cm: float
    height_source: str

    shoots_seed_g_m2: float | None
    shoots_g_per_g_seed: float | None
    shoots_source: str

    @property
    def target_g(self) -> float:
        """Return the fresh mass at which one plant is cut: that of the reference harvest."""
        return self.anchor_g_per_plant

    @property
    def sources(self) -> dict[str, str]:
        """Return the source key of each value group."""
        suffix = "_source"
        return {
            field.removesuffix(suffix): getattr(self, field)
            for field in type(self).model_fields
            if field.endswith(suffix) and getattr(self, field)
        }


class CropCutAt(Crop):
    """A crop that a want has cut at a weight of its own; the reference harvest stays what it was."""

    cut_at_g: float

    @property
    def target_g(self) -> float:
        """Return the fresh mass at which one plant is cut."""
        return self.cut_at_g


def cut_at(crop: Crop, fresh_g: float | None) -> Crop:
    """Return the crop as it is grown for a cut at that fresh mass of a plant; None: as in the table."""
    if fresh_g is None or fresh_g == crop.anchor_g_per_plant:
        return crop
    return CropCutAt.model_construct(**dict(crop), cut_at_g=fresh_g)


def own_cut_g(crop: Crop) -> float | None:
    """Return the fresh mass at which a want has the crop cut, None: as in the table."""
    return crop.cut_at_g if isinstance(crop, CropCutAt) else None


class EmergenceCurve(Record):
    """Days from sowing to emergence at constant temperatures, as a table prints them.

    ``days`` is None where none came up. ``stand`` is the share of normal seedlings (0 to 1), None
    where not printed. ``air_c`` rises strictly. All three have one entry a temperature.
    """

    curve: str
    air_c: tuple[float, ...]
    days: tuple[float | None, ...]
    stand: tuple[float | None, ...]
    source: str


class Lamp(Record):
    """One kind of lamp: photons per joule, lux per photon flux, clearance of leaves from 1000 W of it."""

    lamp: str
    efficacy_umol_j: float
    efficacy_low_umol_j: float
    efficacy_high_umol_j: float
    efficacy_source: str
    lux_per_umol: float | None
    lux_source: str
    clearance_1_kw_m: float
    clearance_source: str


class Source(Record):
    """Where a value comes from."""

    key: str
    citation: str
    seen: str


class CropTables(Record):
    """Everything under ``crops/``, by its key, after the user's own rows were laid over it."""

    crops: dict[str, Crop]
    emergence: dict[str, EmergenceCurve]
    lamps: dict[str, Lamp]
    sources: dict[str, Source]
