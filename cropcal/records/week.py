"""One week: its jobs, overdue ones, what to look at, and whether the plan is about to end."""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.chances import Habit
from cropcal.records.plan import NOT_WANTED, Job, Supply
from cropcal.records.water import StoppedPump, ZoneWater

Seen = Literal["up", "ready", "order", "order plants", "bolting", "heat", "tip burn", "leggy", "humidity"]


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
    says
        What was seen, in words, where no number of a crop is its limit.
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
    says: str = ""


class Week(Record):
    """The Monday-to-Sunday week that contains ``on``.

    ``jobs`` are all jobs of the plan, from ``start`` to ``until``; ``done`` those noted, ``overdue`` past
    ones not noted, ``looks`` what to look at. ``habits`` are those of the
    steady rule, if the plan follows one.
    ``water`` is that of the plan, ``stopped_pumps`` the last stops, with what may have dried in them.
    ``last_sowing`` is the day of the plan's last, if that is so near that it is time to plan again.
    ``bed_of``: the bed that each batch is for, by its id; while it is sown its job names the nursery.
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
    last_sowing: date | None = None
    bed_of: Mapping[str, str] = {}
    water: tuple[ZoneWater, ...] = ()
    stopped_pumps: tuple[StoppedPump, ...] = ()


DRY_WEEKS = 4
"""Weeks before a plan's end from which on its reader is told to plan again: what is sown then is eaten after
them (assumed)."""


class LastSowing(Record):
    """The day of a plan's last sowing, and the day from which on its reader is told."""

    on: date
    tell_from: date


def last_sowing(jobs: Iterable[Job], supply: Iterable[Supply], until: date) -> LastSowing | None:
    """Return the last sowing of a plan, None if it has none or nothing is wanted beyond it.

    Parameters
    ----------
    jobs, supply
        All of the plan's.
    until
        Its last day.
    """
    days = [job.on for job in jobs if job.job in ("sow", "plant")]
    rows = list(supply)
    last_week = max((row.week for row in rows), default=None)
    if not days or all(row.why == NOT_WANTED for row in rows if row.week == last_week):
        return None
    return LastSowing(on=max(days), tell_from=until - timedelta(weeks=DRY_WEEKS))
