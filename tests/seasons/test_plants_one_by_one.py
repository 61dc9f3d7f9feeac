"""Drawn seasons against one season at a time in plain Python, ``plain_season``, with numbers of its own."""

from random import Random

import numpy as np
import pytest
from depth import few_of
from plain_season import Season
from plain_spaces import SPACES, world_of

from cropcal.seasons.simulate import simulate
from cropcal.seasons.world import Sowing


def sowings_of(space, world):
    goes = [
        tuple(number for number, kind in enumerate(world.kinds) if kind.group == group)
        for group in range(len(space.crops))
    ]
    return [
        Sowing(f"sown {day} {crop}", day, goes[crop], (space.crops[crop].cuts,) * cells)
        for day, crop, cells in space.sowings
    ]


def all_at_once(space, seasons, seed):
    """Return whether each wanted week is met, what is eaten and wasted in each season, as rows."""
    world = world_of(space, seasons, np.random.default_rng(seed))
    result = simulate(world, sowings_of(space, world), seed=seed)
    met = result.short(world.wanted) == 0
    return rows(met[world.wanted > 0], result.eaten.sum(axis=1), result.wasted)


def one_by_one(space, plants, seed):
    """Return the same of as many single seasons as it takes to sow that many plants."""
    a_season = sum(cells * space.crops[crop].plants for _, crop, cells in space.sowings)
    draw, wanted = Random(seed), np.array(space.wanted)
    lived = [Season(space, draw).live() for _ in range(-(-plants // a_season))]
    eaten = np.array([season.eaten for season in lived]).transpose(1, 2, 0)
    met = eaten >= 0.99 * wanted[:, :, None]
    return rows(met[wanted > 0], eaten.sum(axis=1), np.array([season.wasted for season in lived]).T)


def rows(*parts):
    return np.concatenate([np.asarray(part, float) for part in parts])


def apart(first, second):
    """Return by how many standard errors of both the means of each row lie apart.

    Their spread is that of both together: the few seasons of one alone may miss what is rare.
    """
    gap = first.mean(axis=1) - second.mean(axis=1)
    spread = np.concatenate([first, second], axis=1).var(axis=1)
    error = np.sqrt(spread * (1 / first.shape[1] + 1 / second.shape[1]))
    return np.where(gap == 0, 0.0, gap / np.maximum(error, 1e-12))


@pytest.mark.parametrize(
    "plants", [20_000, pytest.param(100_000, marks=pytest.mark.deep)], ids=lambda count: f"{count} plants"
)
@pytest.mark.parametrize("space", few_of(SPACES.values(), 1), ids=list(SPACES))
def test_chances_eaten_and_wasted_are_those_of_single_plants(space, plants):
    single = one_by_one(space, plants, seed=31)
    together = all_at_once(space, 4 * single.shape[1], seed=32)
    away = apart(together, single)
    assert np.abs(away).max() < 3, away.round(1)
    assert 0.1 < single[: -2 * len(space.wanted)].mean() < 0.95, "luck decides here"
