"""Sowings of days without time for them go to other work days; drawn seasons put off what is too much."""

from dataclasses import replace

import numpy as np
import pytest
import season_makers
import small_space
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.luck.day_limit import FARTHEST_D, SOWING_SHARE, spread
from cropcal.seasons.simulate import simulate
from cropcal.units import CUT_MIN, MOVE_MIN, SOW_MIN

SPACE = small_space.text(weeks=14, more=season_makers.BASIL).replace("1.1", "1.6", 1)


@pytest.fixture(scope="module")
def made(tables):
    return season_makers.maker(SPACE, tables)


def of_crop(sown):
    cells = {}
    for slot, number in sown.items():
        cells[slot.option] = cells.get(slot.option, 0) + number
    return cells


@settings(max_examples=examples(60), deadline=None, derandomize=True)
@given(st.integers(0, 10**6), st.sampled_from([4.0, 10.0, 30.0]))
def test_no_cell_is_lost_and_no_day_is_too_long_while_another_has_time(made, seed, minutes):
    """Each crop has as many cells as before; near a day over its share no other has room for its crops."""
    random, every = np.random.default_rng(seed), season_makers.all_slots(made.slots)
    sown = {every[at]: int(random.integers(1, 20)) for at in random.choice(len(every), 4, replace=False)}
    kept = {slot: cells for slot, cells in sown.items() if random.integers(0, 3) == 0}
    left = np.full(made.builder.time.days, minutes)
    after = spread(sown, made.slots, left, kept)
    assert of_crop(after) == of_crop(sown)
    assert all(after[slot] >= cells for slot, cells in kept.items())
    most = int(minutes * SOWING_SHARE / SOW_MIN)
    by_day = {}
    for slot, cells in after.items():
        by_day[slot.day] = by_day.get(slot.day, 0) + cells
    for slot in after:
        if by_day[slot.day] > most and slot not in kept:
            near = [day for day in made.slots.days[slot.option] if abs(day - slot.day) <= FARTHEST_D]
            assert sum(by_day.get(day, 0) for day in near) >= most
    plenty = np.full(made.builder.time.days, 1e6)
    assert spread(sown, made.slots, plenty, {}) == sown


def test_the_grower_of_drawn_seasons_has_so_many_minutes_a_day(made):
    """Cuts are made; moves wait: on no day are there more of them than is left. Without a limit there are."""
    every = season_makers.all_slots(made.slots)
    first = min(slot.day for slot in every)
    sown = {slot: 12 for slot in every if slot.day == first}
    stage = made.builder.model.stage((), {}, 6, 3)

    def longest(most):
        world = replace(stage.world, most_minutes=most)
        seasons = simulate(world, made.slots.season_sowings([sown]), seed=stage.seed)
        days = range(world.days)
        moved = np.array([(seasons.planted == day).sum(axis=0) for day in days])
        cut = np.array([(seasons.cut_day == day).sum(axis=(0, 1)) for day in days])
        return moved * MOVE_MIN, cut * CUT_MIN, seasons

    moved, cut, free = longest(None)
    assert (moved + cut).max() > 5
    moved, cut, limited = longest(5.0)
    assert ((moved + cut) <= np.maximum(5.0, cut)).all()
    assert (limited.planted >= 0).sum() > 0
    assert free.jobs.shape == limited.jobs.shape
    unlimited = longest(1e9)[2]
    assert np.array_equal(unlimited.planted, free.planted)
    assert np.array_equal(unlimited.eaten, free.eaten)
