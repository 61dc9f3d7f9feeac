"""Pictures of a plan as PNG and SVG, and pages as PDF; the only module that draws."""

import io
from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.collections import LineCollection, PathCollection, PolyCollection
from matplotlib.figure import Figure
from matplotlib.markers import MarkerStyle
from matplotlib.path import Path as MplPath

from cropcal.records.daylight import DaylightYear
from cropcal.records.hours import HoursAdvice, SetPoint, TimerLine
from cropcal.records.learned import LearnedReport, Trial
from cropcal.records.plan import SeasonPlan
from cropcal.records.scene import LitZone
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
from cropcal.show.pictures.fonts import (
    NO_NAME,
    drawable,
    glyph,
    printable,
    printed_font,
    printed_width,
    text_width,
)
from cropcal.show.pictures.light_map_layout import light_map
from cropcal.show.pictures.printed_text import A4
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
HALF_HEIGHT_EM = 0.33
"""From the base line of a text to its middle."""

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
    result: SeasonPlan,
    names: Mapping[str, str],
    timers: Sequence[TimerLine],
    dangers: Sequence[str] = (),
    points: Sequence[SetPoint] = (),
) -> bytes:
    """Return the sheet for the wall as PDF of A4 pages: jobs to tick, cards for the timers, labels.

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
    points
        What else each zone's controllers are set to.
    """
    written = {
        slug: printed if (printed := printable(name)) != NO_NAME else slug for slug, name in names.items()
    }
    out = io.BytesIO()
    # no date and no version of a library: the same plan gives the same bytes
    no_stamp = {"CreationDate": None, "Creator": None, "Producer": None}
    with mpl.rc_context(_SETTINGS), PdfPages(out, metadata=no_stamp) as pdf:
        # one sheet for all pages: to make a new one takes longer than to empty it
        figure, axes = _sheet(*A4, PT_PER_INCH)
        for page in wall_sheet.pages(result, written, timers, printed_width, dangers, points):
            for shape in page.shapes:
                _draw(axes, shape)
            words = [shape for shape in page.shapes if isinstance(shape, TextLine)]
            axes.add_artist(_Words(words, page.height))
            pdf.savefig(figure)
            for drawn in (*axes.collections, *axes.artists):
                drawn.remove()
    return out.getvalue()


def _canvas(drawing: Drawing, dpi: float) -> tuple[Figure, Axes]:
    """Return a figure with all shapes of a drawing except its text."""
    figure, axes = _sheet(drawing.width, drawing.height, dpi)
    for shape in drawing.shapes:
        _draw(axes, shape)
    return figure, axes


def _sheet(wide_in: float, high_in: float, dpi: float) -> tuple[Figure, Axes]:
    """Return an empty sheet, in inches from its top left corner."""
    figure = Figure(figsize=(wide_in, high_in), dpi=dpi, facecolor="white")
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(0, wide_in)
    axes.set_ylim(high_in, 0)
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


class _Words(Artist):
    """All texts of a page, set as text: each in the library's font and, where that has no sign, in another.

    One artist that hands its lines to the renderer: an ``axes.text`` for each takes twice the time.
    """

    def __init__(self, words: Sequence[TextLine], page_in: float) -> None:
        super().__init__()
        self.words, self.page_in = words, page_in

    def draw(self, renderer: Any) -> None:
        """Write all lines."""
        context = renderer.new_gc()
        for word in self.words:
            content = printable(word.text)
            font = printed_font(content, word.size_pt, bold=word.bold)
            context.set_foreground(word.colour)
            x, y = word.x * PT_PER_INCH, (self.page_in - word.y) * PT_PER_INCH
            if word.side == "right":
                x -= renderer.get_text_width_height_descent(content, font, ismath=False)[0]
            renderer.draw_text(context, x, y, content, font, 0.0)
        context.restore()


def _write(axes: Axes, words: Sequence[TextLine]) -> None:
    """Draw texts as outlines, all of one colour at once: with hundreds of texts this halves the time."""
    by_colour: dict[str, list[MplPath]] = {}
    for word in words:
        by_colour.setdefault(word.colour, []).append(_outline(word))
    for colour, paths in by_colour.items():
        axes.add_collection(PathCollection(paths, facecolors=colour, linewidths=0, zorder=7), autolim=False)


def _outline(word: TextLine) -> MplPath:
    glyphs = [glyph(char, bold=word.bold) for char in drawable(word.text)]
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
def _exclamation() -> MarkerStyle:
    points, codes, _ = glyph("!", bold=True)
    return MarkerStyle(MplPath(points - (points.max(axis=0) + points.min(axis=0)) / 2, codes))
