"""The shapes of the hours picture: crop suitability by hours of light, the cost, and when the lamp is on."""

from collections.abc import Sequence
from itertools import pairwise

from cropcal.records.base import clock
from cropcal.records.hours import HoursAdvice, HoursChoice, ZoneHours
from cropcal.show import text
from cropcal.show.pictures.shapes import (
    FAINT,
    INK,
    PAPER,
    WHITE,
    Boxes,
    Drawing,
    Marks,
    Shape,
    Strokes,
    TextLine,
    filled,
    mixed,
)

WIDTH = 9.0
LEFT, RIGHT_EDGE = 2.3, 8.7
FIRST_H, LAST_H = 4.0, 24.0
ROW, THICK = 0.3, 0.22
CURVE, STRIP = 1.1, 0.26
GOOD, SLOW, UNKNOWN, HARM, DARK = "#8cc084", "#f2d98b", "#e4e7e8", "#d88f63", "#bcc4c9"
LIT, QUIET = "#f2d98b", "#cdbce4"
FACES = {
    "right": (GOOD, "", ("grows well", "well")),
    "slow": (SLOW, "", ("slow",)),
    "unknown": (UNKNOWN, "....", ("limit not known", "unknown", "?")),
    "burn": (HARM, "////", ("leaf tips may burn", "tips burn", "burn")),
    "bolt": (HARM, "xxxx", ("bolts",)),
    "hot": (HARM, "----", ("too hot", "hot")),
    "dark": (DARK, "", ("too dark", "dark")),
    "glare": (DARK, "////", ("far too bright", "glare")),
    "air": (DARK, "----", ("air too hot or cold", "bad air")),
}
HARMED = ("burn", "bolt", "hot", "dark", "glare", "air")
ROOM_FOR_COST = 0.6
"""Inches that a cost needs between its line and the left edge."""
EM_IN = 0.0078
"""Mean width of a letter, in inches for each point of its size."""


def drawing(advice: HoursAdvice) -> Drawing:
    """Return everything to draw: one block per zone."""
    shapes: list[Shape] = [
        TextLine(0.25, 0.34, f"{text.clip(advice.place, 40)}: which hours of light?", 13, bold=True)
    ]
    y = 0.55
    for zone in advice.zones:
        block, y = _zone(zone, advice.currency, y)
        shapes += block
    return Drawing(WIDTH, y, tuple(shapes))


def _x(hours: float) -> float:
    return LEFT + (hours - FIRST_H) / (LAST_H - FIRST_H) * (RIGHT_EDGE - LEFT)


def _clock_x(minute: float) -> float:
    return LEFT + minute / 1440 * (RIGHT_EDGE - LEFT)


def _zone(zone: ZoneHours, currency: str | None, top: float) -> tuple[list[Shape], float]:
    pick = zone.pick
    hours = f"{text.plain(pick.photoperiod_h, 2)} h"
    when = " and ".join(f"{clock(on)}-{clock(off)}" for on, off in pick.lit)
    output = "" if pick.output == 1 else f", output {text.percent(pick.output)}"
    day_text = f": {hours} a day, {when}{output}"
    shapes: list[Shape] = [
        TextLine(0.25, top + 0.2, text.clip(zone.zone, 70 - len(day_text)) + day_text, 11, bold=True)
    ]
    y = top + 0.3
    for line in text.wrap(zone.why[:1].upper() + zone.why[1:], 125).split("\n"):
        y += 0.17
        shapes.append(TextLine(0.25, y, line, 8.5))
    for cure in zone.cures[:2]:
        y += 0.17
        shapes.append(TextLine(0.25, y, text.clip(f"Cure: {cure}", 125), 8.5))
    y += 0.56
    rows_top = y
    if zone.crops:
        shapes.append(TextLine(LEFT, y - 0.34, "How well crops do, by hours of light", 8.5, colour=FAINT))
        for number, crop in enumerate(zone.crops):
            shapes += _bar(zone, number, crop.name, y + number * ROW)
        y += ROW * len(zone.crops) + 0.1
    if zone.lengths:
        shapes += _missing(zone, y + ROW / 2)
        y += ROW + 0.1
    bottom = y + CURVE
    shapes += _curve(zone, currency, y, bottom)
    shapes += _marks(zone, rows_top, bottom)
    shapes += _hours_axis(bottom)
    strip, y = _strip(zone, currency, bottom + 0.6)
    return [*shapes, *strip], y + 0.3


def _missing(zone: ZoneHours, y: float) -> list[Shape]:
    """Return the weeks that are expected to be missing at the lengths that were tried, the pick first."""
    wanted = zone.lengths[0].wanted_want_weeks
    shapes: list[Shape] = [TextLine(LEFT - 0.1, y, f"Weeks missed, of {wanted}", 8.5, "right", "center")]
    drawn: list[float] = []
    for length in sorted(zone.lengths, key=lambda length: (not length.picked, not length.chosen)):
        label = f"{length.short_want_weeks:.1f}"
        beside = (_text_width(label) / 2 + 0.06) * length.picked  # of the line of the pick
        x = _x(length.setting.photoperiod_h) + beside
        if all(abs(x - other) > _text_width(label) + 0.04 for other in drawn):
            shapes.append(TextLine(x, y, label, 7.5, "center", "center", bold=length.chosen))
            drawn.append(x)
    return shapes


