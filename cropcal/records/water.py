"""Water of each zone: litres a day, how long a tank lasts, its rhythm, and what stands after a stop."""

from datetime import date
from typing import Literal

from cropcal.records.base import Days, Record

Watered = Literal["flood", "drip", "film", "deep water", "hand"]
"""How roots get their water: pots or trays flooded and drained; drippers; a thin film that always runs; roots
that hang in the tank; a can or bottle."""

Known = Literal["file", "common practice"]
"""Where a rhythm comes from: the pump's minutes in space.toml, or what growers usually do."""


class Litres(Record):
    """Litres a day: the middle, and the range that should hold in four cases out of five."""

    low: float
    middle: float
    high: float


class FloodRhythm(Record):
    """How often and how long a zone is flooded, or its drippers run; a starting point that a look corrects.

    Attributes
    ----------
    zone
        Its name.
    minutes
        How long the pump runs each time [min].
    every_minutes
        From the start of one run to that of the next while the lamp is on, the first as it comes on [min].
    in_dark
        Runs in the dark hours of a day; None where the pump goes by ``every_minutes`` day and night.
    known
        Where it comes from.
    pot_l
        Litres of a pot that it is for, None where it comes from the file.
    pot_assumed
        Whether that volume is assumed.
    """

    zone: str
    minutes: int
    every_minutes: int
    in_dark: int | None
    known: Known
    pot_l: float | None = None
    pot_assumed: bool = False


class WaterWeek(Record):
    """What a zone uses in one week of a plan, on the mean day of it; ``plants`` stand there at most."""

    week: date
    l_per_d: Litres
    plants: int


class Tank(Record):
    """How a tank fares in the thirstiest week.

    Attributes
    ----------
    tank_l
        Its volume when full.
    lasts_low_d, lasts_high_d
        Days from full until the pump draws air, range of four in five; at most ``MOST_DAYS``.
    change_every_d
        Days between two changes of the solution then: when a tank's volume is topped up.
    away
        The longest stretch without a work day, None if there is none.
    away_too_long
        Whether the tank may run dry in it.
    """

    tank_l: float
    lasts_low_d: float
    lasts_high_d: float
    change_every_d: int
    away: Days | None = None
    away_too_long: bool = False


class PumpStop(Record):
    """Hours for which the pump of a zone may stop, for plants of one age, range of four in five (rough).

    Attributes
    ----------
    stage
        Seedlings, half-grown plants, plants about to be cut.
    age_d
        Days from sowing.
    low_h, high_h
        From the first that may wilt to when most have; at most ``MOST_HOURS``.
    """

    stage: Literal["seedlings", "half-grown", "full-grown"]
    age_d: int
    low_h: float
    high_h: float


class ZoneWater(Record):
    """The water of one zone over a plan.

    Attributes
    ----------
    zone
        Its name.
    watered
        How, None if the file does not say.
    weeks
        Each week of the plan in which something grows there.
    tank
        None if no tank is given.
    rhythm
        None where there is no rhythm, or nobody said how it is watered.
    stops
        How long its pump may stop, youngest first; empty where there is no pump or nobody said so.
    """

    zone: str
    watered: Watered | None = None
    weeks: tuple[WaterWeek, ...] = ()
    tank: Tank | None = None
    rhythm: FloodRhythm | None = None
    stops: tuple[PumpStop, ...] = ()

    def week_of(self, day: date) -> WaterWeek | None:
        """Return the week that a day lies in, None if nothing grows in it."""
        return next((row for row in self.weeks if 0 <= (day - row.week).days < 7), None)

    @property
    def thirstiest(self) -> WaterWeek | None:
        """Return the week that uses most, the first of several; None if nothing grows."""
        return max(self.weeks, key=lambda week: week.l_per_d.middle, default=None)


class Dried(Record):
    """A batch that stood while a pump was still, and may have dried.

    ``frail``: seedlings, which hardly recover. ``loss_share``: the share of its plants that is taken to be
    lost in the drawn seasons (assumed).
    """

    batch: str
    crop: str
    bed: str
    age_d: int
    low_h: float
    high_h: float
    frail: bool
    loss_share: float


class StoppedPump(Record):
    """A stop of pump or power that was noted, and the batches that may have dried in it, worst first."""

    on: date
    what: Literal["pump", "power"]
    zone: str
    hours: float
    dried: tuple[Dried, ...] = ()


MOST_DAYS = 60
"""Days of a tank beyond which nothing is said but "over": salts and algae come first (assumed)."""

LATEST_CHANGE_D = 21
"""Days after which the solution is changed however little was used (common practice)."""

MOST_HOURS = 72
"""Hours of a stop beyond which nothing is said but "over" (assumed)."""
