"""What one week holds: jobs, what nobody noted, and what to look at."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.plan import Job

Seen = Literal["up", "ready", "order", "order plants", "bolting", "heat", "tip burn", "leggy"]


class Look(Record):
    """One thing to look at.

    Attributes
    ----------
    what
        Seedlings that should be up, plants that should be ready soon, seed or young plants to order, or a
        fault to watch for.
    crop, bed, batches
        Whose it is; leggy seedlings are of all crops in a bed.
    on, low_80, high_80
        The day of it and its 80 % range, where it has one.
    found, limit
        What the space gives and what the crop bears: hours of light for bolting [h], air for heat [C], daily
        light for tip burn and leggy seedlings [mol m-2 d-1]; for seed ``found`` is what to order [g], for
        young plants how many.
    source
        Where the limit comes from, if nobody printed it.
    still_air
        No fan moves the air there.
    """

    what: Seen
    crop: str
    bed: str = ""
    batches: tuple[str, ...] = ()
    on: date | None = None
    low_80: date | None = None
    high_80: date | None = None
    found: float | None = None
    limit: float | None = None
    source: str = ""
    still_air: bool = False


class Week(Record):
    """The Monday-to-Sunday week that holds ``on``.

    ``jobs`` are all jobs of the plan, which goes from ``start`` to ``until``; ``done`` those that were noted,
    ``overdue`` those that nobody noted, and ``looks`` what to look at. ``cycle_weeks``: after so many the
    sowings come round, 0: never.
    """

    place: str
    on: date
    start: date
    until: date
    jobs: tuple[Job, ...]
    done: tuple[Job, ...] = ()
    overdue: tuple[Job, ...] = ()
    looks: tuple[Look, ...] = ()
    cycle_weeks: int = 0

    @property
    def cycle_week(self) -> int:
        """Return which week of the cycle it is, from 1; weeks begin on the weekday of the plan's start."""
        return (self.on - self.start).days // 7 % self.cycle_weeks + 1 if self.cycle_weeks else 0
