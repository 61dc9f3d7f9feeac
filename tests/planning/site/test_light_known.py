"""Light from lux, from readings beside a lamp, from watts: the number, its spread, what narrows it."""

import math

import numpy as np
import pytest

from cropcal.planning.growth.canopy_rise import rises
from cropcal.planning.growth.crop_in_bed import crop_in_bed
from cropcal.planning.growth.suitability import suitability
from cropcal.planning.site import light_uncertainty as measure
from cropcal.planning.site import readings_against_lamps as compare
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.lamp_light import lamps_over
from cropcal.science import light

SPACE = """
[[zone]]
name = "z"
length_m = {zone_length}
width_m = {zone_width}
photoperiod_h = 16
wall_reflectance = {walls}

[[bed]]
name = "b"
zone = "z"
rows = {rows}
columns = {columns}
{place}

[[fixture]]
zone = "z"
{lamp}

{reading}

[[want]]
crops = ["lettuce-looseleaf"]
"""

OPEN = {
    "zone_length": 1.2, "zone_width": 0.6, "walls": 0.0, "rows": 2, "columns": 4, "place": "",
    "lamp": "watts = 100\nlamp_to_canopy_m = 0.4", "reading": "",
}  # fmt: skip
PANEL = "watts = 100\nppf_umol_s = 240\nlength_m = 0.6\nwidth_m = 0.3\nlamp_to_canopy_m = 0.4"
SMALL_LAMP = "watts = 100\nppf_umol_s = 240\nlength_m = 0.02\nwidth_m = 0.02\nlamp_to_canopy_m = {}"
MIDDLE = "length_m = 0.02\nwidth_m = 0.02\nx_m = 1.19\ny_m = 0.59"


@pytest.fixture
def space_of(read_text):
    """Return a function from changes of the open shelf to its space."""

    def space(**changes):
        return read_text(SPACE.format(**(OPEN | changes)))

    return space


@pytest.fixture
def bed(space_of, tables):
    """Return a function from changes of the open shelf to the light of its bed."""
    return lambda **changes: bed_lights(space_of(**changes), tables)[0]


@pytest.fixture
def lamps(space_of, tables):
    """Return a function from changes of the open shelf to the lamps over its bed."""

    def over(**changes):
        space = space_of(**changes)
        return lamps_over(space.beds[0], space, tables)

    return over


def reading(values, key="umol_m2_s", rest=""):
    return f'[[reading]]\nbed = "b"\n{key} = {values}\n{rest}'


@pytest.mark.parametrize(
    ("tool", "source", "sd_ln"), [("phone", "phone lux", 0.25), ("meter", "lux meter", 0.10)]
)
def test_lux_under_a_fluorescent_lamp(bed, tool, source, sd_ln):
    """22,200 lux of cool white fluorescent light are 300 umol (Apogee Instruments, a worked line)."""
    lamp = 'lamp = "fluorescent"\nwatts = 100\nlamp_to_canopy_m = 0.3'
    found = bed(lamp=lamp, reading=reading("[[22200]]", "lux", f'read_with = "{tool}"'))
    assert found.site_ppfd_umol_m2_s == pytest.approx((300.0,) * 8)
    assert (found.source, found.sd_ln) == (source, sd_ln)
    assert "74 lux per µmol" in found.how


def test_lux_under_two_kinds_of_lamp():
    """300 umol/s at 74 and 100 at 82 lux/umol: (300 x 74 + 100 x 82) / 400 = 76, by hand."""
    assert light.mixed_lux_per_umol([300, 100], [74, 82]) == pytest.approx(76)


def test_the_factor_of_a_mixture_is_that_of_the_sum():
    """22,200 lux of 300 umol (fluorescent) and 8,200 of 100 (HPS; both Apogee Instruments) add up."""
    assert (22200 + 8200) / light.mixed_lux_per_umol([300, 100], [74, 82]) == pytest.approx(400)


