"""A plan read back from plan.json, for later commands: what a new plan takes over, what the bill needs."""

from datetime import date, datetime
from typing import Final

from cropcal.records.base import Record
from cropcal.records.chances import Choice, Habit
from cropcal.records.journal import Entry
from cropcal.records.plan import (
    Batch,
    Job,
    SiteUse,
    Supply,
)
from cropcal.records.tariff import BillRange, NotedBill
from cropcal.records.water import ZoneWater

FORMAT: Final = 1
"""The version of plan.json. An added key does not change it; what an older reader would get wrong raises it.
A plan.json without a version is of the first."""


class WrittenPlan(Record):
    """What is read back of a plan.json.

    Attributes
    ----------
    format
        The version of plan.json it was written in.
    inputs_sha256, space_sha256
        Hash of all files it was made from, and of the space and its crops alone; "" if it has none.
    batches, jobs, sites, supply
        As planned; ``sites`` with the days on which each is cut.
    habits
        What is sown week after week, if it follows the steady rule.
    steady
        Whether it follows the steady rule, or repeated its sowings in an older version.
    choices
        What each choice of how much is sown was to bring; none in older versions.
    water
        The water of each zone; none in older versions.
    start
        Its first day, None if it does not say.
    until
        Its last day, None if it does not say.
    first_day
        The first day of the season, which may be before that of the plan; None if it does not say.
    """

    format: int
    inputs_sha256: str
    space_sha256: str
    batches: tuple[Batch, ...]
    jobs: tuple[Job, ...]
    sites: tuple[SiteUse, ...]
    supply: tuple[Supply, ...]
    habits: tuple[Habit, ...] = ()
    steady: bool = False
    choices: tuple[Choice, ...] = ()
    water: tuple[ZoneWater, ...] = ()
    start: date | None = None
    until: date | None = None
    first_day: date | None = None

    @property
    def is_newer(self) -> bool:
        """Return whether a newer version wrote it, so that some of it may not be understood."""
        return self.format > FORMAT


class Past(Record):
    """The previous plan and the journal, as a new plan uses them.

    Attributes
    ----------
    on
        The first day that is still to be planned.
    batches, sites, supply
        Those of the previous plan, as written; empty without one.
    events
        The valid events of the journal, by day.
    """

    on: date
    batches: tuple[Batch, ...] = ()
    sites: tuple[SiteUse, ...] = ()
    supply: tuple[Supply, ...] = ()
    events: tuple[Entry, ...] = ()


class CalendarEvent(Record):
    """One event of calendar.ics as written: RFC 5545 3.6.1.

    ``sequence`` counts its revisions, ``stamp`` is the time of the last. ``alarmed``: it has an alarm.
    ``until`` is the last day of one that comes again and again.
    """

    uid: str
    on: date
    sequence: int
    stamp: datetime
    summary: str
    description: str
    cancelled: bool
    alarmed: bool = False
    until: date | None = None


class PlanPower(Record):
    """What a written plan has to do with the bill.

    ``dark_d``: days on which the lamp of a zone is off, since nothing grows there. ``saved_kwh`` and
    ``saved_cost``: what that saves over the days billed. ``choices``: those that were to choose from.
    """

    dark_d: dict[str, int]
    saved_kwh: float
    saved_cost: float | None
    choices: tuple[Choice, ...] = ()


class Bills(Record):
    """All that goes with the lines of a bill: its range, the same of twelve months, plan, noted bills."""

    range: BillRange | None
    year: BillRange | None = None
    plan: PlanPower | None = None
    noted: tuple[NotedBill, ...] = ()
