"""How regular a plan is, and what it costs to do the same in every cycle."""

from cropcal.records.base import Record


class CropRhythm(Record):
    """How often one crop is sown, and the different numbers of sites that are sown at once."""

    crop: str
    sowings: int
    sizes: tuple[int, ...]


class Tally(Record):
    """What a plan comes to: want-weeks short and too much, its share of the power, and its sowings."""

    short_want_weeks: float
    surplus_want_weeks: float
    power_cost: float
    sowings: int


class Rhythm(Record):
    """How regular a plan is.

    ``steady``: the same is sown in every cycle of ``cycle_weeks``, counted from the plan's start; else free,
    and looked at week by week. Of ``work_days``, from the first sowing to the last, ``usual_days`` are those
    on which every crop is sown in the number that is usual for that day of the cycle.
    A steady plan is held against the best plan that need not repeat: ``this`` and ``free``.
    ``service_left``: a chance was asked for in the file, and a steady plan does not sow more for it.
    """

    steady: bool
    cycle_weeks: int
    work_days: int
    usual_days: int
    crops: tuple[CropRhythm, ...]
    this: Tally | None = None
    free: Tally | None = None
    service_left: bool = False
