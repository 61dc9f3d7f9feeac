"""The map of the light: real proportions, every site once, nothing in the way of anything, steady bytes."""

import csv
import io
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from in_process import Done, cropcal

from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.floor_map import lit_zones
from cropcal.records.scene import (
    LampOutline,
    LitBed,
    LitSite,
    LitZone,
)
from cropcal.show.data import csv_sheets as sheets
from cropcal.show.pictures import light_map as light_drawing
from cropcal.show.pictures import render as picture
from cropcal.show.pictures.light_map_beds import overlap
from cropcal.show.pictures.light_map_layout import light_map
from cropcal.show.pictures.shapes import Boxes, Strokes, TextLine

pytestmark = pytest.mark.drawn


def bed(name, rows, columns, place=None, *, kind="sites", alike="", low=80.0, high=320.0):
    """Return a bed whose light rises evenly from the first site to the last."""
    x, y, length, width = place or (None,) * 4
    count = rows * columns
    sites = []
    for number in range(count):
        row, column = divmod(number, columns)
        ppfd = low if alike else low + (high - low) * number / max(count - 1, 1)
        sites.append(
            LitSite(
                site=number + 1,
                x_m=None if place is None else x + length * (column + 0.5) / columns,
                y_m=None if place is None else y + width * (row + 0.5) / rows,
                ppfd_umol_m2_s=ppfd,
                dli_mol_m2_d=ppfd * 0.0576,
            )
        )
    return LitBed(
        name=name, kind=kind, rows=rows, columns=columns, x_m=x, y_m=y, length_m=length, width_m=width,
        alike=alike, source="readings", sd_ln=0.05, sites=tuple(sites),
    )  # fmt: skip


def zone(name, length, width, beds, lamps=(), *, walls=(0.0, 0.0, 0.0, 0.0), hours=16.0, lamp_count=None):
    outlines = tuple(LampOutline(x_m=x, y_m=y, length_m=a, width_m=b) for x, y, a, b in lamps)
    return LitZone(
        name=name, length_m=length, width_m=width, photoperiod_h=hours, walls=walls,
        lamp_count=len(outlines) if lamp_count is None else lamp_count, lamps=outlines, beds=tuple(beds),
    )  # fmt: skip


