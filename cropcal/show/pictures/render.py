"""Pictures of a plan as PNG and SVG, and pages as PDF; the only module that draws."""

import contextlib
import io
from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.collections import LineCollection, PathCollection, PolyCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, fontManager, get_font
from matplotlib.markers import MarkerStyle
from matplotlib.path import Path as MplPath

from cropcal.records.daylight import DaylightYear
from cropcal.records.hours import HoursAdvice, TimerLine
from cropcal.records.learned import LearnedReport, Trial
from cropcal.records.plan import SeasonPlan
from cropcal.records.scene import LitZone
from cropcal.show import text
from cropcal.show.pictures import (
    bill as bill_drawing,
)
from cropcal.show.pictures import (
    calendar as calendar_drawing,
)
from cropcal.show.pictures import (
    daylight as daylight_drawing,
)
from cropcal.show.pictures import (
    learned as learned_drawing,
)
from cropcal.show.pictures import (
    light_map as light_drawing,
)
from cropcal.show.pictures import (
    photoperiod as hours_drawing,
)
from cropcal.show.pictures import (
    trial as trial_drawing,
)
from cropcal.show.pictures import (
    wall_sheet,
)
from cropcal.show.pictures.calendar_layout import chart
from cropcal.show.pictures.light_map_layout import light_map
from cropcal.show.pictures.shapes import (
    PT_PER_INCH,
    Boxes,
    Drawing,
    Marks,
    Shape,
    Strokes,
    TextLine,
)

DPI = 120
MOST_PX = 30_000
"""The drawing library cannot make a picture of more than 65,535 pixels a side."""
DASHES = 0.0, (4.0, 3.0)
ARC_STEPS = 10
EM = 1000
"""Size at which outlines are read: so large that rounding to whole pixels does not show."""
NO_NAME = "(no name)"
TRUETYPE = b"\0\1\0\0"
HALF_HEIGHT_EM = 0.33
"""From the base line of a text to its middle."""

_FONTS = Path(mpl.get_data_path()) / "fonts" / "ttf"
_PLAIN, _BOLD = str(_FONTS / "DejaVuSans.ttf"), str(_FONTS / "DejaVuSans-Bold.ttf")
_MARKERS = {"dot": "o", "down": "v", "up": "^", "dash": "_"}
_SETTINGS: Any = {
    "text.usetex": False,
    "path.sketch": None,
    "hatch.linewidth": 0.7,
    "pdf.fonttype": 3,  # takes half the time of 42, and its text can be searched too
}


def calendar_png(
    result: SeasonPlan, names: Mapping[str, str], breaks: Sequence[tuple[date, date]] = ()
) -> bytes:
    """Return the calendar picture as PNG: seedlings, sites over time, and supply below.

    Parameters
    ----------
    result
        The plan.
    names
        Slug of a crop -> its name.
    breaks
        First and last day of each break.
    """
    return _saved(calendar_drawing.drawing(chart(result, names, breaks)), "png")


def bill_png(result: SeasonPlan) -> bytes:
    """Return kWh and money by month as PNG."""
    return _saved(bill_drawing.drawing(result), "png")


def light_png(zones: Sequence[LitZone], place: str) -> bytes:
    """Return the map of the light as PNG: each zone from above, with the light of each site.

    Parameters
    ----------
    zones
        The zones with their beds.
    place
        Name of the space.
    """
    return _saved(light_drawing.drawing(light_map(zones, place, text_width)), "png")


def hours_png(advice: HoursAdvice) -> bytes:
    """Return which hours suit which crop, what they cost, and when the lamp is on, as PNG."""
    return _saved(hours_drawing.drawing(advice), "png")


def daylight_png(daylight_year: DaylightYear) -> bytes:
    """Return the year of the sun and of the lamp as a PNG."""
    return _saved(daylight_drawing.drawing(daylight_year), "png")


def learned_png(report: LearnedReport, names: Mapping[str, str], place: str) -> bytes:
    """Return forecast and observed values, note by note, as PNG.

    Parameters
    ----------
    report
        What the journal taught.
    names
        Slug of a crop -> its name.
    place
        Name of the space.
    """
    return _saved(learned_drawing.drawing(report, names, place), "png")


def trial_png(comparison: Trial, names: Mapping[str, str], place: str) -> bytes:
    """Return observed and forecast values of each batch of a trial, in two groups, as PNG."""
    return _saved(trial_drawing.drawing(comparison, names, place), "png")


