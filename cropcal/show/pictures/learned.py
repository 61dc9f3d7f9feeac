"""The shapes of the picture of observations: each against its forecast and the forecast's range."""

from collections.abc import Mapping, Sequence
from math import log

from cropcal.records.learned import LearnedReport, Lesson
from cropcal.show import text
from cropcal.show.pictures.shapes import (
    FAINT,
    INK,
    PAPER,
    SWATCH,
    WHITE,
    Boxes,
    Drawing,
    Marks,
    Shape,
    Sign,
    Strokes,
    TextLine,
    tiles,
)
from cropcal.show.wording import crop_name

WIDTH = 8.5
LEFT, RIGHT_EDGE = 1.6, 8.25
HEIGHT = 2.2
WIDEST_SLOT, THICK = 0.62, 0.5
MOST = 60
"""Most observations drawn in a panel; the newest are kept."""
FURTHEST = 3.5
"""Times too much or too little at the edge of a panel; what is further off is drawn at the edge."""
GRAMS = (
    ("3 times", 3.0),
    ("twice", 2.0),
    ("as forecast", 1.0),
    ("half", 1 / 2),
    ("a third", 1 / 3),
)
DATE_ROOM = 0.55
BARS = "Bars: where it should have come in four cases out of five, by what was known then"
COLUMNS, COLUMN, LINE = 3, 2.3, 0.2
AT_MOST = ("not ready", "cut early")
PANELS = (
    ("Weight of a plant, what came against what was forecast", ("weighed", "cut ready", *AT_MOST)),
    ("Days to come up, what was seen against what was forecast", ("emerged",)),
)


def drawing(report: LearnedReport, names: Mapping[str, str], place: str) -> Drawing:
    """Return everything to draw: a panel for weights, one for seedlings, and what the signs mean."""
    shapes: list[Shape] = [
        TextLine(0.25, 0.34, f"{text.clip(place, 36)}: what was forecast, what came", 13, bold=True)
    ]
    numbers = {
        slug: number for number, slug in enumerate(dict.fromkeys(lesson.crop for lesson in report.lessons))
    }
    y = 0.55
    for title, kinds in PANELS:
        lessons = [lesson for lesson in report.lessons if lesson.kind in kinds]
        if lessons:
            shapes += _panel(title, lessons, numbers, y)
            y += HEIGHT + 0.85
    if not numbers:
        return Drawing(WIDTH, 1.0, (*shapes, TextLine(0.25, 0.7, "Nothing is learned yet", 10)))
    return Drawing(WIDTH, *_legend(report.lessons, numbers, names, y + 0.05, shapes))


def _panel(title: str, lessons: Sequence[Lesson], numbers: Mapping[str, int], top: float) -> list[Shape]:
    shown = lessons[-MOST:]
    more = f" (the last {MOST} of {len(lessons)})" if len(lessons) > MOST else ""
    top += 0.3
    bottom = top + HEIGHT
    shapes: list[Shape] = [
        TextLine(0.25, top - 0.12, title + more, 9.5, bold=True),
        Boxes(((LEFT, RIGHT_EDGE, top, bottom),), PAPER, 1),
    ]
    for years_text, ratio in GRAMS:
        y = _y(ratio, top)
        shapes.append(Strokes((((LEFT, y), (RIGHT_EDGE, y)),), INK if ratio == 1 else WHITE, 1.0, 2))
        shapes.append(TextLine(LEFT - 0.1, y, years_text, 8.5, "right", "center"))
    slot = min((RIGHT_EDGE - LEFT) / len(shown), WIDEST_SLOT)
    every = -(-DATE_ROOM // slot)
    for number, lesson in enumerate(shown):
        x = LEFT + slot * (number + 0.5)
        shapes += _note(lesson, numbers[lesson.crop], x, slot * THICK / 2, top)
        if number % every == 0:
            shapes.append(TextLine(x, bottom + 0.16, text.span(lesson.on, lesson.on), 8, "center"))
    years = dict.fromkeys(lesson.on.year for lesson in shown)
    years_text = " to ".join(str(year) for year in dict.fromkeys((min(years), max(years))))
    return [*shapes, TextLine(LEFT - 0.1, bottom + 0.16, years_text, 8, "right", colour=FAINT)]


def _note(lesson: Lesson, crop: int, x: float, half: float, top: float) -> list[Shape]:
    """Return the forecast's range and the observed value."""
    high, low = (_y(value / lesson.expected, top) for value in (lesson.high_80, lesson.low_80))
    y = _y(lesson.seen / lesson.expected, top)
    shapes = tiles(((x - half, x + half, high, low),), crop)
    sign: Sign = "down" if lesson.kind in AT_MOST else "dot"
    shapes.append(Marks(((x, y),), sign, INK if lesson.used else WHITE, 34, 5))
    return shapes


def _y(ratio: float, top: float) -> float:
    share = min(max(log(ratio) / log(FURTHEST), -1.0), 1.0)
    return top + HEIGHT / 2 * (1 - share * 0.94)


def _legend(
    lessons: Sequence[Lesson],
    numbers: Mapping[str, int],
    names: Mapping[str, str],
    y: float,
    shapes: list[Shape],
) -> tuple[float, tuple[Shape, ...]]:
    """Return the height of the page and all shapes with the legend."""
    signs: list[tuple[Sign, str, str]] = [("dot", INK, "what came"), *_more_signs(lessons)]
    for number, (sign, face, meaning) in enumerate(signs):
        x = 0.39 + number * 2.6
        shapes.append(Marks(((x, y),), sign, face, 34, 5))
        shapes.append(TextLine(x + 0.2, y, meaning, 8, rise="center"))
    y += 0.22
    shapes.append(TextLine(0.25, y + 0.03, BARS, 8))
    y += 0.28
    for slug, number in numbers.items():
        x, low = 0.25 + number % COLUMNS * COLUMN, y + LINE * (number // COLUMNS)
        shapes += tiles(((x, x + SWATCH, low - 0.12, low + 0.02),), number)
        shapes.append(TextLine(x + 0.34, low, text.clip(crop_name(slug, names), 26), 8))
    return y + 0.15 + LINE * -(-len(numbers) // COLUMNS), tuple(shapes)


def _more_signs(lessons: Sequence[Lesson]) -> list[tuple[Sign, str, str]]:
    signs: list[tuple[Sign, str, str]] = []
    if any(lesson.kind in AT_MOST for lesson in lessons):
        signs.append(("down", INK, "not ready, or cut early: below"))
    if any(not lesson.used for lesson in lessons):
        signs.append(("dot", WHITE, "hard to believe, not used"))
    return signs