LONG = "the grey box that was carried home from the market on a Sunday in the rain"
FOUR = [(0.1, 0.1, 0.4, 0.3), (0.7, 0.1, 0.4, 0.3), (0.1, 0.6, 0.4, 0.3), (0.7, 0.6, 0.4, 0.3)]
CASES = {
    "five sites": [
        zone("niche", 0.9, 0.4, [bed("trough", 1, 5, (0.05, 0.1, 0.8, 0.2))], [(0.2, 0.1, 0.5, 0.2)])
    ],
    "24 sites": [
        zone("pantry", 1.2, 1.0, [bed("back", 4, 6, (0.0, 0.0, 1.2, 1.0))], FOUR, walls=(0.8, 0.0, 0.0, 0.9))
    ],
    "200 sites": [zone("attic", 2.0, 1.0, [bed("raft", 10, 20, (0.05, 0.05, 1.9, 0.9))], FOUR)],
    "2000 sites": [zone("hall", 6.0, 3.0, [bed("raft", 40, 50, (0.0, 0.0, 6.0, 3.0))], FOUR)],
    "one site": [zone("jar", 0.3, 0.25, [bed("lid", 1, 1, (0.05, 0.05, 0.2, 0.15))])],
    "long and narrow": [
        zone("aisle", 4.0, 0.3, [bed("gutter", 1, 24, (0.1, 0.1, 3.8, 0.1))], walls=(0.0, 0.0, 0.0, 0.5))
    ],
    "deep and narrow": [zone("ladder", 0.3, 4.0, [bed("gutter", 24, 1, (0.1, 0.1, 0.1, 3.8))])],
    "long names": [
        zone(LONG, 1.2, 0.6, [
            bed(LONG, 2, 4, (0.1, 0.0, 0.6, 0.3)),
            bed(LONG[4:], 2, 4, (0.1, 0.3, 0.6, 0.3)),
            bed(LONG[8:], 1, 3),
        ])
    ],
    "thirty beds": [
        zone("wall", 3.0, 1.5, [
            bed(f"box {n}", 1 + n % 3, 2 + n % 4, (n % 6 * 0.5, n // 6 * 0.3, 0.46, 0.27)) for n in range(30)
        ])
    ],
    "thirty without a place": [zone("cellar", 3.0, 1.5, [bed(f"crate {n}", 2, 4) for n in range(30)])],
    "one mean": [
        zone("hob", 1.0, 0.5, [
            bed("pots", 2, 5, (0.0, 0.0, 0.75, 0.3), alike="floor mean"),
            bed("dish", 1, 3, alike="floor mean"),
        ], walls=(0.8,) * 4, lamp_count=1)
    ],
    "three zones": [
        zone("top", 1.5, 0.5, [bed("north", 2, 5, (0.0, 0.0, 0.9, 0.4), high=400.0)]),
        zone("low", 1.5, 0.5, [bed("flats", 2, 4, (0.1, 0.1, 1.2, 0.4), kind="tray")], hours=12.0),
        zone("cupboard", 0.5, 0.4, [bed("plugs", 4, 6, kind="nursery", alike="floor mean")], hours=18.5),
    ],
    "no bed": [zone("bare", 1.0, 0.5, [])],
    "dark": [zone("cave", 1.0, 0.5, [bed("moss", 2, 2, (0.0, 0.0, 1.0, 0.5), low=0.0, high=0.0)])],
}  # fmt: skip


def laid_out(name):
    return light_map(CASES[name], "Larkrise loft", picture.text_width)


def words_of(name):
    return [shape for shape in light_drawing.drawing(laid_out(name)).shapes if isinstance(shape, TextLine)]


def box_of(word):
    """Return the box of a text from its outline as drawn."""
    outline = picture._outline(word).vertices
    (left, top), (right, bottom) = outline.min(axis=0), outline.max(axis=0)
    return left, right, top, bottom


@pytest.mark.parametrize("name", list(CASES))
def test_no_text_lies_on_another_or_leaves_the_picture(name):
    """The outlines of all texts, as drawn, are apart and within the page."""
    drawing = light_drawing.drawing(laid_out(name))
    boxes = [(word.text, box_of(word)) for word in drawing.shapes if isinstance(word, TextLine)]
    for said, (left, right, top, bottom) in boxes:
        assert 0 <= left < right <= drawing.width, said
        assert 0 <= top < bottom <= drawing.height, said
    boxes.sort(key=lambda one: one[1][0])
    for number, (said, box) in enumerate(boxes):
        for other, its in boxes[number + 1 :]:
            if its[0] >= box[1]:
                break
            assert not overlap(box, its), (said, other)


@pytest.mark.parametrize("name", list(CASES))
def test_a_floor_has_the_proportions_of_its_zone(name):
    """Length to width is that of the real floor, and a metre is as long on both scales."""
    for panel in laid_out(name).panels:
        left, right, top, bottom = panel.floor
        assert (right - left) / (bottom - top) == pytest.approx(panel.zone.length_m / panel.zone.width_m)
        for ticks, long_m, start in (
            (panel.across, panel.zone.length_m, left),
            (panel.up, panel.zone.width_m, bottom),
        ):
            last, said = ticks[-1]
            metre = (right - left) / panel.zone.length_m
            assert abs(last - start) == pytest.approx(metre * float(said.removesuffix(" m")), abs=1e-6)
            assert float(said.removesuffix(" m")) <= long_m + 1e-9


@pytest.mark.parametrize("name", list(CASES))
def test_each_site_lies_where_it_is_and_apart_from_the_others(name):
    """Every site of a placed bed is drawn once, at its metres from the front left corner; none overlap."""
    for panel in laid_out(name).panels:
        left, right, _, bottom = panel.floor
        metre = (right - left) / panel.zone.length_m
        for plot in panel.plots:
            if plot.bed.alike:
                continue
            assert len(plot.spots) == len(plot.bed.sites)
            if plot.bed.x_m is not None:
                for spot, site in zip(plot.spots, plot.bed.sites, strict=True):
                    x, y = spot.middle
                    assert (x - left) / metre == pytest.approx(site.x_m)
                    assert (bottom - y) / metre == pytest.approx(site.y_m)
            for one, other in combinations(plot.spots[:60], 2):
                shrunk = (one.box[0] + 1e-9, one.box[1] - 1e-9, one.box[2] + 1e-9, one.box[3] - 1e-9)
                assert not overlap(shrunk, other.box)


@pytest.mark.parametrize(
    "name", ["five sites", "24 sites", "200 sites", "long and narrow", "deep and narrow"]
)
def test_every_site_has_its_number(name):
    """As often as a PPFD occurs among the sites, so often it is written on them."""
    said = [word.text for word in words_of(name) if word.side == "center" and word.rise == "center"]
    for site in CASES[name][0].beds[0].sites:
        assert f"{site.ppfd_umol_m2_s:.0f}" in said
    numbers = [word for word in said if word.isdecimal()]
    assert len(numbers) >= len(CASES[name][0].beds[0].sites)


def test_without_room_only_dimmest_and_brightest_are_named():
    """Two thousand sites have no numbers, but the two ends of the range, each beside its own site."""
    panel = laid_out("2000 sites").panels[0]
    assert panel.plots[0].number_pt == 0
    assert [one.label.text for one in panel.extremes] == ["dimmest 80", "brightest 320"]
    assert panel.extremes[0].ring == panel.plots[0].spots[0].box
    assert panel.extremes[1].ring == panel.plots[0].spots[-1].box


def test_one_mean_is_no_map():
    """A bed of which only a mean is known has one number and says so; no site has a colour of its own."""
    said = [word.text for word in words_of("one mean")]
    assert {"one mean for all 10 sites", "one mean for all 3 sites"} <= {*said}
    assert "place not given, so not to scale" in said
    assert "1 × 0.5 m, lit 16 h a day, 1 lamp, not drawn: size not given" in said
    for shape in light_drawing.drawing(laid_out("one mean")).shapes:
        if isinstance(shape, Boxes) and shape.round_in > 0.04:
            assert shape.faces == "none"


def test_the_words_on_the_picture():
    """Place, zones, front, metres, the lamp, what the colour is at which hours, the walls."""
    said = {word.text for word in words_of("24 sites")}
    assert {
        "Larkrise loft: light on the leaves", "pantry", "front: open", "wall 90%", "wall", "80%",
        "lamp above", "1.2 × 1 m, lit 16 h a day, 4 lamps",
        "colour: PPFD, light on the leaves at any moment, µmol/m²/s",
        "the same as DLI: light of a day of 16 h, mol/m²", "readings, to 7%", "80 to 320", "4.6 to 18.4",
    } <= said  # fmt: skip
    assert any("no lamp in the file" in word.text for word in words_of("one site"))
    assert "no bed here" in {word.text for word in words_of("no bed")}


def test_the_scale_tells_the_day_of_each_zone():
    """100 umol for 16, 12 and 18.5 h are 5.8, 4.3 and 6.7 mol (100 x h x 0.0036)."""
    said = [word.text for word in words_of("three zones")]
    assert {"5.8", "4.3", "6.7"} <= {*said}
    assert sum(word.startswith("the same as DLI") for word in said) == 3


def test_all_zones_have_one_colour_scale():
    """The same light has the same colour in every zone, brighter is always lighter."""
    shades = [light_drawing.luminance(light_drawing.shade(share / 20)) for share in range(21)]
    assert shades == sorted(shades)
    layout = laid_out("three zones")
    assert layout.marks[0] <= 80
    assert layout.marks[-1] >= 400


MACHADO = {
    "protan": [
        (0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998),
    ],
    "deutan": [
        (0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881),
    ],
    "tritan": [
        (1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900),
    ],
}  # fmt: skip
"""Full colour-blindness, linear RGB (Machado, Oliveira & Fernandes 2009; the digits from memory)."""


@pytest.mark.parametrize("sight", ["normal", *MACHADO])
def test_every_sight_tells_the_steps_of_the_scale_apart(sight):
    """Each of the six stops is clearly lighter than the one before: CIE L* at least 9 apart."""
    lightness = []
    for colour in light_drawing.RAMP:
        parts = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        seen = [
            min(max(sum(a * b for a, b in zip(row, linear, strict=True)), 0.0), 1.0)
            for row in MACHADO.get(sight, [(1, 0, 0), (0, 1, 0), (0, 0, 1)])
        ]
        light = sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), seen, strict=True))
        lightness.append(116 * light ** (1 / 3) - 16)
    assert all(after - before >= 9 for before, after in pairwise(lightness)), lightness


