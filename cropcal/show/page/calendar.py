"""Sixth part of the page, drawn: every site over time, for the screen and in pieces for paper."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from math import ceil

from cropcal.records.plan import Batch, SeasonPlan, SiteUse
from cropcal.show import text
from cropcal.show.page.stories import BatchStory
from cropcal.show.page.svg import (
    Markup,
    element,
    joined,
    line,
    rect,
    words,
)
from cropcal.show.pictures.nursery_rows import packed, rows_used
from cropcal.show.pictures.shapes import TONES
from cropcal.show.text import display_width
from cropcal.show.wording import crop_name, period_of

DAY = 5.0
ROW, NURSERY_ROW = 18.0, 10.0
HEAD = 36.0
NUMBERS = 30.0
LETTER = 6.6
"""Width of a letter on a bar, on the screen."""
PAPER_LETTER = 8.0
WEEKS_ON_PAPER = 26
PAPER_TALLEST = 1000.0
"""Tallest piece of a bed on one sheet of paper; a taller bed continues on the next."""
TEXTURES = 5
LOWEST_LABELLED = 12.0
MONTH_LETTER = 7.5
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True)
class CropKey:
    """A crop in the key: its letter, its swatch, its name."""

    letter: str
    name: str
    swatch: Markup


@dataclass(frozen=True)
class Lane:
    """One bed: its name, its site numbers and its bars."""

    name: str
    numbers: Markup
    bars: Markup


@dataclass(frozen=True)
class Piece:
    """A part of a bed over some weeks, as it is printed."""

    title: str
    picture: Markup


@dataclass(frozen=True)
class Calendar:
    """The whole calendar, ready for the template."""

    start: str
    day: float
    days: int
    months: Markup
    lanes: tuple[Lane, ...]
    kinds: tuple[CropKey, ...]
    has_empty: bool
    pieces: tuple[Piece, ...]


@dataclass(frozen=True)
class _Bar:
    """Neighbouring sites that one batch holds over the same days; ``empty``: with no plant, for room."""

    batch: str
    crop: str
    first: date
    last: date
    top: float
    height: float
    cuts: tuple[date, ...] = ()
    ready: tuple[date, date, date] | None = None
    empty: bool = False


@dataclass(frozen=True)
class _Bed:
    name: str
    rows: int
    row: float
    bars: tuple[_Bar, ...]

    @property
    def height(self) -> float:
        return self.rows * self.row


def calendar(
    plan: SeasonPlan,
    names: Mapping[str, str],
    stories: Sequence[BatchStory],
    breaks: Sequence[tuple[date, date]] = (),
) -> Calendar:
    """Return the calendar of a plan; every bar leads to its batch's story."""
    first, last = period_of(plan)
    order = list(
        dict.fromkeys(
            batch.crop for batch in sorted(plan.batches, key=lambda batch: (batch.sow_on, batch.id))
        )
    )
    drawer = _Drawer(
        first, (last - first).days + 1, order, names, {story.batch: story for story in stories}, breaks
    )
    beds = tuple(
        bed for light in plan.lights if (bed := _bed(light.bed, len(light.site_ppfd_umol_m2_s), plan))
    )
    return Calendar(
        start=first.isoformat(),
        day=DAY,
        days=drawer.days,
        months=drawer.months(),
        lanes=tuple(drawer.lane(number, bed) for number, bed in enumerate(beds)),
        kinds=tuple(
            CropKey(letter_of(n), crop_name(slug, names), _swatch(n)) for n, slug in enumerate(order)
        ),
        has_empty=any(bar.empty for bed in beds for bar in bed.bars),
        pieces=tuple(_pieces(drawer, beds, plan.weeks)),
    )


def letter_of(number: int) -> str:
    """Return A, B ... Z, AA, AB ...: the letter that marks a crop, beside its colour."""
    before = number // len(LETTERS)
    return (letter_of(before - 1) if before else "") + LETTERS[number % len(LETTERS)]


