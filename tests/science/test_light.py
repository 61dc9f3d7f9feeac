"""Light: daily sums against print, panel geometry against catalogues and sums over mirror images."""

import csv
from pathlib import Path

import numpy as np
import pytest
from depth import few_of
from hypothesis import given
from hypothesis import strategies as st

from cropcal.science import light

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
LENGTH = st.floats(0.1, 5)


def printed_dli():
    lines = (REFERENCE / "dli_published.csv").read_text(encoding="utf-8").splitlines()
    return [
        (float(row["ppfd_umol_m2_s"]), float(row["photoperiod_h"]), row["printed"])
        for row in csv.DictReader(line for line in lines if not line.startswith("#"))
    ]


@pytest.mark.parametrize(("ppfd", "hours", "printed"), printed_dli())
def test_dli_is_the_printed_one(ppfd, hours, printed):
    """Daily light integrals come out as printed, within half of the last printed digit."""
    decimals = len(printed.partition(".")[2])
    assert light.dli(ppfd, hours) == pytest.approx(float(printed), abs=0.5 * 10**-decimals + 1e-9)


def test_gavhane_exactly():
    """200 µmol for 12, 16 and 20 h are 8.64, 11.52 and 14.40 mol (Gavhane et al. 2023)."""
    np.testing.assert_allclose(light.dli(200, [12, 16, 20]), [8.64, 11.52, 14.40], rtol=1e-12)
    np.testing.assert_allclose(light.photoperiod_for([8.64, 11.52, 14.40], 200), [12, 16, 20], rtol=1e-12)


def test_runkle_backwards():
    """12 mol in 18 h take 185 µmol (Runkle, Lighting plants indoors, Greenhouse Product News)."""
    assert light.ppfd_for(12, 18) == pytest.approx(185, abs=0.5)


def test_palmer_constant_dli():
    """Six PPFDs for 10 to 20 h all bring 16 mol (Palmer & van Iersel 2020; PPFDs as restated in print)."""
    hours = [10, 12, 14, 16, 18, 20]
    printed = [444, 370, 318, 278, 247, 222]
    np.testing.assert_allclose(light.dli(printed, hours), 16, atol=0.05)  # PPFD is printed to 1 µmol
    np.testing.assert_allclose(light.ppfd_for(16, hours), printed, atol=0.6)  # 318 is printed for 317.5


def test_no_light_is_never_enough():
    """Without light no number of hours brings a DLI, and zero hours need infinite light."""
    assert light.photoperiod_for(12, 0) == np.inf
    assert light.ppfd_for(12, 0) == np.inf


@given(dli=st.floats(0.1, 60), hours=st.floats(0.5, 24))
def test_both_ways_back(dli, hours):
    """PPFD and hours found for a DLI bring that DLI."""
    ppfd = light.ppfd_for(dli, hours)
    assert light.dli(ppfd, hours) == pytest.approx(dli, rel=1e-12)
    assert light.photoperiod_for(dli, ppfd) == pytest.approx(hours, rel=1e-12)


def test_plates_as_in_the_manual():
    """Plates of 1 × 1.5 at 0.5 give 0.4756, the example of the EES heat transfer manual (hs201)."""
    assert light.parallel_plates_factor(1, 1.5, 0.5) == pytest.approx(0.4756, abs=5e-5)


@pytest.mark.parametrize(("length", "width", "distance"), [(1.2, 0.6, 0.1), (1.2, 0.6, 0.5), (1.2, 0.6, 2)])
def test_plates_against_corner_factors(length, width, distance):
    """The closed form is the mean over the floor of a point's corner factors (Siegel & Howell, App. C)."""
    assert light.parallel_plates_factor(length, width, distance) == pytest.approx(
        mirror_sum(length, width, distance, 0.0), rel=2e-3
    )


def test_far_away_a_panel_is_a_point():
    """Far away the share falls with the square of the distance: area / (π d²), the cosine law."""
    assert light.parallel_plates_factor(0.3, 0.2, 6) == pytest.approx(0.3 * 0.2 / (np.pi * 36), rel=3e-3)


def corner_factor(x, y, c):
    """Element facing a rectangle x × y at distance c, normal through a corner (signed by x and y)."""
    x, y = x / c, y / c
    far_x, far_y = np.sqrt(1 + x**2), np.sqrt(1 + y**2)
    return (x / far_x * np.arctan(y / far_x) + y / far_y * np.arctan(x / far_y)) / (2 * np.pi)


def mirror_sum(length, width, distance, reflectance, cells=40):
    """Return the landing share with smooth mirror walls: every image of the lamp, weakened by its bounces."""
    x = ((np.arange(cells) + 0.5) / cells * length)[:, None]
    y = ((np.arange(cells) + 0.5) / cells * width)[None, :]
    images = range(-30, 31) if reflectance else range(1)
    total = 0.0
    for i in images:
        for j in images:
            x0, x1, y0, y1 = i * length - x, (i + 1) * length - x, j * width - y, (j + 1) * width - y
            seen = sum(
                sign * corner_factor(a, b, distance)
                for sign, a, b in ((1, x1, y1), (-1, x0, y1), (-1, x1, y0), (1, x0, y0))
            )
            total += reflectance ** (abs(i) + abs(j)) * seen.mean()
    return total


