"""The extra sowings that meet each wanted week with the required chance (service level)."""

from datetime import date

from cropcal.records.base import Record


class Unsure(Record):
    """A wanted week that stays below the required chance, and why."""

    week: date
    want: int
    label: str
    chance: float
    why: str


class Service(Record):
    """What a plan adds to meet each wanted week with the chance ``asked``.

    Of the ``weeks`` that count, ``reached`` reach it, and ``before`` would without the additions:
    ``sites_more`` are filled, ``cells_more`` and ``seeds_more`` sown, in ``sowings_more`` batches, at
    ``cost_more`` (money, or kWh without a tariff). ``stopped``: the time ran out, or the user stopped it,
    before all was tried.
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
