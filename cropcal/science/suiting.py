"""Suitability of light, day length and air for a crop, for many timers at once: one code each."""

from math import erf, sqrt
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int8]

RIGHT, SLOW, UNKNOWN, BURN, BOLT, HOT, DARK, GLARE, AIR = range(9)
"""From best to worst. Unknown: no published limit for so long a day. From BURN on the crop may fail, from
DARK on it will. Burnt leaf tips spoil leaves, the rest of the crop is eaten."""


class Limits(NamedTuple):
    """The limits of a crop. DLI in mol m⁻² d⁻¹, hours of day, air in °C.

    Below ``dark_dli`` it is not worth growing. ``least_dli`` is the least that was tested; below
    ``enough_dli`` it is slow, above ``ceiling_dli`` its leaf tips may burn, above ``far_dli`` it is spoilt.
    ``longest_h`` is nan without a published limit; then days over ``watched_h`` are unknown. ``quality_c`` is
    infinite if there is none.
    """

    dark_dli: float
    least_dli: float
    enough_dli: float
    ceiling_dli: float
    far_dli: float
    longest_h: float
    watched_h: float
    base_c: float
    max_c: float
    quality_c: float


def codes(
    dli_mol_m2_d: npt.ArrayLike,
    seen_h: npt.ArrayLike,
    mean_air_c: npt.ArrayLike,
    lamp_on_air_c: npt.ArrayLike,
    limits: Limits,
) -> Codes:
    """Return the worst code that applies to each timer; the inputs broadcast.

    Growth follows the mean air of the day (Mortensen 2014); the air while the lamp is on must only stay below
    the temperature at which the crop stops growing.
    """
    dli, day_h, mean, top = np.broadcast_arrays(dli_mol_m2_d, seen_h, mean_air_c, lamp_on_air_c)
    code = np.zeros(dli.shape, np.int8)
    code[dli < limits.enough_dli] = SLOW
    if np.isnan(limits.longest_h):
        code[day_h > limits.watched_h] = UNKNOWN
    code[dli > limits.ceiling_dli] = BURN
    code[(mean > limits.quality_c) | (top >= limits.max_c)] = HOT
    if not np.isnan(limits.longest_h):
        code[day_h > limits.longest_h] = BOLT
    code[dli < limits.dark_dli] = DARK
    code[dli > limits.far_dli] = GLARE
    code[(mean <= limits.base_c) | (mean >= limits.max_c)] = AIR
    return code


def dominant_code(per_group: Codes, sites: npt.ArrayLike) -> Codes:
    """Return the one code of a crop whose sites are in groups of similar light.

    Codes from BURN on count from half of the sites on, slowness and doubt on more than half; of several codes
    the one with most sites is returned, of equal ones the worst.

    Parameters
    ----------
    per_group
        Shape (groups, ...).
    sites
        Sites of each group, shape (groups,).
    """
    weight = np.asarray(sites, float).reshape(-1, *(1,) * (per_group.ndim - 1))
    share = np.stack([((per_group == code) * weight).sum(axis=0) for code in range(AIR + 1)]) / weight.sum()
    half = 0.5 - 1e-9
    forbids, worse = share[DARK:].sum(axis=0) >= half, share[BURN:].sum(axis=0) >= half
    grave = np.where(forbids, DARK + _last_most(share[DARK:]), BURN + _last_most(share[BURN:]))
    unknown, slow = share[UNKNOWN:].sum(axis=0) > 0.5, share[SLOW:].sum(axis=0) > 0.5
    mild = np.where(unknown, UNKNOWN, np.where(slow, SLOW, RIGHT))
    return np.where(forbids | worse, grave, mild).astype(np.int8)


def _last_most(share: Array) -> npt.NDArray[np.int64]:
    """Return the index of the largest row, of equal ones the last."""
    return np.asarray(len(share) - 1 - share[::-1].argmax(axis=0))


def chance_between(low: float, high: float, middle: npt.ArrayLike, sd_ln: npt.ArrayLike) -> Array:
    """Return the probability that a log-normal number (middle, sd of its ln) lies from low to high."""
    return np.asarray(_below(high, middle, sd_ln) - _below(low, middle, sd_ln))


def _below(limit: float, middle: npt.ArrayLike, sd_ln: npt.ArrayLike) -> Array:
    away = np.asarray(np.log(limit / np.asarray(middle, float)) / np.asarray(sd_ln, float))
    return np.asarray(0.5 * (1 + np.vectorize(erf, otypes=[float])(away / sqrt(2))))
