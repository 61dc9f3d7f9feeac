"""Where everything of the calendar picture goes, in inches from its top left corner; draws nothing."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from typing import Literal

from cropcal.records.plan import Batch, SeasonPlan, SiteUse
from cropcal.show.pictures.nursery_rows import most_cells, packed, rows_used
from cropcal.show.text import (
    MONTH_NAMES,
    amount,
    clip,
    display_width,
)
from cropcal.show.wording import crop_name, want_name

Stage = Literal["seed", "growing", "ready", "empty"]

LEFT = 2.05
RIGHT = 0.25
TITLE = 0.78
HEADER = 0.52
GAP = 0.16
BEDS_HEIGHT = 7.0
MONTH_NAME = 0.75
ROW_HEIGHTS = 0.02, 0.30
BLOCK_LEAST = 0.44
WANT_HEIGHTS = 0.24, 0.40
LEGEND_LINE = 0.2
CUT_LIFT = 0.07
SUPPLY_GAP = 0.4
LABEL_PT, LABEL_LEAST_PT = 7.5, 4.5
BED_CHARS, WANT_CHARS, TITLE_CHARS = 20, 26, 60


@dataclass(frozen=True)
class LaneGroup:
    """A bed, a nursery or a want: a lane across all weeks with its name on the left."""

    name: str
    note: str
    top: float
    bottom: float
    rows: int
    kind: Literal["bed", "nursery", "want"]


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
    """The crop of a batch, in the middle of its bar: its name, or its number where that is too long."""

    x: float
    y: float
    text: str
    size_pt: float
    wide: float


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
    """The whole picture; ``spreads`` are the likely days of cuts: from, until, height."""

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
    cuts: tuple[tuple[float, float], ...]
    spreads: tuple[tuple[float, float, float], ...]
    needs: tuple[WeekDemand, ...]
    crops: tuple[str, ...]
    legend_top: float
    legend_columns: int

    @property
    def lanes(self) -> tuple[float, float]:
        """Return top and bottom of all lanes together."""
        return TITLE + HEADER, max((block.bottom for block in self.blocks), default=TITLE + HEADER + 1)


@dataclass(frozen=True)
class _Days:
    """Converts dates to inches from the left edge."""

    start: date
    end: date
    width: float

    def x(self, when: date, plus: float = 0.0) -> float:
        share = ((when - self.start).days + plus) / (self.end - self.start).days
        return LEFT + min(max(share, 0.0), 1.0) * (self.width - LEFT - RIGHT)

    def holds(self, when: date) -> bool:
        return self.start <= when < self.end


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
    days = _Days(result.start, end, min(max(13.0, LEFT + 0.17 * result.weeks), 30.0))
    crops = _crop_order(result.batches)
    blocks, bars, labels, cuts, spreads = _lanes(result, names, crops, days)
    blocks, needs = _supply(result, names, days, blocks)
    bottom = max((block.bottom for block in blocks), default=TITLE + HEADER + 1.0)
    columns = max(1, int((days.width - LEFT - RIGHT) / 2.6))
    legend_top = bottom + HEADER
    lines = math.ceil(len(crops) / columns) + 2
    return Chart(
        width=days.width,
        height=legend_top + lines * LEGEND_LINE + GAP,
        title=clip(result.place, TITLE_CHARS),
        subtitle=f"{result.weeks} weeks from {result.start.day} {MONTH_NAMES[result.start.month - 1]}"
        f" {result.start.year}",
        months=_months(days),
        weeks=_weeks(days),
        work_days=_work_days(result, days),
        breaks=tuple((days.x(first), days.x(last, 1)) for first, last in breaks if last >= first),
        blocks=tuple(blocks),
        bars=tuple(bars),
        labels=tuple(labels),
        cuts=tuple(cuts),
        spreads=tuple(spreads),
        needs=tuple(needs),
        crops=tuple(crop_name(crop, names) for crop in crops),
        legend_top=legend_top,
        legend_columns=columns,
    )


def _crop_order(batches: Iterable[Batch]) -> list[str]:
    return list(
        dict.fromkeys(batch.crop for batch in sorted(batches, key=lambda batch: (batch.want, batch.crop)))
    )


def _months(days: _Days) -> tuple[tuple[float, str], ...]:
    firsts = [days.start]
    while True:
        following = (firsts[-1].replace(day=1) + timedelta(days=32)).replace(day=1)
        if following >= days.end:
            break
        firsts.append(following)
    named: list[date] = []
    for first in (
        firsts[1:] if len(firsts) > 1 and days.x(firsts[1]) - days.x(firsts[0]) < MONTH_NAME else firsts
    ):
        if not named or days.x(first) - days.x(named[-1]) >= MONTH_NAME:
            named.append(first)
    with_year = {named[0], *(after for before, after in pairwise(named) if before.year != after.year)}
    return tuple(
        (days.x(first), _month_name(first, with_year=first in with_year) if first in named else "")
        for first in firsts
    )


def _month_name(first: date, *, with_year: bool) -> str:
    return MONTH_NAMES[first.month - 1] + (f" {first.year}" if with_year else "")


def _weeks(days: _Days) -> tuple[tuple[float, str], ...]:
    monday = days.start + timedelta(days=-days.start.weekday() % 7)
    count = (days.end - monday).days // 7 + 1
    every = math.ceil(0.19 * count / (days.width - LEFT - RIGHT))
    mondays = [monday + timedelta(weeks=week) for week in range(count)]
    return tuple(
        (days.x(one), str(one.day) if index % every == 0 else "")
        for index, one in enumerate(mondays)
        if days.holds(one)
    )


def _work_days(result: SeasonPlan, days: _Days) -> tuple[tuple[float, bool], ...]:
    busy = {job.on for job in result.jobs if job.job != "check"}
    return tuple(
        (days.x(when, 0.5), when in busy) for when in sorted({*result.work_days, *busy}) if days.holds(when)
    )


def _lanes(
    result: SeasonPlan, names: Mapping[str, str], crops: Sequence[str], days: _Days
) -> tuple[
    list[LaneGroup], list[Bar], list[Label], list[tuple[float, float]], list[tuple[float, float, float]]
]:
    """Return nurseries, then beds, with their standing batches."""
    nurseries = {name: packed(result.batches, name) for name in _nursery_names(result)}
    cells = {bed.bed: len(bed.site_ppfd_umol_m2_s) for bed in result.lights}
    beds = _bed_rows(result, nurseries)
    rows = sum(beds.values()) + sum(rows_used(places) for places in nurseries.values()) / 2
    row_height = min(max(BEDS_HEIGHT / max(rows, 1), ROW_HEIGHTS[0]), ROW_HEIGHTS[1])
    cell_height = row_height / 2
    blocks: list[LaneGroup] = []
    bars: list[Bar] = []
    labels: list[Label] = []
    cuts: list[tuple[float, float]] = []
    spreads: list[tuple[float, float, float]] = []
    top = TITLE + HEADER
    by_id = {batch.id: batch for batch in result.batches}
    for name, places in nurseries.items():
        used = rows_used(places)
        note = _seedlings(most_cells(places), cells.get(name))
        block = _block(name, note, top, used, cell_height, "nursery")
        top = block.bottom + GAP
        blocks.append(block)
        for batch, place in places:
            moved = batch.transplant_on or batch.sow_on
            box = _box(block, place, batch.cells)
            number = crops.index(batch.crop)
            bars += _stages(days, box, number, (batch.sow_on, batch.emerge_on, moved, moved))
            labels += _label(days, box, crop_name(batch.crop, names), number, (batch.sow_on, moved, moved))
    for name, count in beds.items():
        uses = [use for use in result.sites if use.bed == name]
        note = f"{count} site{'s' if count != 1 else ''}" if uses else "nothing planned"
        block = _block(name, note, top, count if uses else 1, row_height, "bed")
        top = block.bottom + GAP
        blocks.append(block)
        for use, sites in _runs(uses):
            batch = by_id[use.batch]
            number = crops.index(use.crop)
            box = _box(block, use.site - 1, sites)
            if not use.planted:
                until = use.held_until + timedelta(days=1)
                bars.append(Bar(days.x(use.held_from), days.x(until), *box, number, "empty"))
                continue
            sown_here = batch.transplant_on is None
            up = batch.emerge_on if sown_here else use.held_from
            after = use.held_until + timedelta(days=1)
            bars += _stages(days, box, number, (use.held_from, up, batch.ready_from, after))
            labels += _label(days, box, crop_name(use.crop, names), number, (up, batch.ready_from, after))
            lift = max(sum(box) / 2, box[1] - CUT_LIFT)
            for harvest in batch.harvests:
                if use.held_from <= harvest.on <= use.held_until and days.holds(harvest.on):
                    cuts.append((days.x(harvest.on, 0.5), lift))
                    first, last = harvest.on_80 or (harvest.on, harvest.on)
                    spreads += [(days.x(first, 0.5), days.x(last, 0.5), lift)] if first < last else []
    return blocks, bars, labels, cuts, spreads


def _nursery_names(result: SeasonPlan) -> list[str]:
    return sorted({batch.nursery for batch in result.batches if batch.nursery and batch.transplant_on})


def _bed_rows(result: SeasonPlan, nurseries: Mapping[str, object]) -> dict[str, int]:
    """Return how many sites each bed has; those with lamps first, in the plan's order."""
    rows = {bed.bed: len(bed.site_ppfd_umol_m2_s) for bed in result.lights if bed.bed not in nurseries}
    for use in result.sites:
        rows[use.bed] = max(rows.get(use.bed, 1), use.site)
    return rows


