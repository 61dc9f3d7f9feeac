"""The cards beside the timers, one a zone: timer and set points, all of them; dangers and cautions around."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from cropcal.records.base import clock
from cropcal.records.hours import OF_LAMP, SetPoint, TimerLine
from cropcal.show import text
from cropcal.show.pictures.paper_breaks import PaperBlock, columns
from cropcal.show.pictures.printed_text import (
    A4,
    EDGE,
    GREY,
    TOP,
    WIDE,
    Measure,
    frame,
    page_head,
    rule,
    shrunk_to_fit,
    text_line,
    wrapped,
)
from cropcal.show.pictures.shapes import Shape, Strokes, TextLine
from cropcal.show.wording import set_point_value

TITLE = "Timers and set points"
ALL_ZONES = "All zones"
FOOT = 11.1
PAD = 0.2
INSIDE = WIDE - 2 * PAD
PITCHES_IN = ((1, 0.75), (2, 0.75), (4, 0.55), (6, 0.44))
"""Height of a row by how many settings a timer has at most; rows of more settings are ``LEAST_PITCH_IN``."""
LEAST_PITCH_IN = 0.34
DATE_IN = 1.85
"""What the day from which a setting holds takes beside it."""
WHAT_IN, VALUE_IN, POINT_LINE = 1.5, 0.95, 0.155


@dataclass(frozen=True)
class CardRow:
    """What is drawn in some height of paper: lines and texts of a row that begins at 0, to be moved down."""

    high_in: float
    shapes: tuple[Strokes | TextLine, ...]


@dataclass(frozen=True)
class CardPart:
    """Rows under a heading, which is another one where they go on; a card has a frame."""

    heading: CardRow
    again: CardRow
    rows: tuple[CardRow, ...]
    is_card: bool = False


def card_pages(
    place: str,
    timers: Sequence[TimerLine],
    points: Sequence[SetPoint],
    dangers: Sequence[str],
    cautions: Sequence[str],
    measure: Measure,
) -> list[list[Shape]]:
    """Return pages of cards, under what is dangerous and above the cautions; none without a card or danger.

    Parameters
    ----------
    place
        Name of the space.
    timers
        When each zone's lamp is on.
    points
        The set points; those of lamps are on the card as its timer.
    dangers, cautions
        What is dangerous in the space, and what to take care of in any.
    measure
        Returns the width of a text [in].
    """
    zones = dict.fromkeys([*(line.zone for line in timers), *(point.zone for point in points)])
    cards = [
        _card(
            zone,
            [line for line in timers if line.zone == zone],
            [point for point in points if point.zone == zone and point.what not in OF_LAMP],
            measure,
        )
        for zone in zones
    ]
    if not cards and not dangers:
        return []
    parts = [
        *_paragraphs("Danger", dangers, 10, measure),
        *cards,
        *_paragraphs("Take care", cautions, 9, measure),
    ]
    return _pages(place, [part for part in parts if part.rows], measure)


def _pages(place: str, parts: Sequence[CardPart], measure: Measure) -> list[list[Shape]]:
    blocks = [
        PaperBlock(
            part.heading.high_in,
            tuple(row.high_in for row in part.rows),
            part.again.high_in,
            gap_in=0.2 if part.is_card else 0.12,
        )
        for part in parts
    ]
    pages = []
    for column in columns(blocks, FOOT - TOP, most_blank=1.0):
        shapes = page_head(place, TITLE, measure)
        for piece in column:
            part, top = parts[piece.block], TOP + piece.top_in
            y = top
            for row in (part.again if piece.first else part.heading, *part.rows[piece.first : piece.end]):
                shapes += (_moved(shape, y) for shape in row.shapes)
                y += row.high_in
            if part.is_card:
                shapes.append(frame((EDGE, EDGE + WIDE, top, y), 2.0))
        pages.append(shapes)
    return pages


def _moved(shape: Strokes | TextLine, down: float) -> Shape:
    """Return a line or a text further down."""
    if isinstance(shape, TextLine):
        return replace(shape, y=shape.y + down)
    return replace(shape, lines=tuple(((x, y + down), (to, at + down)) for (x, y), (to, at) in shape.lines))


def _paragraphs(heading: str, texts: Sequence[str], size: float, measure: Measure) -> Iterator[CardPart]:
    """Yield paragraphs under a heading, if there are any."""
    pitch = 0.019 * size
    rows = []
    for paragraph in texts:
        lines = wrapped(paragraph, size, WIDE, measure)
        shapes = tuple(text_line(EDGE, (at + 0.8) * pitch, line, size) for at, line in enumerate(lines))
        rows.append(CardRow(len(lines) * pitch + 0.07, shapes))
    title = CardRow(0.26, (text_line(EDGE, 0.18, heading, 11, bold=True),))
    yield CardPart(title, title, tuple(rows))


def _card(zone: str, lines: Sequence[TimerLine], points: Sequence[SetPoint], measure: Measure) -> CardPart:
    """Return one zone's card: its name, a row for each stretch of light, then its set points."""
    name = zone or ALL_ZONES
    rows = [*_timer_rows(lines, measure), *_point_rows(points, measure, ruled=bool(lines))]
    return CardPart(_card_head(name, measure), _card_head(f"{name}, continued", measure), tuple(rows), True)


