"""Values of an array, each once: held against numpy's own, which loads what a small command does not need."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from cropcal.science.distinct import distinct


@given(arrays(np.int64, array_shapes(max_dims=2, min_side=0), elements=st.integers(-4, 4)))
def test_integers_as_numpy_has_them(values):
    assert np.array_equal(distinct(values), np.unique(values))


@given(arrays(np.float64, array_shapes(max_dims=2), elements=st.sampled_from([-1.5, 0.0, 0.25, 3.0, np.inf])))
def test_numbers_as_numpy_has_them(values):
    assert np.array_equal(distinct(values), np.unique(values))
