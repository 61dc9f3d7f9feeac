"""Batches of one crop in two beds, or before and since a day, held against each other."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record

Verdict = Literal["told", "likely", "noise", "too few"]


class BatchOutcome(Record):
    """One batch: days from sowing to its first cut, g a plant then, and what was forecast of both.

    The forecast is the book's for a home, under the light, air and hours that it had: nothing learned from
    the outcome is in it. ``g`` is None if nobody weighed, forecasts where none is possible.
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

    ``unit`` "d": means, difference and range are days; "ratio": means of the logarithm, turned back, and how
    many times the second is the first. ``needed``: batches in each group that would tell a difference of this
    size in four cases of five; None: more than anybody grows, or not known.
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
    """The whole comparison; ``groups`` are named, ``notes`` say what to mind, ``missing`` what it lacks."""

    crop: str
    groups: tuple[str, str]
    outcomes: tuple[BatchOutcome, ...]
    differences: tuple[Difference, ...]
    dli_mol_m2_d: tuple[float, float]
    notes: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