def test_numbers_can_be_read_on_every_shade():
    """At least 4.5 to 1 (WCAG 2.1, success criterion 1.4.3), black or white on any place of the scale."""
    for step in range(101):
        face = light_drawing.shade(step / 100)
        ink = 0.0 if light_drawing.ink_on(face) == "#000000" else 1.0
        high, low = sorted((light_drawing.luminance(face), ink), reverse=True)
        assert (high + 0.05) / (low + 0.05) >= 4.5, face


def test_a_lamp_is_dashed_and_never_runs_through_a_number():
    """Four dashed outlines of 0.4 by 0.3 m; where an edge meets a number it is broken."""
    layout = laid_out("24 sites")
    panel = layout.panels[0]
    plot = panel.plots[0]
    metre = (panel.floor[1] - panel.floor[0]) / 1.2
    ends = [point for line in panel.lamps for point in line]
    assert min(x for x, _ in ends) == pytest.approx(panel.floor[0] + 0.1 * metre)
    assert max(y for _, y in ends) == pytest.approx(panel.floor[3] - 0.1 * metre)
    assert len(panel.lamps) > 16  # broken at least once
    for (x0, y0), (x1, y1) in panel.lamps:
        for spot in plot.spots:
            line = (min(x0, x1) - 1e-9, max(x0, x1) + 1e-9, min(y0, y1) - 1e-9, max(y0, y1) + 1e-9)
            left, right, top, bottom = plot.number_box(spot, picture.text_width)
            assert not overlap(line, (left + 1e-6, right - 1e-6, top + 1e-6, bottom - 1e-6))
    dashed = [
        shape for shape in light_drawing.drawing(layout).shapes if isinstance(shape, Strokes) and shape.dashed
    ]
    assert dashed


