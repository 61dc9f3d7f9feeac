"""Light reflected by the walls: the mirror images of each lamp, summed to a stated accuracy."""

from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
from numpy.polynomial import chebyshev, legendre

from cropcal.science.distinct import distinct
from cropcal.science.geometry import panel_ppfd

Array = npt.NDArray[np.float64]

ACCURACY: Final = 1e-3
"""Largest relative error of the light at a point against the sum over all images up to 200 bounces."""

_MOST_BOUNCES: Final = 200
_LEFT_OUT: Final = 3e-4  # share of the dimmest point's light that may be left out along each axis
_NODES: Final = 6  # places along each axis of the floor at which far images are summed
_PLACES, _SHARES = legendre.leggauss(2)  # points along each axis that stand for a far image


class _Images(NamedTuple):
    """A lamp and its images along one axis: where each begins, its weight, how many bounces away."""

    start_m: Array
    weight: Array
    bounces: npt.NDArray[np.int_]


def walled_ppfd(
    points_m: npt.ArrayLike,
    corner_m: npt.ArrayLike,
    size_m: npt.ArrayLike,
    distance_m: npt.ArrayLike,
    ppf_umol_s: npt.ArrayLike,
    floor_m: tuple[float, float],
    reflectance: tuple[float, float, float, float],
) -> Array:
    """Return the PPFD at points of a floor under flat lamps between four upright walls.

    Each wall is taken as a smooth mirror that reflects a share of the light, from the plane of the
    lamps down to that of the points. Seen from a point, it shows the lamps again behind it, and the
    other walls' images too: a grid of images, each weakened by every wall its light met. Floor and
    canopy absorb all light, and nothing comes back from above. White walls scatter rather
    than mirror; that is left out, and so is any gap below the walls.

    Images within the longer side of the floor are summed at every point, with closed-form corner
    factors. Those farther off change smoothly over the floor: they are summed at 6 × 6 places, each
    image as 2 × 2 points, and interpolated. How many are summed follows from what the rest can send
    (see `_orders`), 200 bounces along each axis at most: with perfect mirrors the light that this
    cap leaves out stays below 0.1 % while the walls are up to five times as high as the floor's
    shorter side is long.

    Parameters
    ----------
    points_m
        Places on the floor, x and y in m from its front left corner, shape (n, 2).
    corner_m, size_m, distance_m, ppf_umol_s
        The lamps, as for `cropcal.science.geometry.panel_ppfd`; they hang over the floor. Time grows
        with the number of different distances.
    floor_m
        Length along x and width along y of the lit floor, at whose edges the walls stand, m.
    reflectance
        Reflectances of the left (x = 0), right, front (y = 0) and back walls, 0 to 1; 0 is an open side.

    Returns
    -------
    Array
        µmol m⁻² s⁻¹, shape (n,).

    Raises
    ------
    ValueError
        If a reflectance is below 0 or above 1, or if walls reflect and a point lies beyond the floor.
    """
    points, corner, size = (np.asarray(value, float) for value in (points_m, corner_m, size_m))
    floor = np.asarray(floor_m, float)
    walls = np.asarray(reflectance, float).reshape(2, 2)
    if not ((walls >= 0) & (walls <= 1)).all():
        raise ValueError(f"reflectances must lie from 0 to 1, not {reflectance}")
    if not walls.any():
        return panel_ppfd(points, corner, size, distance_m, ppf_umol_s)
    if not ((points >= -1e-9) & (points <= floor + 1e-9)).all():
        raise ValueError("between walls, points must lie on the floor")
    distance = np.broadcast_to(np.asarray(distance_m, float), (len(points), len(size)))
    ppf = np.broadcast_to(np.asarray(ppf_umol_s, float), len(size))
    total = np.zeros(len(points))
    for c in distinct(distance):
        near = np.ceil(floor.max() / floor).astype(int)
        orders = np.maximum(near, _orders(floor, walls, c))
        for panel in range(len(size)):
            here = distance[:, panel] == c
            along, across = (
                _images(corner[panel, axis], size[panel, axis], floor[axis], walls[axis], orders[axis])
                for axis in (0, 1)
            )
            per_photon = _near(points[here], along, across, near, size[panel], c)
            per_photon += _far(points[here], along, across, near, size[panel], c, floor)
            total[here] += ppf[panel] * per_photon
    return total


