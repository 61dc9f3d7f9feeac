"""What the journal taught, to be shown."""

from datetime import date
from typing import Literal

from cropcal.records.base import Record
from cropcal.records.plan import Range80
from cropcal.records.space import Assumption

LessonKind = Literal["emerged", "weighed", "cut ready", "cut early", "not ready"]


class Lesson(Record):
    """One line of the journal against what was expected just before it, in days or fresh g a plant.

    ``low_80`` to ``high_80`` is where it should have lain. ``odd`` counts standard deviations. One that is
    too odd to be believed is asked about, and not used unless somebody said that it is right (``sure``).
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
    """One crop: its speed as a share of the book's, ``sd`` in ln; days from sowing before and now in a bed.

    ``emergence`` is the factor on the book's days to emergence; ``days_before`` are forecast without the
    journal. Days are None where the crop never gets ready there.
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
    """Everything the journal taught.

    ``light`` is the factor on each zone's light that fits best; ``points`` says what went wrong, what that
    points to by the numbers, and what would cure it.
    """

    crops: tuple[CropPace, ...]
    light: dict[str, Range80]
    lessons: tuple[Lesson, ...]
    points: tuple[str, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
