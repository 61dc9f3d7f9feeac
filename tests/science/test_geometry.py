"""Light straight from flat lamps: against print, a second program, integrals, and bars that were measured."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from cropcal.science import geometry

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
LENGTH = st.floats(0.05, 3)
PLACE = st.floats(-5, 5)


def rows(name):
    lines = (REFERENCE / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def over(low, high, places=24):
    """Return places from low to high and weights that make a sum over them a mean (Gauss's rule)."""
    at, weight = np.polynomial.legendre.leggauss(places)
    return (low + high) / 2 + (high - low) / 2 * at, weight / 2


def grid(x, y):
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


def disc(radius, strips=400):
    """Return corners and sizes of strips that together fill a disc about the origin."""
    edges = np.linspace(-radius, radius, strips + 1)
    half = np.sqrt(radius**2 - ((edges[1:] + edges[:-1]) / 2) ** 2)
    corners = np.stack([edges[:-1], -half], axis=-1)
    return corners, np.stack([np.diff(edges), 2 * half], axis=-1)


def factor_by_integral(x0, x1, y0, y1, distance):
    """Integrate cos²θ / (π r²) over a rectangle, in pieces fine near the point and coarse far off."""

    def axis(low, high):
        begin, end = np.arcsinh(low / distance), np.arcsinh(high / distance)
        edges = np.linspace(begin, end, max(2, int(np.ceil((end - begin) / 0.5))))
        place, weight = over(edges[:-1, None], edges[1:, None], 12)
        width = np.diff(edges)[:, None]
        return distance * np.sinh(place).ravel(), (distance * np.cosh(place) * width * weight).ravel()

    (x, x_weight), (y, y_weight) = axis(x0, x1), axis(y0, y1)
    square = x[:, None] ** 2 + y**2 + distance**2
    return x_weight @ (distance**2 / (np.pi * square**2)) @ y_weight


@pytest.mark.parametrize("row", rows("corner_factors_computed"), ids=lambda row: f"{row['x']}x{row['y']}")
def test_corner_factors_of_a_second_program(row):
    """Corner factors agree with those of a second program, which integrated them (not published)."""
    found = geometry.corner_factor(float(row["x"]), float(row["y"]), 1)
    assert found == pytest.approx(float(row["factor"]), abs=1e-6)


@pytest.mark.parametrize("row", rows("view_factors_published"), ids=lambda row: row["shape"] + row["printed"])
def test_shape_factors_in_print(row):
    """Averaged over a second face, the factors at points give the worked examples in print."""
    a, b, distance = (float(row[key]) for key in ("a_m", "b_m", "distance_m"))
    if row["shape"] == "discs":
        radius, weight = over(0, a)
        points = np.stack([radius, np.zeros_like(radius)], axis=-1)
        weight = weight * 2 * radius / a  # of a ring's area
        corner, size = disc(b)
    else:
        x, x_weight = over(0, a) if row["shape"] == "plates" else (np.zeros(1), np.ones(1))
        y, y_weight = over(0, b)
        points, weight = grid(x, y), np.outer(x_weight, y_weight).ravel()
        corner, size = np.zeros((1, 2)), np.array([[a, b]])
    factor = geometry.panel_ppfd(points, corner, size, distance, size.prod(axis=1))
    assert factor @ weight == pytest.approx(float(row["printed"]), abs=5e-5)


@pytest.mark.parametrize(("radius", "height"), [(1, 1), (0.5, 1), (2, 1), (0.15, 1.5)])
def test_a_disc_of_strips(radius, height):
    """Under the middle of a disc the factor is r² / (r² + h²) (Howell's catalogue, B-12)."""
    corner, size = disc(radius)
    factor = geometry.panel_ppfd([[0, 0]], corner, size, height, size.prod(axis=1))
    assert factor[0] == pytest.approx(radius**2 / (radius**2 + height**2), rel=1e-4)


@pytest.mark.parametrize("aside", [0.3, 1.0, 2.5])
def test_a_disc_seen_from_aside(aside):
    """Off the axis of a disc the factor is that of Howell's catalogue (B-22; EES, hs308).

    ½ (1 - (Z - 2R²) / √(Z² - 4R²)) with Z = 1 + H² + R², height H and radius R in units of the offset.
    """
    corner, size = disc(1.0)
    factor = geometry.panel_ppfd([[aside, 0]], corner, size, 0.8, size.prod(axis=1))
    height, radius = 0.8 / aside, 1.0 / aside
    z = 1 + height**2 + radius**2
    expected = 0.5 * (1 - (z - 2 * radius**2) / np.sqrt(z**2 - 4 * radius**2))
    assert factor[0] == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    "row",
    rows("panel_computed"),
    ids=lambda row: "-".join(row[key] for key in ("distance_m", "where", "x_m")),
)
def test_panel_of_a_second_program(row):
    """Under a panel of 1.2 × 0.6 m and 1000 µmol s⁻¹ the PPFD is that of a second program (not published)."""
    if row["where"] == "mean":
        (x, x_weight), (y, y_weight) = over(-0.6, 0.6), over(-0.3, 0.3)
        points, weight = grid(x, y), np.outer(x_weight, y_weight).ravel()
    else:
        points, weight = np.array([[float(row["x_m"]), float(row["y_m"])]]), np.ones(1)
    found = geometry.panel_ppfd(points, [[-0.6, -0.3]], [[1.2, 0.6]], float(row["distance_m"]), 1000) @ weight
    decimals = len(row["ppfd_umol_m2_s"].partition(".")[2])
    assert found == pytest.approx(float(row["ppfd_umol_m2_s"]), abs=0.51 * 10**-decimals)