def test_readings_win_and_the_ratio_is_told(bed):
    """Readings of 0.7 times what lamp and tape give are 0.70 of it: output first, with its number."""
    expected = bed(lamp=PANEL, walls=0.7).ppfd_umol_m2_s
    found = bed(lamp=PANEL, walls=0.7, reading=reading(f"[[{0.7 * expected}]]"))
    assert found.ppfd_umol_m2_s == pytest.approx(0.7 * expected)
    assert found.check.ratio == pytest.approx(0.7)
    assert "0.70 of what the spec sheet would give" in found.how
    assert found.check.causes[0] == "output: the lamp is turned down to 70%"


def test_what_two_spreads_allow_is_no_wonder(bed):
    """A meter (0.05) and a spec sheet (0.20) leave exp(1.2816 x 0.2062) = 1.302 either way, by hand."""
    expected = bed(lamp=PANEL).ppfd_umol_m2_s
    for ratio, wonder in ((0.78, False), (0.75, True), (1.29, False), (1.32, True)):
        check = bed(lamp=PANEL, reading=reading(f"[[{ratio * expected}]]")).check
        assert bool(check.causes) is wonder
        assert (check.low_80, check.high_80) == pytest.approx((1 / 1.3025, 1.3025), abs=1e-3)


def test_the_distance_that_explains_a_ratio(lamps):
    """A point lamp twice as far gives a quarter (inverse-square law): 0.25 means 60 cm instead of 30."""
    small = lamps(
        zone_length=2.4, zone_width=1.2, rows=1, columns=1, place=MIDDLE, lamp=SMALL_LAMP.format(0.3)
    )
    by_tape = lamps(
        zone_length=2.4, zone_width=1.2, rows=1, columns=1, place=MIDDLE, lamp=SMALL_LAMP.format(0.5)
    )
    assert [one.words for one in compare._distance(small, 0.25)] == [
        "distance: the lamp hangs 60 cm above the leaves, not 30"
    ]
    assert "distance: the lamp hangs 58 cm above the leaves, not 50" in compare.causes(
        by_tape, (50 / 58) ** 2
    )


def test_the_walls_that_explain_a_ratio(lamps):
    """The light of a white box in an open one asks for the white box's walls."""
    dark, white = lamps(lamp=PANEL), lamps(lamp=PANEL, walls=0.6)
    ratio = white.mean_umol_m2_s() / dark.mean_umol_m2_s()
    assert [one.words for one in compare._walls(dark, ratio)] == ["walls: they reflect 60%, not 0%"]


def test_lumens_for_photons_are_seen(lamps):
    """White LED light has about 69 lm per umol/s (CIE 15:2018, LED-B3 69.75): lumens read as 1/69."""
    assert compare.causes(lamps(lamp=PANEL), 1 / 69.2) == ("a slip: ppf_umol_s holds lumens, not µmol/s",)


@pytest.mark.parametrize("ratio", [0.5, 0.7, 0.85, 1.3, 2.0])
def test_causes_are_few_and_age_takes_little(lamps, ratio):
    """Four causes at most; age and dust never stand for a lamp that lost a third of its light."""
    found = compare.causes(lamps(lamp=PANEL, walls=0.7), ratio)
    assert 1 <= len(found) <= 4
    assert any("age" in words for words in found) is (ratio == 0.85)


def test_sites_outside_a_coarse_grid_are_counted():
    """Of five columns under three the first and last lie outside (0.1 and 0.9; 1/6 to 5/6)."""
    assert light.sites_beyond((2, 3), 2, 5) == 4
    assert light.sites_beyond((2, 5), 2, 5) == 0
    assert light.sites_beyond((4, 10), 2, 5) == 0
    assert light.sites_beyond((1, 1), 1, 1) == 0


def test_a_coarse_grid_is_warned_of(bed):
    """The warning is shown with the bed; a grid as fine as the sites has none."""
    assert bed(reading=reading("[[200, 220]]")).warnings[0].startswith("8 of 8 sites lie outside")
    assert bed(reading=reading("[[200, 220, 220, 200], [200, 220, 220, 200]]")).warnings == ()


def test_evenness_is_known_only_where_sites_are(bed):
    """(160 + 200 + 240 + 200) / 4 = 200: the darkest has 0.8 of it. One mean for all says nothing."""
    read = bed(rows=1, reading=reading("[[160, 200, 240, 200]]"))
    assert read.uniformity_min_over_mean == pytest.approx(0.8)
    assert bed().uniformity_min_over_mean is None
    assert bed(reading=reading("[[200]]")).uniformity_min_over_mean is None
    placed = "length_m = 1.2\nwidth_m = 0.6\nx_m = 0\ny_m = 0"
    assert bed(lamp=PANEL, place=placed).uniformity_min_over_mean < 0.9
    assert bed(lamp=PANEL).uniformity_min_over_mean is None


