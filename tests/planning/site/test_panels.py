"""Light at each site from a spec sheet and a tape measure."""

import pytest

from cropcal.planning.site.bed_light import bed_lights

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
watts = 400
ppf_umol_s = {ppf}
length_m = {length}
width_m = {width}
lamp_to_canopy_m = {distance}
count = {count}

[[want]]
crops = ["lettuce-looseleaf"]
"""

MIDDLE = "length_m = 0.1\nwidth_m = 0.1\nx_m = 1.15\ny_m = 0.55"
OPEN = {
    "zone_length": 2.4, "zone_width": 1.2, "walls": 0.0, "rows": 1, "columns": 1, "place": MIDDLE,
    "ppf": 1000, "length": 1.2, "width": 0.6, "distance": 0.5, "count": 1,
}  # fmt: skip


@pytest.fixture
def ppfd(read_text, tables):
    """Return a function from changes of the open space to the PPFD of each site."""

    def light(**changes):
        space = read_text(SPACE.format(**(OPEN | changes)))
        return bed_lights(space, tables)[0]

    return light


@pytest.mark.parametrize(
    ("distance", "expected"), [(0.1, 1310.36), (0.3, 929.86), (0.5, 612.89), (1.0, 247.07), (2.0, 74.08)]
)
def test_a_site_under_the_middle_of_a_panel(ppfd, distance, expected):
    """A panel of 1.2 x 0.6 m and 1000 umol/s; values of a second program (numerical double integral)."""
    assert ppfd(distance=distance).site_ppfd_umol_m2_s == pytest.approx((expected,), abs=0.01)


def test_sites_beside_the_middle(ppfd):
    """0.3 and 0.6 m along, 0.5 m below the panel: 552.27 and 346.96 umol (the same second program)."""
    place = "length_m = 0.6\nwidth_m = 0.1\nx_m = 1.35\ny_m = 0.55"
    found = ppfd(columns=2, place=place).site_ppfd_umol_m2_s
    assert found == pytest.approx((552.267, 346.961), abs=0.02)


def test_a_far_lamp_is_a_point(ppfd):
    """5 m away a small lamp gives PPF / pi / 25 straight below (inverse square, cosine lamp)."""
    found = ppfd(distance=5.0, length=0.1, width=0.1).site_ppfd_umol_m2_s[0]
    assert found == pytest.approx(1000 / 3.14159265 / 25, rel=1e-3)


def test_white_walls_keep_the_light_in(ppfd):
    """A narrow box with near-mirror walls comes close to PPF / area, 1389 umol, an open shelf far from it."""
    box = {"zone_length": 1.2, "zone_width": 0.6, "place": "", "rows": 2, "columns": 3}
    open_shelf, white = ppfd(**box), ppfd(**box, walls=0.98)
    assert open_shelf.ppfd_umol_m2_s < 0.4 * 1000 / 0.72
    assert 0.9 * 1000 / 0.72 < white.ppfd_umol_m2_s < 1000 / 0.72


def test_a_bed_without_a_place_gets_the_mean(ppfd):
    """The place of a bed is not guessed: every site has the floor's mean, and the screen says so."""
    light = ppfd(place="", rows=2, columns=2)
    assert len(set(light.site_ppfd_umol_m2_s)) == 1
    assert "no x_m and y_m" in light.assumed[0].why


def test_two_lamps_in_a_row_shine_as_two(ppfd):
    """Two small lamps over the quarter points light those more than the middle between them."""
    place = "length_m = 1.8\nwidth_m = 0.1\nx_m = 0.3\ny_m = 0.55"
    found = ppfd(count=2, length=0.2, width=0.2, distance=0.25, columns=3, place=place).site_ppfd_umol_m2_s
    assert found[0] == pytest.approx(found[2])
    assert found[1] < 0.5 * found[0]
    assert ppfd(count=2).source == "spec sheet"


@pytest.mark.parametrize(
    ("walls", "brightest"),
    [([0.9, 0, 0, 0], (0, 2)), ([0, 0.9, 0, 0], (1, 3)), ([0, 0, 0.9, 0], (0, 1)), ([0, 0, 0, 0.9], (2, 3))],
    ids=["left", "right", "front", "back"],
)
def test_one_white_wall_lights_its_own_side(ppfd, walls, brightest):
    """Of four sites in a square, those beside the one white wall gain most: left, right, front, back."""
    box = {"zone_length": 1.2, "zone_width": 1.2, "length": 0.6, "rows": 2, "columns": 2, "ppf": 100}
    box["place"] = "length_m = 1.2\nwidth_m = 1.2\nx_m = 0\ny_m = 0"
    found = zip(ppfd(**box, walls=walls).site_ppfd_umol_m2_s, ppfd(**box).site_ppfd_umol_m2_s, strict=True)
    gains = [after / before for after, before in found]
    assert set(sorted(range(4), key=gains.__getitem__)[2:]) == set(brightest)
    assert min(gains) > 1
    assert min(gains[site] for site in brightest) > 1.1
