"""Whether two small groups differ by more than chance: Welch's test, and the group size it would need."""

from math import exp, lgamma, log, sqrt
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

SIGNIFICANCE: Final = 0.05
"""Highest chance of so large a difference by noise alone at which it counts as significant (convention)."""
POWER: Final = 0.8
MOST_TERMS, EXACT = 1000, 1e-15
MOST: Final = 200
"""More in each group than this nobody grows."""


class Welch(NamedTuple):
    """Second group less first: difference, its standard error, degrees of freedom, chance by noise alone."""

    difference: float
    se: float
    df: float
    p: float

    def range_of(self, share: float) -> tuple[float, float]:
        """Return the range that holds the true difference in that share of cases."""
        reach = t_quantile(0.5 + share / 2, self.df) * self.se
        return self.difference - reach, self.difference + reach


def welch(first: ArrayLike, second: ArrayLike) -> Welch:
    """Return how two groups differ whose spreads need not be alike.

    Welch BL 1947, "The generalization of 'Student's' problem when several different population variances are
    involved", Biometrika 34:28-35; degrees of freedom: Satterthwaite 1946, Biometrics Bulletin 2:110-114.

    Parameters
    ----------
    first, second
        Values of either group, two or more each.

    Raises
    ------
    ValueError
        If a group has fewer than two values: then noise and difference cannot be distinguished.
    """
    a, b = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    if min(len(a), len(b)) < 2:
        message = f"two values in each group are needed, not {len(a)} and {len(b)}"
        raise ValueError(message)
    parts = a.var(ddof=1) / len(a), b.var(ddof=1) / len(b)
    difference, total = float(b.mean() - a.mean()), float(sum(parts))
    if total == 0:
        return Welch(difference, 0.0, float(len(a) + len(b) - 2), 1.0 if difference == 0 else 0.0)
    df = total**2 / (parts[0] ** 2 / (len(a) - 1) + parts[1] ** 2 / (len(b) - 1))
    se = sqrt(total)
    return Welch(difference, se, float(df), 2 * t_tail(abs(difference) / se, float(df)))


def t_tail(t: float, df: float) -> float:
    """Return the chance that Student's t exceeds a value from 0 on: half an incomplete beta (DLMF 8.17)."""
    return 0.5 * _incomplete_beta(df / 2, 0.5, df / (df + t * t))


def t_quantile(chance: float, df: float) -> float:
    """Return the t below which that chance lies; chance from 0.5 to less than 1."""
    low, high = 0.0, 1.0
    while t_tail(high, df) > 1 - chance:
        high *= 2
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if t_tail(middle, df) > 1 - chance else (low, middle)
    return (low + high) / 2


def _incomplete_beta(a: float, b: float, x: float) -> float:
    """Return the regularised incomplete beta function by its continued fraction (DLMF 8.17.22)."""
    if x <= 0 or x >= 1:
        return 0.0 if x <= 0 else 1.0
    if x > (a + 1) / (a + b + 2):
        return 1 - _incomplete_beta(b, a, 1 - x)
    front = exp(a * log(x) + b * log(1 - x) + lgamma(a + b) - lgamma(a) - lgamma(b)) / a
    c, d, fraction = 1.0, 0.0, 1.0
    for step in range(1, MOST_TERMS):  # Lentz's way to sum it
        m = step // 2
        if step % 2:
            part = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            part = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1 / (1 + part * d)
        c = 1 + part / c
        fraction *= c * d
        if abs(c * d - 1) < EXACT:
            break
    return front / fraction


def batches_needed(sd: float, difference: float) -> int | None:
    """Return the size of each group that shows a difference of that size in four cases of five.

    Two-sided at 5 %: the least n with n >= 2 sd^2 (t(0.975) + t(0.8))^2 / difference^2, both t at 2 n - 2
    (Snedecor & Cochran 1989, Statistical Methods; Lehr 1992, Statistics in Medicine 11:1099-1102, makes
    it 16 sd^2 / difference^2 for large n). None: more than anybody grows.
    """
    if difference == 0:
        return None
    for n in range(2, MOST + 1):
        df = 2.0 * n - 2
        reach = t_quantile(1 - SIGNIFICANCE / 2, df) + t_quantile(POWER, df)
        if n >= 2 * (sd * reach / difference) ** 2:
            return n
    return None
