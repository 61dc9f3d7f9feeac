"""Why a plan is as good as it is: what is full when, what one more would bring, and other ways to run it."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.crop import Unit
from cropcal.records.plan import Steady

CourseName = Literal["plan", "repeating", "plain rule"]


class Full(Record):
    """Sites or cells that are all taken on at least one day of a week: what, and the Mondays of those weeks.

    ``held_share`` is the share of all its site-days that something holds.
    """

    what: str
    weeks: tuple[date, ...]
    held_share: float


class OneMore(Record):
    """What one more of something would bring.

    ``cured_want_weeks``: how many fewer short want-weeks no plan can avoid; ``even_shares``: how much more
    the space could bring week after week, all wants together, in what is wanted of one want in a week.
    """

    what: str
    cured_want_weeks: float
    even_shares: float


class Course(Record):
    """One way to run the space over the season.

    ``same_share`` is the share of sowings that are of the crop's most usual number of sites.
    """

    name: CourseName
    how: tuple[str, ...]
    short_want_weeks: float
    surplus_want_weeks: float
    power_cost: float
    sowings: int
    same_share: float


class Occupied(Record):
    """The sites that a want takes up all the time: ``per_week`` / ``per_site`` x ``days`` / 7.

    ``per_site`` is what a site brings in all its cuts, ``days`` how long it is held for that, clean days
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
    """All of it. ``bound_want_weeks``: no plan is short of less; ``proven``: the plan is as good as any.

    ``nothing_grows``: why no wanted crop can be had here in this time, and what would help; empty if one can.
    """

    place: str
    start: date
    weeks: int
    currency: str | None
    want_weeks: int
    bound_want_weeks: float
    proven: bool
    full: tuple[Full, ...]
    more: tuple[OneMore, ...]
    steady: tuple[Steady, ...]
    courses: tuple[Course, ...]
    occupied: tuple[Occupied, ...] = ()
    nothing_grows: tuple[str, ...] = ()
