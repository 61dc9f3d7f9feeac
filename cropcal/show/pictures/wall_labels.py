"""Labels to cut out for what is sown soon, as A4 pages."""

from collections.abc import Mapping
from datetime import date, timedelta

from cropcal.records.hazard import FOOD_GRADE
from cropcal.records.plan import Batch, SeasonPlan
from cropcal.show import text
from cropcal.show.pictures.printed_text import A4, EDGE, GREY, Measure, shrunk_to_fit, text_line
from cropcal.show.pictures.shapes import Shape, Strokes
from cropcal.show.wording import crop_name

LABEL_DAYS = 42
"""Labels are printed for what is sown within six weeks (our choice)."""
MOST_LABELS = 140
LABEL_COLUMNS, LABEL_ROWS = 2, 7


def label_pages(
    result: SeasonPlan, names: Mapping[str, str], first: date, measure: Measure
) -> list[list[Shape]]:
    """Return labels to cut out for what is sown within some weeks, in the order of sowing."""
    end = first + timedelta(days=LABEL_DAYS)
    soon = sorted(
        (batch for batch in result.batches if first <= batch.sow_on < end),
        key=lambda batch: (batch.sow_on, batch.id),
    )
    a_page = LABEL_COLUMNS * LABEL_ROWS
    wide, high = (A4[0] - 2 * EDGE) / LABEL_COLUMNS, 1.42
    top = 1.0
    shown, page_shapes = soon[:MOST_LABELS], []
    food_grade = {slug for one in result.care if one.code == "food-grade seed" for slug in one.crops}
    for at in range(0, len(shown), a_page):
        part = shown[at : at + a_page]
        rows = -(-len(part) // LABEL_COLUMNS)
        more = len(soon) - MOST_LABELS if at + a_page >= MOST_LABELS else 0
        left_out = f"; {more} more batches are in sowings.csv" if more > 0 else ""
        title = f"Labels for sowings until {text.day(end - timedelta(days=1))}: cut along the lines{left_out}"
        shapes: list[Shape] = [text_line(EDGE, 0.75, title, 10)]
        shapes.append(Strokes(_cuts(top, wide, high, rows), GREY, 0.7, 2, dashed=True))
        for number, batch in enumerate(part):
            x = EDGE + number % LABEL_COLUMNS * wide
            y = top + number // LABEL_COLUMNS * high
            shapes += _label(batch, names, x, y, wide, measure, food_grade=batch.crop in food_grade)
        page_shapes.append(shapes)
    return page_shapes


def _cuts(
    top: float, wide: float, high: float, rows: int
) -> tuple[tuple[tuple[float, float], tuple[float, float]], ...]:
    across = [
        ((EDGE - 0.15, top + row * high), (A4[0] - EDGE + 0.15, top + row * high)) for row in range(rows + 1)
    ]
    down = [
        ((EDGE + column * wide, top - 0.15), (EDGE + column * wide, top + rows * high + 0.15))
        for column in range(LABEL_COLUMNS + 1)
    ]
    return (*across, *down)


def _label(
    batch: Batch,
    names: Mapping[str, str],
    x: float,
    y: float,
    wide: float,
    measure: Measure,
    *,
    food_grade: bool,
) -> list[Shape]:
    inner = wide - 0.3
    x += 0.15
    id_width = measure(batch.id, 24, True)
    place = f"{batch.sites} in {batch.bed}"
    where, small = shrunk_to_fit(place, 9, 7, max(inner - id_width - 0.15, 0.5), measure)
    title, size = shrunk_to_fit(crop_name(batch.crop, names), 15, 9, inner, measure)
    ready = text.span(batch.ready_from_low_80, batch.ready_from_high_80)
    seed = f"; {FOOD_GRADE}" if food_grade else ""
    below, low = shrunk_to_fit(f"ready {ready}{seed}", 11, 8, inner, measure)
    return [
        text_line(x, y + 0.42, batch.id, 24, bold=True),
        text_line(x + inner, y + 0.42, where, small, side="right"),
        text_line(x, y + 0.74, title, size, bold=True),
        text_line(x, y + 1.0, f"{_start_verb(batch)} {text.day_year(batch.sow_on)}", 11),
        text_line(x, y + 1.23, below, low),
    ]


def _start_verb(batch: Batch) -> str:
    """Return "sown", or "planted" for bought plants."""
    return "sown" if batch.plug_age_d is None else "planted"