def _bed(name: str, sites: int, plan: SeasonPlan) -> _Bed | None:
    """Return a bed with its bars in the weeks of the plan; a nursery only with the rows that are used."""
    first, last = period_of(plan)
    places = packed([batch for batch in plan.batches if (batch.transplant_on or first) >= first], name)
    if places:
        bars = tuple(_nursery_bar(batch, place) for batch, place in places)
        return _Bed(name, rows_used(places), NURSERY_ROW, bars)
    uses = [
        use.model_copy(update={"cuts": tuple(cut for cut in use.cuts if first <= cut <= last)})
        for use in plan.sites
        if use.bed == name and use.held_from <= last and use.held_until >= first
    ]
    if not uses and any(batch.nursery == name for batch in plan.batches):
        return None
    by_id = {batch.id: batch for batch in plan.batches}
    return _Bed(name, max([sites, *(use.site for use in uses)]), ROW, tuple(_bars(uses, by_id)))


def _nursery_bar(batch: Batch, place: int) -> _Bar:
    return _Bar(
        batch=batch.id,
        crop=batch.crop,
        first=batch.sow_on,
        last=batch.transplant_on or batch.sow_on,
        top=place * NURSERY_ROW,
        height=batch.cells * NURSERY_ROW,
    )


def _bars(uses: Iterable[SiteUse], by_id: Mapping[str, Batch]) -> Iterable[_Bar]:
    """Put neighbouring sites that one batch holds over the same days into one bar."""

    def alike(use: SiteUse) -> tuple[date, str, date, tuple[date, ...], bool]:
        return use.held_from, use.batch, use.held_until, use.cuts, not use.planted

    ordered = sorted(uses, key=lambda use: (*alike(use), use.site))
    for (first, name, last, cuts, empty), group in groupby(ordered, key=alike):
        sites = list(group)
        batch = by_id.get(name)
        ready = (batch.ready_from_low_80, batch.ready_from, batch.ready_from_high_80) if batch else None
        for _, run in groupby(enumerate(sites), key=lambda item: item[1].site - item[0]):
            run_sites = [use.site for _, use in run]
            top, height = (run_sites[0] - 1) * ROW, len(run_sites) * ROW
            yield _Bar(name, sites[0].crop, first, last, top, height, cuts, ready, empty)


def _swatch(number: int) -> Markup:
    return element(
        "svg",
        rect(1, 1, 20, 14, f"tone t{number % len(TONES)}"),
        *_texture(1, 1, 20, 14, number),
        width=22,
        height=16,
        aria_hidden="true",
    )


def _texture(x: float, y: float, width: float, height: float, number: int) -> list[Markup]:
    """Return the texture of the second, third ... round of the tones."""
    texture = number // len(TONES) % TEXTURES
    return [rect(x, y, width, height, f"texture x{texture}")] if texture else []


