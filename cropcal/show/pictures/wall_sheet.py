"""The sheet for the wall: months of jobs to tick, the timer card, and labels to cut out, as A4 pages.

Black on white, no colour: made for any printer. Only lays out; ``picture`` draws it.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from cropcal.records.base import clock
from cropcal.records.hours import TimerLine
from cropcal.records.plan import Batch, Job, SeasonPlan
from cropcal.show import text
from cropcal.show.pictures.shapes import (
    NONE,
    WHITE,
    Box,
    Boxes,
    Drawing,
    Shape,
    Strokes,
    TextLine,
)
from cropcal.show.wording import (
    by_day,
    crop_name,
    head,
    sites,
)

A4 = (8.27, 11.69)
EDGE = 0.5
GAP = 0.3
TOP, BOTTOM = 1.25, 10.95
BLACK = "#000000"
GREY = "#8a8a8a"
MONTHS = 3
"""Months of jobs that are printed: later jobs move before they are done (our choice)."""
MOST_PAGES_A_MONTH = 8
LABEL_DAYS = 42
"""Labels are printed for what is sown within six weeks (our choice)."""
MOST_LABELS = 140
LABEL_COLUMNS, LABEL_ROWS = 2, 7
LINE = 0.165
JOB_PT, DAY_PT = 8.5, 10.0
MOST_LINES = 3
CARDS_A_PAGE = 2
CARD_PITCH = 3.75
MOST_TIMER_ROWS = 6
MOST_DANGERS = 4

Measure = Callable[[str, float, bool], float]
"""Width of a text [in] from text, size [pt] and whether it is bold."""


def pages(
    result: SeasonPlan,
    names: Mapping[str, str],
    timers: Sequence[TimerLine],
    measure: Measure,
    dangers: Sequence[str] = (),
) -> tuple[Drawing, ...]:
    """Return the pages: jobs month by month, then timers, then labels.

    Parameters
    ----------
    result
        The plan; it is printed from the day it was made again, if it was.
    names
        Slug of a crop -> its name, fit to be drawn.
    timers
        When each zone's lamp is on.
    measure
        Returns the width of a text [in].
    dangers
        What is dangerous, printed under the timer cards.
    """
    first = result.again.on if result.again else result.start
    page_shapes = [
        *_month_pages(result, names, first, measure),
        *_timer_pages(result, timers, measure, dangers),
        *_label_pages(result, names, first, measure),
    ]
    last = len(page_shapes)
    return tuple(
        Drawing(*A4, (*shapes, _text_line(A4[0] - EDGE, 11.3, f"{number} of {last}", 8, side="right")))
        for number, shapes in enumerate(page_shapes, 1)
    )


@dataclass
class _Flow:
    """Two columns of lines, page after page."""

    head: Callable[[int], list[Shape]]
    pages: list[list[Shape]] = field(default_factory=list)
    column: int = 1
    y: float = BOTTOM

    def room(self, height: float) -> bool:
        """Move on to the next column if the height [in] does not fit; return whether that was needed."""
        if self.y + height <= BOTTOM:
            return False
        self.column += 1
        if self.column > 1 or not self.pages:
            self.column = 0
            self.pages.append(self.head(len(self.pages) + 1))
        self.y = TOP
        return True

    @property
    def x(self) -> float:
        """Return the left edge of the column."""
        return EDGE + self.column * (COLUMN + GAP)

    def add(self, *shapes: Shape) -> None:
        """Put shapes on the page."""
        self.pages[-1] += shapes


COLUMN = (A4[0] - 2 * EDGE - GAP) / 2


def _month_pages(
    result: SeasonPlan, names: Mapping[str, str], first: date, measure: Measure
) -> list[list[Shape]]:
    """Return pages of jobs, a new page for each month."""
    coming = [job for job in result.jobs if job.on >= first]
    months = list(
        dict.fromkeys((job.on.year, job.on.month) for job in sorted(coming, key=lambda job: job.on))
    )
    if not months:
        notice = _text_line(EDGE, TOP + 0.2, "No jobs are planned: cropcal plan says why.", 12)
        return [[*_head(result.place, text.day_year(first), measure), notice]]
    page_shapes: list[list[Shape]] = []
    for year, month in months[:MONTHS]:
        jobs = [job for job in coming if (job.on.year, job.on.month) == (year, month)]
        page_shapes += _month(result, names, jobs, f"{text.MONTH_NAMES[month - 1]} {year}", measure)
    return page_shapes


def _month(
    result: SeasonPlan, names: Mapping[str, str], jobs: Sequence[Job], month: str, measure: Measure
) -> list[list[Shape]]:
    def top_of(page: int) -> list[Shape]:
        return [
            *_head(result.place, month if page == 1 else f"{month}, page {page}", measure),
            _text_line(EDGE, 11.3, "Wash hands, knife and bowl before you cut. Tick it here, and note it:"
                   " cropcal log sown, transplanted, harvested, lost", 8),
        ]  # fmt: skip

    flow = _Flow(top_of)
    ids = max((measure(job.batch, JOB_PT, True) for job in jobs if job.batch), default=0.0) + 0.08
    done = 0
    for on, todo in by_day(jobs).items():
        flow.room(0.3 + 2 * LINE)
        _day_line(flow, text.day(on))
        for job in todo:
            left = 0.2 + (ids if job.batch else 0.0)
            lines = _wrapped(_job_text(job, names), JOB_PT, COLUMN - left, MOST_LINES, measure)
            if flow.room(len(lines) * LINE + 0.03):
                _day_line(flow, f"{text.day(on)}, more")
            if len(flow.pages) > MOST_PAGES_A_MONTH:
                return _cut_off(flow, len(jobs) - done)
            _job_lines(flow, job.batch, lines, left)
            done += 1
        flow.y += 0.09
    return flow.pages


def _cut_off(flow: _Flow, left: int) -> list[list[Shape]]:
    """Return the first pages of a month; the last one says how many jobs are left out."""
    kept = flow.pages[:MOST_PAGES_A_MONTH]
    kept[-1].append(
        _text_line(EDGE, 11.12, f"and {left} more jobs in this month: see jobs.csv", 9, bold=True)
    )
    return kept


def _day_line(flow: _Flow, heading: str) -> None:
    base = flow.y + 0.16
    flow.add(
        _text_line(flow.x, base, heading, DAY_PT, bold=True),
        Strokes((((flow.x, base + 0.05), (flow.x + COLUMN, base + 0.05)),), BLACK, 0.8, 2),
    )
    flow.y = base + 0.1


def _job_lines(flow: _Flow, batch: str, lines: Sequence[str], left: float) -> None:
    base = flow.y + 0.125
    flow.add(_frame((flow.x, flow.x + 0.12, base - 0.1, base + 0.02), 0.8))
    if batch:
        flow.add(_text_line(flow.x + 0.2, base, batch, JOB_PT, bold=True))
    flow.add(*(_text_line(flow.x + left, base + at * LINE, line, JOB_PT) for at, line in enumerate(lines)))
    flow.y += len(lines) * LINE + 0.03


def _job_text(job: Job, names: Mapping[str, str]) -> str:
    """Return a job in as few words as it can be done from; the hygiene reminder is at the foot of the page.

    The amount comes before the name: behind a right-to-left name a number would be read as a part of it.
    """
    if job.job == "chore":
        return head(job, names)
    parts = job.note.split("; ")[: 2 if job.eat_by else 1]
    shown = "; ".join(part for part in parts if not part.startswith("wash hands"))
    note = text.clean(shown.split(", snip")[0]) if job.job != "clear" else ""
    where = [text.clean(job.bed)] if job.bed else []
    where += [sites(job.sites)] if job.sites and not job.any_site else []
    return ", ".join([head(job, names), *where, *([note] if note else [])])


def _timer_pages(
    result: SeasonPlan, timers: Sequence[TimerLine], measure: Measure, dangers: Sequence[str]
) -> list[list[Shape]]:
    """Return the timer cards, two a page, with the cautions below; one a page where there are dangers."""
    cards = 1 if dangers else CARDS_A_PAGE
    zones = list(dict.fromkeys(line.zone for line in timers))
    page_shapes = []
    for at in range(0, len(zones), cards):
        shapes = _head(result.place, "Lamp timer", measure)
        for number, zone in enumerate(zones[at : at + cards]):
            top = TOP + number * CARD_PITCH
            shapes += _card(zone, [line for line in timers if line.zone == zone], top, measure)
        y = 8.9 - (CARDS_A_PAGE - cards) * CARD_PITCH
        for danger in dangers[:MOST_DANGERS]:
            shapes.append(_text_line(EDGE, y, "Danger", 11, bold=True))
            for line in _wrapped(danger, 10, A4[0] - 2 * EDGE, 6, measure):
                y += 0.19
                shapes.append(_text_line(EDGE, y, line, 10))
            y += 0.3
        shapes.append(_text_line(EDGE, y, "Take care", 11, bold=True))
        for caution in result.cautions:
            for line in _wrapped(caution, 9, A4[0] - 2 * EDGE, 6, measure):
                y += 0.17
                shapes.append(_text_line(EDGE, y, line, 9))
            y += 0.05
        page_shapes.append(shapes)
    return page_shapes


def _card(zone: str, lines: Sequence[TimerLine], top: float, measure: Measure) -> list[Shape]:
    """Return one zone's card: its name, then a row for each stretch of light, as large as fits."""
    wide, high = A4[0] - 2 * EDGE, 3.5
    shapes: list[Shape] = [_frame((EDGE, EDGE + wide, top, top + high), 2.0)]
    title, size = _shrunk_to_fit(zone, 22, 12, wide - 0.4, measure)
    shapes.append(_text_line(EDGE + 0.2, top + 0.45, title, size, bold=True))
    shown, more = lines[:MOST_TIMER_ROWS], len(lines) - MOST_TIMER_ROWS
    pitch = 2.6 / len(shown)
    dated = len({line.start for line in lines}) > 1
    aside = 2.0 if dated or any(line.output < 1 for line in lines) else 0.0
    _, big = _shrunk_to_fit(
        "on 00:00   off 00:00", min(46.0, pitch * 72 * 0.7), 12, wide - 0.4 - aside, measure
    )
    for number, line in enumerate(shown):
        middle = top + 0.65 + (number + 0.5) * pitch
        base = middle + 0.36 * big / 72
        setting = f"on {clock(line.on)}   off {clock(line.off)}" if line.output else "off all day"
        shapes.append(_text_line(EDGE + 0.2, base, setting, big, bold=True))
        beside = [f"from {text.day_year(line.start)}"] if dated else []
        beside += [f"lamp at {text.percent(line.output)}"] if 0 < line.output < 1 else []
        shapes += [
            _text_line(EDGE + wide - 0.2, middle + 0.05 + at * 0.18, part, 10, side="right")
            for at, part in enumerate(beside)
        ]
    if more > 0:
        shapes.append(_text_line(EDGE + 0.2, top + high - 0.1, f"and {more} more: see timers.csv", 9))
    return shapes


