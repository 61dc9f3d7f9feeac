"""The regularity of a plan, and the cost of repeating the same sowings in every cycle."""

from cropcal.records.base import Record


class CropRhythm(Record):
    """How often one crop is sown, and the different numbers of sites that are sown at once."""

    crop: str
    sowings: int
    sizes: tuple[int, ...]


class Tally(Record):
    """Totals of a plan: want-weeks short and in surplus, its share of the power, and its sowings."""

    short_want_weeks: float
    surplus_want_weeks: float
    power_cost: float
    sowings: int


class Rhythm(Record):
    """The regularity of a plan.

    ``steady``: the same is sown in every cycle of ``cycle_weeks``, counted from the plan's start; else the
    plan is free, and looked at week by week. Of ``work_days``, from the first sowing to the last,
    ``usual_days`` are those on which every crop is sown in the number usual for that day of the cycle.
    A steady plan is compared with the best free plan: ``this`` and ``free``. ``service_left``: the file asks
    for a service level, for which a steady plan does not sow more.
    """

    steady: bool
    cycle_weeks: int
    work_days: int
    usual_days: int
    crops: tuple[CropRhythm, ...]
    this: Tally | None = None
    free: Tally | None = None
    service_left: bool = False
