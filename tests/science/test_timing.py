"""Blocks and pairs of lamp hours: sums, the day a plant sees, and nothing that would do in one stretch."""

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.science import timing


def lit_quarters(timers, index):
    """Return the set of lit quarters, counted one by one."""
    found = set()
    for start, length in (
        (timers.start[index], timers.length[index]),
        (timers.start_2[index], timers.length_2[index]),
    ):
        found |= {int(start + step) % 96 for step in range(int(length))}
    return found


def longest_dark(lit):
    """Return the longest run of quarters that are not lit, walking twice round the clock."""
    longest = run = 0
    for quarter in range(2 * 96):
        run = 0 if quarter % 96 in lit else run + 1
        longest = max(longest, run)
    return min(longest, 96)


masks = st.lists(st.integers(0, 95), min_size=1, max_size=6, unique=True)


@given(masks, st.integers(0, 2**32 - 1))
@settings(max_examples=examples(40))
def test_sums_and_days_of_blocks_and_pairs_are_those_counted_by_hand(edges, seed):
    """Money, highest air and the day seen agree with a walk over the quarters of the day."""
    free = np.zeros(96, bool)
    for place, edge in enumerate(sorted(edges)):
        free[edge:] = place % 2 == 0
    values = np.random.default_rng(seed).integers(0, 9, 96)
    timers = timing.concatenate([timing.blocks([1, 17, 95, 96]), timing.pairs(free, 4)])
    sums, highest, seen = (
        timing.lit_sum(timers, values),
        timing.lit_highest(timers, values),
        timing.day_length(timers),
    )
    for index in np.random.default_rng(seed).integers(0, len(timers.start), 60):
        lit = lit_quarters(timers, index)
        assert len(lit) == timers.total[index]
        assert sums[index] == pytest.approx(sum(values[quarter] for quarter in lit))
        assert highest[index] == max(values[quarter] for quarter in lit)
        assert seen[index] == 96 - longest_dark(lit)


def test_pairs_are_all_that_are_needed_and_no_more():
    """Two runs of 2 h and 1.5 h: every pair of stretches of at least 1 h that is longer than 2 h."""
    free = np.zeros(96, bool)
    free[92:] = free[:4] = True  # 23:00-01:00
    free[40:46] = True  # 10:00-11:30
    found = timing.pairs(free, 4)
    pairs = {
        frozenset([(int(a), int(b)), (int(c), int(d))])
        for a, b, c, d in zip(found.start, found.length, found.start_2, found.length_2, strict=True)
    }
    expected = {
        frozenset([((92 + shift) % 96, length), (40 + shift_2, length_2)])
        for length in range(4, 9)
        for shift in range(9 - length)
        for length_2 in range(4, 7)
        for shift_2 in range(7 - length_2)
        if length + length_2 > 8
    }
    assert pairs == expected
    assert len(found.start) == len(expected)


@pytest.mark.parametrize("free", [np.ones(96, bool), np.zeros(96, bool)])
def test_without_two_free_runs_there_are_no_pairs(free):
    """All free: one stretch always does. None free: nothing may be lit."""
    assert len(timing.pairs(free, 4).start) == 0


def test_a_short_light_at_night_makes_a_long_day():
    """8 h of light and 1 h in the middle of the night: the plant sees 16.5 h (MSU: as a day extension)."""
    timers = timing.Timers(
        np.array([32]), np.array([32]), np.array([94]), np.array([4])
    )  # 08-16, 23:30-00:30
    assert timing.day_length(timers)[0] / 4 == 16.5
    assert timers.stretches_min(0) == ((480, 960), (1410, 30))


def test_the_longest_run_goes_round_midnight():
    """22:00-02:00 is one run of four hours."""
    marked = np.zeros(24, bool)
    marked[[22, 23, 0, 1, 5, 6]] = True
    assert timing.longest_run(marked) == 4
    assert timing.longest_run(np.ones(7, bool)) == 7
    assert timing.longest_run(np.zeros(7, bool)) == 0
