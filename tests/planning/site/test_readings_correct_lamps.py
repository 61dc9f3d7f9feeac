"""Two beds under one lamp, one of them read: what the reading says of the lamp counts for the other too."""

import json
import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from in_process import cropcal

from cropcal.planning.one_more import _sites
from cropcal.planning.site import light_uncertainty as measure
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.lamp_factor import Witness, lamp_factor
from cropcal.planning.site.lamp_light import lamps_over

SPACE = """
[[zone]]
name = "bench"
length_m = 1.4
width_m = 0.7
photoperiod_h = 16
air_c = 20

[[fixture]]
zone = "bench"
lamp = "white LED"
watts = 100
{lamp}

{beds}

[[want]]
crops = ["lettuce-butterhead"]
"""
PANEL = "ppf_umol_s = 240\nlength_m = 0.9\nwidth_m = 0.4\nlamp_to_canopy_m = 0.35"
UNSIZED = "lamp_to_canopy_m = 0.35"
PPF, PANEL_X_M, PANEL_Y_M, ABOVE_M = 240.0, 0.9, 0.4, 0.35
FLOOR_X_M, FLOOR_Y_M = 1.4, 0.7
BEDS = {
    "crate": (2, 3, 0.05, 0.10, 0.5, 0.5),
    "trough": (2, 2, 0.80, 0.15, 0.4, 0.4),
    "ledge": (1, 4, 0.10, 0.62, 1.0, 0.08),
}
"""Rows, columns, x, y, length and width of each bed, m."""


def text(reading="", lamp=PANEL, names=("crate", "trough")):
    beds = ""
    for name in names:
        rows, columns, x, y, length, width = BEDS[name]
        beds += (
            f'[[bed]]\nname = "{name}"\nzone = "bench"\nrows = {rows}\ncolumns = {columns}\n'
            f"x_m = {x}\ny_m = {y}\nlength_m = {length}\nwidth_m = {width}\n"
        )
    return SPACE.format(lamp=lamp, beds=beds) + reading


def read_over(name, rows, key="umol_m2_s", more=""):
    values = json.dumps([[float(value) for value in row] for row in rows])
    return f'\n[[reading]]\nbed = "{name}"\n{key} = {values}\n{more}'


def integral_umol_m2_s(name):
    """Return the PPFD at each site of a bed, shape (rows, columns), by summing over the panel's face.

    A flat face that shines alike everywhere and by Lambert's law has radiance PPF / (area pi). A point on the
    floor gets E = integral of L cos cos / r^2 over the face, both cosines being height / r.
    """
    rows, columns, x, y, length, width = BEDS[name]
    steps = (np.arange(240) + 0.5) / 240
    face_x = (FLOOR_X_M - PANEL_X_M) / 2 + PANEL_X_M * steps
    face_y = (FLOOR_Y_M - PANEL_Y_M) / 2 + PANEL_Y_M * steps
    patch_m2 = PANEL_X_M * PANEL_Y_M / steps.size**2
    radiance = PPF / (PANEL_X_M * PANEL_Y_M * math.pi)
    light = np.empty((rows, columns))
    for row in range(rows):
        for column in range(columns):
            at_x, at_y = x + length * (column + 0.5) / columns, y + width * (row + 0.5) / rows
            far2 = (face_x[:, None] - at_x) ** 2 + (face_y[None, :] - at_y) ** 2 + ABOVE_M**2
            light[row, column] = np.sum(radiance * ABOVE_M**2 / far2**2) * patch_m2
    return light


@pytest.fixture
def lights(read_text, tables):
    """Return a function from a space's text to the light of its beds by name."""

    def of(*words, **more):
        space = read_text(text(*words, **more))
        return {light.bed: light for light in bed_lights(space, tables)}

    return of


@pytest.fixture
def errors(read_text, tables):
    """Return a function to the spread of a bed's computed light, part by part."""

    def of(name, **more):
        space = read_text(text(**more))
        return measure.light_errors(lamps_over(space.bed(name), space, tables))

    return of


