"""The shapes of the daylight picture: light of sun and lamp through the year, and the hours of both."""

from collections.abc import Sequence
from itertools import accumulate
from math import ceil

from cropcal.records.daylight import (
    HALVES,
    MONTHS,
    CropNeed,
    DaylightYear,
    ZoneSun,
)
from cropcal.show import text
from cropcal.show.pictures.shapes import (
    FAINT,
    INK,
    PAPER,
    SWATCH,
    Box,
    Boxes,
    Drawing,
    Shape,
    Strokes,
    TextLine,
    filled,
    mixed,
)

WIDTH = 9.0
LEFT, RIGHT = 0.75, 6.15
OUTDOOR, LIGHT, CLOCK = 0.9, 1.9, 1.5
GAP = 0.42
SUN, LAMP, RANGE = "#f2d98b", "#6fa3d0", "#8cc084"
SUN_INK, LAMP_INK = mixed(SUN, INK, 0.45), mixed(LAMP, INK, 0.45)
COMMON_YEAR = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
BAR_GAP, BAR = 0.1, 0.1
MOST_BARS = 6
NAME_LETTERS = 24
"""Letters of a crop's name that fit beside six bars: 24 of 7.5 pt take about 1.55 inches."""


def drawing(daylight_year: DaylightYear) -> Drawing:
    """Return everything to draw: the light outdoors, then light and hours of each zone with a window."""
    latitude = text.plain(abs(daylight_year.latitude), 2)
    head = f"{text.clip(daylight_year.place, 40)}: the year's light at {latitude}"
    side = "N" if daylight_year.latitude >= 0 else "S"
    shapes: list[Shape] = [TextLine(0.25, 0.34, f"{head} {side}", 13, bold=True)]
    y = 0.72
    shapes += _outdoors(daylight_year, y)
    y += OUTDOOR + GAP + 0.15
    for zone in daylight_year.zones:
        if zone.has_window:
            shapes += _zone(zone, y)
            y += 0.25 + LIGHT + GAP + CLOCK + GAP + 0.25
    if not any(zone.has_window for zone in daylight_year.zones):
        shapes.append(TextLine(LEFT, y, "No zone has a window: daylight_share is 0 everywhere", 9))
        y += 0.3
    shapes += _legend(y)
    return Drawing(WIDTH, y + 0.35, tuple(shapes))


def _day_x(days: int) -> list[float]:
    """Return the left edge of each day of a year, and the right one of the last."""
    return [LEFT + (RIGHT - LEFT) * day / days for day in range(days + 1)]


def _half_x() -> list[float]:
    """Return the left edge of each half month, and the right one of the last."""
    lengths = [days for month in COMMON_YEAR for days in (15, month - 15)]
    return [LEFT + (RIGHT - LEFT) * day / 365 for day in (0, *accumulate(lengths))]


def _outdoors(daylight_year: DaylightYear, top: float) -> list[Shape]:
    """Return the light outdoors, day by day."""
    values = daylight_year.outdoor_by_day_mol_m2_d
    most = _round_up(max(values))
    x = _day_x(len(values))
    bottom = top + OUTDOOR
    boxes = tuple(
        (x[day], x[day + 1], bottom - value / most * OUTDOOR, bottom) for day, value in enumerate(values)
    )
    title = f"Outdoors, mol/m² a day; from {daylight_year.source}"
    return [
        TextLine(LEFT, top - 0.08, text.clip(title, 100), 8.5, colour=FAINT),
        Boxes(boxes, mixed(SUN, PAPER, 0.35), 2),
        *_axis(top, bottom, most, _steps(most)),
        *_months(bottom),
    ]


def _round_up(value: float) -> float:
    step = 5.0 if value <= 40 else 20.0
    return max(ceil(value / step) * step, step)


def _steps(most: float) -> list[float]:
    step = next(step for step in (5.0, 10.0, 20.0, 40.0) if most / step <= 4)
    return [step * number for number in range(int(most / step) + 1)]


def _axis(top: float, bottom: float, most: float, at: Sequence[float]) -> list[Shape]:
    shapes: list[Shape] = [Boxes(((LEFT, RIGHT, top, bottom),), "none", 4, edge=INK, line_pt=0.6)]
    for value in at:
        y = bottom - value / most * (bottom - top)
        shapes.append(Strokes((((LEFT, y), (RIGHT, y)),), mixed(FAINT, PAPER, 0.6), 0.4, 1))
        shapes.append(TextLine(LEFT - 0.07, y, text.plain(value), 8, "right", "center", FAINT))
    return shapes


def _months(bottom: float) -> list[Shape]:
    x = _half_x()
    shapes: list[Shape] = [
        TextLine((x[2 * month] + x[2 * month + 2]) / 2, bottom + 0.16, name, 8, "center", colour=FAINT)
        for month, name in enumerate(MONTHS)
    ]
    ticks = tuple(((x[2 * month], bottom), (x[2 * month], bottom + 0.05)) for month in range(13) if month)
    return [*shapes, Strokes(ticks, INK, 0.5, 4)]


def _zone(zone: ZoneSun, top: float) -> list[Shape]:
    shapes: list[Shape] = [TextLine(0.25, top, text.clip(zone.zone, 60), 11, bold=True)]
    if zone.why:
        shapes.append(TextLine(0.25, top + 0.17, text.clip(zone.why, 120), 8.5))
    light_top = top + (0.45 if zone.why else 0.3)
    light_bottom = light_top + LIGHT
    shapes += _light(zone, light_top, light_bottom)
    clock_top = light_bottom + GAP
    shapes += _clock(zone, clock_top, clock_top + CLOCK)
    return shapes