def test_far_away_a_panel_is_a_point():
    """At 5 m, 1000 µmol s⁻¹ shine as 1000 / (π 5²) = 12.73 from a point; the panel is 1.3 % below that."""
    panel = geometry.panel_ppfd([[0, 0]], [[-0.6, -0.3]], [[1.2, 0.6]], 5, 1000)[0]
    tiny = geometry.panel_ppfd([[0, 0]], [[-0.005, -0.005]], [[0.01, 0.01]], 5, 1000)[0]
    assert tiny == pytest.approx(1000 / (np.pi * 25), rel=1e-5)
    assert panel == pytest.approx(tiny, rel=0.015)


@pytest.mark.parametrize("size", [(1.2, 0.6), (1.0, 0.02), (0.3, 0.3)])
def test_rule_of_five_diameters(size):
    """From five largest extents on the inverse square is right to 1 % (IES, definition 9.1.1)."""
    distance = 5 * np.hypot(*size)
    found = geometry.panel_ppfd([[0, 0]], [[-size[0] / 2, -size[1] / 2]], [size], distance, np.pi)[0]
    assert 0.99 < found * distance**2 < 1


def towards(points, lamps, distance, candela):
    """Return lux at a point from small lamps by the candela they send towards it, as in textbooks."""
    side = 1e-4
    total = 0.0
    for lamp in lamps:
        cosine = distance / np.hypot(distance, np.linalg.norm(np.subtract(lamp, points)))
        corner = np.subtract(lamp, side / 2)
        total += geometry.panel_ppfd([points], [corner], [[side, side]], distance, np.pi * candela / cosine)[
            0
        ]
    return total


def test_inverse_square_of_a_textbook():
    """100 cd at 2 m: 25 lux face on, 17.678 on a surface at 45° (Chakrabarti et al., example 4.2)."""
    assert towards([0, 0], [[0, 0]], 2, 100) == pytest.approx(25, abs=1e-3)
    slant = 2 / np.sqrt(2)
    assert towards([0, 0], [[slant, 0]], slant, 100) == pytest.approx(17.678, abs=1e-3)


def test_row_of_lamps_of_a_textbook():
    """100 cp lamps 9.15 m apart, 4.575 m up: 5.81 lux under one, 3.75 between (Chakrabarti et al., 4.7)."""
    under = [[9.15 * i, 0] for i in range(-3, 4)]
    between = [[9.15 * (i + 0.5), 0] for i in range(-3, 3)]
    assert towards([0, 0], under, 4.575, 100) == pytest.approx(5.81, abs=0.005)
    assert towards([0, 0], between, 4.575, 100) == pytest.approx(3.75, abs=0.005)


@given(
    length=st.floats(0.001, 5),
    width=st.floats(0.001, 5),
    x=st.floats(-50, 50),
    y=st.floats(-50, 50),
    decades=st.floats(-2, np.log10(50)),
)
@example(length=5, width=0.005, x=-2.5, y=0.65, decades=-2)  # a long bar, close to it but far to its side
@example(length=0.005, width=5, x=0.65, y=-2.5, decades=-2)
def test_exact_near_and_far(length, width, x, y, decades):
    """From 1 cm to 50 m, below or far to the side, the factor is the integral over the rectangle to 1e-9."""
    sides = x, x + length, y, y + width
    found = geometry.rectangle_factor(*sides, 10**decades)
    assert found == pytest.approx(factor_by_integral(*sides, 10**decades), rel=1e-9, abs=0)


