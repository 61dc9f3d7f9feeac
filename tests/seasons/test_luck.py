"""The luck of rows against the chances and spreads that the world states, and against single plants."""

from dataclasses import replace
from math import log1p, sqrt

import numpy as np
import pytest
from plain_spaces import AGAIN, CUT_AGAIN, FEW_SITES, HEADS, world_of

from cropcal.seasons.luck import LUCKLESS, batch_luck

SEASONS, CELLS = 4000, 3


@pytest.fixture
def head_luck():
    """Return the luck of a batch of heads, and its world."""
    world = world_of(FEW_SITES, SEASONS, np.random.default_rng(1))
    return batch_luck(world, world.kinds[0], "a batch", CELLS, come_up=False, seed=3), world


def test_the_mass_of_heads_has_the_spread_of_batches_and_of_plants(head_luck):
    """Its median is that of the forecast; cells of a batch share a part."""
    luck, world = head_luck
    ln = np.log(luck.factor.astype(float))
    sd = sqrt(world.batch_sd**2 + world.plant_sd**2)
    assert ln.std() == pytest.approx(sd, rel=0.03)
    assert ln.mean() == pytest.approx(0, abs=4 * sd / sqrt(SEASONS))
    shared = np.corrcoef(ln)[np.triu_indices(CELLS, 1)]
    assert shared == pytest.approx(np.full(CELLS, world.batch_sd**2 / sd**2), abs=4 / sqrt(SEASONS))


def test_heads_come_up_and_are_lost_as_often_as_said(head_luck):
    luck, world = head_luck
    count = SEASONS * CELLS
    stand, lost = HEADS.stand, world.lost
    assert luck.alive.mean() == pytest.approx(stand, abs=4 * sqrt(stand * (1 - stand) / count))
    dies = luck.dies < 1
    assert dies.mean() == pytest.approx(lost, abs=4 * sqrt(lost * (1 - lost) / count))
    assert luck.dies[dies].mean() == pytest.approx(0.5, abs=4 * sqrt(1 / 12 / dies.sum()))


def test_grams_of_a_site_are_the_mean_of_its_plants():
    """Drawn plant by plant: those that stand, each with a mass of its own, of one mean."""
    world = replace(world_of(CUT_AGAIN, SEASONS, np.random.default_rng(1)), batch_sd=0.0)
    luck = batch_luck(world, world.kinds[0], "a batch", CELLS, come_up=False, seed=3)
    brings = (luck.factor * luck.alive).astype(float).ravel()
    draw, sd = np.random.default_rng(9), sqrt(log1p(CUT_AGAIN.plant_cv**2))
    shape = (SEASONS * CELLS, AGAIN.plants)
    stands = draw.random(shape) < AGAIN.stand * (1 - world.lost)
    single = (stands * np.exp(sd * draw.standard_normal(shape) - sd**2 / 2)).mean(axis=1)
    error = sqrt((brings.var() + single.var()) / len(single))
    assert brings.mean() == pytest.approx(single.mean(), abs=4 * error)
    assert brings.std() == pytest.approx(single.std(), rel=0.04)
    assert (luck.dies == 2).all()


def test_what_is_known_to_have_come_up_did(head_luck):
    _, world = head_luck
    known = batch_luck(world, world.kinds[0], "a batch", CELLS, come_up=True, seed=3)
    assert (known.alive == 1).all()


def test_without_luck_all_is_as_forecast(head_luck):
    _, world = head_luck
    luck = batch_luck(world, world.kinds[0], "a batch", CELLS, come_up=False, seed=LUCKLESS)
    assert (luck.factor == 1).all()
    assert (luck.alive == 1).all()
    assert (luck.dies > 1).all()


def test_more_cells_change_nothing_of_the_others(head_luck):
    """Nor does the name of another batch; another name is other luck."""
    luck, world = head_luck
    more = batch_luck(world, world.kinds[0], "a batch", CELLS + 2, come_up=False, seed=3)
    assert np.array_equal(more.factor[:CELLS], luck.factor)
    assert np.array_equal(more.alive[:CELLS], luck.alive)
    other = batch_luck(world, world.kinds[0], "another batch", CELLS, come_up=False, seed=3)
    assert abs(np.corrcoef(other.factor.ravel(), luck.factor.ravel())[0, 1]) < 4 / sqrt(SEASONS)
