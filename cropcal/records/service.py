"""What it takes to meet each wanted week with the chance that was asked for."""

from datetime import date

from cropcal.records.base import Record


class Unsure(Record):
    """A wanted week that stays below the chance asked for, and why."""

    week: date
    want: int
    label: str
    chance: float
    why: str


class Service(Record):
    """What it takes to meet each wanted week with the chance ``asked`` for, over the plan for the middle.

    ``weeks`` are those that count, ``reached`` those that reach it; ``before`` would without. ``sites_more``
    are filled, ``cells_more`` and ``seeds_more`` sown, in ``sowings_more`` batches, at ``cost_more`` (money,
    or kWh without a tariff). ``stopped``: the time was up, or it was stopped, before all was tried.
    """

    asked: float
    weeks: int
    before: int
    reached: int
    sowings_more: int
    sites_more: int
    cells_more: int
    seeds_more: int
    cost_more: float
    unsure: tuple[Unsure, ...] = ()
    stopped: bool = False