def _bar(zone: ZoneHours, number: int, name: str, y: float) -> list[Shape]:
    """Return one crop's row: a box for each stretch of hours with the same suitability."""
    shapes: list[Shape] = [TextLine(LEFT - 0.1, y + THICK / 2, text.clip(name, 26), 8.5, "right", "center")]
    for span in zone.crops[number].spans:
        left, right = _x(max(span.from_h - 0.125, FIRST_H)), _x(min(span.to_h + 0.125, LAST_H))
        face, hatch, words = FACES[span.suit]
        shapes += filled(((left, right, y, y + THICK),), face, hatch, mixed(face, INK, 0.3))
        room = _room(left, right, _x(zone.pick.photoperiod_h))
        label = next((word for word in words if _text_width(word) < room[1] - room[0] - 0.04), "")
        if label:
            shapes += _label(sum(room) / 2, y + THICK / 2, label, face, hatched=bool(hatch))
    return shapes


def _text_width(label: str) -> float:
    return len(label) * EM_IN * 7.5


def _room(left: float, right: float, line: float) -> tuple[float, float]:
    """Return the part of a bar where a word stays clear of the line of the pick."""
    if not left < line < right:
        return left, right
    return (left, line - 0.03) if line - left > right - line else (line + 0.03, right)


def _label(x: float, y: float, label: str, face: str, *, hatched: bool) -> list[Shape]:
    """Return a word on a bar, on a plate of the bar's colour where it is hatched."""
    half = _text_width(label) / 2
    plate = [Boxes(((x - half, x + half, y - 0.075, y + 0.075),), face, 4)] if hatched else []
    return [*plate, TextLine(x, y, label, 7.5, "center", "center")]


def _curve(zone: ZoneHours, currency: str | None, top: float, bottom: float) -> list[Shape]:
    """Return what each day length costs a month, over shaded hours that harm some crop."""
    priced = zone.pick.cost_per_month is not None
    values = [(c.photoperiod_h, _amount(c, priced=priced)) for c in zone.choices]
    most = max((value for _, value in values), default=0.0) or 1.0

    def y(value: float) -> float:
        return bottom - value / most * (bottom - top) * 0.85

    boxes = tuple((_x(first), _x(last), top, bottom) for first, last in _harmed(zone))
    shapes: list[Shape] = [Boxes(((LEFT, RIGHT_EDGE, top, bottom),), PAPER, 1)]
    if boxes:
        shapes.append(Boxes(boxes, mixed(HARM, WHITE, 0.6), 1.5))
    points = [(_x(hours), y(value)) for hours, value in values]
    shapes.append(Strokes(tuple(pairwise(points)), INK, 1.5, 4))
    unit = (currency or "cost") if priced else "kWh"
    shapes.append(TextLine(LEFT - 0.1, top + 0.25, f"lamp: {unit} a month", 8.5, "right"))
    notes = ["shaded: harms some crop"] if boxes else []
    if len({choice.output for choice in zone.choices}) > 1:
        notes.append("turned down where that is best")
    for number, note in enumerate(notes):
        shapes.append(TextLine(LEFT - 0.1, top + 0.42 + 0.15 * number, note, 7.5, "right", colour=FAINT))
    shapes.append(
        Marks(((_x(zone.pick.photoperiod_h), y(_amount(zone.pick, priced=priced))),), "dot", INK, 22, 6)
    )
    return [*shapes, *_costs(zone, top + 0.16, priced=priced)]


def _costs(zone: ZoneHours, y: float, *, priced: bool) -> list[Shape]:
    """Return the cost of the pick beside its line, and that of the current hours on the other side."""
    now = zone.now
    if now is not None and abs(now.photoperiod_h - zone.pick.photoperiod_h) > 0.05:
        right = now.photoperiod_h < zone.pick.photoperiod_h
    else:
        right = _x(zone.pick.photoperiod_h) - LEFT < ROOM_FOR_COST
    shapes: list[Shape] = [_cost(zone.pick, y, right=right, priced=priced, bold=True)]
    if now is not None and abs(now.photoperiod_h - zone.pick.photoperiod_h) > 0.05:
        shapes.append(_cost(now, y, right=not right, priced=priced, bold=False))
    return shapes


def _cost(choice: HoursChoice, y: float, *, right: bool, priced: bool, bold: bool) -> TextLine:
    value = _amount(choice, priced=priced)
    label = text.money(value) if priced else text.kwh(value)
    x = _x(choice.photoperiod_h) + (0.08 if right else -0.08)
    return TextLine(x, y, label, 8.5, "left" if right else "right", colour=INK if bold else FAINT, bold=bold)


def _amount(choice: HoursChoice, *, priced: bool) -> float:
    return choice.cost_per_month or 0.0 if priced else choice.kwh_per_month


