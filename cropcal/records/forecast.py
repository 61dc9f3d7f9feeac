"""The forecast of one sowing, with its ranges."""

from datetime import date

from cropcal.records.base import Record
from cropcal.records.space import Assumption


class Range80(Record):
    """Middle and 80 % range of a number."""

    low: float
    middle: float
    high: float


class Days80(Record):
    """Middle and 80 % range of a date."""

    low: date
    middle: date
    high: date


class CutForecast(Record):
    """One cut of a batch: when it is ready and how much a plant gives."""

    cut: int
    ready: Days80
    g_per_plant: Range80


class Forecast(Record):
    """The forecast of one sowing of one crop in one bed."""

    crop: str
    bed: str
    nursery: str | None
    sown: date
    emergence: Days80
    transplant: date | None
    ready: Days80
    ready_until: date
    g_per_plant: Range80
    g_per_site: Range80
    cuts: tuple[CutForecast, ...]
    assumptions: tuple[Assumption, ...]
    warnings: tuple[str, ...]
