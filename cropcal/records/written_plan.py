"""A plan as it was written: what later commands go by."""

from datetime import date, datetime
from typing import Final

from cropcal.records.base import Record
from cropcal.records.plan import (
    Batch,
    Job,
    SiteUse,
    Supply,
)

FORMAT: Final = 1
"""The version of plan.json. Keys that are added leave it as it is; what an older reader would get wrong
raises it. A plan.json without one is of the first."""


class WrittenPlan(Record):
    """What is read back of a plan.json.

    Attributes
    ----------
    format
        The version of the form it was written in.
    inputs_sha256, space_sha256
        Hash of all files it was made of, and of the space and its crops alone; "" if it does not say.
    batches, jobs, sites, supply
        As planned; ``sites`` with the days on which each is cut.
    cycle_weeks
        After how many weeks a steady plan repeats itself; 0 if it is free.
    """

    format: int
    inputs_sha256: str
    space_sha256: str
    batches: tuple[Batch, ...]
    jobs: tuple[Job, ...]
    sites: tuple[SiteUse, ...]
    supply: tuple[Supply, ...]
    cycle_weeks: int

    @property
    def is_newer(self) -> bool:
        """Return whether a newer version wrote it, so that some of it may not be understood."""
        return self.format > FORMAT


class CalendarEvent(Record):
    """One event of calendar.ics as written: RFC 5545 3.6.1.

    ``sequence`` counts how often it was told anew, ``stamp`` when it was last. ``alarmed``: it rings.
    """

    uid: str
    on: date
    sequence: int
    stamp: datetime
    summary: str
    description: str
    cancelled: bool
    alarmed: bool = False
