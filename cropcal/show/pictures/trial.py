"""The shapes of the picture of a trial: forecast and observed values of each batch, in two groups."""

from collections.abc import Callable, Mapping, Sequence

from cropcal.records.learned import BatchOutcome, Trial
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
)
from cropcal.show.wording import crop_name

WIDTH, LEFT, RIGHT_EDGE, HEIGHT = 8.0, 0.95, 7.75, 2.1
GAP = 0.8
"""Room between the two groups, in slots."""
Read = Callable[[BatchOutcome], float | None]
PANELS: tuple[tuple[str, str, Read, Read], ...] = (
    ("Weight of a plant, g", "g", lambda outcome: outcome.g, lambda outcome: outcome.g_forecast),
    (
        "Days from sowing to the first cut",
        "d",
        lambda outcome: float(outcome.days),
        lambda outcome: outcome.days_forecast,
    ),
)


def drawing(comparison: Trial, names: Mapping[str, str], place: str) -> Drawing:
    """Return a panel for weights and one for days, batches by day of sowing, the first group to the left."""
    crops = " and ".join(crop_name(slug, names) for slug in comparison.crops)
    head = f"{text.clip(place, 30)}: {crops}, two groups"
    shapes: list[Shape] = [TextLine(0.25, 0.34, head, 13, bold=True)]
    outcomes = sorted(
        comparison.outcomes, key=lambda outcome: (outcome.group, outcome.sown_on, outcome.batch)
    )
    y = 0.55
    for title, unit, came, forecast in PANELS:
        rows = [(outcome, came(outcome), forecast(outcome)) for outcome in outcomes]
        if any(has_value is not None for _, has_value, _ in rows):
            shapes += _panel(title, unit, rows, comparison.groups, y)
            y += HEIGHT + 1.05
    shapes += [
        Marks(((0.39, y),), "dot", INK, 40, 5),
        TextLine(0.55, y, "what came", 8.5, rise="center"),
        Marks(((1.8, y),), "dot", WHITE, 40, 5),
        TextLine(1.96, y, "forecast by the book, for the light, air and hours it had", 8.5, rise="center"),
        Strokes((((5.75, y), (6.05, y)),), INK, 2.0, 4),
        TextLine(6.15, y, "mean of what came", 8.5, rise="center"),
    ]
    return Drawing(WIDTH, y + 0.25, tuple(shapes))


def _panel(
    title: str,
    unit: str,
    rows: Sequence[tuple[BatchOutcome, float | None, float | None]],
    groups: tuple[str, str],
    top: float,
) -> list[Shape]:
    top += 0.3
    bottom = top + HEIGHT
    values = [value for _, *both in rows for value in both if value is not None]
    step = _step(max(values))
    highest = step * (int(max(values) / step) + 1)

    def y(value: float) -> float:
        return bottom - HEIGHT * value / highest

    shapes: list[Shape] = [
        TextLine(0.25, top - 0.12, title, 9.5, bold=True),
        Boxes(((LEFT, RIGHT_EDGE, top, bottom),), PAPER, 1),
    ]
    for number in range(round(highest / step) + 1):
        value = number * step
        shapes.append(Strokes((((LEFT, y(value)), (RIGHT_EDGE, y(value))),), WHITE, 1.0, 2))
        shapes.append(TextLine(LEFT - 0.1, y(value), f"{value:g} {unit}", 8.5, "right", "center"))
    slot = (RIGHT_EDGE - LEFT) / (len(rows) + GAP)
    for group, name in enumerate(groups):
        of_group = [(at, *row) for at, row in enumerate(rows) if row[0].group == group]
        if not of_group:
            continue
        xs = [LEFT + slot * (at + 0.5 + GAP * group) for at, *_ in of_group]
        for x, (_, outcome, came, forecast) in zip(xs, of_group, strict=True):
            shapes += _batch(x, None if came is None else y(came), None if forecast is None else y(forecast))
            if slot > MIN_SLOT:
                shapes.append(
                    TextLine(x, bottom + 0.16, text.span(outcome.sown_on, outcome.sown_on), 8, "center")
                )
        values = [came for _, _, came, _ in of_group if came is not None]
        if values:
            level = y(sum(values) / len(values))
            shapes.append(
                Strokes((((xs[0] - slot * 0.4, level), (xs[-1] + slot * 0.4, level)),), INK, 2.0, 4)
            )
        middle = (xs[0] + xs[-1]) / 2
        shapes.append(TextLine(middle, bottom + 0.36, text.clip(name, 32), 9, "center", bold=True))
    shapes.append(TextLine(LEFT - 0.1, bottom + 0.16, "sown", 8, "right", colour=FAINT))
    return shapes


MIN_SLOT = 0.5


def _batch(x: float, came: float | None, forecast: float | None) -> list[Shape]:
    shapes: list[Shape] = []
    if came is not None and forecast is not None:
        shapes.append(Strokes((((x, forecast), (x, came)),), FAINT, 1.2, 3))
    if forecast is not None:
        shapes.append(Marks(((x, forecast),), "dot", WHITE, 40, 5))
    if came is not None:
        shapes.append(Marks(((x, came),), "dot", INK, 40, 6))
    return shapes


def _step(highest: float) -> float:
    """Return a round step that makes four to ten lines."""
    step = 1.0
    while highest / step > 8:
        step *= 2 if str(step)[0] in "15" else 2.5
    return step
