"""What would let a crop do well in a bed: steps that were tried by computing them, and how to try them."""

from typing import Literal

from cropcal.records.base import Record
from cropcal.records.fit import Fit

StepKind = Literal["hours", "fan", "height", "output", "walls", "bed", "flow", "air", "shade", "watts"]


class CureStep(Record):
    """One thing that is changed, from ``before`` to ``after``.

    ``subject`` is a zone; for "bed" that bed in which the crop is grown instead. ``unit``: h of lamp; m above
    the leaves (the nearest lamp); share of full ("output"), of light thrown back ("walls"), of today's sun
    ("shade"); m3/h ("flow"); C ("air": the mean of a day); W; "" for a fan and another bed.
    """

    kind: StepKind
    subject: str
    before: float = 0.0
    after: float = 0.0
    unit: Literal["h", "m", "1", "m3/h", "C", "W", ""] = ""


class Cure(Record):
    """Steps that let a crop do better in a bed; each cure was computed as its ``settings`` are.

    ``settings``: KEY=VALUE of every ``--set`` that does it. ``verdict_before`` and ``verdict_after``: of the
    crop in the bed (after "bed": in that other bed). ``kwh_per_week`` and ``cost_per_week``: power that it
    takes more, in the mean of a year, negative where it saves; no cost without a tariff. ``days_sooner``:
    how much sooner the first cut is from seed, None where that is not known. ``harms``: other wanted crops
    that then do worse in their best bed, with that verdict.
    """

    crop: str
    bed: str
    steps: tuple[CureStep, ...]
    settings: tuple[str, ...]
    verdict_before: Literal["ok", "slow", "risk", "no"]
    verdict_after: Literal["ok", "slow", "risk", "no"]
    kwh_per_week: float = 0.0
    cost_per_week: float | None = None
    days_sooner: float | None = None
    harms: tuple[Fit, ...] = ()


class TooWeak(Record):
    """A zone whose lamp is too weak for some crops at any hours up to ``longest_h`` a day.

    ``watts_more`` of lamps like those there would do for all of them, at ``hours`` a day.
    """

    zone: str
    crops: tuple[str, ...]
    longest_h: float
    hours: float
    watts_more: float


class Cures(Record):
    """Cures of all crops that do badly, at most two for a crop and bed, and lamps that are too weak."""

    cures: tuple[Cure, ...] = ()
    too_weak: tuple[TooWeak, ...] = ()

    def of(self, crop: str, bed: str) -> tuple[Cure, ...]:
        """Return the cures of a crop in a bed, the smallest step first."""
        return tuple(cure for cure in self.cures if (cure.crop, cure.bed) == (crop, bed))

    def knows(self, crop: str) -> bool:
        """Return whether any cure of a crop was found."""
        return any(cure.crop == crop for cure in self.cures)