@dataclass(frozen=True)
class _Drawer:
    """Draws one plan's calendar from its days, crop order and batch stories."""

    start: date
    days: int
    order: Sequence[str]
    names: Mapping[str, str]
    story_by_batch: Mapping[str, BatchStory]
    breaks: Sequence[tuple[date, date]]

    @property
    def width(self) -> float:
        return self.days * DAY

    def x(self, when: date) -> float:
        """Return the x at which a day begins."""
        return min(max((when - self.start).days, 0), self.days) * DAY

    def months(self) -> Markup:
        """Return the months with their names, and every Monday with its day."""
        parts = self.heads(0, self.days)
        return element("svg", *parts, width=self.width, height=HEAD, aria_hidden="true")

    def heads(self, first: int, after: int) -> list[Markup]:
        """Return the head of the calendar from day ``first`` up to, not including, day ``after``."""
        parts: list[Markup] = []
        for offset in range(first, after):
            when = self.start + timedelta(days=offset)
            x = offset * DAY
            if when.day == 1 or offset == first:
                next_month = (when.replace(day=28) + timedelta(days=4)).replace(day=1)
                room = min((next_month - when).days, after - offset) * DAY - 6
                name = text.MONTH_NAMES[when.month - 1]
                full = f"{name} {when.year}" if when.month == 1 or offset == first else name
                label = next((choice for choice in (full, name) if len(choice) * MONTH_LETTER <= room), "")
                parts += [words(x + 3, 14, label, "lane")] if label else []
                parts.append(line(x, 0, x, HEAD, "axis"))
            if when.weekday() == 0:
                parts.append(line(x, HEAD - 16, x, HEAD, "faint"))
                if after - offset >= 4:
                    parts.append(words(x + 3, HEAD - 5, str(when.day), "small"))
        return [*parts, line(first * DAY, HEAD, after * DAY, HEAD, "axis")]

    def lane(self, number: int, bed: _Bed) -> Lane:
        """Return a bed's numbers and bars."""
        step = next(step for step in (1, 2, 5, 10, 20, 50, 100, 1000, 100_000) if step * bed.row >= 12)
        numbers = [
            words(NUMBERS - 6, (site - 0.5) * bed.row + 4, str(site), "small", text_anchor="end")
            for site in range(1, bed.rows + 1)
            if site % step == 0 or (site == 1 and step > 2)
        ]
        ground = [rect(0, 0, self.width, bed.height, "ground")]
        for away, back in self.breaks:
            x, until = self.x(away), self.x(back + timedelta(days=1))
            ground.append(rect(x, 0, until - x, bed.height, "gone"))
        if bed.row >= ROW:
            ground += [line(0, row * bed.row, self.width, row * bed.row, "row") for row in range(1, bed.rows)]
        for offset in range(self.days):
            if (self.start + timedelta(days=offset)).day == 1:
                ground.append(line(offset * DAY, 0, offset * DAY, bed.height, "month"))
        bars = [self._bar(bar) for bar in sorted(bed.bars, key=lambda bar: (bar.first, bar.top))]
        return Lane(
            name=bed.name,
            numbers=element(
                "svg",
                element("g", *numbers, id=f"numbers-{number}"),
                width=NUMBERS,
                height=bed.height,
                aria_hidden="true",
            ),
            bars=element(
                "svg",
                element("g", *ground, *bars, id=f"bars-{number}"),
                *self.labels(bed.bars, 0, self.days, LETTER),
                width=self.width,
                height=bed.height,
                role="group",
                aria_label=f"{bed.name} over time",
            ),
        )

    def _bar(self, bar: _Bar) -> Markup:
        number = self.order.index(bar.crop) if bar.crop in self.order else 0
        left, right = self.x(bar.first), self.x(bar.last)
        wide, top, tall = max(right - left, 2.0), bar.top + 1, max(bar.height - 2, 1.0)
        if bar.empty:
            return self._linked(bar, [rect(left, top, wide, tall, "room")])
        tone = f"tone t{number % len(TONES)}"
        parts = [rect(left, top, wide, tall, tone), *_texture(left, top, wide, tall, number)]
        if bar.ready is not None:
            low, ready, high = bar.ready
            from_x = max(self.x(ready), left)
            if from_x < right:
                parts.append(rect(from_x, top, right - from_x, tall, "ripe"))
            foot = top + tall - 2
            low_x, high_x = max(self.x(low), left), min(self.x(high), right)
            if high_x > low_x:
                parts += [line(low_x, foot, high_x, foot, each) for each in ("casing", "likely")]
                ends = [low_x, *([high_x] if self.x(high) <= right else [])]
                parts += [line(x, foot - 3, x, foot + 1, "likely") for x in ends]
        parts.append(rect(left, top, wide, tall, "edge"))
        parts += [
            element("circle", cx=min(self.x(cut), right - 3), cy=top + tall / 2, r=3.2, class_="cut")
            for cut in bar.cuts
        ]
        return self._linked(bar, parts)

    def labels(self, bars: Iterable[_Bar], first: int, after: int, letter: float) -> list[Markup]:
        """Return the labels of bars from day ``first`` up to, not including, day ``after``."""
        labels = []
        for bar in bars:
            left = max(self.x(bar.first), first * DAY)
            label = self._label(bar, min(self.x(bar.last), after * DAY) - left, letter)
            if label and bar.height >= LOWEST_LABELLED and not bar.empty:
                y = bar.top + min(bar.height, ROW) / 2 + letter * 0.55
                labels.append(words(left + 3, y, label, "on-bar"))
        return labels

    def _label(self, bar: _Bar, wide: float, letter: float) -> str:
        """Return the crop's letter and its name; the letter alone where the name does not fit."""
        room = int((wide - 6) / letter)
        sign = letter_of(self.order.index(bar.crop)) if bar.crop in self.order else ""
        name = f"{sign} {crop_name(bar.crop, self.names)}".strip()
        return name if display_width(name) <= room else sign if len(sign) <= room else ""

    def _linked(self, bar: _Bar, parts: Sequence[Markup]) -> Markup:
        story = self.story_by_batch.get(bar.batch)
        if story is None:
            return joined(*parts)
        label = f"{story.crop}, batch {story.batch}, {text.day(bar.first)} to {text.day(bar.last)}"
        return element("a", *parts, href=f"#{story.anchor}", class_="batch", aria_label=label)


