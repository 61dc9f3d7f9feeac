"""What a new plan keeps to: the plan before it, and what happened since."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.journal import Entry
from cropcal.records.plan import Batch, SiteUse


class Past(Record):
    """What is behind a new plan.

    Attributes
    ----------
    on
        The first day that is still to be planned.
    batches, sites
        Those of the plan before, as written; none if there was none.
    events
        What holds of the journal, by day.
    """

    on: date
    batches: tuple[Batch, ...] = ()
    sites: tuple[SiteUse, ...] = ()
    events: tuple[Entry, ...] = ()


class Revision(Record):
    """One thing that is otherwise than in the plan before.

    ``before`` and ``now`` are the old and the new day, None where there is none; ``sites`` how many it is
    about.
    """

    batch: str
    crop: str
    what: Literal["sown", "transplant", "cut", "new", "dropped", "lost", "given up"]
    before: date | None = None
    now: date | None = None
    sites: int = 0
    why: str = ""


class TakenDone(Record):
    """A job of the past that nobody noted, taken as done on the day that was planned."""

    on: date
    job: Literal["sow", "transplant", "cut"]
    batch: str
    crop: str


class Again(Record):
    """How a plan came from the one before."""

    on: date
    revisions: tuple[Revision, ...]
    taken_done: tuple[TakenDone, ...]
