"""Lux as light for plants: worked lines in print, published factors, and spectra of another library."""

import csv
from pathlib import Path

import colour
import numpy as np
import pytest

from cropcal.science import geometry

LINES = (
    (Path(__file__).resolve().parents[1] / "reference" / "lux_factors.csv")
    .read_text(encoding="utf-8")
    .splitlines()
)
ROWS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))
COMPUTED = [*{row["library"]: row for row in ROWS if row["library"]}.values()]
UMOL_PER_J_NM = 1e-3 / (6.02214076e23 * 6.62607015e-34 * 299_792_458)
"""Photons of a joule for each nm of wavelength, in µmol, by the exact constants of the SI."""


def eye(wavelength_nm):
    """Return lumens per watt at each wavelength: the CIE 1924 photopic curve."""
    curve = colour.colorimetry.SDS_LEFS_PHOTOPIC["CIE 1924 Photopic Standard Observer"]
    return 683 * np.interp(wavelength_nm, curve.wavelengths, curve.values, left=0, right=0)


def lux_per_umol(name):
    """Return lux per µmol m-2 s-1 of light from 400 to 700 nm, integrated over a spectrum by name."""
    spectra = {**colour.SDS_LIGHT_SOURCES, **colour.SDS_ILLUMINANTS}
    spectrum = spectra[name].copy().align(colour.SpectralShape(380, 780, 1))
    nm, power = spectrum.wavelengths, spectrum.values
    par = (nm >= 400) & (nm <= 700)
    photons = np.trapezoid((power * nm)[par], nm[par]) * UMOL_PER_J_NM
    return np.trapezoid(power * eye(nm), nm) / photons


@pytest.mark.parametrize(
    ("lux", "factor", "ppfd"),
    [(108_000, 54, 2000), (8_200, 82, 100), (22_200, 74, 300)],
    ids=["sun", "HPS", "tube"],
)
def test_lux_in_print(lux, factor, ppfd):
    """The worked lines of Apogee's page on sunlight, HPS and cool-white tubes come out."""
    assert geometry.ppfd_from_lux(lux, factor) == pytest.approx(ppfd, rel=1e-12)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['lamp']}: {row['spectrum']}, {row['source']}")
def test_shipped_lux_factors(tables, row):
    """100 µmol of each lamp's light, read as lux, come back within 6 % by the factor that is shipped."""
    lux = 100 * float(row["lux_per_umol"])
    assert geometry.ppfd_from_lux(lux, tables.lamps[row["lamp"]].lux_per_umol) == pytest.approx(100, rel=0.06)


@pytest.mark.parametrize("row", COMPUTED, ids=lambda row: row["library"])
def test_reference_factors_are_those_of_the_spectra(row):
    """What the reference table calls computed is what colour-science's spectra give (data entry)."""
    assert lux_per_umol(row["library"]) == pytest.approx(float(row["lux_per_umol"]), rel=5e-4)


@pytest.mark.parametrize(
    "lamp", ["white LED", "warm white LED", "neutral white LED", "cool white LED"], ids=lambda lamp: lamp
)
def test_white_led_factors_are_the_means_of_their_classes(tables, lamp):
    """Each white factor is within 0.5 % of the mean of its CIE illuminants (CIE 15:2018, LED-B1 to B5)."""
    mean = np.mean([lux_per_umol(row["library"]) for row in ROWS if row["lamp"] == lamp])
    assert geometry.ppfd_from_lux(100 * mean, tables.lamps[lamp].lux_per_umol) == pytest.approx(
        100, rel=0.005
    )


def test_every_factor_is_checked(tables):
    """No lamp of the table has a factor without a check; a white LED's age does not change its factor."""
    with_factor = {name for name, lamp in tables.lamps.items() if lamp.lux_per_umol is not None}
    of_an_age = {"white LED before 2015", "white LED listed since 2023"}
    assert with_factor - of_an_age == {row["lamp"] for row in ROWS}
    assert {tables.lamps[name].lux_per_umol for name in of_an_age} == {tables.lamps["white LED"].lux_per_umol}


def test_why_lux_is_refused_under_red_and_blue(tables):
    """By a white LED's factor, red and blue LEDs would look five to ten times too dim (CIE 1924 curve)."""
    lux = eye(np.array([450.0, 660.0])) / (UMOL_PER_J_NM * np.array([450.0, 660.0]))
    np.testing.assert_allclose(lux, [6.90, 7.55], rtol=0.005)
    seen = geometry.ppfd_from_lux(lux, tables.lamps["white LED"].lux_per_umol)
    assert (1 / seen > 5).all()
    assert (1 / seen < 10.5).all()
    assert tables.lamps["red-blue LED"].lux_per_umol is None
