"""The pictures: what is laid out where, readable colours, and bytes that do not change."""

import struct
from datetime import date
from itertools import combinations

import pytest

from cropcal.show.pictures import (
    bill as bill_drawing,
)
from cropcal.show.pictures import (
    calendar as calendar_drawing,
)
from cropcal.show.pictures import (
    render as picture,
)
from cropcal.show.pictures import (
    shapes,
)
from cropcal.show.pictures.calendar_layout import chart
from cropcal.show.pictures.shapes import Marks, TextLine

pytestmark = pytest.mark.drawn


def size_of(png):
    """Return width and height of a PNG from its first chunk (PNG specification, 11.2.2)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    return struct.unpack(">II", png[16:24])


def luminance(colour):
    """Return the relative luminance of WCAG 2.1."""
    parts = [int(colour[start : start + 2], 16) / 255 for start in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    """Return the contrast ratio of WCAG 2.1."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


CASES = [(5, 8, 1, 1), (5, 26, 3, 1), (24, 26, 5, 2), (60, 52, 8, 3), (60, 52, 30, 3), (400, 10, 4, 2)]


@pytest.mark.parametrize(("sites", "weeks", "crops", "beds"), CASES)
def test_nothing_overlaps_and_nothing_leaves_the_picture(show_plans, sites, weeks, crops, beds):
    """No two bars share a place, labels lie in their bars' lanes, all lies within the page."""
    plan, names = show_plans.random_plan(sites, weeks, crops, beds=beds)
    layout = chart(plan, names)
    assert layout.bars
    for one, other in combinations(layout.bars, 2):
        apart = (
            one.right <= other.left + 1e-9
            or other.right <= one.left + 1e-9
            or one.bottom <= other.top + 1e-9
            or other.bottom <= one.top + 1e-9
        )
        assert apart, (one, other)
    for block, below in zip(layout.blocks, layout.blocks[1:], strict=False):
        assert block.bottom < below.top
    for bar in layout.bars:
        assert 0 < bar.left < bar.right <= layout.width
        assert 0 < bar.top < bar.bottom < layout.height
    for shape in calendar_drawing.drawing(layout).shapes:
        if isinstance(shape, TextLine):
            assert 0 <= shape.x <= layout.width
            assert 0 <= shape.y <= layout.height


def test_bars_cover_the_days_a_batch_holds_its_sites(small_plan, names):
    """Lettuce L1 holds sites 1 to 3 of 6 from 16 March to the end of 13 April, 15 to 44 days of 56."""
    layout = chart(small_plan, names)
    plank = next(block for block in layout.blocks if block.name == "oak plank")
    bars = [bar for bar in layout.bars if bar.top == plank.top]
    left, right = min(bar.left for bar in bars), max(bar.right for bar in bars)
    weeks = [x for x, _ in layout.weeks]
    day = (weeks[1] - weeks[0]) / 7
    assert (left - weeks[0]) / day == pytest.approx(15)
    assert (right - weeks[0]) / day == pytest.approx(44)
    assert [bar.stage for bar in bars] == ["growing", "ready"]
    assert bars[0].bottom - plank.top == pytest.approx((plank.bottom - plank.top) / 2)


def test_seedlings_have_their_own_lane(small_plan, names):
    """Cells that are in use at the same time lie beside each other: 4 of lettuce, 2 of pak choi."""
    layout = chart(small_plan, names)
    assert layout.blocks[0].name == "seed drawer"
    assert layout.blocks[0].note == "seedlings, at most 6 cells"
    assert {bar.stage for bar in layout.bars if bar.bottom <= layout.blocks[0].bottom} == {"seed", "growing"}


def test_every_cut_and_work_day_is_marked(small_plan, names):
    """Seven harvests, sixteen work days of which eleven have jobs."""
    layout = chart(small_plan, names)
    assert len(layout.cuts) == 7
    assert [busy for _, busy in layout.work_days].count(True) == 11
    assert len(layout.work_days) == 16


def test_a_short_week_has_a_sign(small_plan, names):
    """Three want-weeks are short, and a sign says so, not a colour alone."""
    layout = chart(small_plan, names)
    assert sum(need.short for need in layout.needs) == 3
    signs = [
        shape
        for shape in calendar_drawing.drawing(layout).shapes
        if isinstance(shape, Marks) and shape.sign == "exclamation"
    ]
    assert sorted(len(shape.points) for shape in signs) == [1, 3]


def test_breaks_are_shaded(small_plan, names):
    """One day away is one day wide."""
    layout = chart(small_plan, names, [(date(2027, 3, 22), date(2027, 3, 22))])
    (left, right), weeks = layout.breaks[0], [x for x, _ in layout.weeks]
    assert right - left == pytest.approx((weeks[1] - weeks[0]) / 7)
    assert left == pytest.approx(weeks[3])