def wall_sheet_pdf(
    result: SeasonPlan, names: Mapping[str, str], timers: Sequence[TimerLine], dangers: Sequence[str] = ()
) -> bytes:
    """Return the sheet for the wall as PDF of A4 pages: jobs to tick, timer card, labels.

    Text stays text: it can be searched, and right-to-left names are set as such where the drawing library can
    (from its version 3.11 on). A crop whose name no font here can write is called by its slug.

    Parameters
    ----------
    result
        The plan.
    names
        Slug of a crop -> its name.
    timers
        When each zone's lamp is on.
    dangers
        What is dangerous in the space.
    """
    written = {
        slug: printed if (printed := printable(name)) != NO_NAME else slug for slug, name in names.items()
    }
    out = io.BytesIO()
    # no date and no version of a library: the same plan gives the same bytes
    no_stamp = {"CreationDate": None, "Creator": None, "Producer": None}
    with mpl.rc_context(_SETTINGS), PdfPages(out, metadata=no_stamp) as pdf:
        for page in wall_sheet.pages(result, written, timers, printed_width, dangers):
            figure, axes = _canvas(page, PT_PER_INCH)
            _type(axes, [shape for shape in page.shapes if isinstance(shape, TextLine)])
            pdf.savefig(figure)
    return out.getvalue()


def _canvas(drawing: Drawing, dpi: float) -> tuple[Figure, Axes]:
    """Return a figure with all shapes of a drawing except its text."""
    figure = Figure(figsize=(drawing.width, drawing.height), dpi=dpi, facecolor="white")
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(0, drawing.width)
    axes.set_ylim(drawing.height, 0)
    for shape in drawing.shapes:
        _draw(axes, shape)
    return figure, axes


def _saved(drawing: Drawing, form: str) -> bytes:
    dpi = min(DPI, MOST_PX / max(drawing.width, drawing.height))
    with mpl.rc_context(_SETTINGS):
        figure, axes = _canvas(drawing, dpi)
        _write(axes, [shape for shape in drawing.shapes if isinstance(shape, TextLine)])
        out = io.BytesIO()
        # no date and no version of a library: the same plan gives the same bytes
        no_stamp = {"Software": None} if form == "png" else {"Date": None, "Creator": None}
        figure.savefig(out, format=form, dpi=dpi, metadata=no_stamp)
    return out.getvalue()


def _draw(axes: Axes, shape: Shape) -> None:
    if isinstance(shape, Boxes) and shape.boxes:
        # one array instead of a list of corners: drawn several times as fast
        boxes = PolyCollection(
            _corners(np.array(shape.boxes), shape.round_in),
            facecolors=shape.faces,
            edgecolors=shape.edge,
            linewidths=shape.line_pt,
            hatch=shape.hatch or None,
            zorder=shape.z,
        )
        axes.add_collection(boxes, autolim=False)
    elif isinstance(shape, Strokes) and shape.lines:
        lines = LineCollection(
            shape.lines,
            colors=shape.colour,
            linewidths=shape.line_pt,
            linestyles=[DASHES] if shape.dashed else "solid",
            zorder=shape.z,
        )
        axes.add_collection(lines, autolim=False)
    elif isinstance(shape, Marks) and shape.points:
        across, down = zip(*shape.points, strict=True)
        axes.scatter(
            across,
            down,
            marker=_exclamation() if shape.sign == "exclamation" else _MARKERS[shape.sign],
            s=shape.size_pt,
            c=shape.face,
            edgecolors=None if shape.sign == "dash" else shape.edge,
            linewidths=0.8,
            zorder=shape.z,
        )


def _corners(boxes: Any, round_in: float) -> Any:
    """Return the corners of boxes, shape (boxes, corners, 2), each corner an arc if it is rounded."""
    left, right, top, bottom = boxes.T
    if round_in <= 0:
        return np.array([(left, top), (right, top), (right, bottom), (left, bottom)]).transpose(2, 0, 1)
    turn = np.linspace(0.0, np.pi / 2, ARC_STEPS)
    arcs = [
        np.stack([x[:, None] + round_in * np.cos(turn + start), y[:, None] + round_in * np.sin(turn + start)])
        for x, y, start in (
            (right - round_in, bottom - round_in, 0.0),
            (left + round_in, bottom - round_in, np.pi / 2),
            (left + round_in, top + round_in, np.pi),
            (right - round_in, top + round_in, 3 * np.pi / 2),
        )
    ]
    return np.concatenate(arcs, axis=2).transpose(1, 2, 0)


def drawable(content: str) -> str:
    """Return the text without signs that the font cannot draw, or "(no name)" if nothing is left.

    Only the one font that comes with the drawing library can be relied on; it has no emoji.
    """
    font = get_font(_PLAIN)
    kept = (
        char if font.get_char_index(ord(char)) else " " if text.display_width(char) else ""
        for char in text.clean(content)
    )
    return " ".join("".join(kept).split()) or NO_NAME


