"""One week: its jobs, overdue ones, and what to look at."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.habits import Habit
from cropcal.records.plan import Job

Seen = Literal["up", "ready", "order", "order plants", "bolting", "heat", "tip burn", "leggy"]


class Look(Record):
    """One thing to look at.

    Attributes
    ----------
    what
        Seedlings that should be up, plants that should be ready soon, seed or young plants to order, or a
        disorder to watch for.
    crop, bed, batches
        The plants concerned; leggy seedlings are of all crops in a bed.
    on, low_80, high_80
        Its day and the 80 % range, where it has one.
    found, limit
        The value in the space and the limit of the crop: hours of light for bolting [h], air for heat [C],
        daily light for tip burn and leggy seedlings [mol m-2 d-1]; for seed ``found`` is the weight to order
        [g], for young plants their number.
    source
        The source of the limit, if it is not a published one.
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
    """The Monday-to-Sunday week that contains ``on``.

    ``jobs`` are all jobs of the plan, from ``start`` to ``until``; ``done`` those noted, ``overdue`` past
    ones not noted, ``looks`` what to look at. ``habits`` are those of the
    steady rule, if the plan follows one.
    """

    place: str
    on: date
    start: date
    until: date
    jobs: tuple[Job, ...]
    done: tuple[Job, ...] = ()
    overdue: tuple[Job, ...] = ()
    looks: tuple[Look, ...] = ()
    habits: tuple[Habit, ...] = ()
