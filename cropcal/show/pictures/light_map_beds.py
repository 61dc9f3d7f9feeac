"""The beds of the light map: their boxes, the size of their sites, and the text on them.

All in inches from the top left corner of the picture. A bed with a place lies on the floor in the zone's
scale; one without is laid beside it, in no scale.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from cropcal.records.scene import LitBed, LitSite
from cropcal.show import text
from cropcal.show.pictures.shapes import PT_PER_INCH, Box, Point

Measure = Callable[[str, float, bool], float]
"""Text, size in points, bold -> width in inches."""

TAG_PT, TAG_HEIGHT, TAG_PAD = 7.0, 0.15, 0.05
TAG_LIFT = 0.115
"""So far a tag sticks out over its bed's edge, to leave the first row of sites alone."""
NUMBER_PT = 5.5, 12.0
NUMBER_HEIGHT = 0.29
"""Least height of a site's place in which its number can be read."""
DLI_ROOM, DLI_PT = 0.44, 0.72
"""Least height of a site that holds a second number, and its size as a share of the first."""
FINE = 0.09
"""Sites smaller than this are drawn as plain cells."""
INSET, GAP = 0.025, 0.09
CAP_EM = 0.73
SAID_PT, SAID_LINE, SAID_NUMBER = 11.0, 0.12, 0.2
NEAR = 8
"""How many of the places tried for a label are close to its site."""
CARD_WIDTH, CARD_HEIGHT, CARD_CELL, CARDS_APART = 1.8, 0.5, 0.42, 0.22


@dataclass(frozen=True)
class SitePlot:
    """One site: its place and its light; ``round_in`` is the radius of its corners."""

    box: Box
    round_in: float
    ppfd_umol_m2_s: float
    dli_mol_m2_d: float

    @property
    def middle(self) -> Point:
        """Return the middle of the site."""
        left, right, top, bottom = self.box
        return (left + right) / 2, (top + bottom) / 2


@dataclass(frozen=True)
class Tag:
    """A label on the map."""

    box: Box
    text: str


@dataclass(frozen=True)
class LightText:
    """The one value of a bed whose sites are not known apart, with the reason, in its middle."""

    box: Box
    lines: tuple[str, ...]


@dataclass(frozen=True)
class BedPlot:
    """A bed: its outline, its tag, its sites, and how their light is written on them.

    ``number_pt`` and ``dli_pt`` are 0 where there is no room.
    """

    bed: LitBed
    box: Box
    tag: Tag
    spots: tuple[SitePlot, ...]
    number_pt: float
    dli_pt: float
    light_text: LightText | None

    def number_box(self, spot: SitePlot, measure: Measure) -> Box:
        """Return the box of a site's numbers."""
        (x, y), pt = spot.middle, self.number_pt
        half = measure(text.ppfd(spot.ppfd_umol_m2_s), pt, bool(self.dli_pt)) / 2
        if self.dli_pt:
            half = max(half, measure(text.dli(spot.dli_mol_m2_d), self.dli_pt, False) / 2)
        rise = (1.5 if self.dli_pt else 0.6) * pt * CAP_EM / PT_PER_INCH
        return x - half, x + half, y - rise, y + rise


@dataclass(frozen=True)
class Extreme:
    """The dimmest or the brightest site where numbers do not fit: its ring, and its label beside it."""

    ring: Box
    label: Tag


def clipped(content: str, size_pt: float, bold: bool, room: float, measure: Measure) -> str:
    """Return a text, shortened with … until it takes no more than ``room`` inches."""
    wide = text.display_width(content)
    while wide > 1 and measure(text.clip(content, wide), size_pt, bold) > room:
        wide -= 1
    return text.clip(content, wide)


def overlap(first: Box, other: Box) -> bool:
    """Return whether two boxes overlap."""
    return first[0] < other[1] and other[0] < first[1] and first[2] < other[3] and other[2] < first[3]


def needed_per_m(bed: LitBed) -> float:
    """Return the scale [in/m] at which a placed bed's numbers are legible; 0 if it has none."""
    if bed.x_m is None or bed.length_m is None or bed.width_m is None or bed.alike:
        return 0.0
    digits = max(len(text.ppfd(site.ppfd_umol_m2_s)) for site in bed.sites)
    wide = 0.08 + 0.058 * digits
    return max(wide * bed.columns / bed.length_m, NUMBER_HEIGHT * bed.rows / bed.width_m)


def tag_at(left: float, top: float, name: str, measure: Measure) -> Tag:
    """Return a label of a text's own width."""
    wide = measure(name, TAG_PT, True) + 2 * TAG_PAD
    return Tag((left, left + wide, top, top + TAG_HEIGHT), name)


