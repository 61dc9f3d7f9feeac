"""Hazards and cautions as codes and numbers; ``show.hazard_words`` and ``show.care_words`` have the words.

A hazard is what is wrong in a space, a caution what to take care of although nothing is.
"""

from datetime import date
from typing import Any, Final, Literal

from cropcal.records.base import Record


class Heat(Record):
    """Air of a zone that is too hot for people, plants, lamps and plugs; ``on``: noted or read that day."""

    code: Literal["heat"] = "heat"
    zone: str
    air_c: float
    limit_c: float
    seen: Literal["computed", "file", "noted", "air.csv"]
    on: date | None = None


class TooNear(Record):
    """A lamp too near to leaves.

    Attributes
    ----------
    lamp, watts
        Its kind, and what one of them draws.
    clearance_m
        Least distance of leaves from it, ``by`` its maker or as usual for its kind.
    distance_m
        From the lamp to young plants; None where it is not given.
    crop
        Slug of the crop that comes too near only when grown, "" where even young plants are.
    left_m
        The gap between lamp and leaves, None where ``distance_m`` is.
    """

    code: Literal["clearance"] = "clearance"
    zone: str
    lamp: str
    watts: float
    clearance_m: float
    by: Literal["maker", "kind"]
    distance_m: float | None
    left_m: float | None
    crop: str = ""


class Overload(Record):
    """More current than a usual socket or timer carries for hours, or than the stated supply.

    ``part``: ``socket`` is all that is on at once, ``timer`` the lamps of one zone, ``supply`` all against
    ``supply_a``. ``limit_a`` is what that part carries; ``mains_stated``: the voltage is given in the file.
    """

    code: Literal["current"] = "current"
    zone: str
    part: Literal["socket", "timer", "supply"]
    watts: float
    mains_v: float
    mains_stated: bool
    amps: float
    limit_a: float


class Dense(Record):
    """More lamp watts over a floor than any leafy crop can use, or than the room can lose as heat."""

    code: Literal["watts per floor"] = "watts per floor"
    zone: str
    watts: float
    w_per_m2: float
    limit_w_per_m2: float


Hazard = Heat | TooNear | Overload | Dense


EatenBy = Literal["household", "guests", "school", "frail"]
"""Who eats what grows here; frail: a hospital, a home for the old, anybody who must not fall ill."""

LampDanger = Literal["hot glass", "ultraviolet", "mercury"]
"""What a kind of lamp has besides mains power and light, as ``crops/lamps.csv`` lists it."""

CautionCode = Literal[
    "mains",
    "lamps",
    "food",
    "added CO2",
    "hot glass",
    "ultraviolet",
    "mercury",
    "lamps at night",
    "weight of water",
    "solution",
    "food-grade seed",
    "raw shoots",
    "allergens",
    "served to others",
    "children",
    "mould",
]
"""The name of each caution; the first three hold everywhere."""

Authority = Literal["local codes", "licensed practice", "food authority", "maker", "waste service", "doctor"]
"""Whom to ask, and who has the last word."""


GENERAL_CAUTIONS: Final[dict[CautionCode, str]] = {
    "mains": "Mains power and water: plug into a socket with a residual-current device, lead cables in a drip"
    " loop, keep plugs and drivers above the water line, switch off before you reach in. Local electrical"
    " rules come first; fixed wiring is work for a licensed electrician.",
    "lamps": "Lamps are hot and bright: keep their clearance, never cover them or their vents, do not look"
    " into them, wear shaded glasses under red-blue lamps, and let nobody sleep in their light. In a closed"
    " box heat builds up as soon as the fan stops: leave vents open. Have a smoke alarm in the room, and stay"
    " there for the first hours of the first run, with a thermometer.",
    "food": "Food: clean hands, tools and drinking-quality water; wash what you cut; keep it cold.",
}
"""What holds in every space, in words (common practice)."""


FOOD_GRADE: Final = "untreated food-grade seed"
"""What is said beside seed of shoots and microgreens, wherever it is bought, sown or labelled."""


class Care(Record):
    """Facts about people that decide which cautions hold: who eats, and whether small children come near."""

    eaten_by: EatenBy = "household"
    children: bool = False


class Allergen(Record):
    """A food that the law has named on labels, and the words by which a crop is known to be or hold it.

    ``words`` are looked for as whole words in the name, Latin name and slug of a crop. ``sure`` is false
    where such a crop only may hold it, like a mix of leaves.
    """

    allergen: str
    words: tuple[str, ...]
    sure: bool
    source: str


class CropAllergen(Record):
    """A wanted crop that is an allergen, or (``sure`` false) may hold it."""

    crop: str
    allergen: str
    sure: bool


class Caution(Record):
    """A caution that holds in a space, with the facts by which it does.

    Attributes
    ----------
    code
        Its name.
    ask
        Who has the last word on it.
    zones, lamps, crops, chores
        The zones, kinds of lamp, slugs of crops and chores that it is about.
    allergens
        The crops that are or may hold an allergen.
    litres, kg, assumed_cm
        Water of the fullest zone, what it weighs, and the depth taken for it where no volume is given.
    hours
        The most hours of a night in which a lamp is on.
    eaten_by
        Who eats here.
    on
        The day of the note that it goes by.
    """

    code: CautionCode
    ask: tuple[Authority, ...]
    zones: tuple[str, ...] = ()
    lamps: tuple[str, ...] = ()
    crops: tuple[str, ...] = ()
    chores: tuple[str, ...] = ()
    allergens: tuple[CropAllergen, ...] = ()
    litres: float | None = None
    kg: float | None = None
    assumed_cm: float | None = None
    hours: float | None = None
    eaten_by: EatenBy | None = None
    on: date | None = None

    @property
    def is_general(self) -> bool:
        """Return whether it holds in every space."""
        return self.code in GENERAL_CAUTIONS

    def facts(self) -> dict[str, Any]:
        """Return the code, whom to ask, and what else is known, as JSON has it."""
        return self.model_dump(mode="json", exclude_defaults=True)
