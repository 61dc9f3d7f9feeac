"""Where everything of the calendar picture goes, in inches from its top left corner; draws nothing."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Literal

from cropcal.records.plan import SeasonPlan
from cropcal.show.lanes import BedRows, Stretch, crop_order, days_of, letter_of, texts
from cropcal.show.lanes import places as lanes_of
from cropcal.show.pictures.calendar_days import LEFT, RIGHT, DayScale, months, weeks, work_days
from cropcal.show.text import (
    MONTH_NAMES,
    amount,
    clip,
    display_width,
    wrap,
)
from cropcal.show.wording import NEARLY, crop_name, want_name

Stage = Literal["seed", "growing", "ready", "empty"]

TITLE = 0.78
HEADER = 0.52
GAP = 0.16
NARROWEST, WEEK_WIDE, WIDEST = 13.0, 0.3, 30.0
SITES_TALL, SITE_HEIGHTS = 7.0, (0.17, 0.30)
SOWINGS_TALL, SOWING_HEIGHTS = 9.0, (0.13, 0.18)
TALL, AXIS_GAP = 10.0, 0.46
"""Lanes that are taller have the weeks above each bed too, in a gap of their own."""
BLOCK_LEAST, NAME_LINE = 0.44, 0.15
WANT_HEIGHTS = 0.24, 0.40
LEGEND_LINE = 0.2
CUT_LIFT = 0.07
SUPPLY_GAP = 0.4
LABEL_PT, LABEL_SMALL_PT, LABEL_LEAST_PT = 7.5, 6.2, 4.5
BED_CHARS, NOTE_CHARS, WANT_CHARS, TITLE_CHARS = 20, 24, 26, 60
ROWS_BY_SOWING = "; one row for each sowing, with how many cells or sites it takes"


@dataclass(frozen=True)
class LaneGroup:
    """A bed, a nursery or a want: a lane across all weeks with its name on the left.

    ``by_sowing``: its rows are sowings, not sites.
    """

    name: str
    note: str
    top: float
    bottom: float
    rows: int
    kind: Literal["bed", "nursery", "want"]
    by_sowing: bool = False


@dataclass(frozen=True)
class Bar:
    """A stretch in which sites of one batch are in one stage, or stay empty beside its plants."""

    left: float
    right: float
    top: float
    bottom: float
    crop: int
    stage: Stage


@dataclass(frozen=True)
class Label:
    """The crop of a batch, in the middle of its bar: its name, or its letter where that is too long."""

    x: float
    y: float
    text: str
    size_pt: float
    wide: float
    crop: int


@dataclass(frozen=True)
class Cut:
    """A cut, its likely days from ``low`` to ``high``, and where its bar ends."""

    x: float
    y: float
    low: float
    high: float
    end: float


@dataclass(frozen=True)
class WeekDemand:
    """One want in one week; ``ready``, ``sure`` and ``wanted`` are shares of the lane's height.

    A lane is as high as the most that is ready, but not higher than twice what is wanted.
    """

    left: float
    right: float
    top: float
    bottom: float
    ready: float
    sure: float
    wanted: float
    short: bool
    counted: bool


@dataclass(frozen=True)
class Chart:
    """The whole picture; ``crops`` are letters and names."""

    width: float
    height: float
    title: str
    subtitle: str
    months: tuple[tuple[float, str], ...]
    weeks: tuple[tuple[float, str], ...]
    work_days: tuple[tuple[float, bool], ...]
    breaks: tuple[tuple[float, float], ...]
    blocks: tuple[LaneGroup, ...]
    bars: tuple[Bar, ...]
    labels: tuple[Label, ...]
    cuts: tuple[Cut, ...]
    needs: tuple[WeekDemand, ...]
    crops: tuple[tuple[str, str], ...]
    legend_top: float
    legend_columns: int

    @property
    def lanes(self) -> tuple[float, float]:
        """Return top and bottom of all lanes together."""
        return TITLE + HEADER, max((block.bottom for block in self.blocks), default=TITLE + HEADER + 1)


def chart(result: SeasonPlan, names: Mapping[str, str], breaks: Sequence[tuple[date, date]] = ()) -> Chart:
    """Return the layout of a plan's calendar.

    Parameters
    ----------
    result
        The plan.
    names
        Slug of a crop -> its name.
    breaks
        First and last day of each break.
    """
    end = result.start + timedelta(weeks=result.weeks)
    days = DayScale(result.start, end, min(max(NARROWEST, LEFT + WEEK_WIDE * result.weeks), WIDEST))
    letters = {crop: letter_of(number) for number, crop in enumerate(crop_order(result))}
    places = lanes_of(result)
    blocks, bars, labels, cuts = _lanes(places, names, letters, days)
    blocks, needs = _supply(result, names, days, blocks)
    bottom = max((block.bottom for block in blocks), default=TITLE + HEADER + 1.0)
    columns = max(1, int((days.width - LEFT - RIGHT) / 2.6))
    legend_top = bottom + HEADER
    lines = math.ceil(len(letters) / columns) + 2
    rows = "" if not any(place.by_sowing and place.kind == "bed" for place in places) else ROWS_BY_SOWING
    return Chart(
        width=days.width,
        height=legend_top + lines * LEGEND_LINE + GAP,
        title=clip(result.place, TITLE_CHARS),
        subtitle=f"{result.weeks} weeks from {result.start.day} {MONTH_NAMES[result.start.month - 1]}"
        f" {result.start.year}{rows}",
        months=months(days),
        weeks=weeks(days),
        work_days=work_days(result, days),
        breaks=tuple((days.x(first), days.x(last, 1)) for first, last in breaks if last >= first),
        blocks=tuple(blocks),
        bars=tuple(bars),
        labels=tuple(labels),
        cuts=tuple(cuts),
        needs=tuple(needs),
        crops=tuple((letter, crop_name(crop, names)) for crop, letter in letters.items()),
        legend_top=legend_top,
        legend_columns=columns,
    )


def _lanes(
    places: Sequence[BedRows], names: Mapping[str, str], letters: Mapping[str, str], days: DayScale
) -> tuple[list[LaneGroup], list[Bar], list[Label], list[Cut]]:
    """Return nurseries, then beds, with their standing batches."""
    row_height = _row_height(places)
    gap = AXIS_GAP if sum(place.rows for place in places) * row_height > TALL else GAP
    crops = list(letters)
    blocks: list[LaneGroup] = []
    bars: list[Bar] = []
    labels: list[Label] = []
    cuts: list[Cut] = []
    top = TITLE + HEADER
    for place in places:
        block = _block(place, top, row_height)
        top = block.bottom + gap
        blocks.append(block)
        for stretch in place.stretches:
            box, crop = _box(block, stretch.top, stretch.height), crops.index(stretch.batch.crop)
            if stretch.empty:
                bars.append(Bar(days.x(stretch.first), days.x(stretch.after), *box, crop, "empty"))
                continue
            bars += _stages(days, box, crop, days_of(stretch, place.kind))
            cuts += _cuts(days, box, stretch, by_sowing=place.by_sowing)
        for tag in place.tags:
            box = _box(block, tag.top, tag.height)
            words = texts(tag, crop_name(tag.crop, names), letters[tag.crop], by_sowing=place.by_sowing)
            edges = [days.x(when) for when in (tag.first, tag.up, tag.free, tag.after)]
            labels += _label(box, words, crops.index(tag.crop), edges)
    return blocks, bars, labels, cuts


def _row_height(places: Iterable[BedRows]) -> float:
    """Return the height of a row: as much as there is room for, never too low for words in it."""
    rows = max(sum(place.rows for place in places), 1)
    by_sowing = all(place.by_sowing for place in places)
    (least, most), tall = (SOWING_HEIGHTS, SOWINGS_TALL) if by_sowing else (SITE_HEIGHTS, SITES_TALL)
    return min(max(tall / rows, least), most)


def _block(place: BedRows, top: float, row_height: float) -> LaneGroup:
    name = clip(place.name, 2 * BED_CHARS)
    lines = len([*name_lines(name), *note_lines(place.note)])
    height = max(place.rows * row_height, BLOCK_LEAST, NAME_LINE * lines + 0.1)
    return LaneGroup(name, place.note, top, top + height, place.rows, place.kind, place.by_sowing)


def name_lines(name: str) -> list[str]:
    """Return a name over at most two lines of the left margin."""
    first, *others = wrap(name, BED_CHARS).split("\n")
    return [first, clip(" ".join(others), BED_CHARS)] if others else [first]


def note_lines(note: str) -> list[str]:
    """Return a note over as many lines of the left margin as it needs."""
    return wrap(note, NOTE_CHARS).split("\n")


def _box(block: LaneGroup, first_row: float, rows: float) -> tuple[float, float]:
    row_height = (block.bottom - block.top) / block.rows
    return block.top + first_row * row_height, block.top + (first_row + rows) * row_height


def _cuts(days: DayScale, box: tuple[float, float], stretch: Stretch, *, by_sowing: bool) -> Iterable[Cut]:
    """Return the cuts of a stretch, in rows of one site each with the likely days of each cut."""
    spread = {harvest.on: harvest.on_80 for harvest in stretch.batch.harvests}
    lift = max(sum(box) / 2, box[1] - CUT_LIFT)
    for on in stretch.cuts:
        if days.holds(on):
            low, high = (not by_sowing and spread.get(on)) or (on, on)
            yield Cut(days.x(on, 0.5), lift, days.x(low, 0.5), days.x(high, 0.5), days.x(stretch.after))


def _stages(
    days: DayScale, box: tuple[float, float], crop: int, dates: tuple[date, date, date, date]
) -> list[Bar]:
    """Return the bars between sown or planted, up, ready and gone, as far as they have a length."""
    start, up, ready, gone = dates
    edges = [start, min(max(start, up), gone), min(max(start, up, ready), gone), gone]
    stages: tuple[Stage, ...] = ("seed", "growing", "ready")
    return [
        Bar(days.x(first), days.x(after), *box, crop, stage)
        for stage, (first, after) in zip(stages, pairwise(edges), strict=True)
        if days.x(after) > days.x(first)
    ]


def _label(box: tuple[float, float], words: Sequence[str], crop: int, edges: Sequence[float]) -> list[Label]:
    """Return the label of a bar: in its growing part, before its first cut, or else anywhere in it.

    ``edges``: where the bar begins, grows, is cut first and ends.
    """
    start, up, cut, end = edges
    tall = (box[1] - box[0]) * 72 * 0.8
    sizes = [
        size
        for size in dict.fromkeys((min(LABEL_PT, tall), min(LABEL_SMALL_PT, tall)))
        if size >= LABEL_LEAST_PT
    ]
    for rooms in (((up, cut), (start, cut)), ((start, end),)):
        for text in words:
            for size in sizes:
                wide = _text_width(text, size)
                for left, right in rooms:
                    if wide <= right - left - 0.04:
                        return [Label((left + right) / 2, sum(box) / 2, text, size, wide, crop)]
    return []


def _text_width(text: str, size_pt: float) -> float:
    """Return an upper estimate of a text's width [in]; the exact width would need the font."""
    return (display_width(text) + 0.5) * size_pt * 0.6 / 72


