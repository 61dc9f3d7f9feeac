"""Why a plan is no better: what is full when, what would help, and the steady rule beside it."""

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


ChangeKind = Literal["site", "cells", "work day", "lamp hour", "watts", "fan", "quicker crop", "young plants"]


class OneMore(Record):
    """What one more of something would do, in the same drawn seasons as the plan without it.

    ``subject``: the bed, zone or weekday, or the want's crops. ``before`` and ``after``: of what is changed,
    sites, cells, work days a week, hours, watts, or a crop's days from sowing until it is ready. ``crop``:
    that which is grown instead. ``umol_before`` and ``umol_after``: mean light over the zone's beds.

    ``gain_want_weeks`` fewer short want-weeks are expected, give or take ``gain_se`` (a standard error, of
    the differences season by season). ``cost_a_month`` more for power, None without a tariff;
    ``kwh_a_month``; ``young_plants`` to buy in all. ``worse_for`` and ``better_for``: crops of the plan that
    the change suits less, or better, than before, by their verdict. ``anew``: with sowings planned anew for
    it, not the same; ``cut_short``: that search ran out of time.
    """

    kind: ChangeKind
    subject: str
    before: float
    after: float
    gain_want_weeks: float
    gain_se: float
    cost_a_month: float | None
    kwh_a_month: float
    crop: str | None = None
    young_plants: int = 0
    umol_before: float | None = None
    umol_after: float | None = None
    worse_for: tuple[str, ...] = ()
    better_for: tuple[str, ...] = ()
    anew: bool = False
    cut_short: bool = False

    @property
    def helps(self) -> bool:
        """Return whether the gain stands out from the luck of the draw."""
        return self.gain_want_weeks > self.least

    @property
    def is_nothing(self) -> bool:
        """Return whether no drawn season is any other for it."""
        return not self.gain_want_weeks and not self.gain_se

    @property
    def harms(self) -> bool:
        """Return whether more is missed than the luck of the draw explains."""
        return self.gain_want_weeks < -self.least

    @property
    def least(self) -> float:
        """Return the least difference in want-weeks that counts."""
        return max(SURE_SE * self.gain_se, LEAST_ANEW if self.anew else LEAST_GAIN)


SURE_SE = 2.0
"""Standard errors beyond which a difference counts."""
LEAST_GAIN = 0.05
"""Want-weeks below which a difference is hardly anything, however sure."""
LEAST_ANEW = 0.3
"""The same where sowings are searched for anew: two searches may end so far apart (assumed)."""


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
    """All of it, over the whole season as if nothing grew yet.

    ``written``: the plan is the one that was written; else it was made for this. ``cut_short``: its search
    ran out of time, so that a better one may exist. ``more``: what would help, best first; ``seasons``: drawn
    for that. ``not_tried``: changes that were left out, for it was stopped. ``habits`` are those of the
    steady rule. ``nothing_grows``: why no wanted crop can grow here in this time, and what would help; empty
    if one can.
    """

    place: str
    start: date
    weeks: int
    currency: str | None
    want_weeks: int
    first_weekday: int
    written: bool = False
    cut_short: bool = False
    full: tuple[Full, ...] = ()
    more: tuple[OneMore, ...] = ()
    not_tried: int = 0
    seasons: int = 0
    steady: tuple[Steady, ...] = ()
    courses: tuple[Course, ...] = ()
    habits: tuple[Habit, ...] = ()
    occupied: tuple[Occupied, ...] = ()
    nothing_grows: tuple[str, ...] = ()
