"""Lines of text on paper: shrunk, wrapped or clipped to the room there is; black on white."""

from collections.abc import Callable

from cropcal.show import text
from cropcal.show.pictures.shapes import NONE, WHITE, Box, Boxes, Shape, Strokes, TextLine

A4 = (8.27, 11.69)
EDGE = 0.5
TOP, BOTTOM = 1.25, 10.95
WIDE = A4[0] - 2 * EDGE
BLACK = "#000000"
GREY = "#8a8a8a"
LINE = 0.165

Measure = Callable[[str, float, bool], float]
"""Width of a text [in] from text, size [pt] and whether it is bold."""


def page_head(place: str, title: str, measure: Measure) -> list[Shape]:
    """Return the head of a page: its title and the place."""
    name, size = shrunk_to_fit(place, 11, 8, 2.6, measure)
    shown, large = shrunk_to_fit(title, 20, 12, WIDE - 0.2 - measure(name, size, True), measure)
    return [
        text_line(EDGE, 0.85, shown, large, bold=True),
        text_line(A4[0] - EDGE, 0.85, name, size, side="right"),
        rule(EDGE, A4[0] - EDGE, 1.0, 1.6),
    ]


def shrunk_to_fit(
    content: str, largest: float, least: float, room: float, measure: Measure
) -> tuple[str, float]:
    """Return a line and its size [pt]: shrunk if it is too wide, and clipped if that is not enough."""
    line = text.clean(content)
    size = largest
    while size > least and measure(line, size, True) > room:
        size -= 0.5
    return clipped(line, size, room, measure), size


def clipped(line: str, size: float, room: float, measure: Measure) -> str:
    """Return the line, with … at its end if it is wider than the room [in]; measured in bold."""
    if measure(line, size, True) <= room:
        return line
    kept = len(line)
    while kept > 1 and measure(f"{line[:kept]}…", size, True) > room:
        kept -= 1
    return f"{line[:kept].rstrip()}…"


def wrapped(content: str, size: float, room: float, measure: Measure, *, bold: bool = False) -> list[str]:
    """Return the words on as many lines as they need; a word wider than the room [in] is broken."""
    lines: list[str] = []
    for word in text.clean(content).split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and measure(longer, size, bold) <= room:
            lines[-1] = longer
        else:
            lines += _pieces(word, size, room, measure, bold=bold)
    return lines or [""]


def _pieces(word: str, size: float, room: float, measure: Measure, *, bold: bool) -> list[str]:
    """Return a word in pieces that are no wider than the room; most often it is one."""
    if measure(word, size, bold) <= room:
        return [word]
    pieces = [""]
    for char in word:
        if pieces[-1] and measure(pieces[-1] + char, size, bold) > room:
            pieces.append("")
        pieces[-1] += char
    return pieces


def text_line(
    x: float, y: float, content: str, size: float, *, bold: bool = False, side: str = "left"
) -> TextLine:
    """Return one black line of text; ``y`` is its base line."""
    return TextLine(x, y, content, size, side=side, colour=BLACK, bold=bold)  # type: ignore[arg-type]


def rule(left: float, right: float, y: float, line_pt: float) -> Strokes:
    """Return a line across."""
    return Strokes((((left, y), (right, y)),), BLACK, line_pt, 2)


def frame(box: Box, line_pt: float) -> Boxes:
    """Return an empty box with a black edge."""
    return Boxes((box,), WHITE if line_pt < 1 else NONE, 2, edge=BLACK, line_pt=line_pt)