def _harmed(zone: ZoneHours) -> list[tuple[float, float]]:
    """Return the stretches of hours at which some crop may be lost, at the picked output."""
    spans = sorted(
        (max(span.from_h - 0.125, FIRST_H), min(span.to_h + 0.125, LAST_H))
        for crop in zone.crops
        for span in crop.spans
        if span.suit in HARMED
    )
    stretches: list[tuple[float, float]] = []
    for first, last in spans:
        if stretches and first <= stretches[-1][1] + 1e-9:
            stretches[-1] = (stretches[-1][0], max(stretches[-1][1], last))
        else:
            stretches.append((first, last))
    return stretches


def _marks(zone: ZoneHours, top: float, bottom: float) -> list[Shape]:
    """Return the line of the pick, and that of the current hours if they differ."""
    at = _x(zone.pick.photoperiod_h)
    shapes: list[Shape] = [
        Strokes((((at, top - 0.14), (at, bottom)),), INK, 2.0, 6),
        Marks(((at, top - 0.14),), "down", INK, 34, 6),
        TextLine(at + 0.07, top - 0.11, "pick", 8.5, bold=True),
    ]
    if zone.now is not None and abs(zone.now.photoperiod_h - zone.pick.photoperiod_h) > 0.05:
        now = _x(zone.now.photoperiod_h)
        shapes += [
            Strokes((((now, top - 0.14), (now, bottom)),), FAINT, 1.2, 5.5),
            TextLine(now + 0.07, top - 0.11, "now", 8.5, colour=FAINT),
        ]
    return shapes


def _hours_axis(bottom: float) -> list[Shape]:
    ticks = range(int(FIRST_H), int(LAST_H) + 1, 2)
    shapes: list[Shape] = [TextLine(_x(tick), bottom + 0.18, str(tick), 8, "center") for tick in ticks]
    shapes.append(
        Strokes(tuple(((_x(tick), bottom), (_x(tick), bottom + 0.05)) for tick in ticks), INK, 0.8, 4)
    )
    return [*shapes, TextLine(LEFT - 0.1, bottom + 0.18, "hours of light a day", 8.5, "right")]


def _strip(zone: ZoneHours, currency: str | None, top: float) -> tuple[list[Shape], float]:
    """Return the day by the clock: when the lamp is on, the quiet hours, and when power is expensive."""
    rows: list[tuple[str, list[Shape]]] = []
    lit = _stretches(zone.pick.lit)
    rows.append(("lamp on", filled(tuple((*edge, top, top + STRIP) for edge in lit), LIT, "", INK)))
    y = top + STRIP + 0.08
    if zone.quiet:
        boxes = tuple((*edge, y, y + STRIP) for edge in _stretches(zone.quiet))
        rows.append(("quiet hours", filled(boxes, QUIET, "////", mixed(QUIET, INK, 0.3))))
        y += STRIP + 0.08
    if zone.price_by_quarter:
        rows.append((f"price, {currency or 'money'} a kWh", _price(zone.price_by_quarter, y)))
        y += STRIP + 0.08
    shapes: list[Shape] = [TextLine(LEFT, top - 0.08, "The day by the clock", 8.5, colour=FAINT)]
    for number, (name, drawn) in enumerate(rows):
        row = top + number * (STRIP + 0.08)
        shapes.append(Boxes(((LEFT, RIGHT_EDGE, row, row + STRIP),), PAPER, 1))
        shapes.append(TextLine(LEFT - 0.1, row + STRIP / 2, name, 8.5, "right", "center"))
        shapes += drawn
    shapes += [
        TextLine(_clock_x(60 * hour), y + 0.1, f"{hour:02d}:00", 8, "center") for hour in range(0, 25, 3)
    ]
    return shapes, y + 0.2


def _stretches(minutes: Sequence[tuple[int, int]]) -> list[tuple[float, float]]:
    """Return stretches as edges of the strip, cut in two at midnight."""
    edges = []
    for first, last in minutes:
        if first < last:
            edges.append((_clock_x(first), _clock_x(last)))
        else:
            edges += [(_clock_x(first), _clock_x(1440)), (_clock_x(0), _clock_x(last))]
    return [edge for edge in edges if edge[1] > edge[0]]


def _price(by_quarter: Sequence[float], y: float) -> list[Shape]:
    """Return bars as high as the price, each labelled once where it begins."""
    most = max(by_quarter) or 1.0
    shapes: list[Shape] = []
    first = 0
    for quarter in range(1, len(by_quarter) + 1):
        if quarter < len(by_quarter) and abs(by_quarter[quarter] - by_quarter[first]) < 5e-4:
            continue
        left, right = _clock_x(15 * first), _clock_x(15 * quarter)
        high = by_quarter[first] / most * STRIP
        shapes += filled(((left, right, y + STRIP - high, y + STRIP),), DARK, "", INK)
        if right - left > 0.5:
            shapes.append(
                TextLine(
                    (left + right) / 2, y + STRIP - 0.05, text.plain(by_quarter[first], 3), 7.5, "center"
                )
            )
        first = quarter
    return shapes