def _light(zone: ZoneSun, top: float, bottom: float) -> list[Shape]:
    """Return the light of sun and lamp stacked, and the crops' light ranges."""
    days = zone.sun_by_day_mol_m2_d
    x, month_of = _day_x(len(days)), _month_of(len(days))
    lamp = [zone.lamp_mol_m2_d[month] for month in month_of]
    asked = [value for crop in zone.crops for value in (crop.enough_mol_m2_d, crop.best_mol_m2_d)]
    most = _round_up(max([*(a + b for a, b in zip(days, lamp, strict=True)), *asked, 1.0]))

    def level(value: float) -> float:
        return bottom - min(value, most) / most * (bottom - top)

    sun = tuple((x[day], x[day + 1], level(value), bottom) for day, value in enumerate(days))
    on_top = tuple(
        (x[day], x[day + 1], level(value + lamp[day]), level(value))
        for day, value in enumerate(days)
        if lamp[day] > 0
    )
    shapes: list[Shape] = [
        TextLine(LEFT, top - 0.08, "At the leaves, mol/m² a day", 8.5, colour=FAINT),
        Boxes(sun, SUN, 2),
        *([Boxes(on_top, LAMP, 2)] if on_top else []),
        *_axis(top, bottom, most, _steps(most)),
    ]
    if zone.crops:
        floor = max(crop.enough_mol_m2_d for crop in zone.crops)
        line = (((LEFT, level(floor)), (RIGHT, level(floor))),)
        shapes.append(Strokes(line, INK, 1.1, 5, dashed=True))
        shapes += _ranges(zone.crops[:MOST_BARS], top, bottom, most)
    return shapes


def _month_of(days: int) -> list[int]:
    leap = days == 366
    return [
        month
        for month, length in enumerate(COMMON_YEAR)
        for _ in range(length + (1 if leap and month == 1 else 0))
    ]


def _ranges(crops: Sequence[CropNeed], top: float, bottom: float, most: float) -> list[Shape]:
    """Return a bar for each crop, from the least light for good growth to its ceiling, beside the panel."""
    shapes: list[Shape] = []
    for number, crop in enumerate(crops):
        left = RIGHT + BAR_GAP + number * (BAR + 0.06)
        low, high = (
            bottom - min(value, most) / most * (bottom - top)
            for value in (crop.enough_mol_m2_d, crop.ceiling_mol_m2_d)
        )
        best = bottom - min(crop.best_mol_m2_d, most) / most * (bottom - top)
        shapes += filled(((left, left + BAR, high, low),), RANGE, "", INK)
        shapes.append(Strokes((((left, best), (left + BAR, best)),), INK, 1.4, 5))
        label = f"{number + 1}"
        shapes.append(TextLine(left + BAR / 2, low + 0.13, label, 7.5, "center"))
    right = RIGHT + BAR_GAP + len(crops) * (BAR + 0.06) + 0.06
    for number, crop in enumerate(crops):
        y = top + 0.1 + 0.15 * number
        shapes.append(TextLine(right, y, text.clip(f"{number + 1} {crop.name}", NAME_LETTERS), 7.5))
    return shapes


def _clock(zone: ZoneSun, top: float, bottom: float) -> list[Shape]:
    """Return the hours of the day when the sun is up and when the lamp is on, through the year."""
    x = _half_x()

    def level(minute: float) -> float:
        return top + minute / 1440 * (bottom - top)

    def boxes(stretches: Sequence[Sequence[tuple[int, int]]], inset: float) -> tuple[Box, ...]:
        return tuple(
            (x[half] + inset, x[half + 1] - inset, level(on), level(off))
            for half in range(HALVES)
            for on, off in stretches[half]
        )

    sun, lamp = boxes(zone.up, 0.0), boxes(zone.lit, 0.05)
    shapes: list[Shape] = [
        TextLine(LEFT, top - 0.08, "Hours of the day", 8.5, colour=FAINT),
        *([Boxes(sun, SUN, 2)] if sun else []),
        *(filled(lamp, LAMP, "", LAMP_INK) if lamp and zone.has_lamp else []),
        Boxes(((LEFT, RIGHT, top, bottom),), "none", 4, edge=INK, line_pt=0.6),
        *_months(bottom),
    ]
    for hour in (0, 6, 12, 18, 24):
        shapes.append(TextLine(LEFT - 0.07, level(hour * 60), f"{hour}:00", 8, "right", "center", FAINT))
        line = (((LEFT, level(hour * 60)), (RIGHT, level(hour * 60))),)
        shapes.append(Strokes(line, mixed(FAINT, PAPER, 0.6), 0.4, 1))
    return shapes


def _legend(y: float) -> list[Shape]:
    shapes: list[Shape] = []
    for number, (face, name) in enumerate(
        ((SUN, "sun"), (LAMP, "lamp"), (RANGE, "where a crop grows well; line: its best"))
    ):
        x = LEFT + 1.2 * number
        shapes += filled(((x, x + SWATCH, y - 0.12, y + 0.02),), face, "", INK)
        shapes.append(TextLine(x + 0.34, y, name, 8))
    x = LEFT + 5.2
    shapes.append(Strokes((((x, y - 0.05), (x + SWATCH, y - 0.05)),), INK, 1.1, 5, dashed=True))
    shapes.append(TextLine(x + 0.34, y, "well for all of them", 8))
    return shapes
