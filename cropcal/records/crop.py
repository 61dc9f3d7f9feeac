"""A crop of the crop table, whose each value is, the tables beside it, and seed of a crop that is there."""

from collections.abc import Mapping
from typing import Annotated, Final, Literal

from pydantic import Field

from cropcal.records.base import Record
from cropcal.records.hazard import Allergen
from cropcal.records.values import Day, Name

CropKind = Literal["head", "bunch", "tray", "shoots"]
Unit = Literal["heads", "g"]
BookCo2 = Literal["ambient", "enriched"]
CutAs = Literal["seedling", "grown"]
Known = Literal["printed", "derived", "kin", "practice", "memory", "assumed"]
"""How a value is known, surest first: printed for the crop itself, worked out from print, printed for a
relative or another form of the species, common practice, from memory, assumed."""
IN_PRINT: Final = ("printed", "derived")
"""How values are known that stand in print, or follow from print, for the crop itself."""
NOT_FROM_PRINT: Final = ("practice", "memory", "assumed")
"""How values are known without a published source; shown as such wherever they decide something."""
KNOWN_WORDS: Final = {
    "printed": "printed",
    "derived": "worked out from print",
    "kin": "printed for a relative",
    "practice": "common practice",
    "memory": "from memory",
    "assumed": "assumed",
    "yours": "yours",
}
"""How a value is known, in the words that a reader sees."""


def source_keys(source: str) -> tuple[str, ...]:
    """Return the keys of ``crops/sources.csv`` in a source cell, where they are joined by " + "."""
    return tuple(part for piece in source.split(" + ") if (part := piece.strip()))


class ValueSource(Record):
    """Whose one value of a crop is.

    ``known`` is how it is known; "yours" for what a user gave without saying how. ``keys`` are those of
    ``crops/sources.csv``, and may be empty where nobody printed the value.
    """

    known: Known | Literal["yours"]
    keys: tuple[str, ...] = ()
    note: str = ""

    @property
    def is_weak(self) -> bool:
        """Return whether nobody printed the value."""
        return self.known in NOT_FROM_PRINT

    @property
    def words(self) -> str:
        """Return the source as a reader sees it: "Kew SID", or "from memory" where nobody printed it."""
        return KNOWN_WORDS[self.known] if self.is_weak else " + ".join(self.keys)


class Crop(Record):
    """One crop. Fields are the columns of ``crops/columns.csv``; units stand in the names.

    ``None`` means unknown; nothing is guessed: an unknown day-length limit stays unknown. ``sources``
    says whose each value is, by column; columns that say what the crop is have none.
    """

    slug: str
    name: str
    latin: str
    kind: CropKind
    unit: Unit
    cut_as: CutAs | None = None

    dli_min_mol_m2_d: float
    dli_target_mol_m2_d: float
    dli_max_mol_m2_d: float
    dli_max_still_air_mol_m2_d: float

    photoperiod_max_h: float | None
    photoperiod_reason: str

    air_base_c: float
    air_optimum_c: float
    air_max_c: float
    air_quality_max_c: float | None

    emergence_curve: str
    young_lag_d: float | None = None

    seed_g_per_1000: float
    germination_min: float
    seeds_per_plant: int

    anchor_days: float
    anchor_g_per_plant: float
    anchor_plants_m2: float
    anchor_young_plants_m2: float | None
    anchor_young_until_d: float | None
    anchor_dli_mol_m2_d: float
    anchor_photoperiod_h: float
    anchor_air_c: float
    anchor_co2: BookCo2 | None = None
    dry_matter: float

    plants_per_site: int
    nursery_d: int
    nursery_hold_d: int
    nursery_plants_m2: float | None

    window_d: int

    cuts_max: int
    cut_leaves_share: float
    cut_lag_d: int

    keeping_d: int | None
    height_cm: float

    shoots_seed_g_m2: float | None
    shoots_g_per_g_seed: float | None

    sources: Mapping[str, ValueSource] = {}

    def __hash__(self) -> int:
        """Return a hash of slug and name: crops are keys of caches, and a mapping has no hash."""
        return hash((self.slug, self.name))

    def source_of(self, column: str) -> ValueSource:
        """Return whose a value is; assumed where nothing is said."""
        return self.sources.get(column, UNSAID)

    @property
    def is_seedling(self) -> bool:
        """Return whether it is eaten as a seedling: shoots and microgreens."""
        return self.kind == "shoots" or self.cut_as == "seedling"

    @property
    def target_g(self) -> float:
        """Return the fresh mass at which one plant is cut: that of the reference harvest."""
        return self.anchor_g_per_plant


UNSAID: Final = ValueSource(known="assumed")
"""The source of a value of which nothing is said."""


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


MOST_UMOL_J: Final = 4.5
"""Photons of 400 to 700 nm for each joule that no lamp exceeds [µmol/J].

A joule of light of 660 nm is 5.52 µmol. The best red LED packages turn 81 % of their power into light, which
is 4.5 µmol/J before any loss of driver and optics; whole fixtures reach 3.4 (white and red) to 4.1 (blue and
red) at the best. Kusuma P., Pattison P.M., Bugbee B. 2020. From physics to fixtures to food. Horticulture
Research 7:56 (abstract).
"""

GOOD_UMOL_J: Final = 3.5
"""Above this a fixture beats the best of white and red LEDs (3.4, as above) [µmol/J]."""


class Lamp(Record):
    """One kind of lamp: photons per joule, lux per photon flux, clearance of leaves from 1000 W of it.

    ``dangers`` are those that it has besides mains power and bright light, joined by " + ".
    """

    lamp: str
    efficacy_umol_j: float
    efficacy_low_umol_j: float
    efficacy_high_umol_j: float
    efficacy_source: str
    lux_per_umol: float | None
    lux_source: str
    clearance_1_kw_m: float
    clearance_source: str
    dangers: str = ""
    dangers_source: str = ""


class Source(Record):
    """Where a value comes from."""

    key: str
    citation: str
    seen: str


class CropTables(Record):
    """Everything under ``crops/``, by its key, after the user's own rows were laid over it.

    ``common_names``: slugs by another name of a crop, in lower case; of several any may be meant.
    """

    crops: dict[str, Crop]
    emergence: dict[str, EmergenceCurve]
    lamps: dict[str, Lamp]
    sources: dict[str, Source]
    common_names: Mapping[str, tuple[str, ...]] = {}
    allergens: tuple[Allergen, ...] = ()


class SeedOnHand(Record):
    """Seed of a crop that need not be bought: how many seeds, or g of it; ``year`` in which it was packed.

    ``counted`` is the day on which there was so much of it, None: the first day. Later sowings use it up.
    """

    crop: Name
    seeds: Annotated[int, Field(ge=1, le=10_000_000)] | None = None
    g: Annotated[float, Field(gt=0, le=100_000)] | None = None
    year: Annotated[int, Field(ge=1990, le=2199)] | None = None
    counted: Day | None = None
