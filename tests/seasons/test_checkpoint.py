"""A run that goes on from a checkpoint is the whole run, to the last digit."""

from dataclasses import replace

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st
from plain_spaces import SPACES, world_of

from cropcal.seasons.simulate import simulate
from cropcal.seasons.world import Delivery, Rates, Sowing, Standing

FIELDS = ("eaten", "wasted", "batch", "planted", "cut_day", "cut_amount", "jobs")
SEASONS = 4


def turning(world):
    """Return a world in which light changes twice, so that plants do not grow alike all the time."""
    light = np.array([1.0, 0.7, 1.2])[:, None]

    def turned(rates):
        return rates and Rates(np.repeat(rates.slope[:1], 3, axis=0), rates.speed[:1] * light)

    kinds = [
        replace(kind, in_nursery=turned(kind.in_nursery), on_site=turned(kind.on_site))
        for kind in world.kinds
    ]
    return replace(world, kinds=tuple(kinds), stretch=np.arange(world.days) * 3 // world.days)


def two_places(world):
    """Return a world with as many sites in a second place, in which all grows more slowly."""
    more = [
        replace(
            kind,
            place=kind.place + len(world.sites),
            on_site=kind.on_site and Rates(kind.on_site.slope, 0.8 * kind.on_site.speed),
        )
        for kind in world.kinds
    ]
    return replace(world, kinds=(*world.kinds, *more), sites=np.concatenate([world.sites, world.sites]))


@st.composite
def sowings(draw, world, first, last, blocks):
    """Return sowings on some days of a stretch, other cells of them in each block."""
    days = draw(st.lists(st.integers(first, last - 1), max_size=6)) if last > first else []
    result = []
    for number, day in enumerate(days):
        kind = draw(st.integers(0, len(world.kinds) - 1))
        goes = (kind, *(
            other for other, its in enumerate(world.kinds)
            if its.group == world.kinds[kind].group and its.place != world.kinds[kind].place
        ))  # fmt: skip
        cuts = (draw(st.integers(1, world.kinds[kind].cuts)),) * draw(st.integers(1, 4))
        some = [[draw(st.booleans()) for _ in range(blocks)] for _ in cuts] if blocks > 1 else None
        result.append(Sowing(f"{number} on {day}", day, goes, cuts, None if some is None else np.array(some)))
    return result


@st.composite
def pasts(draw):
    """Return a world, what stands in it, what was cut before, a day, and what is sown before that."""
    space = draw(st.sampled_from(list(SPACES.values())))
    world = world_of(space, SEASONS, np.random.default_rng(draw(st.integers(0, 9))))
    if draw(st.booleans()):
        world = turning(world)
    if draw(st.booleans()):
        world = two_places(world)
    on_first = draw(st.integers(0, len(world.kinds) - 1))
    kind = world.kinds[on_first]
    mass = np.full(SEASONS, 0.3 * kind.full_g)
    stands = Standing(
        "stands", -20, -5, (on_first,), (kind.cuts,), 0, False, mass, np.zeros(SEASONS), True, 2
    )
    standing = (stands,) if draw(st.booleans()) else ()
    before = (Delivery(0, 1, 9, 3.0),) if draw(st.booleans()) else ()
    day = draw(st.integers(0, world.days))
    return world, standing, before, day, draw(sowings(world, 0, day, 1))


def repeated(standing, blocks):
    return tuple(
        replace(part, mass_g=np.tile(part.mass_g, blocks), from_d=np.tile(part.from_d, blocks))
        for part in standing
    )


@settings(max_examples=examples(80))
@given(pasts(), st.data())
def test_a_run_that_goes_on_is_the_whole_run(past, data):
    """From a run of one choice to several that differ from a day on; and on from a checkpoint of that."""
    world, standing, before, day, sown = past
    blocks = data.draw(st.integers(1, 3))
    kept = simulate(
        world, [*sown, *data.draw(sowings(world, day, world.days, 1))], standing, before, keep_on=[0, day]
    )
    wide, stand = world.repeated(blocks), repeated(standing, blocks)
    chosen = [*sown, *data.draw(sowings(world, day, world.days, blocks))]
    later = data.draw(st.integers(day, world.days))
    whole = simulate(wide, chosen, stand, before)
    on = simulate(wide, chosen, stand, before, since=kept.checkpoints[-1], keep_on=[later])
    on_again = simulate(wide, chosen, stand, before, since=on.checkpoints[0])
    for name in FIELDS:
        assert np.array_equal(getattr(whole, name), getattr(on, name)), name
        assert np.array_equal(getattr(whole, name), getattr(on_again, name)), name


@settings(max_examples=examples(40))
@given(pasts(), st.data())
def test_until_a_day_all_is_as_in_the_whole_run(past, data):
    world, standing, before, day, sown = past
    chosen = [*sown, *data.draw(sowings(world, day, world.days, 1))]
    whole, part = (simulate(world, chosen, standing, before, until_day=until) for until in (None, day))
    weeks = day // 7
    assert np.array_equal(part.eaten[:, :weeks], whole.eaten[:, :weeks])
    assert np.array_equal(part.planted, np.where(whole.planted < day, whole.planted, -1))
    assert np.array_equal(part.cut_day, np.where(whole.cut_day < day, whole.cut_day, -1))


def test_a_run_does_not_go_on_from_another_past():
    """Other sowings before the day, another world, other luck: each is said."""
    world = world_of(SPACES["few sites"], SEASONS, np.random.default_rng(1))
    first, second = (Sowing(f"on {day}", day, (0,), (1, 1)) for day in (3, 10))
    (kept,) = simulate(world, [first, second], keep_on=[10]).checkpoints
    with pytest.raises(ValueError, match="sown before day 10"):
        simulate(world, [replace(first, cuts=(1,)), second], since=kept)
    with pytest.raises(ValueError, match="in the world of its checkpoint"):
        simulate(replace(world, lost=0.5), [first, second], since=kept)
    with pytest.raises(ValueError, match="luck"):
        simulate(world, [first, second], seed=2, since=kept)