def _seedlings(most: int, cells: int | None) -> str:
    """Return how many cells of a nursery are full on its fullest day; ``cells`` is None where it is gone."""
    if cells is None:
        return f"seedlings, at most {most} cell{'s' if most != 1 else ''}"
    return f"seedlings, at most {most} of {cells} cell{'s' if cells != 1 else ''}"


def _block(
    name: str, note: str, top: float, rows: int, row_height: float, kind: Literal["bed", "nursery"]
) -> LaneGroup:
    height = max(rows * row_height, BLOCK_LEAST)
    return LaneGroup(clip(name, BED_CHARS), note, top, top + height, rows, kind)


def _box(block: LaneGroup, first_row: int, rows: int) -> tuple[float, float]:
    row_height = (block.bottom - block.top) / block.rows
    return block.top + first_row * row_height, block.top + (first_row + rows) * row_height


def _runs(uses: Iterable[SiteUse]) -> list[tuple[SiteUse, int]]:
    """Return neighbouring sites that one batch holds for the same time: the first, and how many."""
    runs: list[tuple[SiteUse, int]] = []

    def alike(use: SiteUse) -> tuple[date, str, date, bool]:
        return use.held_from, use.batch, use.held_until, not use.planted

    for use in sorted(uses, key=lambda use: (*alike(use), use.site)):
        first, sites = runs[-1] if runs else (use, 0)
        if runs and alike(use) == alike(first) and use.site == first.site + sites:
            runs[-1] = first, sites + 1
        else:
            runs.append((use, 1))
    return runs


def _stages(
    days: _Days, box: tuple[float, float], crop: int, dates: tuple[date, date, date, date]
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


def _label(days: _Days, box: tuple[float, float], name: str, crop: int, dates: Sequence[date]) -> list[Label]:
    """Return the label of a bar, in its growing part if there is room, between the last two dates."""
    size = min(LABEL_PT, (box[1] - box[0]) * 72 * 0.8)
    if size < LABEL_LEAST_PT:
        return []
    start, ready, gone = (days.x(when) for when in dates)
    for text in (name, str(crop + 1)):
        wide = _text_width(text, size)
        for left, right in ((start, ready), (start, gone)):
            if wide <= right - left - 0.04:
                return [Label((left + right) / 2, sum(box) / 2, text, size, wide)]
    return []


def _text_width(text: str, size_pt: float) -> float:
    """Return an upper estimate of a text's width [in]; the exact width would need the font."""
    return (display_width(text) + 0.5) * size_pt * 0.6 / 72


def _supply(
    result: SeasonPlan, names: Mapping[str, str], days: _Days, above: list[LaneGroup]
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
                short=row.counted and row.short > 0,
                counted=row.counted,
            )
            for row in rows
            if days.x(row.week, 7) > days.x(row.week)
        ]
    return blocks, needs
