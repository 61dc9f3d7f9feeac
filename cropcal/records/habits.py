"""The steady rule: what is sown of each want, week after week."""

from datetime import date

from cropcal.records.base import Record


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
