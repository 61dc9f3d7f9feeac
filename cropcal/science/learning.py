"""Bayesian learning from harvests: a belief about this grower's factors, updated by each observation.

The factors are sums of parts, all in ln: one that all crops share, one of each crop, and the error of the
assumed light. The belief is a normal distribution of these parts; an observation updates it by one step of
the linearised Kalman filter (Kalman 1960, Journal of Basic Engineering 82:35-45).
"""

from dataclasses import dataclass
from math import erfc, exp, pi, sqrt
from typing import Final

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

HARVEST_SD: Final = 0.20
"""Noise of ln g a plant at a harvest, plants of a batch pooled (assumed)."""
EMERGENCE_NOISE_SD: Final = 0.15
"""Noise of ln days to emergence, if somebody looks every day or two (assumed)."""
DRIFT_SD: Final = 0.05
"""Spread that a year adds to the part that all crops share: lamps age, habits change (assumed)."""
DOUBTED_SD: Final = 3.0
"""Standard deviations from which an observation is asked about rather than used (common practice)."""


@dataclass(frozen=True, eq=False)
class Belief:
    """A normal distribution of n parts: ``mean`` of shape (n,), ``cov`` (n, n)."""

    mean: Array
    cov: Array


def prior(means: npt.ArrayLike, sds: npt.ArrayLike) -> Belief:
    """Return the belief before any observation: parts independent of each other."""
    return Belief(np.array(means, float), np.diag(np.square(np.asarray(sds, float))))


def mean_and_sd(belief: Belief, reaches: npt.ArrayLike) -> tuple[float, float]:
    """Return mean and standard deviation of a sum of parts, weighted by ``reaches``, shape (n,)."""
    weights = np.asarray(reaches, float)
    return float(weights @ belief.mean), float(np.sqrt(max(weights @ belief.cov @ weights, 0.0)))


def updated(belief: Belief, reaches: npt.ArrayLike, surprise: float, noise_sd: float) -> Belief:
    """Return the belief after an observation.

    Parameters
    ----------
    belief
        The belief before it.
    reaches
        Derivative of the ln of the observed value by each part, shape (n,).
    surprise
        ln of the observed value less ln of the value expected at the mean.
    noise_sd
        Standard deviation of ln of the observed value if all parts were known.
    """
    gain, spread2 = _gain(belief, reaches, noise_sd)
    return _moved(belief, gain, surprise, spread2)


def updated_at_most(belief: Belief, reaches: npt.ArrayLike, room: float, noise_sd: float) -> Belief:
    """Return the belief after an upper bound: the ln of a value is at most ``room`` above the expected one.

    "Not ready yet" is of this kind. The truncated distribution is replaced by the normal one of the same
    mean and variance (moments of a truncated normal: Johnson, Kotz & Balakrishnan 1994, Continuous Univariate
    Distributions 1, section 10.1). Other arguments as for ``updated``.
    """
    gain, spread2 = _gain(belief, reaches, noise_sd)
    sd = sqrt(spread2)
    at = room / sd
    pull = _hazard(at)
    return _moved(belief, gain, -sd * pull, spread2 * pull * (at + pull))


def aged(belief: Belief, part: int, years: float) -> Belief:
    """Return the belief after ``years`` years without observation: one part of it has a wider spread."""
    cov = belief.cov.copy()
    cov[part, part] += DRIFT_SD**2 * years
    return Belief(belief.mean, cov)


def _gain(belief: Belief, reaches: npt.ArrayLike, noise_sd: float) -> tuple[Array, float]:
    """Return the Kalman gain of each part, and the variance of the surprise."""
    weights = np.asarray(reaches, float)
    moves = belief.cov @ weights
    spread2 = float(weights @ moves) + noise_sd**2
    return moves / spread2, spread2


def _moved(belief: Belief, gain: Array, by: float, variance_lost: float) -> Belief:
    cov = belief.cov - np.outer(gain, gain) * variance_lost
    return Belief(belief.mean + gain * by, (cov + cov.T) / 2)


def _hazard(x: float) -> float:
    """Return φ(x) / Φ(x) of the standard normal distribution, also far in the lower tail."""
    if x < -25:
        return -x + 1 / -x  # Mills' ratio to second order
    return exp(-x * x / 2) / sqrt(2 * pi) / (erfc(-x / sqrt(2)) / 2)
