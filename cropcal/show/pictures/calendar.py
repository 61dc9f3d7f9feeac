"""The shapes of the calendar picture, from its layout in :mod:`cropcal.show.pictures.calendar_layout`."""

from itertools import pairwise

from cropcal.show.pictures.calendar_days import LEFT, RIGHT
from cropcal.show.pictures.calendar_layout import (
    AXIS_GAP,
    HEADER,
    LEGEND_LINE,
    NAME_LINE,
    Bar,
    Chart,
    Cut,
    LaneGroup,
    name_lines,
    note_lines,
)
from cropcal.show.pictures.shapes import (
    AWAY,
    FAINT,
    INK,
    NONE,
    OUTLINE,
    PAPER,
    READY_HATCH,
    SUPPLY,
    SWATCH,
    WHITE,
    Boxes,
    Drawing,
    Marks,
    Shape,
    Sign,
    Strokes,
    TextLine,
    filled,
    mixed,
    style,
    tiles,
)
from cropcal.show.text import clip

EDGE = 0.25
GREY = "#c9c9c3"
SUPPLY_WORDS = (
    "dark: eaten in 8 out of 10 seasons; pale: more, if all grows as forecast; –: none wanted, or not yet"
)
SPREAD = "#7d7d76"
"""Colour of the likely days of cuts."""
NAME_AGAIN = 5.0
"""A bed that is taller has its name at every so many inches."""
SIGN_ROOM = 0.08
"""From the line of what is wanted down to the middle of the sign of a short week."""
PLATE_WHITE = 0.7
"""Share of white in the tone behind a word."""
EMPTY_WHITE = 0.85
"""Share of white in the tone of sites that stay empty beside a plant."""


def drawing(layout: Chart) -> Drawing:
    """Return everything to draw."""
    shapes = [
        TextLine(EDGE, 0.34, layout.title, 14, bold=True),
        TextLine(EDGE, 0.60, layout.subtitle, 9, colour=FAINT),
        *_lanes(layout),
        *_time(layout),
        *_bars(layout.bars),
        *_likely_days(layout.cuts),
        *_labels(layout),
        Marks(tuple((cut.x, cut.y) for cut in layout.cuts), "dot", WHITE, 13, 6),
        *_needs(layout),
        *_legend(layout),
    ]
    if not layout.bars:
        top, bottom = layout.lanes
        middle = (LEFT + layout.width) / 2, (top + bottom) / 2
        x, y = middle
        shapes.append(Boxes(((x - 1.5, x + 1.5, y - 0.2, y + 0.2),), WHITE, 5))
        shapes.append(TextLine(x, y, "Nothing to sow in this plan", 12, side="center", rise="center"))
    return Drawing(layout.width, layout.height, tuple(shapes))


def _lanes(layout: Chart) -> list[Shape]:
    right = layout.width - RIGHT
    top, bottom = layout.lanes
    grounds = tuple((LEFT, right, block.top, block.bottom) for block in layout.blocks)
    away = tuple((first, after, top, bottom) for first, after in layout.breaks)
    shapes: list[Shape] = [Boxes(grounds, PAPER, 0), Boxes(away, AWAY, 1)]
    rows: list[tuple[tuple[float, float], tuple[float, float]]] = []
    for block in layout.blocks:
        shapes += _names(block)
        height = (block.bottom - block.top) / block.rows
        if block.kind == "bed" and not block.by_sowing and block.rows > 1:
            shapes += _site_numbers(block, height)
        if block.kind == "bed" or block.by_sowing:
            edges = [block.top + row * height for row in range(1, block.rows)]
            rows += [((LEFT, y), (right, y)) for y in edges]
    first_want = next((block for block in layout.blocks if block.kind == "want"), None)
    if first_want:
        y = first_want.top - 0.12
        shapes += [
            TextLine(EDGE, y, "Ready each week", 9, bold=True),
            Boxes(((LEFT + 0.01, LEFT + 0.062 * len(SUPPLY_WORDS), y - 0.13, y + 0.05),), WHITE, 2),
            TextLine(LEFT + 0.03, y, SUPPLY_WORDS, 7.5),
        ]
    return [*shapes, Strokes(tuple(rows), WHITE, 0.8, 0.5)]