def _pieces(drawer: _Drawer, beds: Sequence[_Bed], weeks: int) -> Iterable[Piece]:
    """Cut the calendar into pieces that fit on paper: some weeks of some rows of a bed."""
    windows = max(ceil(weeks / WEEKS_ON_PAPER), 1)
    span = ceil(weeks / windows)
    for start in range(0, weeks, span):
        first, after = start * 7, min(start + span, weeks) * 7
        since, until = (drawer.start + timedelta(days=days) for days in (first, after - 1))
        for number, bed in enumerate(beds):
            step = max(int(PAPER_TALLEST / bed.row), 1)
            for row in range(0, bed.rows, step):
                rows = min(step, bed.rows - row)
                part = f", {row + 1} to {row + rows}" if rows < bed.rows else ""
                picture = _piece(drawer, (number, bed), (first, after, span * 7), (row, rows))
                yield Piece(f"{bed.name}{part}, {text.span(since, until)}", picture)


def _piece(
    drawer: _Drawer, numbered: tuple[int, _Bed], days: tuple[int, int, int], rows: tuple[int, int]
) -> Markup:
    """Return one piece for paper: a window onto the drawing made for the screen.

    Labels are drawn again, so that no word is cut at an edge.
    """
    number, bed = numbered
    first, after, full = days
    top, tall = rows[0] * bed.row, rows[1] * bed.row
    x, wide = first * DAY, (after - first) * DAY
    shown = [bar for bar in bed.bars if top <= bar.top < top + tall]
    labels = drawer.labels(shown, first, after, PAPER_LETTER)
    return element(
        "svg",
        _window((NUMBERS, 0, wide, HEAD), (x, 0), *drawer.heads(first, after)),
        _window((0, HEAD, NUMBERS, tall), (0, top), element("use", href=f"#numbers-{number}")),
        _window((NUMBERS, HEAD, wide, tall), (x, top), element("use", href=f"#bars-{number}"), *labels),
        class_="piece",
        viewBox=f"0 0 {NUMBERS + full * DAY:.0f} {HEAD + tall + 2:.0f}",
        aria_hidden="true",
    )


def _window(
    place: tuple[float, float, float, float], seen_from: tuple[float, float], *children: Markup
) -> Markup:
    """Return a window at ``place`` (x, y, width, height) that shows the drawing from corner ``seen_from``."""
    x, y, width, height = place
    left, top = seen_from
    view_box = f"{left:.1f} {top:.1f} {width:.1f} {height:.1f}"
    return element("svg", *children, class_="window", x=x, y=y, width=width, height=height, viewBox=view_box)
