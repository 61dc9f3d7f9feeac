"""What really happened: the journal, one record a line, and series that were measured."""

from datetime import date, datetime
from typing import Annotated, Final, Literal

from pydantic import AfterValidator, Field

from cropcal.letters import clean
from cropcal.records.base import Record

EventName = Literal[
    "sown",
    "emerged",
    "transplanted",
    "harvested",
    "lost",
    "bolted",
    "tip burn",
    "not ready",
    "reading",
    "air",
    "outage",
    "lamp hours",
    "bill",
    "undone",
]
Stopped = Literal["", "lamp", "pump", "fan", "power"]
TORN: Final = "#torn"
"""Mark behind a line that was torn off while it was written."""

PLANT_EVENTS: Final = (
    "sown",
    "emerged",
    "transplanted",
    "harvested",
    "lost",
    "bolted",
    "tip burn",
    "not ready",
)
AS_PLANNED: Final = "as planned"
"""The note of a job that was noted as done: its amount is the plan's, nobody counted or weighed it."""
TEACHING: Final = ("emerged", "harvested", "not ready")
"""Events from which forecasts learn."""
UNITS: Final[dict[str, tuple[str, ...]]] = {
    "sown": ("sites", "cells", "trays", "seeds"),
    "emerged": ("plants", "sites", "cells", "trays"),
    "transplanted": ("sites", "plants", "cells"),
    "harvested": ("heads", "g"),
    "lost": ("plants", "sites", "cells", "trays", "heads"),
    "bolted": ("plants", "sites", "trays", "heads"),
    "tip burn": ("plants", "sites", "trays", "heads"),
    "not ready": (),
    "reading": ("umol_m2_s", "lux"),
    "air": ("C",),
    "outage": ("h",),
    "lamp hours": ("h",),
    "bill": (),
    "undone": (),
}
"""The units an event's amount may have, the usual one first. That of a bill is a currency."""


def one_line(text: str) -> str:
    """Return a text on one line: line ends and control characters are spaces, runs of spaces are one."""
    line = " ".join(clean(text).split())
    return line.lstrip("#") if line.casefold() == TORN else line


OneLine = Annotated[str, AfterValidator(one_line)]


class Entry(Record):
    """One line of journal.csv: an event on a day, or a correction of an earlier line.

    Attributes
    ----------
    on
        The day it happened; of a bill, the last day of its month that it is for.
    event
        What happened. ``undone`` takes back the line that ``corrects`` names.
    batch, crop
        Batch id of the calendar and crop slug of an event of plants; either may be blank.
    bed, zone, sites
        Where; ``sites`` are numbers from 1, none for the whole batch or bed.
    amount, unit
        How much, in one of the units that ``UNITS`` lists for the event; of a bill, money and its currency.
    kwh
        The energy that a bill counts [kWh].
    weight_g
        What harvested heads weighed together [g].
    cut
        Number of the cut from 1; "whole" if the plant was taken; None if not noted.
    early
        It was cut before it was ready, on purpose.
    sure
        The grower confirms that it is right, however odd it looks.
    what
        What stopped in an outage.
    starts, ends
        Local time of an outage; or of the lamp on and off, every day from ``on``.
    why, note
        Free text.
    written_at
        When the line was written; None where it was typed by hand.
    corrects
        Id of the earlier line that this one replaces; blank for a first statement.
    id
        Short, unique and stable name of the line.
    line
        Its line in the file; None before it is written.
    """

    on: date
    event: EventName
    batch: OneLine = ""
    crop: OneLine = ""
    bed: OneLine = ""
    zone: OneLine = ""
    sites: tuple[Annotated[int, Field(ge=1, le=20000)], ...] = ()
    amount: Annotated[float, Field(ge=-50, le=1_000_000)] | None = None
    unit: str = ""
    weight_g: Annotated[float, Field(gt=0, le=1_000_000)] | None = None
    kwh: Annotated[float, Field(gt=0, le=1_000_000)] | None = None
    cut: Annotated[int, Field(ge=1, le=99)] | Literal["whole"] | None = None
    early: bool = False
    what: Stopped = ""
    starts: datetime | None = None
    ends: datetime | None = None
    why: OneLine = ""
    note: OneLine = ""
    sure: bool = False
    written_at: datetime | None = None
    corrects: str = ""
    id: str = ""
    line: int | None = None

    @property
    def as_planned(self) -> bool:
        """Return whether its amount is the plan's, so that forecasts learn no weight from it."""
        return self.note.casefold() == AS_PLANNED

    @property
    def weighed_g(self) -> float | None:
        """Return what was weighed, of an event in grams [g]; None where it is only what was planned."""
        return self.amount if self.unit == "g" and not self.as_planned else None


class Torn(Record):
    """Half a line, left by a crash while it was written: set aside, and kept as it is."""

    line: int
    text: str
    marked: bool


class Journal(Record):
    """The journal, with its corrections resolved.

    Attributes
    ----------
    entries
        Every line, corrections and corrected ones included, in the file's order.
    events
        The events that are valid after all corrections, by day, then by line.
    torn
        Half lines that were set aside.
    """

    entries: tuple[Entry, ...] = ()
    events: tuple[Entry, ...] = ()
    torn: tuple[Torn, ...] = ()


class AirReading(Record):
    """Air temperature at one moment of local time; ``zone`` is "" where there is but one.

    ``humidity_percent`` is the relative humidity, None where it was not read.
    """

    at: datetime
    air_c: float
    zone: str = ""
    humidity_percent: float | None = None


class MeterReading(Record):
    """A plug meter's counter at one moment of local time; ``zone`` "" is all zones."""

    at: datetime
    kwh: float
    zone: str = ""