def _names(block: LaneGroup) -> list[Shape]:
    middle = (block.top + block.bottom) / 2
    if block.kind == "want":
        return [
            TextLine(EDGE, middle - 0.02, block.name, 8),
            TextLine(EDGE, middle + 0.11, block.note, 6.5, colour=FAINT),
        ]
    own, notes = name_lines(block.name), note_lines(block.note)
    lines = [*((line, 9.0, INK) for line in own), *((line, 7.5, FAINT) for line in notes)]
    shapes: list[Shape] = []
    top = block.top
    while top == block.top or top + NAME_AGAIN / 2 < block.bottom:
        for n, (line, size, colour) in enumerate(lines, start=1):
            shapes.append(TextLine(EDGE, top + n * NAME_LINE, line, size, colour=colour, bold=size > 8))
        top += NAME_AGAIN
    return shapes


def _site_numbers(block: LaneGroup, height: float) -> list[Shape]:
    return [
        TextLine(LEFT - 0.06, block.top + (site - 0.5) * height, str(site), 6, "right", "center", FAINT)
        for site in range(1, block.rows + 1)
    ]


def _time(layout: Chart) -> list[Shape]:
    """Return months, Mondays and work days above the lanes and again below them."""
    top, bottom = layout.lanes
    right = layout.width - RIGHT
    weeks = tuple(((x, top), (x, bottom)) for x, _ in layout.weeks)
    months = tuple(((x, top - 0.4), (x, bottom + 0.45)) for x, _ in layout.months)
    shapes: list[Shape] = [Strokes(weeks, "#dedbd2", 0.5, 1.5), Strokes(months, FAINT, 0.8, 1.6)]
    crowded = len(layout.work_days) > 8 * (right - LEFT)
    for above, below in pairwise(layout.blocks):
        if below.kind != "want" and below.top - above.bottom >= AXIS_GAP:
            shapes += _dates(layout, below.top - 0.22, below.top - 0.06)
    signs: tuple[tuple[float, float, float, Sign], ...] = (
        (top - HEADER + 0.14, top - HEADER + 0.31, top - 0.08, "down"),
        (bottom + 0.42, bottom + 0.25, bottom + 0.07, "up"),
    )
    for months_y, weeks_y, marks_y, sign in signs:
        shapes += _dates(layout, months_y, weeks_y)
        for busy in (False, True):
            points = tuple((x, marks_y) for x, has_jobs in layout.work_days if has_jobs is busy)
            shapes.append(Marks(points, sign, INK if busy else WHITE, 5 if crowded else 12, 6))
    return shapes


def _dates(layout: Chart, months_y: float, weeks_y: float) -> list[Shape]:
    """Return the names of months and the days of Mondays, on two lines."""
    right = layout.width - RIGHT
    months = [
        TextLine(x + 0.03, months_y, name, 8.5, bold=True)
        for x, name in layout.months
        if name and right - x > 0.3
    ]
    return [
        *months,
        *(TextLine(x + 0.03, weeks_y, name, 6.5, colour=FAINT) for x, name in layout.weeks if name),
    ]


def _bars(bars: tuple[Bar, ...]) -> list[Shape]:
    """Return all bars, one shape for each hatch: every shape costs drawing time."""
    by_hatch: dict[str, list[tuple[Bar, str]]] = {}
    for bar in bars:
        tone, texture = style(bar.crop)
        face, hatch = {
            "seed": (mixed(tone, WHITE, 0.65), ""),
            "growing": (tone, texture),
            "ready": (mixed(tone, INK, 0.28), READY_HATCH),
            "empty": (mixed(tone, WHITE, EMPTY_WHITE), ""),
        }[bar.stage]
        by_hatch.setdefault(hatch, []).append((bar, face))
    shapes: list[Shape] = []
    for hatch, group in by_hatch.items():
        boxes = tuple((bar.left, bar.right, bar.top + 0.008, bar.bottom - 0.008) for bar, _ in group)
        ink = WHITE if hatch == READY_HATCH else FAINT
        shapes += filled(boxes, tuple(face for _, face in group), hatch, ink)
    return shapes


def _likely_days(cuts: tuple[Cut, ...]) -> list[Shape]:
    """Return the likely days of each cut as a line over its own bar that goes on behind the others."""
    over = tuple(((cut.low, cut.y), (min(cut.high, cut.end), cut.y)) for cut in cuts if cut.low < cut.high)
    behind = tuple(((cut.end, cut.y), (cut.high, cut.y)) for cut in cuts if cut.end < cut.high)
    return [Strokes(over, SPREAD, 0.6, 4), Strokes(behind, SPREAD, 0.6, 2)]


