"""Third part of the page: the map of the light, and each crop's range against what there is."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cropcal.records.daylight import MONTHS
from cropcal.records.fit import Fit
from cropcal.records.plan import BedLight
from cropcal.records.scene import LightRange, LitBed, LitZone
from cropcal.show import text
from cropcal.show.page.svg import (
    Markup,
    element,
    line,
    percent,
    rect,
    words,
)
from cropcal.show.pictures.light_map import BLACK, ink_on, shade
from cropcal.show.terminal.light import VERDICTS
from cropcal.show.wording import crop_name, lamp_hours, reason

MAP_WIDTH = 640.0
"""Width of the widest floor, in units of the picture."""
MAP_TALLEST = 420.0
LOOSE_SITE = 44.0
SIGNS = {"ok": "✓", "slow": "~", "risk": "!", "no": "✕"}
RANGE_HEIGHT, BAND_TOP, BAND_FOOT = 34.0, 6.0, 22.0
SMALLEST_TEXT = 11.0
NAME_LETTER = 8.5
NOT_DRAWN = "; its place is not in the file, so it is not drawn"


@dataclass(frozen=True)
class ZoneMap:
    """One zone from above: its floor, and the beds whose place on it is not known."""

    name: str
    facts: str
    floor: Markup | None
    loose: tuple[tuple[str, Markup], ...]
    notes: tuple[str, ...]


@dataclass(frozen=True)
class BedRow:
    """One bed's light and how it is known."""

    bed: str
    ppfd: str
    dli: str
    hours: str
    likely: str
    known: str
    better: str
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class FitRow:
    """One crop in one bed: its light requirement, its light there, and the verdict."""

    crop: str
    bed: str
    asks: str
    gets: str
    picture: Markup
    verdict: str
    sign: str
    verdict_text: str
    why: str
    cure: str


def zone_maps(zones: Sequence[LitZone], lights: Sequence[BedLight] = ()) -> tuple[ZoneMap, ...]:
    """Return a map of each zone; colours go from the dimmest to the brightest site of all."""
    values = [site.ppfd_umol_m2_s for zone in zones for bed in zone.beds for site in bed.sites]
    hours = {light.zone: lamp_hours(light) for light in lights}
    low, high = min(values, default=0.0), max(values, default=1.0)
    return tuple(
        _zone(zone, hours.get(zone.name, text.hours(zone.photoperiod_h)), low, high) for zone in zones
    )


def bed_rows(lights: Sequence[BedLight]) -> tuple[BedRow, ...]:
    """Return each bed's light, how it is known, and the measurement that would narrow it most."""
    rows = []
    for bed in lights:
        sites = bed.site_ppfd_umol_m2_s
        low, high = bed.range_80_umol_m2_s
        better = min(bed.narrower, key=lambda way: way.sd_ln, default=None)
        rows.append(
            BedRow(
                bed=bed.bed,
                ppfd=_mean_and_ends(
                    text.ppfd(min(sites)), text.ppfd(max(sites)), text.ppfd(bed.ppfd_umol_m2_s)
                ),
                dli="by month"
                if bed.halves
                else _mean_and_ends(
                    text.dli(bed.dli_mol_m2_d(min(sites))),
                    text.dli(bed.dli_mol_m2_d(max(sites))),
                    text.dli(bed.dli_mol_m2_d()),
                ),
                hours=lamp_hours(bed),
                likely=""
                if bed.halves
                else f"{text.plain(bed.dli_mol_m2_d(low), 1)}-{text.plain(bed.dli_mol_m2_d(high), 1)}",
                known=f"{bed.how}; known to within {text.known_to(bed.sd_ln)}",
                better=f"{better.find}: {text.known_to(better.sd_ln)}" if better else "",
                warnings=(*bed.slips, *bed.warnings, *(bed.check.causes if bed.check else ())),
            )
        )
    return tuple(rows)


