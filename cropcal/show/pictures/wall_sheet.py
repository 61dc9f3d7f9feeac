"""The sheet for the wall: jobs to tick, cards for the timers, and labels to cut out, as A4 pages.

Black on white, no colour: made for any printer. Only lays out; ``render`` draws it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cropcal.records.hours import SetPoint, TimerLine
from cropcal.records.plan import Job, SeasonPlan
from cropcal.show import text
from cropcal.show.pictures.paper_breaks import PaperBlock, PaperPiece, columns
from cropcal.show.pictures.printed_text import (
    A4,
    BOTTOM,
    EDGE,
    LINE,
    TOP,
    Measure,
    frame,
    page_head,
    rule,
    text_line,
    wrapped,
)
from cropcal.show.pictures.shapes import Drawing, Shape, merged
from cropcal.show.pictures.wall_cards import card_pages
from cropcal.show.pictures.wall_labels import label_pages
from cropcal.show.sown_together import as_one, beds_of, sown_together
from cropcal.show.wording import by_day, head, sites

WEEKS = 13
"""Weeks of jobs that are printed: later jobs move before they are done (our choice)."""
MOST_JOB_PAGES = 24
COLUMNS, GAP = 2, 0.3
COLUMN = (A4[0] - 2 * EDGE - GAP) / COLUMNS
JOB_PT, DAY_PT, MONTH_PT = 8.5, 10.0, 13.0
MONTH_IN, DAY_IN, JOB_GAP, DAY_GAP = 0.34, 0.26, 0.03, 0.09
HYGIENE = (
    "Wash hands, knife and bowl before you cut. Tick it here and note it with"
    " cropcal log: sown, transplanted, harvested, lost"
)


def pages(
    result: SeasonPlan,
    names: Mapping[str, str],
    timers: Sequence[TimerLine],
    measure: Measure,
    dangers: Sequence[str] = (),
    points: Sequence[SetPoint] = (),
) -> tuple[Drawing, ...]:
    """Return the pages: jobs day by day, then timers and set points, then labels.

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
        What is dangerous, printed above the timer cards.
    points
        What else each zone's controllers are set to.
    """
    first = result.again.on if result.again else result.start
    page_shapes = [
        *_job_pages(result, names, first, measure),
        *card_pages(result.place, _still_due(timers, first), points, dangers, result.cautions, measure),
        *label_pages(result, names, first, measure),
    ]
    last = len(page_shapes)
    return tuple(
        Drawing(*A4, merged((*shapes, text_line(A4[0] - EDGE, 11.3, f"{number} of {last}", 8, side="right"))))
        for number, shapes in enumerate(page_shapes, 1)
    )


def _still_due(timers: Sequence[TimerLine], first: date) -> list[TimerLine]:
    """Return the settings of each timer that hold on a day or come later."""
    since = {
        line.zone: line.start for line in sorted(timers, key=lambda line: line.start) if line.start <= first
    }
    return [line for line in timers if line.start >= since.get(line.zone, first)]


@dataclass(frozen=True)
class _Day:
    """One day's jobs, each in lines; ``month`` is set on the first day of a month that has jobs."""

    on: date
    month: str
    jobs: tuple[tuple[str, tuple[str, ...]], ...]

    @property
    def block(self) -> PaperBlock:
        """Return the heights of the day."""
        return PaperBlock(
            DAY_IN + (MONTH_IN if self.month else 0.0),
            tuple(len(lines) * LINE + JOB_GAP for _, lines in self.jobs),
            DAY_IN,
            DAY_GAP,
        )


