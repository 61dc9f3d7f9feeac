"""The different values of an array, without the masked arrays that ``np.unique`` has to load."""

from typing import TypeVar

import numpy as np
import numpy.typing as npt

Number = TypeVar("Number", bound=np.generic)


def distinct(values: npt.NDArray[Number]) -> npt.NDArray[Number]:
    """Return each value once, sorted, shape (n,); of an array of any shape without nan."""
    ordered = np.sort(values, axis=None)
    first = np.ones(ordered.size, np.bool_)
    first[1:] = ordered[1:] != ordered[:-1]
    return ordered[first]
