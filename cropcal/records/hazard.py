"""Hazards to people, plants or the house, as codes and numbers; ``show.hazard_words`` has the words."""

from datetime import date
from typing import Literal

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
