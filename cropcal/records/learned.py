"""What was learned from the journal, to be shown."""

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
