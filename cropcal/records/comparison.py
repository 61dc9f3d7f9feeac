"""Comparison of the batches of one crop in two beds, or before and since a day."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record

Verdict = Literal["told", "likely", "noise", "too few"]


class BatchOutcome(Record):
    """One batch: days from sowing to its first cut, g a plant then, and the forecast of both.

    The forecast is the uncalibrated one for a home, under the light, air and hours that the batch had: it has
    learned nothing from the outcome. ``g`` is None if it was not weighed, forecasts where none is possible.
    """

    batch: str
    group: int
    bed: str
    sown_on: date
    cut_on: date
    days: int
    days_forecast: float | None
    g: float | None
    g_forecast: float | None
    dli_mol_m2_d: float


class Difference(Record):
    """The second group against the first.

    ``unit`` "d": means, difference and range are days; "ratio": geometric means, and the second divided by
    the first. ``needed``: batches in each group that would show a difference of this size in four cases of
    five; None: more than anybody grows, or not known.
    """

    what: str
    unit: Literal["d", "g", "ratio"]
    counts: tuple[int, int]
    means: tuple[float | None, float | None]
    difference: float | None = None
    low_80: float | None = None
    high_80: float | None = None
    chance_by_noise: float | None = None
    verdict: Verdict
    needed: int | None = None


class Trial(Record):
    """The whole comparison: names of the groups, ``notes`` on its limits, and ``missing`` data."""

    crop: str
    groups: tuple[str, str]
    outcomes: tuple[BatchOutcome, ...]
    differences: tuple[Difference, ...]
    dli_mol_m2_d: tuple[float, float]
    notes: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
