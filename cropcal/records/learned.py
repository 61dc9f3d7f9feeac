"""What the journal taught, and two groups of its batches compared, to be shown."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.forecast import Range80
from cropcal.records.space import Assumption

LessonKind = Literal["emerged", "weighed", "cut ready", "cut early", "not ready"]


class Lesson(Record):
    """One observation of the journal against its forecast just before, in days or fresh g a plant.

    ``low_80`` to ``high_80`` is its forecast range. ``odd`` is its distance in standard deviations. One that
    is too odd is asked about, and not used unless the grower confirmed it (``sure``).
    """

    on: date
    batch: str
    crop: str
    line: int | None
    id: str
    kind: LessonKind
    expected: float
    low_80: float
    high_80: float
    seen: float
    odd: float
    sure: bool
    used: bool


class CropPace(Record):
    """One crop: its speed relative to the table's, ``sd`` in ln; days from sowing to harvest in a bed.

    ``emergence`` is the factor on the table's days to emergence; ``days_before`` are forecast without the
    journal, ``days_now`` with it. Days are None where the crop is never ready there.
    """

    slug: str
    bed: str
    speed: Range80
    sd: float
    harvests: int
    emergence: Range80
    days_before: Range80 | None
    days_now: Range80 | None


class LearnedReport(Record):
    """Everything learned from the journal.

    ``light`` is the factor on each zone's light that fits best; ``points`` names what went wrong, its likely
    cause by the numbers, and its cure.
    """

    crops: tuple[CropPace, ...]
    light: dict[str, Range80]
    lessons: tuple[Lesson, ...]
    points: tuple[str, ...] = ()
    assumptions: tuple[Assumption, ...] = ()


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
    """The whole comparison: names of the groups, ``notes`` on its limits, and ``missing`` data.

    ``other``: the slug of the second group's crop where two kinds are compared.
    """

    crop: str
    groups: tuple[str, str]
    outcomes: tuple[BatchOutcome, ...]
    differences: tuple[Difference, ...]
    dli_mol_m2_d: tuple[float, float]
    notes: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    other: str = ""

    @property
    def crops(self) -> tuple[str, ...]:
        """Return the slug of the crop, or of both kinds."""
        return (self.crop, self.other) if self.other else (self.crop,)
