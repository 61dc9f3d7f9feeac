"""The shapes of the map of the light: zones from above, each site in the colour of its light."""

from itertools import pairwise

from cropcal.show import text
from cropcal.show.pictures.light_map_beds import (
    SAID_LINE,
    SAID_NUMBER,
    SAID_PT,
    TAG_PT,
    BedPlot,
    Tag,
)
from cropcal.show.pictures.light_map_layout import (
    EDGE,
    LINE,
    LIST_PT,
    LightMap,
    Panel,
    Segment,
)
from cropcal.show.pictures.shapes import (
    FAINT,
    INK,
    NONE,
    PAPER,
    WHITE,
    Box,
    Boxes,
    Drawing,
    Point,
    Shape,
    Strokes,
    TextLine,
    mixed,
)

RAMP = ("#1f2a4d", "#38506c", "#5d7878", "#96a26c", "#d3c673", "#fff1a6")
"""From dim to bright, even steps of lightness; blue to yellow, distinguishable with any colour vision."""
BLACK = "#000000"
MIDDLE_LUMINANCE = 0.179
"""Above it black is read better than white: (L + 0.05)² = 1.05 × 0.05, the contrast of WCAG 2.1."""
STRIP_WIDTH, STRIP_TOP, STRIP_HEIGHT = 4.6, 1.14, 0.17
STRIP_STEPS = 92
WALL = 0.07
LAMP = "#b4512d"
OUTLINED = 0.12


def shade(share: float) -> str:
    """Return the colour of a share of the scale, 0 dim to 1 bright."""
    place = min(max(share, 0.0), 1.0) * (len(RAMP) - 1)
    step = min(int(place), len(RAMP) - 2)
    return mixed(RAMP[step], RAMP[step + 1], place - step)


def ink_on(colour: str) -> str:
    """Return black or white, whichever contrasts more with a colour."""
    return BLACK if luminance(colour) > MIDDLE_LUMINANCE else WHITE


def luminance(colour: str) -> float:
    """Return the relative luminance (WCAG 2.1)."""
    parts = (int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5))
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def drawing(layout: LightMap) -> Drawing:
    """Return everything to draw."""
    shapes = [
        TextLine(EDGE, 0.42, layout.title, 14, bold=True),
        TextLine(EDGE, 0.67, "Seen from above, front at the bottom; all lamps on.", 9, colour=FAINT),
        *_scale(layout),
        *_signs(layout),
    ]
    for panel in layout.panels:
        shapes += _panel(panel, layout)
    return Drawing(layout.width, layout.height, tuple(shapes))


def _scale(layout: LightMap) -> list[Shape]:
    """Return the strip of colours, with PPFD above it and the day's light below, one row for each hours."""
    x, y = EDGE, STRIP_TOP
    step = STRIP_WIDTH / STRIP_STEPS
    boxes = tuple((x + n * step, x + (n + 1) * step, y, y + STRIP_HEIGHT) for n in range(STRIP_STEPS))
    faces = tuple(shade((n + 0.5) / STRIP_STEPS) for n in range(STRIP_STEPS))
    first, last = layout.marks[0], layout.marks[-1]
    places = [(x + (mark - first) / (last - first) * STRIP_WIDTH, mark) for mark in layout.marks]
    end = x + STRIP_WIDTH + 0.25
    shapes: list[Shape] = [
        Boxes(boxes, faces, 3),
        Boxes(((x, x + STRIP_WIDTH, y, y + STRIP_HEIGHT),), NONE, 3.1, edge=INK, line_pt=0.6),
        Strokes(tuple(((at, y - 0.04), (at, y + STRIP_HEIGHT + 0.04)) for at, _ in places), INK, 0.6, 3.2),
        TextLine(end, y - 0.07, "colour: PPFD, light on the leaves at any moment, µmol/m²/s", 8),
    ]
    shapes += [TextLine(at, y - 0.07, text.plain(mark), 8, "center") for at, mark in places]
    for number, zone in enumerate(layout.hours):
        low = y + STRIP_HEIGHT + 0.17 + number * LINE
        hours = text.hours(zone.photoperiod_h)
        shapes.append(TextLine(end, low, f"the same as DLI: light of a day of {hours}, mol/m²", 8))
        shapes += [
            TextLine(at, low, text.dli(zone.dli_mol_m2_d(mark)), 8, "center", colour=FAINT)
            for at, mark in places
        ]
    return shapes