def test_every_crop_is_in_the_legend_under_the_letter_in_its_bars(show_plans):
    """With thirty crops no two look alike: tone and texture together are their own."""
    plan, names = show_plans.random_plan(60, 52, 30)
    layout = chart(plan, names)
    letter_of = {name: letter for letter, name in layout.crops}
    assert sorted(letter_of) == sorted({names[batch.crop] for batch in plan.batches})
    assert len({*letter_of.values()}) == len(letter_of)
    assert len({shapes.style(number) for number in range(30)}) == 30
    for label in layout.labels:
        letter, name = layout.crops[label.crop]
        assert label.text.lstrip("0123456789").strip() in (letter, name)


def test_text_can_be_read_on_every_tone():
    """At least 4.5 to 1 between ink and each tone (WCAG 2.1, success criterion 1.4.3)."""
    for tone in (*shapes.TONES, shapes.PAPER, shapes.AWAY):
        assert contrast(shapes.INK, tone) >= 4.5, tone


def test_stages_differ_in_grey_print():
    """Without colour, seed, growing and ready are three greys, and ready is hatched besides."""
    for tone in shapes.TONES:
        seed, ready = shapes.mixed(tone, shapes.WHITE, 0.65), shapes.mixed(tone, shapes.INK, 0.28)
        assert contrast(seed, tone) >= 1.15, tone
        assert contrast(tone, ready) >= 1.3, tone


def test_neighbouring_tones_differ_in_lightness():
    """Crops next to each other in the legend differ in grey as well (WCAG contrast)."""
    for one, other in zip(shapes.TONES, shapes.TONES[1:], strict=False):
        assert contrast(one, other) >= 1.15, (one, other)


@pytest.mark.parametrize(("sites", "weeks", "crops", "beds"), CASES[:2])
def test_a_picture_is_a_png_with_nothing_hidden_in_it(show_plans, sites, weeks, crops, beds):
    """The same plan gives the same bytes; no text chunk holds a date or a version."""
    plan, names = show_plans.random_plan(sites, weeks, crops, beds=beds)
    png = picture.calendar_png(plan, names)
    assert png == picture.calendar_png(plan, names)
    assert size_of(png)[0] == 1560
    assert not any(chunk in png for chunk in (b"tEXt", b"iTXt", b"zTXt", b"tIME"))


def test_odd_names_raise_no_warning(small_plan):
    """Emoji, formulas, other scripts and very long names are drawn as far as the font goes."""
    names = {
        "lettuce-butterhead": "🥬🥬🥬",
        "basil-sweet": "$\\frac{1}{2}$ {basil} 100%",
        "pak-choi": "白菜 bok choy",
        "coriander": "coriander " * 12,
    }
    odd = small_plan.model_copy(update={"place": "🌱\x1b[0m cellar\n" + "x" * 200})
    assert size_of(picture.calendar_png(odd, names))[0] == 1560
    assert picture.drawable("🥬🥬🥬") == "(no name)"
    assert picture.drawable("白菜 bok choy 🌱") == "bok choy"
    assert picture.drawable("$\\frac{1}{2}$") == "$\\frac{1}{2}$"


def test_an_empty_plan_says_so(show_plans, names):
    """A picture of nothing is still a picture, with the reason on it."""
    layout = calendar_drawing.drawing(chart(show_plans.empty_plan(), names))
    assert any(isinstance(shape, TextLine) and "Nothing to sow" in shape.text for shape in layout.shapes)
    size_of(picture.calendar_png(show_plans.empty_plan(), names))


def test_the_bill_picture_has_a_bar_a_month(small_plan, show_plans):
    """March 47 kWh and 20.82, April 37 kWh and 16.60, added by hand; no power, no bars."""
    said = [shape.text for shape in bill_drawing.drawing(small_plan).shapes if isinstance(shape, TextLine)]
    assert "47 kWh, 20.82 EUR" in said
    assert "37 kWh, 16.60 EUR" in said
    assert "84 kWh, 37.42 EUR" in said
    assert "lamp" in said
    second = small_plan.bill[0].model_copy(update={"zone": "other shelf"})
    two_zones = small_plan.model_copy(update={"bill": (*small_plan.bill, second)})
    words = [shape.text for shape in bill_drawing.drawing(two_zones).shapes if isinstance(shape, TextLine)]
    assert {"lamp, shelf", "lamp, other shelf", "air stone"} <= {*words}
    assert size_of(picture.bill_png(small_plan))[0] == 1020
    said = [
        shape.text
        for shape in bill_drawing.drawing(show_plans.empty_plan()).shapes
        if isinstance(shape, TextLine)
    ]
    assert "Nothing here draws power" in said
