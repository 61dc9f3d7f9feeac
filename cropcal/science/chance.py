"""The probability that enough is cut: seeds fail, plants differ, and batches share random errors.

Closed forms for the stand, and random draws for the cuts. Whatever the plants of a batch share (growth rate,
light) comes in as an array with one entry a draw; given that, plants are independent of each other, so their
number is binomial.
"""

from collections.abc import Sequence
from functools import lru_cache
from math import erf, lgamma, log, log1p, sqrt
from statistics import NormalDist
from typing import Final
from zlib import crc32

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

MINIMUM_SHARE: Final = 0.75
"""Least mass of a head that counts, as a share of the planned mass (assumed). With heads that differ
by 20 % nine of ten pass: the 10th percentile of last harvests was 0.68 to 0.76 of the median (357 plants of
the Wageningen lettuce images, Hemming et al. 2021)."""
LOSS_SHARE: Final = 0.02
"""Share of the plants that stand but are never cut: rot, breakage, pests (assumed; one plant factory says it
harvests 98 % of the seedlings it keeps)."""
ONE: Final = 1e-12
SHARES: Final = 101
"""Quantiles of the shared random error over which a closed form is averaged."""
MANY: Final = 25.0
"""Variance of a binomial from which the normal distribution replaces it."""

_FAR, _STEPS = 8, 1000


@lru_cache(maxsize=1)
def _normal_table() -> Array:
    """Return the distribution function at every thousandth of an sd; made when it is first needed."""
    steps = range(-_FAR * _STEPS, _FAR * _STEPS + 2)
    return np.array([(1.0 + erf(x / _STEPS / sqrt(2.0))) / 2.0 for x in steps])


def normal_below(x: npt.ArrayLike) -> Array:
    """Return the standard normal distribution function, to a millionth."""
    at = (np.clip(x, -_FAR, _FAR) + _FAR) * _STEPS
    below = at.astype(np.int64)
    table = _normal_table()
    return np.asarray(table[below] + (table[below + 1] - table[below]) * (at - below))


def ln_sd(cv: float, plants: npt.ArrayLike = 1) -> Array:
    """Return the sd of ln of the mean mass of ``plants`` log-normal plants that differ by ``cv`` each.

    Exact for one plant; for more the sum is taken for log-normal with the same mean and variance.
    """
    return np.asarray(np.sqrt(np.log1p(cv**2 / np.asarray(plants, float))))


def share_passing(ln_over: npt.ArrayLike, cv: float) -> Array:
    """Return the share of heads that reach the minimum, the median head being ``ln_over`` above it in ln."""
    over = np.asarray(ln_over, float)
    return normal_below(over / ln_sd(cv)) if cv > 0 else (over >= -ONE).astype(float)


def at_least(count: int, of: int, chance: float) -> float:
    """Return the probability of at least ``count`` successes among ``of``, all of one chance (binomial).

    Raises ValueError unless 0 <= chance <= 1.
    """
    if not 0.0 <= chance <= 1.0:
        message = "a chance lies between 0 and 1"
        raise ValueError(message)
    if count <= 0:
        return 1.0
    if count > of or chance == 0.0:
        return 0.0
    if chance == 1.0:
        return 1.0
    come = np.arange(count, of + 1)
    ways = lgamma(of + 1) - np.array([lgamma(k + 1) + lgamma(of - k + 1) for k in come])
    return float(min(np.exp(ways + come * log(chance) + (of - come) * log1p(-chance)).sum(), 1.0))


@lru_cache(maxsize=4096)
def fewest_heads(count: int, stands: float, ln_over: float, ln_shared: float, cv: float) -> int:
    """Return the 10th percentile of the number of heads on ``count`` sites that reach the minimum on a day.

    ``stands`` is the chance that a plant is alive when it is cut. Its median mass is ``ln_over`` above the
    minimum in ln, with an error ``ln_shared`` (sd) common to all plants, and ``cv`` for each plant.
    """
    steps = (np.arange(SHARES) + 0.5) / SHARES
    luck = np.array([NormalDist().inv_cdf(float(step)) for step in steps])
    each = stands * share_passing(ln_over + ln_shared * luck, cv)
    each = np.clip(each, ONE, 1.0 - ONE)[:, None]
    heads = np.arange(count + 1)
    ways = lgamma(count + 1) - np.array([lgamma(k + 1) + lgamma(count - k + 1) for k in heads])
    come = np.exp(ways + heads * np.log(each) + (count - heads) * np.log1p(-each)).mean(axis=0)
    return int(np.searchsorted(np.cumsum(come), 0.10))


