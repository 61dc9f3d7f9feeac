"""Uncertainty of numbers: spreads from bounds, and 80 % ranges from the spreads of the inputs."""

from collections.abc import Callable
from math import log
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from cropcal.units import Z_80

Array = npt.NDArray[np.float64]
Outcome = Callable[[npt.ArrayLike, npt.ArrayLike, npt.ArrayLike], Array]
"""(shift of ln speed, shift of ln PPFD, shift of ln emergence days) -> masses or days after sowing."""


def range_80(
    outcome: Outcome,
    sd_ln_speed: npt.ArrayLike,
    sd_ln_light: npt.ArrayLike,
    sd_ln_emergence: npt.ArrayLike,
) -> tuple[Array, Array, Array]:
    """Return (low, middle, high) of a positive outcome, low to high its middle 80 %.

    A delta method without linearising: each source alone is moved to its own 10 % and 90 % point;
    the changes of ln outcome that follow are added as squares, rises and falls apart. Exact for one
    source, and the plain delta method where ln outcome is linear in all. Sources are independent and
    log-normal (assumed).

    Parameters
    ----------
    outcome
        Function from shifts of ln speed, ln PPFD and ln emergence days to masses or days, any shape.
        Shifts are 0 or in the shape of the standard deviations.
    sd_ln_speed, sd_ln_light, sd_ln_emergence
        Standard deviations, scalars or one a sowing, shape (n,). For ln speed usually
        hypot(GROWER_SD, CROP_SD).

    Returns
    -------
    tuple of Array
        In the outcome's shape. Where the middle is 0 (before emergence) or infinite (never ready) all
        three are.

    Examples
    --------
    The outcome closes over everything else, here n sowings of S stages::

        def ready_d(speed, light, emergence):
            dli = capped_dli(dli_stages * np.exp(light)[..., None], enriched)
            c, k = rates((eps * np.exp(home + speed))[:, None], dli, photoperiod_stages, f_t[:, None])
            return day_of_mass(dry_g, emergence_d * np.exp(emergence), w0_g, ends, density, c, k)
    """
    middle = np.asarray(outcome(0.0, 0.0, 0.0), float)
    sources = [Z_80 * np.asarray(sd, float) for sd in (sd_ln_speed, sd_ln_light, sd_ln_emergence)]
    rise = fall = np.zeros_like(middle)
    for place, shift in enumerate(sources):
        up, down = (
            _ln_change(middle, outcome(*(sign * shift if at == place else 0.0 for at in range(3))))
            for sign in (1, -1)
        )
        rise = rise + np.maximum(np.maximum(up, down), 0) ** 2
        fall = fall + np.minimum(np.minimum(up, down), 0) ** 2
    return middle * np.exp(-np.sqrt(fall)), middle, middle * np.exp(np.sqrt(rise))


def sd_of_limits(low: npt.ArrayLike, high: npt.ArrayLike) -> Array:
    """Return the sd of ln of a value, uniform in ln between two limits: their ln distance / √12."""
    sd: Array = np.abs(np.log(np.asarray(high, float) / np.asarray(low, float))) / np.sqrt(12)
    return sd


def sd_of_range(low: npt.ArrayLike, high: npt.ArrayLike) -> Array:
    """Return the sd of ln of a log-normal value whose middle 80 % lies between two bounds."""
    sd: Array = np.abs(np.log(np.asarray(high, float) / np.asarray(low, float))) / (2 * Z_80)
    return sd


def range_not_before(
    low: npt.ArrayLike, middle: npt.ArrayLike, high: npt.ArrayLike, passed: float
) -> tuple[Array, Array, Array]:
    """Return the 80 % range of a day that is known not to have come until ``passed``.

    The day was log-normal with its middle 80 % from low to high; truncated at ``passed``, its 10, 50 and 90 %
    points are returned, none before ``passed``. Days of any shape, > 0.
    """
    usual = NormalDist()
    sd = np.maximum(sd_of_range(low, high), 1e-6)
    gone = [usual.cdf(float(z)) for z in np.ravel(np.log(max(passed, 1e-9) / np.asarray(middle, float)) / sd)]
    shape = np.shape(middle)
    points = []
    for share in (0.1, 0.5, 0.9):
        z = [usual.inv_cdf(min(share + (1 - share) * share_gone, 1 - 1e-12)) for share_gone in gone]
        day = np.asarray(middle, float) * np.exp(sd * np.reshape(z, shape))
        points.append(np.maximum(day, passed))
    return points[0], points[1], points[2]


def _ln_change(middle: Array, shifted: Array) -> Array:
    """Return ln shifted - ln middle; 0 where the middle has no finite logarithm."""
    usable = np.isfinite(middle) & (middle > 0)
    with np.errstate(divide="ignore"):
        change: Array = np.where(usable, np.log(shifted) - np.log(np.where(usable, middle, 1.0)), 0.0)
    return change


def chance_above(limit: float, middle: float, sd_ln: float) -> float:
    """Return the probability that a log-normal number (its median, sd of its ln) lies above a limit."""
    if middle <= 0 or limit <= 0:
        return float(limit <= middle)
    if sd_ln <= 0:
        return float(middle >= limit)
    return NormalDist().cdf(log(middle / limit) / sd_ln)
