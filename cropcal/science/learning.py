"""What harvests teach: a belief about one grower's speed, moved by each thing that was seen.

A speed is ln of how much faster than the book plants grow here: a part that all crops of the grower share,
and a part of each crop. The belief is a normal distribution of these parts; what is seen moves it by one
step of the linearised Kalman filter (Kalman 1960, Journal of Basic Engineering 82:35-45). Days to emergence
are learned in the same way, with parts of their own.
"""

from dataclasses import dataclass
from math import erfc, exp, pi, sqrt
from typing import Final

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

HARVEST_SD: Final = 0.20
"""Noise of ln g a plant at a harvest, plants of a batch pooled (assumed)."""
EMERGED_SD: Final = 0.15
"""Noise of ln days to emergence, as far as somebody looks once a day or two (assumed)."""
DRIFT_SD: Final = 0.05
"""What a year adds to the spread of the shared part: lamps age, habits change (assumed)."""
ASKED_ABOUT: Final = 3.0
"""Standard deviations from which what was seen is asked about rather than believed (common practice)."""


@dataclass(frozen=True, eq=False)
class Belief:
    """A normal distribution of the shared part (place 0) and one part a crop (places 1 to n).

    ``mean`` has shape (n + 1,), ``cov`` (n + 1, n + 1).
    """

    mean: Array
    cov: Array


def prior(crops: int, mean: float, sd_shared: float, sd_crop: float) -> Belief:
    """Return the belief before anything was seen: parts independent of each other."""
    means = np.zeros(crops + 1)
    means[0] = mean
    return Belief(means, np.diag([sd_shared**2, *[sd_crop**2] * crops]))


def of_crop(belief: Belief, crop: int) -> tuple[float, float]:
    """Return mean and standard deviation of the speed of a crop, its place counted from 0."""
    place = crop + 1
    variance = belief.cov[0, 0] + 2 * belief.cov[0, place] + belief.cov[place, place]
    return float(belief.mean[0] + belief.mean[place]), float(np.sqrt(max(variance, 0.0)))


def expected_sd(belief: Belief, crop: int, slope: float, noise_sd: float) -> float:
    """Return how far from the expected something seen usually lies, in ln: belief and noise together."""
    return float(np.hypot(slope * of_crop(belief, crop)[1], noise_sd))


def seen(belief: Belief, crop: int, slope: float, surprise: float, noise_sd: float) -> Belief:
    """Return the belief after something of a crop was seen.

    Parameters
    ----------
    belief
        What was believed.
    crop
        Place of the crop, from 0.
    slope
        Change of the ln of what is seen with the crop's speed.
    surprise
        ln of what was seen less ln of what was expected at the mean.
    noise_sd
        Standard deviation of what is seen, were the speed known.
    """
    gain, spread2 = _gain(belief, crop, slope, noise_sd)
    return _moved(belief, gain, surprise, spread2)


def at_most(belief: Belief, crop: int, slope: float, room: float, noise_sd: float) -> Belief:
    """Return the belief after it was seen that the ln of something is at most ``room`` above the expected.

    "Not ready yet" is of this kind. The distribution cut off there is replaced by the normal one of the same
    mean and variance (moments of a truncated normal: Johnson, Kotz & Balakrishnan 1994, Continuous Univariate
    Distributions 1, section 10.1). Other arguments as for ``seen``.
    """
    gain, spread2 = _gain(belief, crop, slope, noise_sd)
    sd = sqrt(spread2)
    at = room / sd
    pull = _hazard(at)
    return _moved(belief, gain, -sd * pull, spread2 * pull * (at + pull))


def aged(belief: Belief, years: float) -> Belief:
    """Return the belief after so many years in which nothing was seen: its shared part is less sure."""
    cov = belief.cov.copy()
    cov[0, 0] += DRIFT_SD**2 * years
    return Belief(belief.mean, cov)


def _gain(belief: Belief, crop: int, slope: float, noise_sd: float) -> tuple[Array, float]:
    """Return how much each part moves for one unit of surprise, and the variance of the surprise."""
    reaches = np.zeros(len(belief.mean))
    reaches[[0, crop + 1]] = slope
    along = belief.cov @ reaches
    spread2 = float(reaches @ along) + noise_sd**2
    return along / spread2, spread2


def _moved(belief: Belief, gain: Array, by: float, variance_lost: float) -> Belief:
    cov = belief.cov - np.outer(gain, gain) * variance_lost
    return Belief(belief.mean + gain * by, (cov + cov.T) / 2)


def _hazard(x: float) -> float:
    """Return φ(x) / Φ(x) of the standard normal distribution, also far in the lower tail."""
    if x < -25:
        return -x + 1 / -x  # Mills' ratio to second order
    return exp(-x * x / 2) / sqrt(2 * pi) / (erfc(-x / sqrt(2)) / 2)
