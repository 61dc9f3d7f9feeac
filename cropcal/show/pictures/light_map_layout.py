"""Where everything of the map of the light goes, in inches from its top left corner; draws nothing.

Each zone is seen from above with its front at the bottom. Within a zone all lengths have one scale, which
is as large as the page allows if the number of the narrowest site can only be read then.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cropcal.records.scene import LitBed, LitZone
from cropcal.show import text
from cropcal.show.pictures import light_map_beds as light_plots
from cropcal.show.pictures.light_map_beds import (
    TAG_PAD,
    TAG_PT,
    BedPlot,
    Extreme,
    Measure,
    clipped,
)
from cropcal.show.pictures.shapes import Box, Point

EDGE = 0.35
FLOOR_LEFT, FLOOR_RIGHT = 1.15, 0.95
PAGE = 10.0
USUAL, USUAL_PER_M = (7.6, 4.4), 7.0
"""Width and height of a floor that fills a page as usual, and the largest usual scale."""
MOST = 15.0, 11.0
"""Width and height of the largest floor, if only that makes room for the numbers."""
LEAST, EMPTY = 1.7, 2.4
"""Longest side of the smallest floor, and of an empty one."""
HEAD = 2.12
HEADING, ABOVE, BELOW, BETWEEN = 0.46, 0.24, 0.58, 0.5
LINE, LIST_PT, LIST_LONG = 0.18, 7.5, 12
CLEAR = 0.03
LIST_GAP, NAME_LONGEST = 0.28, 3.4
STEPS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10)
LIGHT_STEPS = (1, 2, 5, 10, 20, 25, 50, 100, 200, 250, 500)

Segment = tuple[Point, Point]


@dataclass(frozen=True)
class ListWord:
    """A word of the list of beds; those of its headline are faint."""

    x: float
    y: float
    text: str
    faint: bool


@dataclass(frozen=True)
class Panel:
    """One zone; ``lamps`` are the outlines, broken where a number stands, ``beside`` starts loose beds."""

    zone: LitZone
    top: float
    bottom: float
    title: str
    note: str
    floor: Box
    across: tuple[tuple[float, str], ...]
    up: tuple[tuple[float, str], ...]
    lamps: tuple[Segment, ...]
    plots: tuple[BedPlot, ...]
    beside: Point | None
    extremes: tuple[Extreme, ...]
    entries: tuple[ListWord, ...]


@dataclass(frozen=True)
class LightMap:
    """The whole picture; ``marks`` are the PPFD written on the scale, ``hours`` a zone a day length."""

    width: float
    height: float
    title: str
    marks: tuple[float, ...]
    hours: tuple[LitZone, ...]
    panels: tuple[Panel, ...]


def light_map(zones: Sequence[LitZone], place: str, measure: Measure) -> LightMap:
    """Lay the zones out, one under the other.

    Parameters
    ----------
    zones
        The zones with their beds.
    place
        Name of the space.
    measure
        Width of a text as it will be drawn.
    """
    common = min((_usual(zone) for zone in zones), default=1.0)
    scales = [_scale(zone, common) for zone in zones]
    widest = max((zone.length_m * scale for zone, scale in zip(zones, scales, strict=True)), default=0.0)
    width = max(PAGE, FLOOR_LEFT + widest + FLOOR_RIGHT)
    hours = tuple({zone.photoperiod_h: zone for zone in zones}.values())
    y = HEAD + LINE * max(len(hours) - 1, 0)
    panels = []
    for zone, scale in zip(zones, scales, strict=True):
        panels.append(_panel(zone, scale, y, width, measure))
        y = panels[-1].bottom + BETWEEN
    return LightMap(
        width=width,
        height=y - BETWEEN + EDGE,
        title=clipped(f"{place}: light on the leaves", 14, True, width - 2 * EDGE, measure),
        marks=_marks([site.ppfd_umol_m2_s for zone in zones for bed in zone.beds for site in bed.sites]),
        hours=hours,
        panels=tuple(panels),
    )


def _usual(zone: LitZone) -> float:
    return min(USUAL[0] / zone.length_m, USUAL[1] / zone.width_m, USUAL_PER_M)


def _scale(zone: LitZone, common: float) -> float:
    """Return the scale [in/m]: the common one, unless a zone would be illegible at it or is empty."""
    longest = max(zone.length_m, zone.width_m)
    if not zone.lamps and all(bed.x_m is None for bed in zone.beds):
        return min(EMPTY / longest, max(common, LEAST / longest))
    most = min(MOST[0] / zone.length_m, MOST[1] / zone.width_m)
    needed = [light_plots.needed_per_m(bed) for bed in zone.beds]
    return max(common, LEAST / longest, *(scale for scale in needed if scale <= most), 0.0)


def _marks(values: Sequence[float]) -> tuple[float, ...]:
    """Return round marks from below the dimmest to above the brightest, never less than twofold apart.

    Twofold, so that a bed of nearly even light also looks even.
    """
    low, high = min(values, default=0.0), max(values, default=0.0)
    low = min(low, high / 2)
    step = next((step for step in LIGHT_STEPS if (high - low) / step <= 6), LIGHT_STEPS[-1])
    first = math.floor(low / step)
    last = max(math.ceil(high / step), first + 1)
    return tuple(float(number * step) for number in range(first, last + 1))


def _panel(zone: LitZone, scale: float, top: float, width: float, measure: Measure) -> Panel:
    high = top + HEADING + (ABOVE if any(zone.walls) else 0.08)
    floor = (FLOOR_LEFT, FLOOR_LEFT + zone.length_m * scale, high, high + zone.width_m * scale)
    numbered = not all(_has_room(bed, scale, measure) for bed in zone.beds if bed.x_m is not None)
    names = [f"{number}" for number in range(1, len(zone.beds) + 1)]
    plots = [
        light_plots.placed(bed, number if numbered else bed.name, floor, scale, measure)
        for number, bed in zip(names, zone.beds, strict=True)
        if bed.x_m is not None
    ]
    loose = [
        (bed, f"{number} {bed.name}" if numbered else bed.name)
        for number, bed in zip(names, zone.beds, strict=True)
        if bed.x_m is None
    ]
    bottom, beside, right = floor[3] + BELOW, None, floor[1] + FLOOR_RIGHT
    if loose:
        beside, laid, bottom = _laid_beside(loose, floor, bottom, width, measure)
        plots += laid
    entries, bottom = _entries(zone, (right, floor[2]), bottom, width, numbered, measure, free=not loose)
    across, up = _ticks(zone.length_m, floor[0], scale, 0.42), _ticks(zone.width_m, floor[3], -scale, 0.3)
    written = _written_around(floor, [x for x, _ in across], [y for y, _ in up], entries, measure)
    return Panel(
        zone=zone,
        top=top,
        bottom=bottom,
        title=clipped(zone.name, 11, True, width - 2 * EDGE, measure),
        note=_note(zone),
        floor=floor,
        across=across,
        up=up,
        lamps=_outlines(zone, floor, scale, plots, measure),
        plots=tuple(plots),
        beside=beside,
        extremes=light_plots.extremes(plots, written, (EDGE, width - EDGE, high - 0.05, bottom), measure),
        entries=entries,
    )


def _written_around(
    floor: Box, across: Sequence[float], up: Sequence[float], entries: Sequence[ListWord], measure: Measure
) -> list[Box]:
    """Return the approximate boxes of the metres, the words for the sides and the list."""
    left, right, top, bottom = floor
    x, y = (left + right) / 2, (top + bottom) / 2
    return [
        *((left - 0.6, left - 0.03, at - 0.08, at + 0.08) for at in up),
        *((at - 0.25, at + 0.25, bottom + 0.03, bottom + 0.3) for at in across),
        (x - 0.8, x + 0.8, bottom + 0.3, bottom + 0.5),
        (x - 0.4, x + 0.4, top - ABOVE, top - 0.03),
        (left - 1.1, left - 0.45, y - 0.16, y + 0.16),
        (right + 0.1, right + 0.6, y - 0.16, y + 0.16),
        *(
            (entry.x, entry.x + measure(entry.text, LIST_PT, False), entry.y - 0.12, entry.y + 0.03)
            for entry in entries
        ),
    ]


def _laid_beside(
    loose: Sequence[tuple[LitBed, str]], floor: Box, bottom: float, width: float, measure: Measure
) -> tuple[Point, list[BedPlot], float]:
    """Lay beds without a place at the right of the floor or below it, whichever makes the lower picture."""
    ways = []
    widest = max(light_plots.card_width(bed, width - FLOOR_LEFT - EDGE) for bed, _ in loose)
    right = floor[1] + FLOOR_RIGHT
    at_right, below = (right, floor[2] + 0.08), (FLOOR_LEFT, bottom + 0.2)
    for start in (at_right, below):
        if start is below or right + max(widest, light_plots.CARD_WIDTH) + EDGE <= width:
            plots, low = light_plots.cards(loose, (start[0], width - EDGE, start[1] + 0.14), measure)
            ways.append((max(bottom, low + 0.1), start, plots))
    lowest, start, plots = min(ways, key=lambda way: way[0])
    return start, plots, lowest


def _has_room(bed: LitBed, scale: float, measure: Measure) -> bool:
    """Return whether a placed bed is wide enough for its name."""
    return measure(bed.name, TAG_PT, True) + 2 * TAG_PAD + 0.1 <= (bed.length_m or 0.0) * scale


def _note(zone: LitZone) -> str:
    drawn, count = len(zone.lamps), zone.lamp_count
    lamps = f"{count} {'lamp' if count == 1 else 'lamps'}" if count else "no lamp in the file"
    if drawn < count:
        some = f"{count - drawn} of them " if drawn else ""
        lamps += f", {some}not drawn: size not given"
    size = f"{text.plain(zone.length_m)} × {text.plain(zone.width_m)} m"
    return f"{size}, lit {text.hours(zone.photoperiod_h)} a day, {lamps}"


def _ticks(long_m: float, start: float, scale: float, apart: float) -> tuple[tuple[float, str], ...]:
    step = next((step for step in STEPS if step * abs(scale) >= apart), STEPS[-1])
    count = math.floor(long_m / step + 1e-9)
    marks = [number * step for number in range(count + 1)] if count else [0.0, long_m]
    units = [""] * (len(marks) - 1) + [" m"]
    return tuple(
        (start + mark * scale, text.plain(mark) + unit) for mark, unit in zip(marks, units, strict=True)
    )


def _outlines(
    zone: LitZone, floor: Box, scale: float, plots: Sequence[BedPlot], measure: Measure
) -> tuple[Segment, ...]:
    """Return the edges of all lamps, broken where a number stands."""
    numbers = [plot.number_box(spot, measure) for plot in plots if plot.number_pt for spot in plot.spots]
    numbers += [plot.light_text.box for plot in plots if plot.light_text]
    edges: list[Segment] = []
    for lamp in zone.lamps:
        left, right, top, bottom = light_plots.on_floor(
            (lamp.x_m, lamp.y_m, lamp.length_m, lamp.width_m), floor, scale
        )
        for y in (top, bottom):
            holes = [(box[0] - CLEAR, box[1] + CLEAR) for box in numbers if box[2] < y < box[3]]
            edges += [((start, y), (end, y)) for start, end in _remaining(left, right, holes)]
        for x in (left, right):
            holes = [(box[2], box[3]) for box in numbers if box[0] - CLEAR < x < box[1] + CLEAR]
            edges += [((x, start), (x, end)) for start, end in _remaining(top, bottom, holes)]
    return tuple(edges)


def _remaining(start: float, end: float, holes: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the parts of a stretch outside the holes."""
    left = []
    for low, high in sorted(holes):
        if low > start:
            left.append((start, min(low, end)))
        start = max(start, high)
        if start >= end:
            break
    return [*left, (start, end)] if start < end else left


