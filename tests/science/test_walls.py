"""Light by way of the walls: against plain sums over mirror images, and against what energy allows."""

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.science import light, walls
from cropcal.science.geometry import panel_ppfd

OPEN = (0.0, 0.0, 0.0, 0.0)
SHARE = st.floats(0.05, 0.95)


def over_floor(floor, places=24):
    """Return places on a floor and weights that make a sum over them a mean (Gauss's rule)."""
    at, weight = np.polynomial.legendre.leggauss(places)
    points = np.stack(np.meshgrid((at + 1) / 2, (at + 1) / 2, indexing="ij"), axis=-1).reshape(-1, 2)
    return points * floor, np.outer(weight, weight).ravel() / 4


def corner_factor(x, y, c):
    """Element facing a rectangle x × y at distance c, normal through a corner (signed by x and y)."""
    far_x, far_y = np.sqrt(x**2 + c**2), np.sqrt(y**2 + c**2)
    return (x / far_x * np.arctan(y / far_x) + y / far_y * np.arctan(x / far_y)) / (2 * np.pi)


def edges(start, size, room, low, high, order):
    """Return where a lamp's images begin and end along one axis, with signed weights, bounce by bounce."""
    places, weights = [], []
    for first, second, towards in ((low, high, -1), (high, low, 1)):
        begin, weight = start, 1.0
        for bounce in range(order + 1):
            if bounce or towards == 1:
                places += [begin, begin + size]
                weights += [-weight, weight]
            wall = 0.0 if towards == -1 else room
            wall += towards * bounce * room
            begin = 2 * wall - begin - size
            weight *= first if bounce % 2 == 0 else second
    return np.array(places), np.array(weights)


def plain_sum(points, corner, size, distance, ppf, floor, reflectance, order=200):
    """Sum every image up to ``order`` bounces along each axis at every point, one lamp."""
    x, x_weight = edges(corner[0], size[0], floor[0], *reflectance[:2], order)
    y, y_weight = edges(corner[1], size[1], floor[1], *reflectance[2:], order)
    x, x_weight = x[x_weight != 0], x_weight[x_weight != 0]
    y, y_weight = y[y_weight != 0], y_weight[y_weight != 0]
    seen = [x_weight @ corner_factor((x - px)[:, None], y - py, distance) @ y_weight for px, py in points]
    return np.array(seen) * ppf / (size[0] * size[1])


@pytest.mark.parametrize(
    ("floor", "corner", "size", "distance", "reflectance"),
    [
        ((1.2, 0.6), (0.1, 0.1), (1.0, 0.4), 0.4, (0.9, 0.9, 0.9, 0.9)),
        ((2.0, 1.0), (0.05, 0.05), (0.05, 0.9), 0.02, (0.9, 0.9, 0.9, 0.9)),
        ((0.5, 0.5), (0.4, 0.0), (0.1, 0.1), 0.5, (0.98, 0.98, 0.98, 0.98)),
        ((0.4, 0.3), (0.1, 0.1), (0.2, 0.1), 1.8, (0.98, 0.98, 0.98, 0.98)),
        ((3.0, 0.3), (0.2, 0.1), (0.4, 0.1), 0.3, (0.95, 0.5, 0.98, 0.9)),
        ((0.6, 1.2), (0.0, 0.0), (0.6, 1.2), 0.35, (0.9, 0.0, 0.8, 0.3)),
    ],
    ids=["foil box", "low lamp to one side", "corner lamp", "tall shaft", "long shelf", "open to the right"],
)
def test_as_accurate_as_it_says(floor, corner, size, distance, reflectance):
    """The light is within 0.1 % of a plain sum over 200 bounces, in corners and far from the lamp too."""
    points = np.array([[0, 0], [1, 1], [0, 1], [1, 0], [0.5, 0.5], [0.93, 0.31]]) * floor
    found = walls.walled_ppfd(points, [corner], [size], distance, 250, floor, reflectance)
    np.testing.assert_allclose(
        found, plain_sum(points, corner, size, distance, 250, floor, reflectance), rtol=walls.ACCURACY
    )


@given(
    length=st.floats(0.2, 4),
    shape=st.floats(0.15, 1),
    height=st.floats(0.03, 3),
    size=st.tuples(st.floats(0.02, 1), st.floats(0.02, 1)),
    place=st.tuples(st.floats(0, 1), st.floats(0, 1)),
    reflectance=st.tuples(*4 * [st.floats(0, 0.8)]),
)
@settings(max_examples=examples(40))
def test_accurate_in_any_space(length, shape, height, size, place, reflectance):
    """So it is in spaces of any shape, lamps of any size anywhere, and four unlike walls (50 bounces do)."""
    floor = (length, length * shape)
    size = np.array(size) * floor
    corner = np.array(place) * (floor - size)
    points = np.array([[0, 0], [1, 1], [0, 1], [1, 0], [0.6, 0.45]]) * floor
    distance = height * floor[1]
    found = walls.walled_ppfd(points, [corner], [size], distance, 100, floor, reflectance)
    expected = plain_sum(points, corner, size, distance, 100, floor, reflectance, order=50)
    np.testing.assert_allclose(found, expected, rtol=walls.ACCURACY)