def _signs(layout: LightMap) -> list[Shape]:
    """Return the legend of the signs that are drawn."""
    y = STRIP_TOP + STRIP_HEIGHT + 0.5 + LINE * max(len(layout.hours) - 1, 0)
    x = EDGE
    shapes: list[Shape] = []
    plots = [plot for panel in layout.panels for plot in panel.plots]
    if any(plot.number_pt for plot in plots):
        both = any(plot.dli_pt for plot in plots)
        shapes.append(
            TextLine(x, y, "number: PPFD of the site" + (", small below it: DLI" if both else ""), 8)
        )
        x += 3.2 if both else 1.75
    if any(panel.lamps for panel in layout.panels):
        shapes += [_dashed(_around((x, x + 0.3, y - 0.12, y + 0.02))), TextLine(x + 0.38, y, "lamp above", 8)]
        x += 1.35
    if any(any(panel.zone.walls) for panel in layout.panels):
        shapes += [_wall((x, x + 0.3, y - 0.08, y - 0.08 + WALL))]
        shapes.append(TextLine(x + 0.38, y, "wall, and the share of light it sends back", 8))
    return shapes


def _panel(panel: Panel, layout: LightMap) -> list[Shape]:
    left, right, top, bottom = panel.floor
    shapes: list[Shape] = [
        TextLine(EDGE, panel.top + 0.14, panel.title, 11, bold=True),
        TextLine(EDGE, panel.top + 0.36, panel.note, 8.5, colour=FAINT),
        Boxes((panel.floor,), PAPER, 0),
        Strokes(
            tuple(((x, top), (x, bottom)) for x, _ in panel.across)
            + tuple(((left, y), (right, y)) for y, _ in panel.up),
            WHITE,
            0.8,
            0.5,
        ),
        Boxes((panel.floor,), NONE, 2.5, edge=FAINT, line_pt=0.8),
        *_metres(panel),
        *_sides(panel),
    ]
    for plot in panel.plots:
        shapes += _plot(plot, layout)
    shapes.append(_dashed(panel.lamps))
    if panel.beside:
        shapes.append(TextLine(*panel.beside, "place not given, so not to scale", 8, colour=FAINT))
    for extreme in panel.extremes:
        shapes.append(Boxes((extreme.ring,), NONE, 5.3, edge=BLACK, line_pt=3.0))
        shapes.append(Boxes((extreme.ring,), NONE, 5.4, edge=WHITE, line_pt=1.4))
        shapes += _label(extreme.label, WHITE, INK)
    shapes += [
        TextLine(entry.x, entry.y, entry.text, LIST_PT, colour=FAINT if entry.faint else INK)
        for entry in panel.entries
    ]
    if not panel.zone.beds:
        middle = (left + right) / 2, (top + bottom) / 2
        shapes.append(TextLine(*middle, "no bed here", 8, "center", "center", FAINT))
    return shapes


def _metres(panel: Panel) -> list[Shape]:
    left, _, _, bottom = panel.floor
    low, gap = bottom + WALL, left - WALL
    ticks = tuple(((x, low), (x, low + 0.05)) for x, _ in panel.across)
    ticks += tuple(((gap - 0.05, y), (gap, y)) for y, _ in panel.up)
    shapes: list[Shape] = [Strokes(ticks, FAINT, 0.8, 1)]
    shapes += [TextLine(x, low + 0.17, label, 7, "center", colour=FAINT) for x, label in panel.across]
    shapes += [TextLine(gap - 0.09, y, label, 7, "right", "center", FAINT) for y, label in panel.up]
    return shapes


def _sides(panel: Panel) -> list[Shape]:
    """Return the walls that reflect as bands along the floor, and the word for its front."""
    left, right, top, bottom = panel.floor
    at_left, at_right, at_front, at_back = panel.zone.walls
    middle, half = (left + right) / 2, (top + bottom) / 2
    words = [_share(share) for share in panel.zone.walls]
    any_wall = any(panel.zone.walls)
    shapes: list[Shape] = [
        TextLine(
            middle,
            bottom + WALL + 0.36,
            f"front: {words[2]}" if any_wall else "front",
            9,
            "center",
            bold=True,
        )
    ]
    if not any_wall:
        return shapes
    bands = (
        (at_left, (left - WALL, left, top - WALL * (at_back > 0), bottom + WALL * (at_front > 0))),
        (at_right, (right, right + WALL, top - WALL * (at_back > 0), bottom + WALL * (at_front > 0))),
        (at_front, (left, right, bottom, bottom + WALL)),
        (at_back, (left, right, top - WALL, top)),
    )
    shapes += [_wall(band) for share, band in bands if share > 0]
    shapes.append(TextLine(middle, top - WALL - 0.06, words[3], 7.5, "center"))
    for x, side, name in ((left - 0.5, "right", words[0]), (right + WALL + 0.07, "left", words[1])):
        lines = name.split(" ", 1)
        for number, line in enumerate(lines):
            y = half + (number - (len(lines) - 1) / 2) * 0.13
            shapes.append(TextLine(x, y, line, 7.5, "right" if side == "right" else "left", "center"))
    return shapes