def sun_table(lights: Sequence[BedLight]) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Return the heads, then a row for each month; beds with a window have columns, equal ones share one.

    A cell has the light of lamp and sun together, the sun's part of it, and the lamp's hours.
    """
    columns: dict[tuple[str, ...], list[str]] = {}
    for bed in lights:
        if bed.halves:
            columns.setdefault(_sun_cells(bed), []).append(bed.bed)
    rows = tuple(zip(MONTHS, *columns, strict=True)) if columns else ()
    return tuple(", ".join(beds) for beds in columns.values()), rows


def _sun_cells(bed: BedLight) -> tuple[str, ...]:
    cells = []
    for month, (first_half, second_half) in enumerate(zip(bed.halves[::2], bed.halves[1::2], strict=True)):
        both, sun = (
            bed.months_with_sun_mol_m2_d[month],
            (first_half.sun_mol_m2_d + second_half.sun_mol_m2_d) / 2,
        )
        cells.append(
            f"{text.dli(both)} ({text.dli(sun)}), {text.hours((first_half.lamp_h + second_half.lamp_h) / 2)}"
        )
    return tuple(cells)


def _mean_and_ends(low: str, high: str, mean: str) -> str:
    return mean if low == high else f"{mean} ({low}-{high})"


def fit_rows(
    fits: Sequence[Fit], ranges: Sequence[LightRange], names: Mapping[str, str]
) -> tuple[FitRow, ...]:
    """Return each wanted crop in each bed it could grow in, its range drawn on one scale for all."""
    by_place = {(light_range.crop, light_range.bed): light_range for light_range in ranges}
    top = max((max(light_range.ceiling, light_range.dli.high) for light_range in ranges), default=1.0) * 1.08
    rows = []
    for fit in fits:
        at_place = by_place.get((fit.crop, fit.bed))
        if at_place is None:
            continue
        name = crop_name(fit.crop, names)
        least, best, most = (
            text.plain(value, 1) for value in (at_place.least, at_place.target, at_place.ceiling)
        )
        asks = f"{least}-{most}, best {best}"
        gets = f"{text.dli(at_place.dli.middle)} ({text.dli(at_place.dli.low)}-{text.dli(at_place.dli.high)})"
        rows.append(
            FitRow(
                crop=name,
                bed=fit.bed,
                asks=asks,
                gets=gets,
                picture=_range(at_place, top, f"{name} in {fit.bed} asks for {asks} mol a day, gets {gets}"),
                verdict=fit.verdict,
                sign=SIGNS[fit.verdict],
                verdict_text=VERDICTS[fit.verdict],
                why=reason(fit),
                cure=fit.cure,
            )
        )
    return tuple(rows)


def _range(light_range: LightRange, top: float, spoken: str) -> Markup:
    """Return a crop's light band with a tick at its best, and the bed's light with its 80 % range."""
    middle = (BAND_TOP + BAND_FOOT) / 2
    least, target, ceiling = (
        percent(value / top) for value in (light_range.least, light_range.target, light_range.ceiling)
    )
    low, gets, high = (
        percent(value / top) for value in (light_range.dli.low, light_range.dli.middle, light_range.dli.high)
    )
    wide = percent((light_range.ceiling - light_range.least) / top)
    return element(
        "svg",
        line("0%", BAND_FOOT + 6, "100%", BAND_FOOT + 6, "axis"),
        rect(least, BAND_TOP, wide, BAND_FOOT - BAND_TOP, "band"),
        line(target, BAND_TOP, target, BAND_FOOT, "best"),
        line(least, BAND_FOOT + 3, least, BAND_FOOT + 9, "axis"),
        line(ceiling, BAND_FOOT + 3, ceiling, BAND_FOOT + 9, "axis"),
        line(low, middle, high, middle, "spread"),
        line(low, middle - 5, low, middle + 5, "spread"),
        line(high, middle - 5, high, middle + 5, "spread"),
        element("circle", cx=gets, cy=middle, r=5, class_="dot"),
        class_="range",
        width="100%",
        height=RANGE_HEIGHT,
        role="img",
        aria_label=spoken,
    )


def _zone(zone: LitZone, hours: str, low: float, high: float) -> ZoneMap:
    notes = {
        "one reading": "one reading is used for all its sites",
        "floor mean": "the mean of the lit floor is used for all its sites",
    }
    placed = [bed for bed in zone.beds if bed.x_m is not None]
    alike = [bed for bed in zone.beds if bed.alike and len(bed.sites) > 1]
    loose = [bed for bed in zone.beds if bed.x_m is None and bed not in alike]
    floor = _floor(zone, placed, low, high) if placed or zone.lamps else None
    size = f"{text.plain(zone.length_m, 2)} by {text.plain(zone.width_m, 2)} m"
    return ZoneMap(
        name=zone.name,
        facts=f"{size}, {hours} of lamp light" + (", front at the bottom" if floor else ""),
        floor=floor,
        loose=tuple((bed.name, _unplaced_bed(bed, low, high)) for bed in loose),
        notes=tuple(f"{bed.name}: {notes[bed.alike]}{'' if bed in placed else NOT_DRAWN}" for bed in alike),
    )


def _floor(zone: LitZone, placed: Sequence[LitBed], low: float, high: float) -> Markup:
    """Return the floor with its lamps and the beds whose place is known."""
    scale = min(MAP_WIDTH / zone.length_m, MAP_TALLEST / zone.width_m)
    width, height = zone.length_m * scale, zone.width_m * scale
    parts = [rect(0, 0, width, height, "floor")]
    for bed in placed:
        parts += _bed(bed, scale, height, low, high)
    for lamp in zone.lamps:
        top = height - (lamp.y_m + lamp.width_m) * scale
        parts.append(rect(lamp.x_m * scale, top, lamp.length_m * scale, lamp.width_m * scale, "lamp"))
    for bed in placed:
        parts += _name(bed, scale, height)
    return _from_above(zone.name, placed, parts, width, height)


def _from_above(
    name: str, beds: Sequence[LitBed], parts: Sequence[Markup], width: float, height: float
) -> Markup:
    lights = [site.ppfd_umol_m2_s for bed in beds for site in bed.sites]
    ends = f"{text.ppfd(min(lights))} to {text.ppfd(max(lights))} µmol" if lights else "no bed in it"
    spoken = f"{name} seen from above, light at each site: {ends}. Each bed's figures are in the table."
    return element(
        "svg",
        *parts,
        class_="map",
        viewBox=f"-1 -1 {width + 2:.0f} {height + 2:.0f}",
        width=f"{width + 2:.0f}",
        role="img",
        aria_label=spoken,
    )


def _bed(bed: LitBed, scale: float, height: float, low: float, high: float) -> list[Markup]:
    """Return a bed in its place: every site a box in the colour of its light, numbered if there is room."""
    if bed.x_m is None or bed.y_m is None or bed.length_m is None or bed.width_m is None:
        return []
    wide, tall = bed.length_m * scale / bed.columns, bed.width_m * scale / bed.rows
    parts, size = [], _number_size(bed, wide, tall)
    for site in bed.sites:
        if site.x_m is None or site.y_m is None:
            continue
        x, y = site.x_m * scale - wide / 2, height - site.y_m * scale - tall / 2
        parts += _site((x, y, wide, tall), site.ppfd_umol_m2_s, (low, high), size)
    x, y = bed.x_m * scale, height - (bed.y_m + bed.width_m) * scale
    parts.append(rect(x, y, bed.length_m * scale, bed.width_m * scale, "rim"))
    return parts


def _name(bed: LitBed, scale: float, height: float) -> list[Markup]:
    """Return a bed's name over its upper edge, as much of it as there is room for."""
    if bed.x_m is None or bed.y_m is None or bed.length_m is None or bed.width_m is None:
        return []
    name = text.clip(text.clean(bed.name), int(bed.length_m * scale / NAME_LETTER))
    x, y = bed.x_m * scale, height - (bed.y_m + bed.width_m) * scale
    return [words(x, y - 3, name, "lane bed")] if name else []