def printable(content: str) -> str:
    """Return the text without signs that no font on this computer can write."""
    kept = (
        char if _writes(char) else " " if text.display_width(char) else "" for char in text.clean(content)
    )
    return " ".join("".join(kept).split()) or NO_NAME


def printed_width(content: str, size_pt: float, bold: bool) -> float:
    """Return the width of a text in inches, as it will be printed; signs of other fonts count as square."""
    return sum(_advance(char, bold=bold) for char in content) * size_pt / PT_PER_INCH


@cache
def _advance(char: str, *, bold: bool) -> float:
    if get_font(_PLAIN).get_char_index(ord(char)):
        return _glyph(char, bold=bold)[2]
    return 1.0 if _writes(char) else 0.0


@cache
def _writes(char: str) -> bool:
    return bool(get_font(_PLAIN).get_char_index(ord(char)) or _elsewhere(char))


@cache
def _elsewhere(char: str) -> str:
    """Return the file of another font of this computer that has a sign as an outline, "" if there is none."""
    return next((name for name, signs in _other_fonts() if ord(char) in signs), "")


@cache
def _other_fonts() -> tuple[tuple[str, frozenset[int]], ...]:
    """Return this computer's other fonts with TrueType outlines, which go into a PDF as they are."""
    fonts = []
    for name in sorted({entry.fname for entry in fontManager.ttflist}):
        with contextlib.suppress(OSError, RuntimeError):
            with Path(name).open("rb") as file:
                outlines = file.read(4) == TRUETYPE
            font = get_font(name) if outlines and "LastResort" not in name else None
            if font is not None and font.scalable:
                fonts.append((name, frozenset(font.get_charmap())))
    return tuple(fonts)


def _type(axes: Axes, words: Sequence[TextLine]) -> None:
    """Set texts as text, each in the library's font and, where that has no sign, in another."""
    for word in words:
        content = printable(word.text)
        own = _BOLD if word.bold else _PLAIN
        others = {
            name
            for char in content
            if not get_font(_PLAIN).get_char_index(ord(char))
            if (name := _elsewhere(char))
        }
        families = [FontProperties(fname=name).get_name() for name in (own, *sorted(others))]
        axes.text(
            word.x, word.y, content, fontsize=word.size_pt, color=word.colour, ha=word.side, va="baseline",
            family=families, weight="bold" if word.bold else "normal", parse_math=False,
        )  # fmt: skip


def text_width(content: str, size_pt: float, bold: bool) -> float:
    """Return the width of a text in inches, as it will be drawn."""
    return sum(_glyph(char, bold=bold)[2] for char in drawable(content)) * size_pt / PT_PER_INCH


def _write(axes: Axes, words: Sequence[TextLine]) -> None:
    """Draw texts as outlines, all of one colour at once: with hundreds of texts this halves the time."""
    by_colour: dict[str, list[MplPath]] = {}
    for word in words:
        by_colour.setdefault(word.colour, []).append(_outline(word))
    for colour, paths in by_colour.items():
        axes.add_collection(PathCollection(paths, facecolors=colour, linewidths=0, zorder=7), autolim=False)


def _outline(word: TextLine) -> MplPath:
    glyphs = [_glyph(char, bold=word.bold) for char in drawable(word.text)]
    starts = np.cumsum([0.0, *(advance for _, _, advance in glyphs)])
    em = word.size_pt / PT_PER_INCH
    left = word.x - {"left": 0.0, "center": 0.5, "right": 1.0}[word.side] * starts[-1] * em
    low = word.y + (HALF_HEIGHT_EM * em if word.rise == "center" else 0.0)
    placed = [
        points * (em, -em) + np.array((left + start * em, low))
        for (points, _, _), start in zip(glyphs, starts[:-1], strict=True)
    ]
    return MplPath(np.concatenate(placed), np.concatenate([codes for _, codes, _ in glyphs]))


@cache
def _glyph(char: str, *, bold: bool) -> tuple[Any, Any, float]:
    """Return points and codes of a sign's outline, and the way to the next sign, in em."""
    font = get_font(_BOLD if bold else _PLAIN)
    font.set_size(EM, PT_PER_INCH)
    advance = font.load_char(ord(char)).linearHoriAdvance / 65536  # FreeType counts in 16.16 fixed point
    points, codes = font.get_path()
    return points / EM, codes, advance / EM


@cache
def _exclamation() -> MarkerStyle:
    points, codes, _ = _glyph("!", bold=True)
    return MarkerStyle(MplPath(points - (points.max(axis=0) + points.min(axis=0)) / 2, codes))