def _card_head(title: str, measure: Measure) -> CardRow:
    """Return the name of a card: large on one line, small on several if it is very long."""
    _, size = shrunk_to_fit(title, 22, 14, INSIDE, measure)
    lines = wrapped(title, size, INSIDE, measure, bold=True)
    pitch = 0.0175 * size
    shapes = (
        text_line(EDGE + PAD, 0.1 + (at + 0.8) * pitch, line, size, bold=True)
        for at, line in enumerate(lines)
    )
    return CardRow(0.16 + len(lines) * pitch, tuple(shapes))


def _timer_rows(lines: Sequence[TimerLine], measure: Measure) -> Iterator[CardRow]:
    """Yield a row for each setting of a timer, the larger the fewer there are."""
    pitch = next((high for most, high in PITCHES_IN if len(lines) <= most), LEAST_PITCH_IN)
    is_dated = len({line.start for line in lines}) > 1
    aside = DATE_IN if is_dated or any(line.output < 1 for line in lines) else 0.0
    _, size = shrunk_to_fit("on 00:00   off 00:00", pitch * 72 * 0.7, 12, INSIDE - aside, measure)
    for line in lines:
        setting = f"on {clock(line.on)}   off {clock(line.off)}" if line.output else "off all day"
        beside = [f"from {text.day_year(line.start)}"] if is_dated else []
        beside += [f"lamp at {text.percent(line.output)}"] if 0 < line.output < 1 else []
        middle = pitch / 2
        first = middle + 0.05 - 0.09 * (len(beside) - 1)
        yield CardRow(
            pitch,
            (
                text_line(EDGE + PAD, middle + 0.36 * size / 72, setting, size, bold=True),
                *(
                    text_line(A4[0] - EDGE - PAD, first + at * 0.17, part, 10, side="right")
                    for at, part in enumerate(beside)
                ),
            ),
        )


def _point_rows(points: Sequence[SetPoint], measure: Measure, *, ruled: bool) -> Iterator[CardRow]:
    """Yield a row for each set point: what, value, where it comes from; a rule above the first if wanted."""
    left = EDGE + PAD
    for number, point in enumerate(points):
        start = f"from {text.day_year(point.start)}: " if point.start else ""
        whats = wrapped(point.what, 10, WHAT_IN - 0.1, measure)
        values = wrapped(set_point_value(point), 10, VALUE_IN - 0.1, measure, bold=True)
        notes = wrapped(start + point.note, 8, INSIDE - WHAT_IN - VALUE_IN, measure)
        base = 0.165 + (0.06 if number == 0 else 0.0)
        shapes: list[Strokes | TextLine] = []
        if number or ruled:
            grey = Strokes((((left, 0.02), (left + INSIDE, 0.02)),), GREY, 0.6, 2)
            shapes.append(grey if number else rule(left, left + INSIDE, 0.04, 1.2))
        for at, words, size in (
            (0.0, whats, 10), (WHAT_IN, values, 10), (WHAT_IN + VALUE_IN, notes, 8)
        ):  # fmt: skip
            shapes += (
                text_line(left + at, base + line * POINT_LINE, word, size, bold=at == WHAT_IN)
                for line, word in enumerate(words)
            )
        high = base + (max(len(whats), len(values), len(notes)) - 1) * POINT_LINE + 0.06
        yield CardRow(high + (0.06 if number == len(points) - 1 else 0.0), tuple(shapes))