def test_one_bed_read_moves_the_other_by_its_share(lights, errors):
    """A crate at 0.67 of the spec sheet: its neighbour is at the integral times the lamp's likely factor.

    The factor is worked out anew, by summing prior times likelihood over a fine line of factors.
    """
    there = lights(read_over("crate", 0.67 * integral_umol_m2_s("crate")))
    crate, trough = there["crate"], there["trough"]
    assert crate.ppfd_umol_m2_s == pytest.approx(0.67 * integral_umol_m2_s("crate").mean(), rel=1e-3)
    assert crate.check.ratio == pytest.approx(0.67, rel=1e-3)

    ln_factor = np.linspace(-3, 3, 200_001)
    of_crate, of_trough = errors("crate"), errors("trough")
    prior = np.exp(-((ln_factor / of_trough.lamp) ** 2) / 2)
    noise = math.hypot(of_crate.own, 0.05)
    posterior = prior * np.exp(-(((math.log(0.67) - ln_factor) / noise) ** 2) / 2)
    mean = np.average(ln_factor, weights=posterior)
    sd = math.sqrt(np.average((ln_factor - mean) ** 2, weights=posterior))
    expected = math.exp(mean) * integral_umol_m2_s("trough")
    assert trough.site_ppfd_umol_m2_s == pytest.approx(expected.ravel(), rel=2e-3)
    assert trough.sd_ln == pytest.approx(math.hypot(sd, of_trough.own), rel=1e-3)
    assert 0.67 < trough.lamp_factor < 0.80, "most of what is unsure about a panel is the same for both beds"
    assert crate.sd_ln < trough.sd_ln < of_trough.sd_ln
    assert f"times {trough.lamp_factor:.2f}: the readings over crate came to 0.67 of it" in trough.how


def test_the_other_bed_moves_with_the_reading(lights):
    """The brighter the one is read, the brighter the other; a reading that agrees changes no figure."""
    ratios = (0.3, 0.5, 0.67, 0.8, 1.0, 1.1, 1.3, 1.6)
    read = [lights(read_over("crate", ratio * integral_umol_m2_s("crate")))["trough"] for ratio in ratios]
    figures = [light.ppfd_umol_m2_s for light in read]
    assert all(dimmer < brighter for dimmer, brighter in pairwise(figures))
    assert read[ratios.index(1.0)].ppfd_umol_m2_s == pytest.approx(
        integral_umol_m2_s("trough").mean(), rel=2e-3
    )


def test_a_second_bed_read_makes_the_third_surer(lights):
    """Two beds that say the same say it better; each of them keeps what was read over it."""
    names = ("crate", "trough", "ledge")
    crate = read_over("crate", 0.7 * integral_umol_m2_s("crate"))
    trough = read_over("trough", 0.7 * integral_umol_m2_s("trough"))
    alone, one, two = (lights(text, names=names) for text in ("", crate, crate + trough))
    assert alone["ledge"].sd_ln > one["ledge"].sd_ln > two["ledge"].sd_ln
    assert alone["ledge"].lamp_factor == 1.0
    assert one["ledge"].lamp_factor > two["ledge"].lamp_factor > 0.7
    assert "the readings over crate and trough came to 0.70 and 0.70 of it" in two["ledge"].how
    assert two["crate"].site_ppfd_umol_m2_s == one["crate"].site_ppfd_umol_m2_s


def test_neither_the_order_of_beds_nor_of_readings_matters(lights):
    """The same space written another way round has the same light."""
    readings = [read_over(name, 0.8 * integral_umol_m2_s(name)) for name in ("crate", "trough")]
    one = lights("".join(readings), names=("crate", "trough", "ledge"))
    other = lights("".join(reversed(readings)), names=("ledge", "trough", "crate"))
    assert one == other


@pytest.mark.parametrize("lamp", [PANEL, UNSIZED], ids=["panel", "no size"])
def test_only_beds_under_the_same_lamp_are_corrected(read_text, tables, lamp):
    """A shelf with a lamp of its own keeps its spec sheet."""
    more = (
        '\n[[zone]]\nname = "other"\nlength_m = 1.4\nwidth_m = 0.7\nphotoperiod_h = 16\nair_c = 20\n'
        f'[[fixture]]\nzone = "other"\nwatts = 100\n{lamp}\n'
        '[[bed]]\nname = "far"\nzone = "other"\nsites = 4\n'
    )
    reading = read_over("crate", [[90.0]])
    before, after = (
        {light.bed: light for light in bed_lights(read_text(text(part + more, lamp=lamp)), tables)}
        for part in ("", reading)
    )
    assert after["far"] == before["far"]
    assert after["trough"].ppfd_umol_m2_s < before["trough"].ppfd_umol_m2_s


