"""Light at each site from lamps of known size and place: records to points and panels, and the PPFD there."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cropcal.records.space import Bed, Fixture, Zone

Array = npt.NDArray[np.float64]

FLOOR_GRID = 15
"""Points along each side of the floor whose mean stands for a bed without a place of its own."""


@dataclass(frozen=True, eq=False)
class Panels:
    """The shining faces over one zone: corners and sizes (p, 2), photons (p,), distances (p,); in m."""

    corner_m: Array
    size_m: Array
    ppf_umol_s: Array
    distance_m: Array


def has_panels(fixtures: tuple[Fixture, ...]) -> bool:
    """Return whether the size of every lamp is known, so that geometry can give the light of each site."""
    return bool(fixtures) and all(lamp.length_m is not None and lamp.width_m is not None for lamp in fixtures)


def panels(
    zone: Zone, fixtures: tuple[Fixture, ...], ppf_umol_s: list[float], distances_m: list[float]
) -> Panels:
    """Return the panels over a zone.

    A fixture without a place hangs in the middle; several of one kind hang in a row, evenly along the zone's
    length. ``ppf_umol_s`` are the photons of all lamps of each fixture together.
    """
    corners, sizes, photons, distances = [], [], [], []
    for fixture, ppf, distance in zip(fixtures, ppf_umol_s, distances_m, strict=True):
        size = np.array([fixture.length_m or 0.0, fixture.width_m or 0.0])
        for number in range(fixture.count):
            middle_x = zone.length_m * (number + 0.5) / fixture.count
            x = middle_x - size[0] / 2 if fixture.x_m is None else fixture.x_m
            y = zone.width_m / 2 - size[1] / 2 if fixture.y_m is None else fixture.y_m
            corners.append([x, y])
            sizes.append(size)
            photons.append(ppf / fixture.count)
            distances.append(distance)
    return Panels(np.array(corners), np.array(sizes), np.array(photons), np.array(distances))


def site_points(bed: Bed, zone: Zone, rows: int, columns: int) -> Array | None:
    """Return the middle of each site on the zone's floor, (sites, 2) in m; None if the bed has no place.

    Sites are counted row by row from the front, each row from the left, as readings are.
    """
    if bed.x_m is None or bed.y_m is None or bed.length_m is None or bed.width_m is None:
        return None
    x = bed.x_m + bed.length_m * (np.arange(columns) + 0.5) / columns
    y = bed.y_m + bed.width_m * (np.arange(rows) + 0.5) / rows
    across, along = np.meshgrid(y, x, indexing="ij")
    return np.stack([along.ravel(), across.ravel()], axis=1)


def floor_points(zone: Zone) -> Array:
    """Return an even grid of points over the lit floor, shape (n, 2) in m."""
    steps = (np.arange(FLOOR_GRID) + 0.5) / FLOOR_GRID
    along, across = np.meshgrid(steps * zone.length_m, steps * zone.width_m)
    return np.stack([along.ravel(), across.ravel()], axis=1)


def ppfd_at(points_m: Array, lamps: Panels, zone: Zone) -> Array:
    """Return the PPFD at points of a zone's floor, between its four walls."""
    from cropcal.science import walls  # most lamps have no size, and need none of it

    return walls.walled_ppfd(
        points_m,
        lamps.corner_m,
        lamps.size_m,
        lamps.distance_m,
        lamps.ppf_umol_s,
        (zone.length_m, zone.width_m),
        zone.walls,
    )
