"""Why a plan is no better: what is full when, the gain from one more, and the steady rule beside it."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.chances import Expected, Habit
from cropcal.records.crop import Unit
from cropcal.records.plan import Steady

CourseName = Literal["plan", "steady rule"]


class Full(Record):
    """Sites or cells that are all taken on at least one day of a week: what, and the Mondays of those weeks.

    ``held_share`` is the share of all its site-days that something holds.
    """

    what: str
    weeks: tuple[date, ...]
    held_share: float


class OneMore(Record):
    """The gain from one more of something.

    ``cured_want_weeks``: by how much the least possible short want-weeks fall; ``even_shares``: how much more
    steady supply the space could give, all wants together, in weekly amounts of one want.
    """

    what: str
    cured_want_weeks: float
    even_shares: float


class Course(Record):
    """One way to run the space over the season, in the same drawn seasons as the others."""

    name: CourseName
    expected: Expected
    sowings: int


class Occupied(Record):
    """The sites that a want occupies on average: ``per_week`` / ``per_site`` x ``days`` / 7.

    ``per_site`` is the yield of a site in all its cuts, ``days`` how long it is held for that, clean days
    included.
    """

    want: int
    label: str
    per_week: float
    per_site: float
    unit: Unit
    days: float
    sites: float


class Outlook(Record):
    """All of it, as if nothing grew yet.

    ``forecast_short_want_weeks`` and ``bound_want_weeks``: what the plan misses, and every plan does, if all
    grows as forecast; ``proven``: then no plan is better. ``habits`` are those of the steady rule.
    ``nothing_grows``: why no wanted crop can grow here in this time, and what would help; empty if one can.
    """

    place: str
    start: date
    weeks: int
    currency: str | None
    want_weeks: int
    forecast_short_want_weeks: float
    bound_want_weeks: float
    proven: bool
    full: tuple[Full, ...]
    more: tuple[OneMore, ...]
    steady: tuple[Steady, ...]
    courses: tuple[Course, ...]
    habits: tuple[Habit, ...]
    first_weekday: int
    occupied: tuple[Occupied, ...] = ()
    nothing_grows: tuple[str, ...] = ()