def _entries(
    zone: LitZone,
    beside: Point,
    below: float,
    width: float,
    numbered: bool,
    measure: Measure,
    *,
    free: bool,
) -> tuple[tuple[ListWord, ...], float]:
    """Return the list of beds, at the right of the floor if it fits and that is free, and the bottom.

    Below the floor a long list is set in columns.
    """
    if not zone.beds:
        return (), below
    head = ("no." if numbered else "", "bed", "sites", "PPFD", "DLI", "based on")
    lines = [_line(number, bed, numbered, measure) for number, bed in enumerate(zone.beds, start=1)]
    starts = [0.0]
    for column in zip(head, *lines, strict=True):
        wide = max(measure(cell, LIST_PT, False) if cell else 0.0 for cell in column)
        starts.append(starts[-1] + (wide + LIST_GAP if wide else 0.0))
    blocks = 1
    left, top = beside
    if not free or left + starts[-1] - LIST_GAP + EDGE > width:
        left, top = FLOOR_LEFT, below + LINE
        most = int((width - EDGE - left + 2 * LIST_GAP) / (starts[-1] + LIST_GAP))
        blocks = max(1, min(most, math.ceil(len(lines) / LIST_LONG)))
    each = math.ceil(len(lines) / blocks)
    entries = []
    for block in range(blocks):
        rows = [head, *lines[block * each : (block + 1) * each]]
        entries += [
            ListWord(left + block * (starts[-1] + LIST_GAP) + x, top + number * LINE, cell, number == 0)
            for number, row in enumerate(rows)
            for x, cell in zip(starts, row, strict=False)
            if cell
        ]
    return tuple(entries), max(below, top + each * LINE + 0.05)


def _line(number: int, bed: LitBed, numbered: bool, measure: Measure) -> tuple[str, ...]:
    ppfd = [site.ppfd_umol_m2_s for site in bed.sites]
    dli = [site.dli_mol_m2_d for site in bed.sites]
    only_value = {"": "", "one reading": ", one reading", "floor mean": ", one mean"}[bed.alike]
    return (
        f"{number}" if numbered else "",
        clipped(bed.name, LIST_PT, False, NAME_LONGEST, measure),
        f"{len(bed.sites)}",
        _range(text.ppfd(min(ppfd)), text.ppfd(max(ppfd))) + only_value,
        "by month" if bed.by_month else _range(text.dli(min(dli)), text.dli(max(dli))),
        f"{bed.source}, to {text.known_to(bed.sd_ln)}",
    )


def _range(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"
