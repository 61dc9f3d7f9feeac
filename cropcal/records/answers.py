"""A newcomer's answers about the space, or the defaults taken; None is "don't know"."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.crop import Unit
from cropcal.records.values import Weekday

Mix = Literal["salad", "herbs", "microgreens"]
"""A word for many crops, of which those are chosen that the lamp and the beds suit."""


class Floor(Record):
    """The lit floor, and the share of light that its walls throw back (None: not given)."""

    length_m: float
    width_m: float
    wall_reflectance: float | None = None


class PotBoxes(Record):
    """Equal boxes of ``pots`` pots each, and open trays beside them; a size is None where none was given.

    ``trays`` is None where nothing was said of trays.
    """

    count: int
    pots: int
    length_m: float | None = None
    width_m: float | None = None
    trays: int | None = None
    tray_length_m: float | None = None
    tray_width_m: float | None = None


class LampAnswer(Record):
    """Lamps of one kind; watts and photon flux are those of one of them."""

    watts: float
    count: int = 1
    kind: str | None = None
    metered: bool | None = None
    ppf_umol_s: float | None = None


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
    """A weekly amount of any of some crops of one unit; None: as much as fits. ``in_tray``: sown all over.

    ``mix``: a wish whose crops are still to be chosen. ``in_bowls``: the amount is in bowls. ``variety``: not
    the same crop every week. ``until``: wanted up to that day only. ``why`` says in the file why these crops
    were chosen.
    """

    crops: tuple[str, ...]
    unit: Unit
    per_week: float | None = None
    in_tray: bool = False
    has_nursery: bool = False
    mix: Mix | None = None
    in_bowls: bool = False
    variety: bool = False
    until: date | None = None
    why: str = ""


class Answers(Record):
    """All answers. ``guessed`` lists, in words, what was taken where no answer was given or understood."""

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
    work_days: tuple[Weekday, ...] = ("wed", "sat")
    guessed: tuple[str, ...] = ()