@pytest.mark.parametrize("name", ["24 sites", "one mean"])
def test_the_same_light_gives_the_same_bytes(name):
    """A PNG without date or version, as wide as laid out at 120 dots an inch."""
    png = picture.light_png(CASES[name], "Larkrise loft")
    assert png == picture.light_png(CASES[name], "Larkrise loft")
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    assert int.from_bytes(png[16:20], "big") == 1200
    assert not any(chunk in png for chunk in (b"tEXt", b"iTXt", b"zTXt", b"tIME"))


@pytest.mark.deep
def test_a_very_tall_picture_is_still_drawn():
    """A hundred zones need more dots than the drawing library has at the usual size."""
    many = [zone(f"shelf {n}", 0.6, 0.6, [bed("b", 1, 2, (0.0, 0.0, 0.6, 0.6))]) for n in range(100)]
    png = picture.light_png(many, "Larkrise loft")
    assert int.from_bytes(png[20:24], "big") <= 30_001


def test_the_sheet_leaves_unknown_places_empty():
    """One row a site; a bed without a place has no x and y."""
    rows = list(csv.DictReader(io.StringIO(sheets.light(CASES["long names"]))))
    assert len(rows) == 19
    assert (rows[0]["x_m"], rows[0]["y_m"], rows[0]["ppfd_umol_m2_s"]) == ("0.175", "0.075", "80")
    assert (rows[-1]["x_m"], rows[-1]["y_m"]) == ("", "")
    assert list(rows[0]) == ["bed", "site", "x_m", "y_m", "ppfd_umol_m2_s", "dli_mol_m2_d"]