def test_one_mirror_shows_the_lamp_once():
    """One wall adds one image behind it, weakened by its reflectance: worked out by hand."""
    points = [[0.1, 0.2], [1.0, 0.5]]
    direct = panel_ppfd(points, [[0.2, 0.1]], [[0.3, 0.4]], 0.4, 100)
    behind = {
        0: [[-0.5, 0.1]],  # left: x from -0.5 to -0.2
        1: [[1.9, 0.1]],  # right, at 1.2 m: x from 1.9 to 2.2
        2: [[0.2, -0.5]],  # front
        3: [[0.2, 0.7]],  # back, at 0.6 m: y from 0.7 to 1.1
    }
    for wall, corner in behind.items():
        reflectance = tuple(0.7 if side == wall else 0.0 for side in range(4))
        found = walls.walled_ppfd(points, [[0.2, 0.1]], [[0.3, 0.4]], 0.4, 100, (1.2, 0.6), reflectance)
        expected = direct + 0.7 * panel_ppfd(points, corner, [[0.3, 0.4]], 0.4, 100)
        np.testing.assert_allclose(found, expected, rtol=1e-9)


@pytest.mark.parametrize("height", [0.1, 0.3, 0.5, 1.0])
def test_open_sides_give_the_closed_form(height):
    """With black walls a lamp as wide as the floor lands the share F of two plates (Howell, C-11)."""
    floor = (1.2, 0.6)
    points, weight = over_floor(floor)
    found = walls.walled_ppfd(points, [[0, 0]], [floor], height, 1000, floor, OPEN) @ weight
    assert found == pytest.approx(1000 / 0.72 * light.parallel_plates_factor(1.2, 0.6, height), rel=1e-4)


SPACE = {
    "length": st.floats(0.4, 2),
    "shape": st.floats(0.4, 1),
    "height": st.floats(0.3, 2),
    "size": st.tuples(st.floats(0.1, 1), st.floats(0.1, 1)),
    "place": st.tuples(st.floats(0, 1), st.floats(0, 1)),
}


def space(length, shape, height, size, place):
    """Return floor, lamp corner and size, and distance, from shares of the floor's sides."""
    floor = np.array([length, length * shape])
    size = np.array(size) * floor
    return tuple(floor), np.array(place) * (floor - size), size, height * floor.min()


@given(**SPACE)
@settings(max_examples=examples(15))
def test_perfect_mirrors_lose_nothing(length, shape, height, size, place):
    """Between perfect mirrors all light lands: mean PPFD is photons over area, wherever the lamp hangs."""
    floor, corner, size, distance = space(length, shape, height, size, place)
    points, weight = over_floor(floor)
    found = walls.walled_ppfd(points, [corner], [size], distance, 100, floor, (1, 1, 1, 1)) @ weight
    assert found == pytest.approx(100 / (floor[0] * floor[1]), rel=0.005)


@given(**SPACE, moved=st.floats(0, 1), ends=st.floats(0, 0.9))
@settings(max_examples=examples(15))
def test_moving_a_lamp_between_mirrors_changes_no_mean(length, shape, height, size, place, moved, ends):
    """A lamp may move between a left and a right mirror: no mean changes, whatever the other walls do."""
    floor, corner, size, distance = space(length, shape, height, size, place)
    points, weight = over_floor(floor)
    aside = np.array([moved * (floor[0] - size[0]), corner[1]])
    here, there = (
        walls.walled_ppfd(points, [at], [size], distance, 100, floor, (1, 1, ends, ends)) @ weight
        for at in (corner, aside)
    )
    assert there == pytest.approx(here, rel=0.002)


@given(**SPACE, reflectance=st.tuples(*4 * [SHARE]), wall=st.integers(0, 3), better=st.floats(0.01, 0.05))
@settings(max_examples=examples(40))
def test_brighter_walls_never_dim_a_place(length, shape, height, size, place, reflectance, wall, better):
    """More reflection at any wall lifts every place, and none gets less than from the lamp alone."""
    floor, corner, size, distance = space(length, shape, height, size, place)
    points, weight = over_floor(floor, places=5)
    lamp = points, [corner], [size], distance, 100
    raised = tuple(share + better * (side == wall) for side, share in enumerate(reflectance))
    before, after = (walls.walled_ppfd(*lamp, floor, given) for given in (reflectance, raised))
    assert (after > before * (1 - walls.ACCURACY)).all()
    assert after @ weight > before @ weight
    assert (before > panel_ppfd(*lamp)).all()


