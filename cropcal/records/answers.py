"""A newcomer's answers about the space, or the defaults taken; None is "don't know"."""

from datetime import date

from cropcal.records.base import Record
from cropcal.records.crop import Unit


class Floor(Record):
    """The lit floor, and the share of light that its walls throw back (None: not given)."""

    length_m: float
    width_m: float
    wall_reflectance: float | None = None


class PotBoxes(Record):
    """Equal boxes of ``pots`` pots each; their size is None where none was given."""

    count: int
    pots: int
    length_m: float | None = None
    width_m: float | None = None


class LampAnswer(Record):
    """Lamps of one kind; watts are those of one of them."""

    watts: float
    count: int = 1
    kind: str | None = None
    metered: bool | None = None


class LampOnHours(Record):
    """When the lamp is on now, and when it should be off, as pairs of "HH:MM"."""

    lit: tuple[tuple[str, str], ...] = ()
    photoperiod_h: float | None = None
    quiet: tuple[tuple[str, str], ...] = ()


class Price(Record):
    """Price of a kWh."""

    per_kwh: float
    currency: str | None = None


class Wish(Record):
    """A weekly amount of any of some crops of one unit; None: as much as fits. ``in_tray``: sown all over."""

    crops: tuple[str, ...]
    unit: Unit
    per_week: float | None = None
    in_tray: bool = False
    has_nursery: bool = False


class Answers(Record):
    """All answers. ``guessed`` lists, in words, the defaults taken for "don't know"."""

    name: str
    start: date
    floor: Floor
    boxes: PotBoxes
    lamp: LampAnswer
    gap_m: float | None
    hours: LampOnHours
    air_c: tuple[float, float] | None
    price: Price | None
    wishes: tuple[Wish, ...]
    guessed: tuple[str, ...] = ()