def _label_pages(
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
    for at in range(0, len(shown), a_page):
        part = shown[at : at + a_page]
        rows = -(-len(part) // LABEL_COLUMNS)
        more = len(soon) - MOST_LABELS if at + a_page >= MOST_LABELS else 0
        left_out = f"; {more} more batches are in sowings.csv" if more > 0 else ""
        title = f"Labels for sowings until {text.day(end - timedelta(days=1))}: cut along the lines{left_out}"
        shapes: list[Shape] = [_text_line(EDGE, 0.75, title, 10)]
        shapes.append(Strokes(_cuts(top, wide, high, rows), GREY, 0.7, 2, dashed=True))
        for number, batch in enumerate(part):
            x = EDGE + number % LABEL_COLUMNS * wide
            shapes += _label(batch, names, x, top + number // LABEL_COLUMNS * high, wide, measure)
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
    batch: Batch, names: Mapping[str, str], x: float, y: float, wide: float, measure: Measure
) -> list[Shape]:
    inner = wide - 0.3
    x += 0.15
    id_width = measure(batch.id, 24, True)
    place = f"{batch.sites} in {batch.bed}"
    where, small = _shrunk_to_fit(place, 9, 7, max(inner - id_width - 0.15, 0.5), measure)
    title, size = _shrunk_to_fit(crop_name(batch.crop, names), 15, 9, inner, measure)
    ready = text.span(batch.ready_from_low_80, batch.ready_from_high_80)
    return [
        _text_line(x, y + 0.42, batch.id, 24, bold=True),
        _text_line(x + inner, y + 0.42, where, small, side="right"),
        _text_line(x, y + 0.74, title, size, bold=True),
        _text_line(x, y + 1.0, f"{_start_verb(batch)} {text.day_year(batch.sow_on)}", 11),
        _text_line(x, y + 1.23, f"ready {ready}", 11),
    ]


def _head(place: str, title: str, measure: Measure) -> list[Shape]:
    """Return the head of a page: its title and the place."""
    name, size = _shrunk_to_fit(place, 11, 8, 3.4, measure)
    return [
        _text_line(EDGE, 0.85, title, 20, bold=True),
        _text_line(A4[0] - EDGE, 0.85, name, size, side="right"),
        Strokes((((EDGE, 1.0), (A4[0] - EDGE, 1.0)),), BLACK, 1.6, 2),
    ]


def _shrunk_to_fit(
    content: str, largest: float, least: float, room: float, measure: Measure
) -> tuple[str, float]:
    """Return a line and its size [pt]: shrunk if it is too wide, and clipped if that is not enough."""
    line = text.clean(content)
    size = largest
    while size > least and measure(line, size, True) > room:
        size -= 0.5
    return _clipped(line, size, room, measure), size


def _clipped(line: str, size: float, room: float, measure: Measure) -> str:
    if measure(line, size, True) <= room:
        return line
    kept = len(line)
    while kept > 1 and measure(f"{line[:kept]}…", size, True) > room:
        kept -= 1
    return f"{line[:kept].rstrip()}…"


def _wrapped(content: str, size: float, room: float, most_lines: int, measure: Measure) -> list[str]:
    """Return the words on at most ``most_lines`` lines; the last one is clipped if they do not fit."""
    lines: list[str] = []
    for word in text.clean(content).split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and measure(longer, size, False) <= room:
            lines[-1] = longer
        elif len(lines) == most_lines:
            lines[-1] = _clipped(f"{lines[-1]} {word} ", size, room, measure)
            break
        else:
            lines.append(_clipped(word, size, room, measure))
    return lines or [""]


def _text_line(
    x: float, y: float, content: str, size: float, *, bold: bool = False, side: str = "left"
) -> TextLine:
    return TextLine(x, y, content, size, side=side, colour=BLACK, bold=bold)  # type: ignore[arg-type]


def _frame(box: Box, line_pt: float) -> Boxes:
    return Boxes((box,), WHITE if line_pt < 1 else NONE, 2, edge=BLACK, line_pt=line_pt)


def _start_verb(batch: Batch) -> str:
    """Return "sown", or "planted" for bought plants."""
    return "sown" if batch.plug_age_d is None else "planted"