SPACE = """
[place]
name = "Larkrise loft"

[[zone]]
name = "eaves"
length_m = 1.4
width_m = 0.7
photoperiod_h = 15

[[bed]]
name = "lit box"
zone = "eaves"
rows = 2
columns = 3
length_m = 0.75
width_m = 0.5
x_m = 0.1
y_m = 0.1

[[bed]]
name = "stray box"
zone = "eaves"
rows = 1
columns = 4
length_m = 0.3
width_m = 0.2

[[fixture]]
zone = "eaves"
watts = 60
ppf_umol_s = 150
lamp_to_canopy_m = 0.3
count = 2
{size}

[[reading]]
bed = "stray box"
umol_m2_s = {reading}

[[want]]
crops = ["lettuce-looseleaf"]
"""


@pytest.mark.parametrize(
    ("size", "reading", "lit", "stray"),
    [
        ("length_m = 0.3\nwidth_m = 0.2", "[[90, 120]]", "", ""),
        ("", "[[90]]", "floor mean", "one reading"),
    ],
)
def test_what_is_not_known_is_not_drawn(read_text, tables, size, reading, lit, stray):
    """Lamps of known size hang in a row over the quarters; a lamp without a size gives one mean."""
    space = read_text(SPACE.format(size=size, reading=reading))
    (found,) = lit_zones(space, bed_lights(space, tables))
    assert [bed.alike for bed in found.beds] == [lit, stray]
    assert found.lamp_count == 2
    assert [(lamp.x_m, lamp.y_m) for lamp in found.lamps] == (
        [(pytest.approx(0.2), pytest.approx(0.25)), (pytest.approx(0.9), pytest.approx(0.25))] if size else []
    )
    first, last = found.beds[0].sites[0], found.beds[0].sites[-1]
    assert (first.x_m, first.y_m) == (pytest.approx(0.225), pytest.approx(0.225))
    assert (last.x_m, last.y_m) == (pytest.approx(0.725), pytest.approx(0.475))
    assert found.beds[1].sites[0].x_m is None
    assert first.dli_mol_m2_d == pytest.approx(first.ppfd_umol_m2_s * 15 * 3600 / 1e6)


def light(*words: str, folder: Path) -> Done:
    return cropcal("light", *words, "--all", cwd=folder)


def test_light_writes_only_where_it_is_told_to(tmp_path):
    """Without --out nothing is written; with it both files, named on the screen, or on stderr beside JSON."""
    text = SPACE.format(size="length_m = 0.3\nwidth_m = 0.2", reading="[[90, 120]]")
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    done = light(folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["space.toml"]
    told = light("--out", "maps", folder=tmp_path)
    body, _, following = done.stdout.rpartition("\nNext, type: ")
    assert body
    assert told.stdout == f"{body}\nWritten to maps\n  light.csv, light.png\n\nNext, type: {following}"
    assert sorted(path.name for path in (tmp_path / "maps").iterdir()) == ["light.csv", "light.png"]
    rows = list(csv.DictReader(io.StringIO((tmp_path / "maps" / "light.csv").read_text(encoding="utf-8"))))
    assert [row["bed"] for row in rows] == ["lit box"] * 6 + ["stray box"] * 4
    assert (rows[6]["ppfd_umol_m2_s"], rows[6]["dli_mol_m2_d"], rows[6]["x_m"]) == ("90", "4.86", "")
    piped = light("--out", "maps", "--json", folder=tmp_path)
    assert piped.stdout.startswith("{")
    assert "light.png" in piped.stderr


def test_light_cannot_write_into_a_file(tmp_path):
    """One clear message, exit code 2."""
    text = SPACE.format(size="", reading="[[90]]")
    (tmp_path / "space.toml").write_text(text, encoding="utf-8")
    done = light("--out", "space.toml", folder=tmp_path)
    assert done.returncode == 2
    assert "nothing was changed" in done.stderr
    assert (tmp_path / "space.toml").read_text(encoding="utf-8") == text
