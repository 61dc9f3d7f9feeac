"""Sites: each batch keeps its own, none is used twice, neighbours stay together where they can."""

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.optimize.site_assignment import assign


def ints(*values):
    return np.array(values, dtype=np.int64)


def test_a_freed_site_is_given_again_the_same_day():
    """Two batches of three, one after the other, share the same three sites."""
    taken = assign(3, ints(0, 10), ints(10, 20), ints(3, 3))
    assert [sites.tolist() for sites in taken] == [[0, 1, 2], [0, 1, 2]]


def test_neighbours_stay_together():
    """Sites 0 and 3-5 are free: three go to 3-5, in one piece."""
    taken = assign(6, ints(0, 1, 2, 5), ints(5, 9, 5, 9), ints(1, 2, 3, 3))
    assert taken[3].tolist() == [3, 4, 5]


def test_a_batch_is_split_when_it_must_be():
    """With sites 0 and 2 free, two plants go there: that is better than not at all."""
    taken = assign(3, ints(0, 1, 2, 5), ints(5, 9, 5, 9), ints(1, 1, 1, 2))
    assert taken[3].tolist() == [0, 2]


def test_too_many_is_an_error():
    """A plan that holds more sites than there are is a bug, and said so."""
    with pytest.raises(ValueError, match="2 sites needed on day 3, 1 of 2 free"):
        assign(2, ints(0, 3), ints(9, 9), ints(1, 2))


@settings(max_examples=examples(80))
@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 15), st.integers(1, 4)), max_size=25))
def test_no_site_is_ever_used_twice(batches):
    """Whatever fits by number gets sites, and no two batches hold one at a time."""
    start, length, count = (
        (ints(*column) for column in zip(*batches, strict=True)) if batches else [ints()] * 3
    )
    end = start + length
    most = max((int(count[(start <= day) & (day < end)].sum()) for day in range(46)), default=0)
    taken = assign(max(most, 1), start, end, count)
    held = np.zeros((max(most, 1), 46), dtype=int)
    for sites, first, last, many in zip(taken, start, end, count, strict=True):
        assert len(set(sites.tolist())) == many
        held[sites[:, None], np.arange(first, last)[None, :]] += 1
    assert held.max(initial=0) <= 1


@settings(max_examples=examples(80))
@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 15), st.integers(1, 4)), max_size=25))
def test_a_batch_is_in_one_piece_wherever_a_gap_holds_it(batches):
    """It is split only if no run of sites that were free on its first day was long enough."""
    start, length, count = (
        (ints(*column) for column in zip(*batches, strict=True)) if batches else [ints()] * 3
    )
    end = start + length
    most = max(max((int(count[(start <= day) & (day < end)].sum()) for day in range(46)), default=0), 1)
    taken = assign(most, start, end, count)
    for entry, sites in enumerate(taken):
        if not np.any(np.diff(sites) > 1):
            continue
        earlier = [
            other
            for other in np.lexsort((np.arange(len(start)), end, start)).tolist()
            if (start[other], end[other], other) < (start[entry], end[entry], entry)
        ]
        busy = {int(site) for other in earlier if end[other] > start[entry] for site in taken[other]}
        free = [site for site in range(most) if site not in busy]
        runs = np.split(np.array(free), np.flatnonzero(np.diff(free) > 1) + 1)
        assert max(map(len, runs)) < count[entry]