def to_sow(needed: int, chance: float, sure: float) -> int:
    """Return the least number to sow so that with probability ``sure`` at least ``needed`` of them stand.

    Never more than ten times as many, however bad the seed. Raises ValueError unless 0 < chance <= 1.
    """
    if not 0.0 < chance <= 1.0:
        message = "the chance that one stands is more than 0 and at most 1"
        raise ValueError(message)
    sown = needed
    while sown < 10 * needed and at_least(needed, sown, chance) < sure:
        sown += 1
    return sown


def random_stream(seed: int, *names: str) -> np.random.Generator:
    """Return a random generator for a name: its numbers do not depend on other draws or their order."""
    return np.random.default_rng([seed, *(crc32(name.encode()) for name in names)])


def heads_ready(
    luck: np.random.Generator,
    sites: npt.ArrayLike,
    passing: Sequence[Array],
    cells: int,
    stands: float,
    lost: float = LOSS_SHARE,
) -> list[Array]:
    """Return the heads of a batch that become big enough at each visit, shape (visits, draws) for each cut.

    Parameters
    ----------
    luck
        The random generator of the batch.
    sites
        Sites to be cut on each day, shape (cuts,). The first cut takes from what stands; gaps are left to the
        last.
    passing
        For each cut the share of heads that reach the minimum at each visit, shape (visits, draws). A head
        that does not pass may do so at a later visit; none shrinks.
    cells, stands
        Cells (or sites) sown, and the chance of a plant in each; spare plants are thrown away.
    lost
        Share of the planted that is lost before the cut.
    """
    asked = np.asarray(sites, dtype=np.int64)
    standing = np.minimum(luck.binomial(cells, stands, passing[0].shape[1]), asked.sum())
    left = luck.binomial(standing, 1.0 - lost)
    ready = []
    for count, looks in zip(asked, passing, strict=True):
        small = np.minimum(count, left)
        left = left - small
        good = np.empty_like(looks)
        before = np.zeros(looks.shape[1])
        for number, share in enumerate(np.maximum.accumulate(np.clip(looks, 0.0, 1.0))):
            among = (share - before) / np.maximum(1.0 - before, ONE)
            good[number] = luck.binomial(small, np.minimum(among, 1.0))
            small = small - good[number].astype(np.int64)
            before = share
        ready.append(good)
    return ready


def grams_cut(
    luck: np.random.Generator,
    grams: float,
    ln_change: Array,
    plants: int,
    sown: int,
    stands: float,
    cv: float,
    lost: float = LOSS_SHARE,
    most: int | None = None,
) -> Array:
    """Return the grams of one cut, shape (draws,).

    Parameters
    ----------
    luck
        The random generator of the cut.
    grams
        Yield of the cut if all ``plants`` stand and grow as forecast.
    ln_change
        ln of the mean mass of its plants less that of the forecast, shape (draws,).
    plants, sown, stands
        Number of plants behind ``grams``, seeds (or cells) sown, the chance that one of them makes a plant.
    cv, lost
        Coefficient of variation between plants, and the share that is lost before the cut.
    most
        Most plants that are kept; spare ones are thrown away. None: all that come up are kept.
    """
    if most is None:
        standing = _standing(luck, sown, stands * (1.0 - lost), len(ln_change))
    else:
        kept = np.minimum(_standing(luck, sown, stands, len(ln_change)), most)
        standing = luck.binomial(kept, 1.0 - lost)
    sd = ln_sd(cv, np.maximum(np.arange(standing.max(initial=0) + 1), 1))[standing]
    differ = sd * luck.standard_normal(len(ln_change)) - sd**2 / 2
    return np.asarray(grams / plants * standing * np.exp(ln_change + differ))


def _standing(luck: np.random.Generator, of: int, chance: float, drawings: int) -> npt.NDArray[np.int64]:
    """Draw binomial numbers; for many plants rounded normal ones, which is faster."""
    variance = of * chance * (1.0 - chance)
    if variance < MANY:
        return np.asarray(luck.binomial(of, chance, drawings))
    near = of * chance + sqrt(variance) * luck.standard_normal(drawings)
    return np.clip(np.rint(near), 0, of).astype(np.int64)


def share_met(cut: Array, wanted: npt.ArrayLike) -> Array:
    """Return the share of draws (last axis) in which at least the wanted amount is cut."""
    return np.asarray(np.mean(cut >= np.asarray(wanted, float)[..., None] * (1 - 1e-9), axis=-1))