def test_a_small_lamp_lands_what_the_catalogue_says():
    """Over the middle of 2 x 2 at 1: four corners of 1 x 1, 4 x 0.138532 (Hamilton & Morgan 1952)."""
    assert light.small_lamp_share(2, 2, 1, 0) == pytest.approx(4 * 0.138532, abs=4e-6)
    assert light.small_lamp_share(2, 2, 1, 1) == pytest.approx(1)


def photons_on_the_floor(draw, length, width, height, lamp_share):
    """Follow photons of a cosine lamp ``lamp_share`` times as wide as an open floor: the share that lands."""
    count = 200_000
    x = (draw.random(count) - 0.5) * length * lamp_share
    y = (draw.random(count) - 0.5) * width * lamp_share
    sine, turn = np.sqrt(draw.random(count)), 2 * np.pi * draw.random(count)
    out = height * sine / np.sqrt(1 - sine**2)
    landed = (np.abs(x + out * np.cos(turn)) < length / 2) & (np.abs(y + out * np.sin(turn)) < width / 2)
    return landed.mean()


def test_landing_shares_against_photons_followed_one_by_one(lamps):
    """200,000 photons each (seed 7): the widest and the smallest lamp land their shares, within 1 %."""
    draw = np.random.default_rng(7)
    wide, small = lamps().shares()[0]
    assert wide == pytest.approx(photons_on_the_floor(draw, 1.2, 0.6, 0.4, 1.0), rel=0.01)
    assert small == pytest.approx(photons_on_the_floor(draw, 1.2, 0.6, 0.4, 0.0), rel=0.01)


@pytest.mark.parametrize(("known", "stated"), [("meter", 0.35), ("label", 0.50)])
def test_the_stated_spread_against_random_growers(bed, known, stated):
    """20,000 white LED lamps drawn part by part (seed 11) spread as stated, within 10 %.

    Efficacy: the table's 1.2 to 2.8 holds four of five lamps. Watts: 0.03 read, 0.36 by the label. Size: any
    share between the smallest and the widest lamp. Height: a tape, 2 cm off.
    """
    draw, count = np.random.default_rng(11), 20_000
    ends = [photons_on_the_floor(draw, 1.2, 0.6, 0.4, wide) for wide in (1.0, 0.0)]
    ln_ppfd = (
        draw.normal(0, math.log(2.8 / 1.2) / (2 * 1.2816), count)
        + draw.normal(0, {"meter": 0.03, "label": 0.36}[known], count)
        + draw.uniform(math.log(ends[0]), math.log(ends[1]), count)
        - np.log(1 + draw.normal(0, 0.02 / 0.4, count))  # one over distance: between a panel and a point
    )
    found = bed(lamp=f'watts = 100\nwatts_from = "{known}"\nlamp_to_canopy_m = 0.4')
    assert found.sd_ln == pytest.approx(stated, rel=0.02)
    assert ln_ppfd.std() == pytest.approx(found.sd_ln, rel=0.10)
    low, high = found.range_80_umol_m2_s
    ppfd = np.exp(ln_ppfd) * 200 / 0.72
    assert ((low < ppfd) & (ppfd < high)).mean() == pytest.approx(0.8, abs=0.05)


def test_a_height_nobody_told_widens_the_range(bed):
    """What is not measured is not known: without a distance the label's light is surer by no means."""
    assert bed(lamp="watts = 100").sd_ln > bed().sd_ln
    assert "not given" in bed(lamp="watts = 100").how


def spreads(found):
    return {one.find.split()[0] + " " + one.find.split()[1]: round(one.sd_ln, 2) for one in found.narrower}


def test_what_would_narrow_watts_by_the_label(bed):
    """The maker's photons, a phone, a PAR meter: each leaves the spread of its own way of knowing."""
    assert spreads(bed()) == {"lux read": 0.25, "the lamp's": 0.2, "a PAR": 0.05}