@given(
    length=LENGTH,
    width=LENGTH,
    x=PLACE,
    y=PLACE,
    distance=LENGTH,
    bars=st.integers(2, 6),
    scale=st.floats(0.1, 10),
)
def test_laws_of_one_panel(length, width, x, y, distance, bars, scale):
    """Bars side by side make the panel, mirrored places are alike, no place outshines the lamp's own face."""
    point, corner, size = (
        np.array([[x, y]]),
        np.array([[-length / 2, -width / 2]]),
        np.array([[length, width]]),
    )
    ppfd = geometry.panel_ppfd(point, corner, size, distance, 100)
    strips = corner + np.arange(bars)[:, None] * [[length / bars, 0]]
    strip = np.repeat([[length / bars, width]], bars, axis=0)
    np.testing.assert_allclose(
        geometry.panel_ppfd(point, strips, strip, distance, 100 / bars), ppfd, rtol=1e-8
    )
    for mirrored in (point * [-1, 1], point * [1, -1], -point):
        np.testing.assert_allclose(
            geometry.panel_ppfd(mirrored, corner, size, distance, 100), ppfd, rtol=1e-8
        )
    turned = geometry.panel_ppfd(point[:, ::-1], corner[:, ::-1], size[:, ::-1], distance, 100)
    np.testing.assert_allclose(turned, ppfd, rtol=1e-8)
    assert 0 < ppfd[0] <= 100 / (length * width)
    larger = geometry.panel_ppfd(point * scale, corner * scale, size * scale, distance * scale, 100)
    np.testing.assert_allclose(larger * scale**2, ppfd, rtol=1e-8)


@given(
    lamps=st.lists(st.tuples(PLACE, PLACE, LENGTH, LENGTH, LENGTH, st.floats(0, 500)), min_size=1, max_size=4)
)
def test_lamps_add_up(lamps):
    """Several lamps at their own heights give the sum of what each gives alone."""
    points = grid([0.0, 0.7, -2.0], [0.0, 1.3])
    corner, size = np.array([lamp[:2] for lamp in lamps]), np.array([lamp[2:4] for lamp in lamps])
    distance, ppf = np.array([lamp[4:] for lamp in lamps]).T
    alone = sum(
        geometry.panel_ppfd(points, corner[[i]], size[[i]], distance[i], ppf[i]) for i in range(len(lamps))
    )
    np.testing.assert_allclose(geometry.panel_ppfd(points, corner, size, distance, ppf), alone, rtol=1e-12)


def test_beds_at_their_own_distance():
    """A place with a distance of its own sees what it would see if all had that distance."""
    points = np.array([[0.2, 0.1], [0.9, 0.4]])
    lamps = [[0, 0], [0.6, 0]], [[0.5, 0.6], [0.5, 0.6]]
    both = geometry.panel_ppfd(points, *lamps, [[0.3], [0.5]], 120)
    assert both[0] == geometry.panel_ppfd(points, *lamps, 0.3, 120)[0]
    assert both[1] == geometry.panel_ppfd(points, *lamps, 0.5, 120)[1]


@given(length=LENGTH, width=LENGTH)
def test_closer_is_brighter_under_the_middle(length, width):
    """Straight under a panel light only falls with distance, from the panel's own to nothing."""
    distance = np.array([0.01, 0.05, 0.2, 0.5, 1, 3, 10])[:, None]
    under = geometry.panel_ppfd(np.zeros((7, 2)), [[-length / 2, -width / 2]], [[length, width]], distance, 1)
    assert (np.diff(under) < 0).all()
    assert under[0] == pytest.approx(1 / (length * width), rel=0.2)


def test_bar_measured_on_its_axis(tables):
    """Under a measured bar, one reading tells the others to 10 % from 10 to 51 cm (McCracken 2021).

    Its photons are not printed: those the reading at 20 cm asks for lie in the range of white LEDs.
    """
    measured = {
        float(row["distance_in"]): float(row["ppfd_umol_m2_s"]) for row in rows("bar_axis_measured_2021")
    }
    distance = np.array(list(measured))[:, None] * 0.0254
    per_umol = geometry.panel_ppfd(np.zeros((4, 2)), [[-0.6, -0.02]], [[1.2, 0.04]], distance, 1)
    ppf = measured[8] / per_umol[1]
    np.testing.assert_allclose(ppf * per_umol, list(measured.values()), rtol=0.10)
    lamp = tables.lamps["white LED"]
    assert lamp.efficacy_low_umol_j < ppf / 42 < lamp.efficacy_high_umol_j