def on_floor(place: tuple[float, float, float, float], floor: Box, scale: float) -> Box:
    """Return the box of a rectangle (x, y, length, width in m, y from the front) on a floor."""
    x, y, length, width = place
    left, low = floor[0] + x * scale, floor[3] - y * scale
    return left, left + length * scale, low - width * scale, low


def placed(bed: LitBed, label: str, floor: Box, scale: float, measure: Measure) -> BedPlot:
    """Return a bed where it lies on the floor; ``scale`` in inches per metre."""
    place = (bed.x_m or 0.0, bed.y_m or 0.0, bed.length_m or 0.0, bed.width_m or 0.0)
    box = on_floor(place, floor, scale)
    tag = tag_at(box[0] + INSET + 0.04, box[2] + INSET - TAG_LIFT, label, measure)
    middles = [
        (floor[0] + (site.x_m or 0.0) * scale, floor[3] - (site.y_m or 0.0) * scale) for site in bed.sites
    ]
    return _plot(bed, box, tag, middles, measure)


def card_width(bed: LitBed, room: float) -> float:
    """Return the width of a bed without a place, at most ``room``."""
    return min(room, CARD_WIDTH if bed.alike else CARD_CELL * bed.columns)


def cards(
    beds: Iterable[tuple[LitBed, str]], area: tuple[float, float, float], measure: Measure
) -> tuple[list[BedPlot], float]:
    """Lay beds without a place, with their labels, in rows between left and right, from a top on.

    Returns
    -------
    tuple of list of Plot and float
        The beds, and the bottom of the lowest.
    """
    left, right, top = area
    x, bottom, plots = left, top, []
    for bed, label in beds:
        wide = card_width(bed, right - left)
        high = CARD_HEIGHT if bed.alike else max(wide / bed.columns, NUMBER_HEIGHT) * bed.rows
        room = min(max(wide, CARD_WIDTH), right - left)
        tag = tag_at(x, top, clipped(label, TAG_PT, True, room - 2 * TAG_PAD, measure), measure)
        room = max(wide, tag.box[1] - tag.box[0])
        if x > left and x + room > right + 1e-9:
            x, top = left, bottom + CARDS_APART
            tag = tag_at(x, top, tag.text, measure)
        low = top + TAG_HEIGHT + 0.02
        box = (x, x + wide, low, low + high)
        middles = [
            (
                x + (number % bed.columns + 0.5) * wide / bed.columns,
                low + high - (number // bed.columns + 0.5) * high / bed.rows,
            )
            for number in range(len(bed.sites))
        ]
        plots.append(_plot(bed, box, tag, middles, measure))
        x, bottom = x + room + CARDS_APART, max(bottom, box[3])
    return plots, bottom


def _plot(bed: LitBed, box: Box, tag: Tag, middles: Sequence[Point], measure: Measure) -> BedPlot:
    cell = (box[1] - box[0]) / bed.columns, (box[3] - box[2]) / bed.rows
    longest = max((text.ppfd(site.ppfd_umol_m2_s) for site in bed.sites), key=len)
    wide, high, radius = _site_size(bed, cell, longest, measure)
    spots = [_spot(site, middle, wide, high, radius) for site, middle in zip(bed.sites, middles, strict=True)]
    inner = (box[0] + INSET, box[1] - INSET, box[2] + INSET, box[3] - INSET)
    if not bed.alike:
        sizes = _number_sizes(cell, wide, high, longest, measure)
        return BedPlot(bed, inner, tag, tuple(spots), *sizes, None)
    light_text = _light_text(bed, inner, measure)
    taken = [tag.box] if light_text is None else [tag.box, light_text.box]
    outlined = bed.x_m is not None and len(spots) > 1 and min(cell) >= 2 * FINE
    if any(overlap(spot.box, other) for spot in spots for other in taken):
        outlined = False  # some without the others would look like fewer sites
    return BedPlot(bed, inner, tag, tuple(spots if outlined else ()), 0.0, 0.0, light_text)


def _site_size(
    bed: LitBed, cell: tuple[float, float], longest: str, measure: Measure
) -> tuple[float, float, float]:
    """Return width, height and corner radius of a site: pots are round, trays and cells are not.

    A pot becomes longer where its number needs that, and leaves room for the tag on the bed's edge.
    """
    if min(cell) < FINE:
        return *cell, 0.0
    gaps = min(0.13 * cell[0], GAP), min(0.13 * cell[1], GAP)
    room = cell[0] - gaps[0], min(cell[1] - gaps[1], cell[1] - 0.12 if cell[1] >= NUMBER_HEIGHT else cell[1])
    if bed.kind != "sites":
        return *room, 0.03 if min(room) > 0.2 else 0.0
    high = min(room[1], 0.9 * cell[1])
    wide = min(0.9 * cell[0], room[0], high)
    wide = max(wide, min(room[0], measure(longest, 8.0, False) / 0.8))
    high = min(high, wide)
    return wide, high, min(wide, high) / 2


def _number_sizes(
    cell: tuple[float, float], wide: float, high: float, longest: str, measure: Measure
) -> tuple[float, float]:
    """Return the sizes of PPFD and DLI on a site in points, 0 for one that does not fit."""
    least, most = NUMBER_PT
    pt = min(most, 0.86 * wide / measure(longest, 1.0, False), 0.62 * high * PT_PER_INCH / CAP_EM)
    if pt < least or cell[1] < NUMBER_HEIGHT - 1e-6:
        return 0.0, 0.0
    if high >= DLI_ROOM:
        both = min(most, 0.78 * wide / measure(longest, 1.0, True), 0.36 * high * PT_PER_INCH / CAP_EM)
        if both >= 8:
            return both, both * DLI_PT
    return pt, 0.0


def _spot(site: LitSite, middle: Point, wide: float, high: float, radius: float) -> SitePlot:
    x, y = middle
    box = (x - wide / 2, x + wide / 2, y - high / 2, y + high / 2)
    return SitePlot(box, radius, site.ppfd_umol_m2_s, site.dli_mol_m2_d)


def _light_text(bed: LitBed, box: Box, measure: Measure) -> LightText | None:
    """Return the one value of a bed, and as much of the reason as fits."""
    number, count = text.ppfd(bed.sites[0].ppfd_umol_m2_s), len(bed.sites)
    ways: tuple[tuple[str, ...], ...]
    if count == 1:
        ways = (("mean of the lit floor",), ("mean of", "the lit floor"), ("mean",), ())
    else:
        first = "one reading" if bed.alike == "one reading" else "one mean"
        whole = f"all {count} sites"
        ways = ((f"{first} for {whole}",), (f"{first} for", whole), (first,), ())
    x, y = (box[0] + box[1]) / 2, (box[2] + box[3]) / 2
    for lines in ways:
        wide = max(measure(number, SAID_PT, True), *(measure(line, TAG_PT, False) for line in lines), 0.0)
        high = SAID_NUMBER + SAID_LINE * len(lines)
        if wide + 0.1 <= box[1] - box[0] and high + (0.1 if lines else 0.0) <= box[3] - box[2]:
            place = (x - wide / 2 - 0.04, x + wide / 2 + 0.04, y - high / 2, y + high / 2)
            return LightText(place, (number, *lines))
    return None


def extremes(
    plots: Sequence[BedPlot], written: Sequence[Box], page: Box, measure: Measure
) -> tuple[Extreme, ...]:
    """Return the dimmest and the brightest of the sites whose numbers do not fit.

    Their labels stay within the page and off what is ``written`` there.
    """
    spots = [spot for plot in plots if not plot.bed.alike and plot.number_pt == 0 for spot in plot.spots]
    values = [spot.ppfd_umol_m2_s for spot in spots]
    if not spots or text.ppfd(min(values)) == text.ppfd(max(values)):
        return ()
    taken = [*written, *(plot.tag.box for plot in plots)]
    taken += [plot.light_text.box for plot in plots if plot.light_text]
    taken += [plot.number_box(spot, measure) for plot in plots if plot.number_pt for spot in plot.spots]
    rings = [spots[values.index(value)].box for value in (min(values), max(values))]
    labelled = []
    for word, value, ring in zip(("dimmest", "brightest"), (min(values), max(values)), rings, strict=True):
        label = tag_at(0.0, 0.0, f"{word} {text.ppfd(value)}", measure)
        place = _free_place(ring, label.box[1], [*taken, *rings], [plot.box for plot in plots], page)
        taken.append(place)
        labelled.append(Extreme(ring, Tag(place, label.text)))
    return tuple(labelled)


def _free_place(spot: Box, wide: float, taken: Sequence[Box], beds: Sequence[Box], page: Box) -> Box:
    """Return a free place for a label beside a spot: off other labels, and off beds if possible."""
    left, right, top, bottom = spot
    middle, gap = (left + right) / 2, 0.06
    level = (top + bottom) / 2 - TAG_HEIGHT / 2
    around = [(right + gap, level), (left - gap - wide, level)]
    for away in range(6):
        more = gap + away * TAG_HEIGHT / 2
        around += [
            (x, y)
            for y in (bottom + more, top - more - TAG_HEIGHT)
            for x in (middle - wide / 2, middle - wide, middle)
        ]
    places = [(x, x + wide, y, y + TAG_HEIGHT) for x, y in around]
    inside = [
        place
        for place in places
        if page[0] <= place[0] and place[1] <= page[1] and page[2] <= place[2] and place[3] <= page[3]
    ]
    free = [place for place in inside if not any(overlap(place, other) for other in taken)]
    near = places[:NEAR]
    off_beds = [place for place in free if place in near and not any(overlap(place, bed) for bed in beds)]
    return (off_beds or free or inside or places)[0]
