"""How a plan follows from what was before: when the season began, changes, jobs taken as done."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record


class Begun(Record):
    """The day on which a space was begun after its start in the file, until which it lay idle."""

    start: date
    on: date


class Horizon(Record):
    """First day and number of weeks by the file, where ``settings`` are those of other weeks."""

    first: date
    weeks: int


class Revision(Record):
    """One difference from the previous plan.

    ``before`` and ``now`` are the old and the new day, None where there is none; ``sites`` the number of
    sites concerned.
    """

    batch: str
    crop: str
    what: Literal["sown", "transplant", "cut", "new", "dropped", "lost", "given up"]
    before: date | None = None
    now: date | None = None
    sites: int = 0
    why: str = ""


class TakenDone(Record):
    """A past job that was not noted, taken as done on its planned day."""

    on: date
    job: Literal["sow", "transplant", "cut"]
    batch: str
    crop: str


class Replan(Record):
    """How a plan follows from the previous one.

    ``compared`` is false where there was no previous plan, so that only the journal was known.
    """

    on: date
    compared: bool
    revisions: tuple[Revision, ...]
    taken_done: tuple[TakenDone, ...]
