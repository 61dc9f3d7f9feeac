"""How likely the wants are met, the choices of how much is sown, and the steady rule."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.space import SowChoice


class ExpectedWant(Record):
    """One want with a number: the weeks that count, and how many of them are expected to be missing.

    A week half of which is missing counts as half. ``low_80`` and ``high_80`` are those of the middle 80 % of
    the drawn seasons.
    """

    want: int
    label: str
    weeks: int
    short_weeks: float
    short_weeks_low_80: float
    short_weeks_high_80: float


class Expected(Record):
    """What is expected of a plan, from seasons drawn afresh: short and surplus want-weeks, work.

    ``surplus_want_weeks`` were cut, or went over, and were not eaten. ``cells`` are those sown, with places
    sown directly. ``minutes_a_week`` is the work of sowing, moving and cutting (minutes a plant assumed).
    """

    seasons: int
    weeks: int
    short_want_weeks: float
    short_low_80: float
    short_high_80: float
    surplus_want_weeks: float
    cells: int
    minutes_a_week: float
    wants: tuple[ExpectedWant, ...] = ()

    @property
    def misses_much(self) -> bool:
        """Return whether some want is expected to miss more than one week in twenty."""
        return any(want.short_weeks > MUCH * want.weeks for want in self.wants)


MUCH = 0.05
"""Share of its weeks that a want may be expected to miss before the plan counts as short."""


class Choice(Record):
    """One of the choices of how much is sown, from the same drawn seasons as the others.

    ``least_sure`` is the lowest chance of a wanted week, ``least_sure_week`` that week, ``least_sure_want``
    the number of its want. ``power``: that of a mean month, lamps off where nothing grows, in the plan's
    currency, or kWh where there is no tariff (None: an older plan does not say); ``power_low`` and
    ``power_high``: its range in four cases of five.
    """

    name: SowChoice
    chosen: bool
    cells: int
    surplus_want_weeks: float
    short_want_weeks: float
    short_low_80: float
    short_high_80: float
    least_sure: float | None
    least_sure_week: date | None
    least_sure_want: int | None
    power_low: float
    power_high: float
    power: float | None = None


StartName = Literal["last plan", "steady rule", "middle", "nothing"]
"""Where a search begins; "middle": a plan that would do in the middle of all seasons."""


class SowMore(Record):
    """What to sow besides for a week that is not sure, and its chance without and with it.

    ``week`` is its Monday. The chances come from the same seasons, drawn afresh.
    """

    want: int
    label: str
    week: date
    crop: str
    on: date
    cells: int
    chance_before: float
    chance_after: float


class Searched(Record):
    """How the sowings were searched for, and how good they are.

    ``trials`` changes of the sowings were tried in drawn seasons. ``score`` is what is expected to be missing
    and too much, with the prices of the choice, in want-weeks, in the seasons of the search; lower is better.
    ``score_before`` is that of the ``start``, ``gained_last`` what the last ``trials_last`` trials took off.
    ``rule``: what the tuned steady rule is expected to bring, from the same fresh seasons as the plan.
    """

    start: StartName
    trials: int
    seconds: float
    score: float
    score_before: float
    trials_last: int
    gained_last: float
    stopped: bool = False
    rule: Expected | None = None


class Habit(Record):
    """How one want is sown by the steady rule.

    ``number`` cells (sites, where it is sown in place) on the first work day of every ``every_weeks`` weeks,
    and ``more`` beside in each of the first ``more_weeks``; a plant is cut ``cuts`` times. ``on``: the days
    of sowing for a want of listed days, instead.
    """

    want: int
    label: str
    crop: str
    number: int
    every_weeks: int
    more: int
    more_weeks: int
    cuts: int
    in_place: bool
    on: tuple[date, ...] = ()