def _number_size(bed: LitBed, wide: float, tall: float) -> float:
    """Return the size of the numbers of a bed's sites, 0 where one of them could not be read."""
    longest = max((len(text.ppfd(site.ppfd_umol_m2_s)) for site in bed.sites), default=1)
    size = min(wide / (0.72 * longest), tall * 0.6, 18.0)
    return size if size >= SMALLEST_TEXT * 0.7 else 0.0


def _unplaced_bed(bed: LitBed, low: float, high: float) -> Markup:
    """Return a bed whose place in the zone is not known: its sites in rows."""
    size = min(LOOSE_SITE, MAP_WIDTH / bed.columns)
    parts: list[Markup] = []
    number_size = _number_size(bed, size, size)
    for site in bed.sites:
        row, column = divmod(site.site - 1, bed.columns)
        top = (bed.rows - 1 - row) * size
        parts += _site((column * size, top, size, size), site.ppfd_umol_m2_s, (low, high), number_size)
    width, height = bed.columns * size, bed.rows * size
    return _from_above(bed.name, [bed], [*parts, rect(0, 0, width, height, "rim")], width, height)


def _site(
    box: tuple[float, float, float, float], ppfd: float, ends: tuple[float, float], size: float
) -> list[Markup]:
    """Return a site as a box (x, y, width, height) in its light's colour; with its number if ``size``."""
    x, y, wide, tall = box
    low, high = ends
    colour = shade((ppfd - low) / (high - low) if high > low else 0.5)
    parts = [rect(x, y, wide, tall, "site", fill=colour)]
    if size:
        middle = y + tall / 2 + size * 0.35
        ink = "on-bright" if ink_on(colour) == BLACK else "on-dim"
        number = text.ppfd(ppfd)
        parts.append(words(x + wide / 2, middle, number, ink, font_size=size, text_anchor="middle"))
    return parts