def test_under_red_and_blue_a_plug_meter_instead_of_lux(bed):
    """No lux under red and blue: the plug meter is what is at hand, and takes off what the label brings."""
    lamp = 'lamp = "red-blue LED"\nwatts = 100\nlamp_to_canopy_m = 0.4'
    labelled, metered = bed(lamp=lamp), bed(lamp=lamp + '\nwatts_from = "meter"')
    found = {one.find: one.sd_ln for one in labelled.narrower}
    assert found["a plug meter for the lamp's watts"] == pytest.approx(metered.sd_ln, rel=1e-9)
    assert not any(find.startswith("lux") or "lux meter" in find for find in found)


def test_nothing_narrows_a_par_meter(bed):
    """Who read with a PAR meter is done; who read with a phone may do it again with a meter."""
    assert bed(reading=reading("[[200]]")).narrower == ()
    phone = bed(reading=reading("[[14000]]", "lux")).narrower
    assert [one.sd_ln for one in phone] == [0.10, 0.05]


def test_what_is_offered_always_narrows(lamps):
    """Nothing is offered that would leave more than nine tenths of the spread."""
    for lamp in (PANEL, "watts = 50", 'watts = 50\nwatts_from = "meter"\nlamp_to_canopy_m = 0.2'):
        for walls in (0.0, 0.8):
            over = lamps(lamp=lamp, walls=walls)
            now = measure.light_errors(over)
            offered = [one.sd_ln for one in measure.from_lamps(over, now, now.sd_ln)]
            assert offered == sorted(offered, reverse=True)
            assert offered[-1] == 0.05
            assert all(sd <= 0.9 * now.sd_ln for sd in offered)


def test_a_grown_plant_under_a_point_lamp(space_of, tables):
    """0.25 m nearer to a small lamp 0.75 m up: (0.75 / 0.50)^2 = 2.25 times the light (inverse-square).

    That is 305 umol, in 16 h 17.6 mol: more than the 17 that loose-leaf lettuce bears at most.
    """
    space = space_of(
        zone_length=2.4, zone_width=1.2, rows=1, columns=1, place=MIDDLE, lamp=SMALL_LAMP.format(0.75)
    )
    (rise,) = rises(space, tables, bed_lights(space, tables), (tables.crops["lettuce-looseleaf"],))
    assert (rise.nearer_m, rise.left_m) == pytest.approx((0.25, 0.5))
    assert rise.grown_umol_m2_s / rise.planted_umol_m2_s == pytest.approx(2.25, rel=2e-3)
    assert rise.planted_umol_m2_s == pytest.approx(240 / math.pi / 0.75**2, rel=1e-3)
    assert rise.too_bright is True


def test_readings_rise_in_proportion(space_of, tables):
    """Read light is scaled by the same 2.25; a lamp of unknown height gives no rise."""
    read = reading("[[100]]")
    shelf = {"zone_length": 2.4, "zone_width": 1.2, "rows": 1, "columns": 1, "place": MIDDLE, "reading": read}
    crop = (tables.crops["lettuce-looseleaf"],)
    space = space_of(**shelf, lamp=SMALL_LAMP.format(0.75))
    assert rises(space, tables, bed_lights(space, tables), crop)[0].grown_umol_m2_s == pytest.approx(
        225, rel=2e-3
    )
    untold = space_of(**shelf, lamp="watts = 60")
    assert rises(untold, tables, bed_lights(untold, tables), crop) == ()


@pytest.mark.parametrize(("slug", "verdict"), [("kale", "risk"), ("lettuce-butterhead", "slow")])
def test_a_crop_that_reaches_the_lamp(space_of, tables, slug, verdict):
    """Kale of 38 cm under a lamp at 40 cm scorches: raise it, or cut sooner. A lettuce of 16 has room."""
    space = space_of(reading=reading("[[150]]"))
    bed_light = bed_lights(space, tables)[0]
    found = suitability(crop_in_bed(space, tables.crops[slug], space.beds[0], bed_light))
    assert found.verdict == verdict
    if verdict == "risk":
        assert "lamp hangs 40 cm above" in found.why
        assert found.cure == "lamp 43 cm above the young plants, or cut it below 35 cm"
