"""Light at the plants: daily sums, the share of a lamp's light on the floor, readings spread over sites."""

from math import sqrt
from typing import Final

import numpy as np
import numpy.typing as npt

from cropcal.science.geometry import rectangle_factor
from cropcal.units import MOL_PER_UMOL_H

Array = npt.NDArray[np.float64]

LN_SD: Final = {
    "readings": 0.05,
    "lux meter": 0.10,
    "spec sheet": 0.20,
    "phone lux": 0.25,
    "watts meter": 0.35,
    "watts label": 0.50,
}
"""Spread (standard deviation of ln PPFD) by the source of the light value: read with a PAR meter; with a lux
meter under a known lamp; from a spec sheet's photons; in lux by a phone; from watts measured at the
wall; from watts on the label. All assumed."""

METER_LN_SD: Final = 0.03
"""Spread of watts read with a plug meter (assumed)."""
LABEL_LN_SD: Final = sqrt(LN_SD["watts label"] ** 2 - LN_SD["watts meter"] ** 2 + METER_LN_SD**2)
"""Spread of watts by the label: what the spread of light by the label has more than that by the meter."""


def dli(ppfd_umol_m2_s: npt.ArrayLike, photoperiod_h: npt.ArrayLike) -> Array:
    """Return the daily light integral in mol m⁻² d⁻¹ (definition: PPFD × hours × 0.0036)."""
    daily: Array = np.asarray(ppfd_umol_m2_s, float) * np.asarray(photoperiod_h, float) * MOL_PER_UMOL_H
    return daily


def photoperiod_for(dli_mol_m2_d: npt.ArrayLike, ppfd_umol_m2_s: npt.ArrayLike) -> Array:
    """Return the hours a day that give a DLI at a PPFD; over 24 if no day is long enough.

    Without light the answer is infinite (nan if no light is wanted either).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(dli_mol_m2_d, float) / (np.asarray(ppfd_umol_m2_s, float) * MOL_PER_UMOL_H)


def ppfd_for(dli_mol_m2_d: npt.ArrayLike, photoperiod_h: npt.ArrayLike) -> Array:
    """Return the PPFD in µmol m⁻² s⁻¹ that gives a DLI in ``photoperiod_h`` hours (infinite in 0 h)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(dli_mol_m2_d, float) / (np.asarray(photoperiod_h, float) * MOL_PER_UMOL_H)


def parallel_plates_factor(
    length_m: npt.ArrayLike, width_m: npt.ArrayLike, distance_m: npt.ArrayLike
) -> Array:
    """Return the share of light that goes directly from a panel to an equal floor below it.

    Configuration factor of two equal parallel rectangles face to face, uniform and Lambertian
    (Howell, A Catalog of Radiation Heat Transfer Configuration Factors, C-11; Hamilton & Morgan
    1952, NACA TN-2836). Unitless, 0 to 1; all three lengths in m and above zero.
    """
    x = np.asarray(length_m, float) / np.asarray(distance_m, float)
    y = np.asarray(width_m, float) / np.asarray(distance_m, float)
    across_x, across_y = np.sqrt(1 + x**2), np.sqrt(1 + y**2)
    corners = 0.5 * np.log((1 + x**2) * (1 + y**2) / (1 + x**2 + y**2))
    sides = x * across_y * np.arctan(x / across_y) + y * across_x * np.arctan(y / across_x)
    factor: Array = 2 / (np.pi * x * y) * (corners + sides - x * np.arctan(x) - y * np.arctan(y))
    return factor


def landing_share(
    length_m: npt.ArrayLike, width_m: npt.ArrayLike, distance_m: npt.ArrayLike, reflectance: npt.ArrayLike
) -> Array:
    """Return the share of a lamp's light that reaches the lit floor, directly or by its walls.

    A lamp as wide as the lit floor is assumed, and so is the sum over wall bounces: light that
    misses the floor meets a wall, a share ``reflectance`` (0 to 1) of it comes back, and of that the
    same share F lands: F / (1 - (1 - F) r). Open sides (r = 0) give F, perfect mirrors (r = 1) give
    1. Between the two it is on the low side: smooth mirrors, image by image, land up to a quarter to
    a third more in a space as high as wide, a few per cent more under a close lamp.
    """
    return _with_walls(parallel_plates_factor(length_m, width_m, distance_m), reflectance)


