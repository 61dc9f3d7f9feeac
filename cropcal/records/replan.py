"""How a plan came from the one before: what changed, and what nobody noted."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record


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


class Replan(Record):
    """How a plan came from the one before.

    ``compared`` is false where there was no earlier plan, so that only the journal was known.
    """

    on: date
    compared: bool
    revisions: tuple[Revision, ...]
    taken_done: tuple[TakenDone, ...]