@pytest.mark.parametrize("reflectance", [0.3, 0.6])
@pytest.mark.parametrize(("size", "most"), few_of([((1.0, 1.0, 0.2), 1.03), ((0.5, 0.5, 0.5), 1.37)], 1))
def test_walls_are_rather_under_than_overrated(size, most, reflectance):
    """The assumed sum over walls stays below that of smooth mirrors, by no more than its docstring says."""
    ratio = mirror_sum(*size, reflectance, cells=10) / light.landing_share(*size, reflectance)
    assert 1.0 < ratio < most


@given(length=LENGTH, width=LENGTH, distance=LENGTH, reflectance=st.floats(0, 0.99))
def test_landing_share_lies_between_open_and_mirrors(length, width, distance, reflectance):
    """Open sides land the straight share, perfect mirrors all, and more reflection never less."""
    straight = light.parallel_plates_factor(length, width, distance)
    share = light.landing_share(length, width, distance, reflectance)
    assert 0 < straight < 1
    assert light.landing_share(length, width, distance, 0) == straight
    assert light.landing_share(length, width, distance, 1) == pytest.approx(1, rel=1e-12)
    assert straight <= share <= light.landing_share(length, width, distance, reflectance + 0.01)
    assert straight == pytest.approx(float(light.parallel_plates_factor(width, length, distance)), rel=1e-9)


def test_mean_ppfd_under_a_panel():
    """1000 µmol s⁻¹ from 1.2 × 0.6 m bring 476 µmol m⁻² s⁻¹ at 0.5 m: F = 0.3428 over 0.72 m²."""
    share = light.landing_share(1.2, 0.6, [0.1, 0.2, 0.3, 0.5, 1.0, 2.0], 0)
    np.testing.assert_allclose(share, [0.7889, 0.6304, 0.5090, 0.3428, 0.1523, 0.0502], atol=5e-5)
    assert light.mean_ppfd(1000, share[3], 0.72) == pytest.approx(476.06, abs=0.05)


def test_watts_to_photons():
    """100 W at 2.7 µmol J⁻¹ are 270 µmol s⁻¹, by the meaning of efficacy (ANSI/ASABE S640)."""
    assert light.ppf_from_watts(100, 2.7) == pytest.approx(270)


def test_readings_of_the_same_shape_stay():
    """Readings at the sites themselves are the sites' values, row by row."""
    grid = [[180.0, 210.0, 205.0, 176.0], [190.0, 228.0, 221.0, 188.0]]
    assert light.site_values(grid, 2, 4).tolist() == [180, 210, 205, 176, 190, 228, 221, 188]


def test_readings_between_are_worked_out_by_hand():
    """Two readings over four sites: constant to the outer ones, a quarter of the way between."""
    assert light.site_values([[100.0, 200.0]], 1, 4).tolist() == [100, 125, 175, 200]
    assert light.site_values([[100.0], [200.0]], 4, 1).tolist() == [100, 125, 175, 200]
    assert light.site_values([[100.0, 200.0, 300.0, 400.0]], 1, 2).tolist() == [150, 350]
    assert light.site_values([[230.0]], 2, 3).tolist() == [230] * 6


def test_a_slope_stays_a_slope():
    """A tilted plane of light read on a coarse grid is found again at inner sites (bilinear)."""
    at = (np.arange(5) + 0.5) / 5
    fine = (np.arange(10) + 0.5) / 10
    plane = 100 + 50 * at[:, None] + 80 * at[None, :]
    found = light.site_values(plane, 10, 10).reshape(10, 10)
    wanted = 100 + 50 * fine[:, None] + 80 * fine[None, :]
    np.testing.assert_allclose(found[1:-1, 1:-1], wanted[1:-1, 1:-1], rtol=1e-12)


@given(
    grid=st.lists(st.lists(st.floats(0, 3000), min_size=3, max_size=3), min_size=1, max_size=4),
    rows=st.integers(1, 7),
    columns=st.integers(1, 7),
)
def test_sites_lie_within_the_readings(grid, rows, columns):
    """No site is darker than the lowest or brighter than the highest reading."""
    values = light.site_values(grid, rows, columns)
    assert values.shape == (rows * columns,)
    assert values.min() >= np.min(grid) - 1e-9
    assert values.max() <= np.max(grid) + 1e-9


def test_better_known_light_has_the_smaller_spread():
    """A meter is surer than a spec sheet, that than measured watts, and those than a label."""
    spreads = [light.LN_SD[how] for how in ("readings", "spec sheet", "watts meter", "watts label")]
    assert spreads == sorted(set(spreads))