def small_lamp_share(
    length_m: npt.ArrayLike, width_m: npt.ArrayLike, distance_m: npt.ArrayLike, reflectance: npt.ArrayLike
) -> Array:
    """Return the same share for a small lamp over the middle of the floor: the most that can land.

    Straight, it is the configuration factor from a level point to the floor, its middle straight below
    (four times `cropcal.science.geometry.corner_factor`); by the walls as in `landing_share`.
    """
    x, y = np.asarray(length_m, float) / 2, np.asarray(width_m, float) / 2
    return _with_walls(rectangle_factor(-x, x, -y, y, distance_m), reflectance)


def _with_walls(straight: Array, reflectance: npt.ArrayLike) -> Array:
    share: Array = straight / (1 - (1 - straight) * np.asarray(reflectance, float))
    return share


def mixed_lux_per_umol(ppf_umol_s: npt.ArrayLike, lux_per_umol: npt.ArrayLike) -> float:
    """Return the lux per µmol m⁻² s⁻¹ under several lamps at once: each weighs by its photons.

    Lux adds up and so does PPFD, so the factor of a mixture is Σ PPF f / Σ PPF; where each lamp has the
    same share of its light at the place. Both arguments of shape (lamps,).
    """
    return float(np.average(np.asarray(lux_per_umol, float), weights=np.asarray(ppf_umol_s, float)))


def mean_ppfd(ppf_umol_s: npt.ArrayLike, share: npt.ArrayLike, area_m2: npt.ArrayLike) -> Array:
    """Return the mean PPFD in µmol m⁻² s⁻¹ when a share of a lamp's photons lands on an area."""
    ppfd: Array = np.asarray(ppf_umol_s, float) * np.asarray(share, float) / np.asarray(area_m2, float)
    return ppfd


def ppf_from_watts(watts: npt.ArrayLike, efficacy_umol_j: npt.ArrayLike) -> Array:
    """Return a lamp's photons in µmol s⁻¹ from its watts at the wall and its efficacy in µmol J⁻¹."""
    photons: Array = np.asarray(watts, float) * np.asarray(efficacy_umol_j, float)
    return photons


def site_values(grid: npt.ArrayLike, rows: int, columns: int) -> Array:
    """Return an even grid of readings as values at the centres of rows × columns equal sites.

    Parameters
    ----------
    grid
        Readings at the centres of an even grid over the bed, shape (any rows, any columns).
    rows, columns
        The bed's sites; they too divide it evenly.

    Returns
    -------
    Array
        Bilinear between readings, constant beyond the outer ones; shape (rows * columns,), row by
        row. A grid of the sites' own shape comes back unchanged.
    """
    down = _between_centres(np.asarray(grid, float), rows)
    return _between_centres(down.T, columns).T.ravel()


def sites_beyond(shape: tuple[int, int], rows: int, columns: int) -> int:
    """Return how many of rows × columns sites lie outside the centres of a coarser even grid of readings.

    In a direction with as many readings as sites, or more, none do.
    """
    inside = [
        sum(_within(site, have, count) for site in range(count))
        for have, count in zip(shape, (rows, columns), strict=True)
    ]
    return rows * columns - inside[0] * inside[1]


def _within(site: int, have: int, count: int) -> bool:
    place = (site + 0.5) * have / count - 0.5
    return have >= count or -1e-9 <= place <= have - 1 + 1e-9


def _between_centres(values: Array, count: int) -> Array:
    """Interpolate the rows of a table at the centres of ``count`` equal cells in their stead."""
    have = values.shape[0]
    place = np.clip((np.arange(count) + 0.5) * have / count - 0.5, 0, have - 1)
    low = np.floor(place).astype(int)
    high = np.minimum(low + 1, have - 1)
    share = (place - low)[:, None]
    mixed: Array = values[low] * (1 - share) + values[high] * share
    return mixed
