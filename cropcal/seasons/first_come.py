"""First come, first served: what those before ask for, of the same place in the same season."""

from typing import TypeVar

import numpy as np
import numpy.typing as npt

from cropcal.seasons.world import IntArray

AnyNumber = TypeVar("AnyNumber", bound=np.generic)


def sums_before(key: IntArray, values: npt.NDArray[AnyNumber]) -> npt.NDArray[AnyNumber]:
    """Return for each value the sum of those before it with the same key."""
    before = np.zeros(len(key), values.dtype)
    if (key[1:] > key[:-1]).all():
        return before
    small = np.uint16 if key.max() < 2**16 else np.int64
    order = key.astype(small).argsort(kind="stable")  # quick for small numbers
    key, ordered = key[order], values[order]
    sums = ordered.cumsum() - ordered
    begins = before.astype(bool)
    begins[:1] = True
    np.not_equal(key[1:], key[:-1], out=begins[1:])
    before[order] = sums - sums[begins][begins.cumsum() - 1]
    return before