def _labels(layout: Chart) -> list[Shape]:
    plates = tuple(
        (label.x - label.wide / 2, label.x + label.wide / 2, label.y - half, label.y + half)
        for label in layout.labels
        for half in (label.size_pt * 0.6 / 72,)
    )
    faces = tuple(mixed(style(label.crop)[0], WHITE, PLATE_WHITE) for label in layout.labels)
    words = [
        TextLine(label.x, label.y, label.text, label.size_pt, "center", "center") for label in layout.labels
    ]
    return [Boxes(plates, faces, 5), *words]


def _needs(layout: Chart) -> list[Shape]:
    """Return weekly supply against the line of demand, with a sign at shortages."""
    ready, sure, missing, wanted, signs, idle = [], [], [], [], [], []
    for need in layout.needs:
        floor, height = need.bottom - 0.02, need.bottom - need.top - 0.04
        left, right = need.left + 0.015, need.right - 0.015
        level, goal = floor - need.ready * height, floor - need.wanted * height
        if need.ready > 0:
            ready.append((left, right, level, floor))
            sure.append((left, right, floor - need.sure * height, floor))
        if need.short:
            missing.append((left, right, goal, level))
            signs.append(((left + right) / 2, max((goal + level) / 2, goal + SIGN_ROOM)))
        if need.wanted > 0:
            wanted.append(((need.left, goal), (need.right, goal)))
        if not need.counted and need.ready <= 0:
            idle.append(((need.left + need.right) / 2, (need.top + need.bottom) / 2))
    return [
        Boxes(tuple(ready), mixed(SUPPLY, WHITE, 0.55), 3),
        Boxes(tuple(sure), SUPPLY, 3),
        Boxes(tuple(missing), WHITE, 3, edge=INK, line_pt=OUTLINE),
        Strokes(tuple(wanted), INK, 1.3, 4),
        Marks(tuple(signs), "exclamation", INK, 52, 5, edge=NONE),
        Marks(tuple(idle), "dash", FAINT, 9, 3, edge=FAINT),
    ]


def _legend(layout: Chart) -> list[Shape]:
    y = layout.legend_top + LEGEND_LINE
    x = LEFT
    shapes: list[Shape] = []
    stages = [
        ("sown, not up", WHITE, ""),
        ("growing", GREY, ""),
        ("ready to cut", mixed(GREY, INK, 0.28), READY_HATCH),
    ]
    if any(bar.stage == "empty" for bar in layout.bars):
        stages.append(("empty, for room", mixed(GREY, WHITE, EMPTY_WHITE), ""))
    for name, face, hatch in stages:
        shapes += filled((_swatch(x, y),), face, hatch, WHITE)
        shapes.append(TextLine(x + 0.34, y, name, 7.5))
        x += 0.6 + 0.062 * len(name)
    if any(cut.low < cut.high for cut in layout.cuts):
        shapes += [Strokes((((x, y - 0.05), (x + SWATCH, y - 0.05)),), SPREAD, 0.6, 4)]
        shapes.append(TextLine(x + 0.34, y, "cut then in 4 out of 5 seasons", 7.5))
        x += 0.6 + 0.062 * 26
    signs: list[tuple[Sign, str, str]] = [("dot", WHITE, "cut"), ("down", INK, "work day with jobs")]
    signs += [("down", WHITE, "free work day")]
    signs += [("exclamation", INK, "short (line: wanted)")] if layout.needs else []
    for sign, face, name in signs:
        shapes.append(Marks(((x + 0.08, y - 0.05),), sign, face, 52 if sign == "exclamation" else 24, 4))
        shapes.append(TextLine(x + 0.2, y, name, 7.5))
        x += 0.46 + 0.062 * len(name)
    if layout.breaks:
        shapes += [Boxes((_swatch(x, y),), AWAY, 3), TextLine(x + 0.34, y, "nobody there", 7.5)]
    column = (layout.width - LEFT - RIGHT) / layout.legend_columns
    for number, (letter, name) in enumerate(layout.crops):
        left = LEFT + number % layout.legend_columns * column
        low = y + LEGEND_LINE * (1 + number // layout.legend_columns)
        shapes += tiles((_swatch(left, low),), number)
        shapes.append(TextLine(left + 0.34, low, f"{letter}  {clip(name, 30)}", 7.5))
    return shapes


def _swatch(x: float, y: float) -> tuple[float, float, float, float]:
    return x, x + SWATCH, y - 0.12, y + 0.02