def _job_pages(
    result: SeasonPlan, names: Mapping[str, str], first: date, measure: Measure
) -> list[list[Shape]]:
    """Return pages of jobs in two columns; a month begins wherever the one before ended."""
    end = first + timedelta(weeks=WEEKS)
    coming = [job for job in result.jobs if job.on >= first and job.job != "check"]
    near = [job for job in coming if job.on < end]
    if not near:
        notice = text_line(EDGE, TOP + 0.2, "No jobs are planned: cropcal plan says why.", 12)
        return [[*page_head(result.place, text.day_year(first), measure), notice]]
    ids = max((measure(job.batch, JOB_PT, True) for job in near if job.batch), default=0.0) + 0.08
    days = _days(near, names, beds_of(result.batches), ids, measure)
    filled = columns([day.block for day in days], BOTTOM - TOP)
    shown = filled[: MOST_JOB_PAGES * COLUMNS]
    page_shapes = []
    for at in range(0, len(shown), COLUMNS):
        pair = shown[at : at + COLUMNS]
        from_day, to_day = days[pair[0][0].block].on, days[pair[-1][-1].block].on
        shapes = page_head(result.place, f"Jobs, {_span(from_day, to_day)}", measure)
        shapes.append(text_line(EDGE, 11.3, HYGIENE, 8))
        for number, column in enumerate(pair):
            for piece in column:
                shapes += _piece(days[piece.block], piece, EDGE + number * (COLUMN + GAP), ids)
        page_shapes.append(shapes)
    left_out = sum(piece.end - piece.first for column in filled[len(shown) :] for piece in column)
    if left_out:
        more = f"and {left_out} more jobs until {text.day(end - timedelta(days=1))}: see jobs.csv"
        page_shapes[-1].append(text_line(EDGE, 11.12, more, 9, bold=True))
    elif len(near) < len(coming):
        later = f"Jobs from {text.day(end)} on may still move. Print the sheet again before then."
        page_shapes[-1].append(text_line(EDGE, 11.12, later, 8))
    return page_shapes


def _span(first: date, last: date) -> str:
    """Return the days of a page, with a year: "4 Jan - 18 Feb 2027"."""
    span = text.span(first, last)
    return span if first.year != last.year else f"{span} {last.year}"


def _days(
    jobs: Sequence[Job], names: Mapping[str, str], bed_of: Mapping[str, str], ids: float, measure: Measure
) -> list[_Day]:
    """Return the days that have jobs; ``ids`` is the width of the column of batches [in]."""
    days: list[_Day] = []
    for on, todo in by_day(jobs).items():
        is_first = not days or (days[-1].on.year, days[-1].on.month) != (on.year, on.month)
        month = f"{text.MONTH_NAMES[on.month - 1]} {on.year}" if is_first else ""
        lines = tuple(
            (
                together[0].batch,
                tuple(wrapped(shown, JOB_PT, COLUMN - _left(together[0].batch, ids), measure)),
            )
            for together in sown_together(todo)
            for shown in (_jobs_text(together, names, bed_of),)
        )
        days.append(_Day(on, month, lines))
    return days


def _left(batch: str, ids: float) -> float:
    """Return where the words of a job begin in its column [in]."""
    return 0.2 + (ids if batch else 0.0)


def _piece(day: _Day, piece: PaperPiece, x: float, ids: float) -> list[Shape]:
    """Return the heading and the jobs of a day, or of a part of it, in the column that begins at ``x``."""
    y = TOP + piece.top_in
    shapes: list[Shape] = []
    if day.month and not piece.first:
        shapes.append(text_line(x, y + 0.23, day.month, MONTH_PT, bold=True))
        y += MONTH_IN
    heading = f"{text.day(day.on)}, more" if piece.first else text.day(day.on)
    shapes += [text_line(x, y + 0.16, heading, DAY_PT, bold=True), rule(x, x + COLUMN, y + 0.21, 0.8)]
    y += DAY_IN
    for batch, lines in day.jobs[piece.first : piece.end]:
        base = y + 0.125
        shapes.append(frame((x, x + 0.12, base - 0.1, base + 0.02), 0.8))
        if batch:
            shapes.append(text_line(x + 0.2, base, batch, JOB_PT, bold=True))
        left = x + _left(batch, ids)
        shapes += (text_line(left, base + at * LINE, line, JOB_PT) for at, line in enumerate(lines))
        y += len(lines) * LINE + JOB_GAP
    return shapes


def _jobs_text(jobs: Sequence[Job], names: Mapping[str, str], bed_of: Mapping[str, str]) -> str:
    """Return a job, or what is sown together: the other batches, and for which beds how many cells are."""
    whole, shares = as_one(jobs, bed_of)
    others = ", ".join(text.clean(job.batch) for job in jobs[1:])
    extra = "; ".join(filter(None, (f"with {others}" if others else "", shares)))
    return _job_text(whole, names) + (f" ({extra})" if extra else "")


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