@given(**SPACE, reflectance=st.tuples(*4 * [st.floats(0, 0.98)]))
@settings(max_examples=examples(20))
def test_a_space_seen_in_a_mirror_or_turned(length, shape, height, size, place, reflectance):
    """Left for right, or length for width: the same space seen otherwise has the same light."""
    floor, corner, size, distance = space(length, shape, height, size, place)
    points, _ = over_floor(floor, places=4)
    left, right, front, back = reflectance
    found = walls.walled_ppfd(points, [corner], [size], distance, 100, floor, reflectance)
    flipped = np.array([floor[0] - corner[0] - size[0], corner[1]])
    seen = [floor[0], 0] + points * [-1, 1]
    mirrored = walls.walled_ppfd(seen, [flipped], [size], distance, 100, floor, (right, left, front, back))
    turned = walls.walled_ppfd(
        points[:, ::-1], [corner[::-1]], [size[::-1]], distance, 100, floor[::-1], (front, back, left, right)
    )
    np.testing.assert_allclose(mirrored, found, rtol=1e-8)
    np.testing.assert_allclose(turned, found, rtol=1e-8)


def test_lamps_and_beds_at_their_own_distances():
    """Lamps add up between walls too, and a bed nearer to them has its own distance to each."""
    floor, foil = (1.2, 0.6), (0.8, 0.8, 0.8, 0.0)
    points = np.array([[0.2, 0.3], [0.7, 0.1], [1.0, 0.5]])
    corner, size, ppf = [[0.0, 0.0], [0.7, 0.1]], [[0.5, 0.5], [0.4, 0.4]], [80, 150]
    distance = np.array([[0.4, 0.5], [0.4, 0.5], [0.25, 0.35]])
    found = walls.walled_ppfd(points, corner, size, distance, ppf, floor, foil)
    for point in range(3):
        alone = [
            walls.walled_ppfd(
                points[[point]], [corner[i]], [size[i]], distance[point, i], ppf[i], floor, foil
            )[0]
            for i in range(2)
        ]
        assert found[point] == pytest.approx(sum(alone), rel=1e-9)


def test_foil_box_against_open_shelf():
    """Foil on all sides keeps over 85 % of a lamp's light, the same space without walls half of it."""
    floor = (1.2, 0.6)
    points, weight = over_floor(floor, places=12)
    shelf, box = (
        walls.walled_ppfd(points, [[0.1, 0.1]], [[1.0, 0.4]], 0.4, 230, floor, 4 * (share,)) @ weight
        for share in (0.0, 0.9)
    )
    assert shelf < 0.5 * 230 / 0.72
    assert 0.85 * 230 / 0.72 < box < 230 / 0.72


def test_far_from_any_wall_walls_do_nothing():
    """In a hall of 40 × 40 m a mirror at its edge adds nothing to the middle."""
    lamp = [[20, 20]], [[19.7, 19.7]], [[0.6, 0.6]], 0.5, 300
    assert walls.walled_ppfd(*lamp, (40, 40), (0.9,) * 4) == pytest.approx(panel_ppfd(*lamp), rel=1e-4)


def test_places_beyond_the_floor():
    """A place behind a reflecting wall is refused; without walls there is no behind."""
    lamp = [[-0.1, 0.3]], [[0.1, 0.1]], [[0.4, 0.4]], 0.4, 100, (1.2, 0.6)
    with pytest.raises(ValueError, match="points must lie on the floor"):
        walls.walled_ppfd(*lamp, (0.5, 0, 0, 0))
    assert walls.walled_ppfd(*lamp, OPEN)[0] > 0


@pytest.mark.parametrize("share", [-0.1, 1.01, float("nan")])
def test_reflectances_that_cannot_be(share):
    """A wall sends on no less than nothing and no more than it got."""
    with pytest.raises(ValueError, match="must lie from 0 to 1"):
        walls.walled_ppfd([[0.1, 0.1]], [[0, 0]], [[1, 1]], 0.4, 100, (1, 1), (0, share, 0, 0))


def test_walls_cost_little(monkeypatch):
    """10,000 places, 4 lamps, walls of 0.9: at most 100 lamp-images are summed at each place for each lamp.

    What that costs in time is measured by tests/benchmarks/bench_walls.py.
    """
    side = (np.arange(100) + 0.5) / 100
    points = np.stack(np.meshgrid(2 * side, side), axis=-1).reshape(-1, 2)
    lamps = [[0.5 * i, 0.1] for i in range(4)], 4 * [[0.4, 0.8]], 0.5, 100
    summed = []

    def counted(points_m, corner_m, *more):
        summed.append(len(points_m) * len(corner_m))
        return panel_ppfd(points_m, corner_m, *more)

    monkeypatch.setattr(walls, "panel_ppfd", counted)
    walls.walled_ppfd(points, *lamps, (2.0, 1.0), 4 * (0.9,))
    assert 4 * len(points) < sum(summed) <= 100 * 4 * len(points)
