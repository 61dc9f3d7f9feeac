"""Sixth part of the page, drawn: every place over time, for the screen and in pieces for paper.

What lies where from left to right is a share of the width, so that the page's style alone can make the
calendar wider; which words there is room for at each width is worked out here.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from cropcal.records.plan import SeasonPlan
from cropcal.show import text
from cropcal.show.lanes import BarText, BedRows, Stretch, crop_order, days_of, letter_of, texts
from cropcal.show.page.stories import BatchStory
from cropcal.show.page.svg import (
    Markup,
    element,
    joined,
    line,
    percent,
    rect,
    words,
)
from cropcal.show.pictures.shapes import TONES
from cropcal.show.text import display_width
from cropcal.show.wording import crop_name, period_of

ZOOMS = {"small": 2.0, "medium": 5.0, "large": 11.0}
"""How wide the calendar can be made: the width of a day. The style has the same numbers."""
DAY = ZOOMS["medium"]
"""Width of a day where no style says otherwise, and on paper."""
ROW = 20.0
INSET, INSET_SHARED = 1.0, 0.3
"""Room above and below a bar, and below one that shares its row."""
HEAD = 36.0
NUMBERS = 30.0
LETTER = 6.6
"""Width of a letter on a bar, on the screen."""
PAPER_LETTER = 8.0
MONTH_LETTER, DATE_LETTER = 7.5, 7.0
WEEKS_ON_PAPER = 26
PAPER_TALLEST = 1000.0
"""Tallest piece of a bed on one sheet of paper; a taller bed continues on the next."""
TEXTURES = 5
LOWEST_WITH_RANGE = 10.0
CUT_R = 3.2
BASE = 12.6
"""From the top of a row to the line on which its words stand."""
DATE_DAYS = 4
"""Days that the day of a month takes up in the head."""


@dataclass(frozen=True)
class CropKey:
    """A crop in the key: its letter, its swatch, its name."""

    letter: str
    name: str
    swatch: Markup


@dataclass(frozen=True)
class Lane:
    """One bed or nursery: its name, how large it is, its site numbers and its bars."""

    name: str
    note: str
    numbers: Markup
    bars: Markup


@dataclass(frozen=True)
class Piece:
    """A part of a bed over some weeks, as it is printed."""

    title: str
    picture: Markup


@dataclass(frozen=True)
class Calendar:
    """The whole calendar, ready for the template; ``zooms`` are the names of its widths."""

    start: str
    days: int
    zooms: tuple[str, ...]
    by_sowing: bool
    months: Markup
    lanes: tuple[Lane, ...]
    kinds: tuple[CropKey, ...]
    has_empty: bool
    pieces: tuple[Piece, ...]


def calendar(
    plan: SeasonPlan,
    names: Mapping[str, str],
    beds: Sequence[BedRows],
    stories: Sequence[BatchStory],
    breaks: Sequence[tuple[date, date]] = (),
) -> Calendar:
    """Return the calendar of a plan's nurseries and beds; every bar leads to its batch's story."""
    first, last = period_of(plan)
    order = crop_order(plan)
    drawer = _Drawer(
        first, (last - first).days + 1, order, names, {story.batch: story for story in stories}, breaks
    )
    return Calendar(
        start=first.isoformat(),
        days=drawer.days,
        zooms=tuple(ZOOMS),
        by_sowing=all(bed.by_sowing for bed in beds),
        months=drawer.months(),
        lanes=tuple(drawer.lane(number, bed) for number, bed in enumerate(beds)),
        kinds=tuple(
            CropKey(letter_of(n), crop_name(slug, names), _swatch(n)) for n, slug in enumerate(order)
        ),
        has_empty=any(stretch.empty for bed in beds for stretch in bed.stretches),
        pieces=tuple(_pieces(drawer, beds, plan.weeks)),
    )


def _swatch(number: int) -> Markup:
    return element(
        "svg",
        rect(1, 1, 20, 14, f"tone t{number % len(TONES)}"),
        *_texture(1, 1, 20, 14, number),
        width=22,
        height=16,
        aria_hidden="true",
    )


def _texture(x: str | float, y: float, width: str | float, height: float, number: int) -> list[Markup]:
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

    def day(self, when: date) -> int:
        """Return how many days of the plan are over when a day begins."""
        return min(max((when - self.start).days, 0), self.days)

    def x(self, days: float) -> str:
        """Return where a day begins, counted from the first, as a share of the width."""
        return percent(min(days / self.days, 1.0))

    def months(self) -> Markup:
        """Return the months with their names, and every Monday with its day."""
        parts: list[Markup] = []
        for offset in range(self.days):
            when, x = self.start + timedelta(days=offset), self.x(offset)
            if when.day == 1 or offset == 0:
                room, month_names = self._month(when, offset, self.days)
                parts += _fitted(x, 14, month_names, "lane", room, MONTH_LETTER)
                parts.append(line(x, 0, x, HEAD, "axis"))
            if when.weekday() == 0:
                parts.append(line(x, HEAD - 16, x, HEAD, "faint"))
                room = min(7 * (2 - offset // 7 % 2), self.days - offset)  # every other week has room for two
                ends = (when + timedelta(days=DATE_DAYS - 1)).month != when.month
                parts += _fitted(x, HEAD - 5, () if ends else (str(when.day),), "small", room, DATE_LETTER)
        parts.append(line(0, HEAD, "100%", HEAD, "axis"))
        return element("svg", *parts, width=self.days * DAY, height=HEAD, aria_hidden="true")

    def _month(self, when: date, offset: int, after: int) -> tuple[int, tuple[str, ...]]:
        """Return how many days there are for a month's name, and the names that it may have."""
        next_month = (when.replace(day=28) + timedelta(days=4)).replace(day=1)
        name = text.MONTH_NAMES[when.month - 1]
        with_year = f"{name} {when.year}" if when.month == 1 or offset == 0 else name
        return min((next_month - when).days, after - offset), (with_year, name)

    def paper_head(self, first: int, after: int) -> list[Markup]:
        """Return the head of the calendar on paper from day ``first`` up to, not including, day ``after``."""
        parts: list[Markup] = []
        for offset in range(first, after):
            when, x = self.start + timedelta(days=offset), offset * DAY
            if when.day == 1 or offset == first:
                room, month_names = self._month(when, offset - first, after - first)
                label = next((name for name in month_names if len(name) * MONTH_LETTER <= room * DAY - 6), "")
                parts += [words(x + 3, 14, label, "lane")] if label else []
                parts.append(line(x, 0, x, HEAD, "axis"))
            if when.weekday() == 0:
                parts.append(line(x, HEAD - 16, x, HEAD, "faint"))
                if after - offset >= 4:
                    parts.append(words(x + 3, HEAD - 5, str(when.day), "small"))
        return [*parts, line(first * DAY, HEAD, after * DAY, HEAD, "axis")]

    def lane(self, number: int, bed: BedRows) -> Lane:
        """Return a bed's numbers and bars."""
        numbers = [
            words(NUMBERS - 6, (site - 0.5) * ROW + 4, str(site), "small", text_anchor="end")
            for site in range(1, bed.rows + 1)
            if bed.numbered
        ]
        height = bed.rows * ROW
        ground = [rect(0, 0, "100%", height, "ground")]
        for away, back in self.breaks:
            first, after = self.day(away), self.day(back + timedelta(days=1))
            ground.append(rect(self.x(first), 0, percent((after - first) / self.days), height, "gone"))
        ground += [line(0, row * ROW, "100%", row * ROW, "row") for row in range(1, bed.rows)]
        for offset in range(self.days):
            if (self.start + timedelta(days=offset)).day == 1:
                ground.append(line(self.x(offset), 0, self.x(offset), height, "month"))
        bars = [
            self._bar(bed.kind, stretch)
            for stretch in sorted(bed.stretches, key=lambda one: (one.first, one.top))
        ]
        labels = [label for tag in bed.tags for label in self._label(bed, tag)]
        return Lane(
            name=bed.name,
            note=bed.note,
            numbers=element(
                "svg",
                element("g", *numbers, id=f"numbers-{number}"),
                width=NUMBERS,
                height=height,
                aria_hidden="true",
            ),
            bars=element(
                "svg",
                element("g", *ground, *bars, id=f"bars-{number}"),
                *labels,
                width=self.days * DAY,
                height=height,
                role="group",
                aria_label=f"{bed.name} over time",
            ),
        )

    def _bar(self, kind: str, stretch: Stretch) -> Markup:
        number = self.order.index(stretch.batch.crop)
        first, _, ready_on, after = map(self.day, days_of(stretch, kind))
        inset = INSET if stretch.height >= 1 else INSET_SHARED
        top, tall = stretch.top * ROW + inset, stretch.height * ROW - 2 * inset
        left, wide = self.x(first), percent((after - first) / self.days)
        if stretch.empty:
            return self._linked(stretch, [rect(left, top, wide, tall, "room")])
        parts = [rect(left, top, wide, tall, f"tone t{number % len(TONES)}")]
        parts += _texture(left, top, wide, tall, number)
        if kind == "bed":
            ready_on = max(ready_on, first)
            if ready_on < after:
                parts.append(
                    rect(self.x(ready_on), top, percent((after - ready_on) / self.days), tall, "ripe")
                )
            if tall >= LOWEST_WITH_RANGE:
                parts += self._likely(stretch, (first, after), top + tall - 2)
        parts.append(rect(left, top, wide, tall, "edge" if stretch.height >= 1 else "edge shared"))
        radius = min(CUT_R, tall / 2)
        parts += [
            element("circle", cx=self.x(self.day(cut) + 0.5), cy=top + tall / 2, r=radius, class_="cut")
            for cut in stretch.cuts
            if first <= self.day(cut) < after
        ]
        return self._linked(stretch, parts)

    def _likely(self, stretch: Stretch, ends: tuple[int, int], foot: float) -> list[Markup]:
        """Return the days within which a batch may be ready, as far as its bar reaches."""
        first, after = ends
        low = max(self.day(stretch.batch.ready_from_low_80), first)
        high = min(self.day(stretch.batch.ready_from_high_80), after)
        if high <= low:
            return []
        marked = [low, *([high] if high < after else [])]
        return [
            *(line(self.x(low), foot, self.x(high), foot, each) for each in ("casing", "likely")),
            *(line(self.x(day), foot - 3, self.x(day), foot + 1, "likely") for day in marked),
        ]

    def _texts(self, bed: BedRows, tag: BarText) -> tuple[str, ...]:
        letter = letter_of(self.order.index(tag.crop))
        return texts(tag, crop_name(tag.crop, self.names), letter, by_sowing=bed.by_sowing)

    def _label(self, bed: BedRows, tag: BarText) -> list[Markup]:
        """Return what is written on a bar at each width of the calendar."""
        first, free, after = map(self.day, (tag.first, tag.free, tag.after))
        room = free - first if free - first > 1 else after - first
        return _fitted(self.x(first), _base_line(tag), self._texts(bed, tag), "on-bar", room, LETTER)

    def paper_labels(self, bed: BedRows, tags: Iterable[BarText], first: int, after: int) -> list[Markup]:
        """Return the labels on paper from day ``first`` up to, not including, day ``after``."""
        labels = []
        for tag in tags:
            left, right = max(self.day(tag.first), first), min(self.day(tag.after), after)
            letters = int(((right - left) * DAY - 6) / PAPER_LETTER)
            label = next((one for one in self._texts(bed, tag) if display_width(one) <= letters), "")
            if label:
                labels.append(words(left * DAY + 3, _base_line(tag), label, "on-bar"))
        return labels

    def _linked(self, stretch: Stretch, parts: Sequence[Markup]) -> Markup:
        story = self.story_by_batch.get(stretch.batch.id)
        if story is None:
            return joined(*parts)
        last = stretch.after - timedelta(days=1)
        label = f"{story.crop}, batch {story.batch}, {text.day(stretch.first)} to {text.day(last)}"
        return element("a", *parts, href=f"#{story.anchor}", class_="batch", aria_label=label)