def _images(start: float, size: float, room: float, walls: Array, order: int) -> _Images:
    """Return a lamp's images along one axis with up to ``order`` bounces; those without light left out.

    Every second image is turned round; its light met the wall on its own side once more than the other.
    """
    cell = np.arange(-order, order + 1)
    bounces = np.abs(cell)
    starts = np.where(bounces % 2, (cell + 1) * room - start - size, cell * room + start)
    own, other = np.where(cell > 0, walls[1], walls[0]), np.where(cell > 0, walls[0], walls[1])
    weight = own ** ((bounces + 1) // 2) * other ** (bounces // 2)
    lit = weight > 0
    return _Images(starts[lit], weight[lit], bounces[lit])


def _orders(floor: Array, walls: Array, c: float) -> npt.NDArray[np.int_]:
    """Return after how many bounces along x and y the images may be left out.

    What lies beyond n bounces along an axis sends at most the weight after n + 1 bounces times what an
    endless sheet would send from beyond n cells, 1 - d / √(d² + c²) with d = n cells: the lamp's light
    spread evenly over each cell, the other walls perfect mirrors. The dimmest a point can be is every
    lamp at the far end of its cell.
    """
    n = np.arange(_MOST_BOUNCES + 1)
    low_first = walls[:, :1] ** ((n + 1) // 2) * walls[:, 1:] ** (n // 2)
    high_first = walls[:, 1:] ** ((n + 1) // 2) * walls[:, :1] ** (n // 2)
    both = np.where(n, low_first + high_first, 1)
    reach = ((n + 1) * floor[:, None]) ** 2
    kernel = 1 / np.square(reach[0][:, None] + reach[1] + c**2)
    dimmest = floor.prod() * c**2 / np.pi * (both[0] @ kernel @ both[1])
    d = n * floor[:, None]
    beyond = 1 - d / np.hypot(d, c)
    left_out = np.maximum(low_first, high_first)[:, 1:] * beyond[:, :-1]
    few_enough = left_out <= _LEFT_OUT * dimmest
    return np.where(few_enough.any(axis=1), few_enough.argmax(axis=1), _MOST_BOUNCES)


def _near(
    points: Array, along: _Images, across: _Images, near: npt.NDArray[np.int_], size: Array, c: float
) -> Array:
    """Return the PPFD per µmol s⁻¹ of the images within ``near`` bounces, exactly."""
    x, y = along.bounces <= near[0], across.bounces <= near[1]
    starts = np.meshgrid(along.start_m[x], across.start_m[y], indexing="ij")
    corners = np.stack(starts, axis=-1).reshape(-1, 2)
    weights = np.outer(along.weight[x], across.weight[y]).ravel()
    return panel_ppfd(points, corners, np.broadcast_to(size, corners.shape), c, weights)


def _far(
    points: Array,
    along: _Images,
    across: _Images,
    near: npt.NDArray[np.int_],
    size: Array,
    c: float,
    floor: Array,
) -> Array:
    """Return the PPFD per µmol s⁻¹ of the other images, interpolated between places on the floor."""
    x, x_weight, x_far = _as_points(along, size[0], near[0])
    y, y_weight, y_far = _as_points(across, size[1], near[1])
    places = chebyshev.chebpts1(_NODES)
    at_places = np.empty((_NODES, _NODES))
    for i, x_place in enumerate((places + 1) / 2 * floor[0]):
        x2 = ((x - x_place) ** 2)[:, None]
        for j, y_place in enumerate((places + 1) / 2 * floor[1]):
            y2 = (y - y_place) ** 2 + c**2
            beside = 1 / np.square(x2[x_far] + y2[~y_far]) @ y_weight[~y_far]
            beyond = 1 / np.square(x2 + y2[y_far]) @ y_weight[y_far]
            at_places[i, j] = x_weight[x_far] @ beside + x_weight @ beyond
    turn = np.linalg.inv(chebyshev.chebvander(places, _NODES - 1))
    x_terms, y_terms = chebyshev.chebvander(2 * points / floor - 1, _NODES - 1).swapaxes(0, 1)
    ppfd: Array = c**2 / np.pi * (x_terms @ (turn @ at_places @ turn.T) * y_terms).sum(axis=1)
    return ppfd


def _as_points(images: _Images, size: float, near: int) -> tuple[Array, Array, npt.NDArray[np.bool_]]:
    """Return Gauss points for images along one axis: their places, weights, and whether they are far."""
    places = images.start_m[:, None] + size / 2 * (1 + _PLACES)
    weights = images.weight[:, None] * _SHARES / 2
    return places.ravel(), weights.ravel(), np.repeat(images.bounces > near, len(_PLACES))