def _supply(
    result: SeasonPlan, names: Mapping[str, str], days: DayScale, above: list[LaneGroup]
) -> tuple[list[LaneGroup], list[WeekDemand]]:
    """Return all blocks, wants below the beds, and the demand and supply of each want and week."""
    wants = sorted({row.want for row in result.supply})
    height = min(max(3.2 / max(len(wants), 1), WANT_HEIGHTS[0]), WANT_HEIGHTS[1])
    top = max((block.bottom + SUPPLY_GAP for block in above), default=TITLE + HEADER)
    blocks, needs = list(above), []
    for want in wants:
        rows = [row for row in result.supply if row.want == want]
        wanted = max(row.wanted for row in rows)
        most = max(min(max(row.ready for row in rows), 2 * wanted or math.inf), wanted, 1e-9)
        when = "on its day" if any(row.on for row in rows) else "a week"
        note = f"{amount(wanted, rows[0].unit)} {when}" if wanted else "as much as fits"
        name = clip(want_name(rows[0].label, names), WANT_CHARS)
        block = LaneGroup(name, note, top, top + height, 1, "want")
        top += height + 0.06
        blocks.append(block)
        needs += [
            WeekDemand(
                left=days.x(row.week),
                right=days.x(row.week, 7),
                top=block.top,
                bottom=block.bottom,
                ready=min(row.ready / most, 1.0),
                sure=min((row.ready if row.in_8_of_10 is None else row.in_8_of_10) / most, 1.0),
                wanted=row.wanted / most if row.counted else 0.0,
                short=row.counted and row.short > NEARLY * row.wanted,
                counted=row.counted,
            )
            for row in rows
            if days.x(row.week, 7) > days.x(row.week)
        ]
    return blocks, needs