@pytest.mark.parametrize(
    "ratio", [0.02, 0.1, 0.24, 3.0, 10.0], ids=lambda ratio: f"{ratio:g} of the spec sheet"
)
def test_a_slip_does_not_scale_the_neighbour_and_is_said(lights, ratio):
    """A comma misplaced, lumens for umol, more than a lamp can give: the other bed stays, and says why."""
    untouched = lights()["trough"]
    trough = lights(read_over("crate", ratio * integral_umol_m2_s("crate")))["trough"]
    assert trough.site_ppfd_umol_m2_s == untouched.site_ppfd_umol_m2_s
    assert trough.sd_ln == untouched.sd_ln
    [said] = trough.slips
    assert "the readings over crate come to" in said
    assert "a slip" in said


def test_one_more_site_of_a_read_bed_is_no_news_about_the_lamp(read_text, tables):
    """What would help is worked out with a copy of the reading: the neighbour's light must not move by it."""
    space = read_text(text(read_over("crate", 0.67 * integral_umol_m2_s("crate"))))
    [before] = [light for light in bed_lights(space, tables) if light.bed == "trough"]
    for changed in _sites(space):
        [after] = [light for light in bed_lights(changed.space, tables) if light.bed == "trough"]
        assert after == before


WITNESSES = st.lists(
    st.builds(
        Witness,
        bed=st.sampled_from(["a", "b", "c", "d"]),
        ln_ratio=st.floats(-1.3, 1.3),
        own_sd_ln=st.floats(0.03, 0.5),
        meter=st.just("readings"),
        meter_sd_ln=st.just(0.05),
    )
    | st.builds(
        Witness,
        bed=st.sampled_from(["e", "f"]),
        ln_ratio=st.floats(-1.3, 1.3),
        own_sd_ln=st.floats(0.03, 0.5),
        meter=st.just("phone lux"),
        meter_sd_ln=st.just(0.25),
    ),
    min_size=1,
    max_size=6,
)
LAMP_SD = st.floats(0.0, 0.8)


@given(witnesses=WITNESSES, lamp_sd_ln=LAMP_SD, seed=st.randoms(use_true_random=False))
def test_what_any_readings_say_of_a_lamp(witnesses, lamp_sd_ln, seed):
    """Between 1 and the ratios; never less sure than before; no order; one more never makes it less sure."""
    lamp = lamp_factor(witnesses, lamp_sd_ln)
    ratios = [0.0, *(entry.ln_ratio for entry in witnesses)]
    assert min(ratios) - 1e-12 <= lamp.ln_factor <= max(ratios) + 1e-12
    assert 0 <= lamp.sd_ln <= lamp_sd_ln
    shuffled = list(witnesses)
    seed.shuffle(shuffled)
    assert lamp_factor(shuffled, lamp_sd_ln) == lamp
    assert lamp.sd_ln <= lamp_factor(witnesses[1:], lamp_sd_ln).sd_ln + 1e-12


@given(witnesses=WITNESSES, lamp_sd_ln=st.floats(0.05, 0.8))
def test_the_closed_form_is_the_conditional_normal(witnesses, lamp_sd_ln):
    """Held against the joint normal of lamp and readings, solved as a matrix: meters share their error."""
    sd = np.array([entry.own_sd_ln for entry in witnesses])
    same = np.array([[a.meter == b.meter for b in witnesses] for a in witnesses])
    meter = np.array([entry.meter_sd_ln for entry in witnesses])
    cov = np.diag(sd**2) + same * meter[:, None] * meter[None, :] + lamp_sd_ln**2
    towards = np.linalg.solve(cov, np.full(len(witnesses), lamp_sd_ln**2))
    lamp = lamp_factor(witnesses, lamp_sd_ln)
    assert lamp.ln_factor == pytest.approx(towards @ [entry.ln_ratio for entry in witnesses], abs=1e-8)
    assert lamp.sd_ln**2 == pytest.approx(lamp_sd_ln**2 - lamp_sd_ln**2 * towards.sum(), abs=1e-8)


def test_the_screen_says_where_the_correction_comes_from(tmp_path):
    """``light`` names the bed that was read; its JSON has the factor."""
    (tmp_path / "space.toml").write_text(
        text(read_over("crate", 0.67 * integral_umol_m2_s("crate"))), encoding="utf-8"
    )
    shown = " ".join(cropcal("light", tmp_path, "--all").stdout.split())
    form = json.loads(cropcal("light", tmp_path, "--json").stdout)
    [trough] = [bed for bed in form["beds"] if bed["bed"] == "trough"]
    assert f"times {trough['lamp_factor']:.2f}: the readings over crate came to 0.67 of it" in shown
