"""The shapes of a picture, in inches from its top left corner, and the colours; draws nothing.

Made to be read in grey print and by the colour-blind: crops differ in lightness as well as hue, stages
in hatching, and a short week carries a sign.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

INK = "#26302e"
FAINT = "#7d8480"
PAPER = "#f4f2ec"
AWAY = "#d9d6cd"
WHITE = "#ffffff"
NONE = "none"
SUPPLY = "#5d7480"
TONES = (
    "#8cc084",  # leaf
    "#f2d98b",  # straw
    "#6fa3d0",  # sky
    "#f4bdb4",  # rose
    "#d88f63",  # clay
    "#cdbce4",  # lilac
    "#5ba59f",  # pond
    "#bcc4c9",  # ash
)
"""Dark and light by turns, none too dark for ink on it."""
TEXTURES = ("", "....", "----", "||||", "oo")
"""The second, third ... round of the tones."""
READY_HATCH = "////"
OUTLINE = 0.6
SWATCH = 0.28
PT_PER_INCH = 72

Box = tuple[float, float, float, float]
"""Left, right, top, bottom."""
Point = tuple[float, float]
Sign = Literal["dot", "down", "up", "dash", "exclamation"]


@dataclass(frozen=True)
class Boxes:
    """Boxes of one kind; ``faces`` is one colour for all, or one a box; ``round_in`` rounds their corners."""

    boxes: tuple[Box, ...]
    faces: str | tuple[str, ...]
    z: float
    edge: str = NONE
    line_pt: float = 0.0
    hatch: str = ""
    round_in: float = 0.0


@dataclass(frozen=True)
class Strokes:
    """Straight lines of one kind."""

    lines: tuple[tuple[Point, Point], ...]
    colour: str
    line_pt: float
    z: float
    dashed: bool = False


@dataclass(frozen=True)
class Marks:
    """Signs of one kind."""

    points: tuple[Point, ...]
    sign: Sign
    face: str
    size_pt: float
    z: float
    edge: str = INK


@dataclass(frozen=True)
class TextLine:
    """One line of text."""

    x: float
    y: float
    text: str
    size_pt: float
    side: Literal["left", "center", "right"] = "left"
    rise: Literal["baseline", "center"] = "baseline"
    colour: str = INK
    bold: bool = False


Shape = Boxes | Strokes | Marks | TextLine


@dataclass(frozen=True)
class Drawing:
    """A whole picture."""

    width: float
    height: float
    shapes: tuple[Shape, ...]


def merged(shapes: Iterable[Shape]) -> tuple[Shape, ...]:
    """Return the shapes, all boxes of one kind as one shape, and all lines: drawn many times as fast.

    Only for a picture in which nothing lies over anything else: what is merged is drawn at once.
    """
    boxes: dict[Boxes, list[Box]] = {}
    lines: dict[Strokes, list[tuple[Point, Point]]] = {}
    others: list[Shape] = []
    for shape in shapes:
        if isinstance(shape, Boxes) and isinstance(shape.faces, str):
            boxes.setdefault(replace(shape, boxes=()), []).extend(shape.boxes)
        elif isinstance(shape, Strokes):
            lines.setdefault(replace(shape, lines=()), []).extend(shape.lines)
        else:
            others.append(shape)
    return (
        *(replace(kind, boxes=tuple(alike)) for kind, alike in boxes.items()),
        *(replace(kind, lines=tuple(alike)) for kind, alike in lines.items()),
        *others,
    )


def style(number: int) -> tuple[str, str]:
    """Return tone and texture of the crop (or user of power) with a number, counted from 0."""
    return TONES[number % len(TONES)], TEXTURES[number // len(TONES) % len(TEXTURES)]


def tiles(boxes: tuple[Box, ...], number: int) -> list[Shape]:
    """Return outlined boxes in the style of a number."""
    tone, texture = style(number)
    return filled(boxes, tone, texture, mixed(tone, INK, 0.45))


def filled(boxes: tuple[Box, ...], faces: str | tuple[str, ...], hatch: str, hatch_ink: str) -> list[Shape]:
    """Return boxes with a hatch in its own colour under a dark outline."""
    under = Boxes(boxes, faces, 3, edge=hatch_ink, hatch=hatch)
    return [under, Boxes(boxes, NONE, 3.1, edge=INK, line_pt=OUTLINE)] if boxes else []


def mixed(colour: str, other: str, share: float) -> str:
    """Return a colour mixed with a share of another."""
    pairs = zip(_channels(colour), _channels(other), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)


def _channels(colour: str) -> Iterable[int]:
    return (int(colour[start : start + 2], 16) for start in (1, 3, 5))