def _base_line(tag: BarText) -> float:
    """Return the height at which the words of a bar stand: in its first row, above its likely days."""
    return tag.top * ROW + BASE


def _fitted(
    x: str, y: float, choices: Sequence[str], class_: str, days: float, letter: float
) -> list[Markup]:
    """Return the first of some words that has room, at each width at which one has.

    ``days``: how many days wide the room is.
    """
    shown: dict[str, list[int]] = {}
    for zoom, day in enumerate(ZOOMS.values()):
        room = days * day - 4
        label = next((one for one in choices if display_width(one) * letter <= room), "")
        if label:
            shown.setdefault(label, []).append(zoom)
    return [
        words(
            x,
            y,
            label,
            class_ if len(zooms) == len(ZOOMS) else " ".join([class_, "at", *(f"z{zoom}" for zoom in zooms)]),
            dx=3,
        )
        for label, zooms in shown.items()
    ]


def _pieces(drawer: _Drawer, beds: Sequence[BedRows], weeks: int) -> Iterable[Piece]:
    """Cut the calendar into pieces that fit on paper: some weeks of some rows of a bed."""
    windows = max(ceil(weeks / WEEKS_ON_PAPER), 1)
    span = ceil(weeks / windows)
    for start in range(0, weeks, span):
        first, after = start * 7, min(start + span, weeks) * 7
        since, until = (drawer.start + timedelta(days=days) for days in (first, after - 1))
        for number, bed in enumerate(beds):
            step = max(int(PAPER_TALLEST / ROW), 1)
            for row in range(0, bed.rows, step):
                rows = min(step, bed.rows - row)
                part = f", {row + 1} to {row + rows}" if rows < bed.rows and bed.numbered else ""
                picture = _piece(drawer, (number, bed), (first, after, span * 7), (row, rows))
                yield Piece(f"{bed.name}{part}, {text.span(since, until)}", picture)


def _piece(
    drawer: _Drawer, numbered: tuple[int, BedRows], days: tuple[int, int, int], rows: tuple[int, int]
) -> Markup:
    """Return one piece for paper: a window onto the drawing made for the screen.

    Labels are drawn again, so that no word is cut at an edge. What the window shows lies in a picture as wide
    as the whole plan, of which all places are shares.
    """
    number, bed = numbered
    first, after, full = days
    top, tall = rows[0] * ROW, rows[1] * ROW
    x, wide = first * DAY, (after - first) * DAY
    tags = [tag for tag in bed.tags if rows[0] <= tag.top < rows[0] + rows[1]]
    labels = drawer.paper_labels(bed, tags, first, after)
    whole = element(
        "svg",
        element("use", href=f"#bars-{number}"),
        width=drawer.days * DAY,
        height=bed.rows * ROW,
    )
    return element(
        "svg",
        _window((NUMBERS, 0, wide, HEAD), (x, 0), *drawer.paper_head(first, after)),
        _window((0, HEAD, NUMBERS, tall), (0, top), element("use", href=f"#numbers-{number}")),
        _window((NUMBERS, HEAD, wide, tall), (x, top), whole, *labels),
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
