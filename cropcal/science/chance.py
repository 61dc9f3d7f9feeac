"""Constants and random streams of luck: how big a head must be, how many plants are lost."""

from typing import Final
from zlib import crc32

import numpy as np

MINIMUM_SHARE: Final = 0.75
"""Least mass of a head that counts, as a share of the planned mass (assumed). With heads that differ
by 20 % nine of ten pass: the 10th percentile of last harvests was 0.68 to 0.76 of the median (357 plants of
the Wageningen lettuce images, Hemming et al. 2021)."""
LOSS_SHARE: Final = 0.02
"""Share of the plants that stand but are never cut: rot, breakage, pests (assumed; one plant factory says it
harvests 98 % of the seedlings it keeps)."""


def random_stream(seed: int, *names: str) -> np.random.Generator:
    """Return a random generator for a name: its numbers do not depend on other draws or their order."""
    return np.random.default_rng([seed, *(crc32(name.encode()) for name in names)])