def _share(share: float) -> str:
    return f"wall {text.percent(share)}" if share > 0 else "open"


def _wall(box: Box) -> Boxes:
    return Boxes((box,), INK, 2.6)


def _dashed(edges: tuple[Segment, ...]) -> Strokes:
    return Strokes(edges, LAMP, 1.3, 5.2, dashed=True)


def _around(box: Box) -> tuple[Segment, ...]:
    left, right, top, bottom = box
    corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
    return tuple(pairwise(corners))


def _plot(plot: BedPlot, layout: LightMap) -> list[Shape]:
    first, last = layout.marks[0], layout.marks[-1]
    faces = tuple(shade((site.ppfd_umol_m2_s - first) / (last - first)) for site in plot.bed.sites)
    tag = _label(plot.tag, INK, WHITE)
    if plot.bed.alike:
        return [*_all_alike(plot, faces[0]), *tag]
    boxes = tuple(spot.box for spot in plot.spots)
    left, right, top, bottom = boxes[0]
    line = 0.6 if min(right - left, bottom - top) > OUTLINED else 0.0
    shapes: list[Shape] = [
        Boxes((plot.box,), WHITE, 1, edge=INK, line_pt=1.0),
        Boxes(boxes, faces, 3, edge=INK if line else NONE, line_pt=line, round_in=plot.spots[0].round_in),
    ]
    for spot, face in zip(plot.spots, faces, strict=True):
        shapes += _numbers(plot, spot.middle, (spot.ppfd_umol_m2_s, spot.dli_mol_m2_d), ink_on(face))
    return [*shapes, *tag]


def _numbers(plot: BedPlot, middle: Point, light: tuple[float, float], ink: str) -> list[Shape]:
    x, y = middle
    if not plot.number_pt:
        return []
    if not plot.dli_pt:
        return [TextLine(x, y, text.ppfd(light[0]), plot.number_pt, "center", "center", ink)]
    up, down = plot.number_pt * 0.42 / 72, plot.number_pt * 0.72 / 72
    return [
        TextLine(x, y - up, text.ppfd(light[0]), plot.number_pt, "center", "center", ink, bold=True),
        TextLine(x, y + down, text.dli(light[1]), plot.dli_pt, "center", "center", ink),
    ]


def _all_alike(plot: BedPlot, face: str) -> list[Shape]:
    """Return a bed whose sites are not known apart: one colour, the outlines and the one value."""
    ink = ink_on(face)
    shapes: list[Shape] = [Boxes((plot.box,), face, 1, edge=INK, line_pt=1.0)]
    if plot.spots:
        outlines = tuple(spot.box for spot in plot.spots)
        radius = plot.spots[0].round_in
        shapes.append(Boxes(outlines, NONE, 3, edge=mixed(face, ink, 0.3), line_pt=0.6, round_in=radius))
    if plot.light_text:
        left, right, top, _ = plot.light_text.box
        x, (number, *lines) = (left + right) / 2, plot.light_text.lines
        shapes.append(TextLine(x, top + SAID_NUMBER / 2, number, SAID_PT, "center", "center", ink, bold=True))
        shapes += [
            TextLine(x, top + SAID_NUMBER + (place + 0.5) * SAID_LINE, line, TAG_PT, "center", "center", ink)
            for place, line in enumerate(lines)
        ]
    return shapes


def _label(tag: Tag, face: str, ink: str) -> list[Shape]:
    left, right, top, bottom = tag.box
    middle = (left + right) / 2, (top + bottom) / 2
    return [
        Boxes((tag.box,), face, 5.6, edge=ink, line_pt=0.7, round_in=0.03),
        TextLine(*middle, tag.text, TAG_PT, "center", "center", ink, bold=True),
    ]
