"""Measured light, air and energy of a space, as far as planning uses them."""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from cropcal.records.base import Record
from cropcal.records.values import Day, Name, Rows


class Reading(Record):
    """Light read over one bed, as PPFD or as lux: rows from the front, columns from the left.

    ``on``: the day of it; without one, every reading in the journal is newer.
    """

    bed: Name
    umol_m2_s: Rows[Annotated[float, Field(ge=0, le=3000)]] | None = None
    lux: Rows[Annotated[float, Field(ge=0, le=200_000)]] | None = None
    read_with: Literal["meter", "phone"] = "phone"
    on: Day | None = None


class NotedReading(Reading):
    """A reading that the journal holds; ``in_file``: it counts in place of one of the file."""

    in_file: bool = False


class CopiedReading(Reading):
    """The reading of one bed taken for another, of which it is no news about the lamp."""


class MeasuredHumidity(Record):
    """How damp the air of a zone was over the last weeks, by a thermometer that reads humidity too.

    Attributes
    ----------
    days
        Days with readings of humidity.
    lamp_on_percent, lamp_off_percent
        Mean relative humidity while the lamp is on and off [%].
    lamp_on_vpd_kpa, lamp_off_vpd_kpa
        Mean vapour pressure deficit then [kPa].
    dew_point_c
        Mean dew point [C].
    damp_h, damp_on
        The longest time in a row at which mould may start [h], and the day on which it ended.
    dew_h, dew_on
        The longest time in a row at which dew wets leaves that are somewhat colder than the air [h], and its
        day.
    """

    days: int
    lamp_on_percent: float
    lamp_off_percent: float
    lamp_on_vpd_kpa: float
    lamp_off_vpd_kpa: float
    dew_point_c: float
    damp_h: float
    damp_on: date | None
    dew_h: float
    dew_on: date | None


class MeasuredAir(Record):
    """The air of a zone by a thermometer.

    Attributes
    ----------
    zone
        Its name.
    lamp_on_c, lamp_off_c
        Means over ``first`` to ``last`` while the lamp is on and off [C].
    first, last
        The period of these means; ``days`` of its days have readings.
    instead
        The value it replaces, and its origin: "21 C assumed".
    used
        Whether the plan uses it; air of another season is not used.
    highest_c, highest_on
        The highest reading over these days [C], and its day.
    by_day
        The mean of each day that has readings, however old: history.
    humidity
        How damp it was, None where humidity was not read, or on too few days.
    """

    zone: str
    lamp_on_c: float
    lamp_off_c: float
    first: date
    last: date
    days: int
    instead: str
    used: bool
    highest_c: float
    highest_on: date
    by_day: dict[date, float]
    humidity: MeasuredHumidity | None = None


class Metered(Record):
    """A plug meter against what the file's watts and hours come to over the same days.

    Attributes
    ----------
    zone
        Which zone hangs on the meter, "" for everything.
    first, last
        The whole days compared, both counted.
    kwh, computed_kwh
        By the meter, and by the file.
    factor
        Power metered / power on the label of lamps known by label; None if the meter cannot show it.
    causes
        Possible causes of the difference.
    """

    zone: str
    first: date
    last: date
    kwh: float
    computed_kwh: float
    factor: float | None
    causes: tuple[str, ...]

    @property
    def days(self) -> int:
        """Return how many days were compared."""
        return (self.last - self.first).days + 1

    @property
    def ratio(self) -> float:
        """Return metered against computed energy."""
        return self.kwh / self.computed_kwh if self.computed_kwh > 0 else float("inf")
