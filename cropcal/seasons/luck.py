"""The luck of each row (one sown cell) in each drawn season, by names: other rows change nothing of it."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from cropcal.science.chance import random_stream
from cropcal.seasons.world import FloatArray, Kind, World

LUCKLESS = 0
"""Seed of the season in which everything comes as forecast."""


@dataclass(frozen=True, eq=False)
class RowLuck:
    """Luck of rows, (rows, seasons) each.

    ``factor``: mass for that of the forecast. ``alive``: share of a site's plants that live to the cut, 0:
    nothing comes up. ``dies``: share of its days on the site after which a head is lost, 2 where it is not.
    """

    factor: npt.NDArray[np.float32]
    alive: npt.NDArray[np.float32]
    dies: npt.NDArray[np.float32]


def luck_of_batch(
    world: World, kind: int, name: str, cells: int, first: int = 0, *, come_up: bool, seed: int
) -> RowLuck:
    """Return ``batch_luck`` of the cells from ``first`` on, of a kind by its number; it is remembered."""
    key = ("luck", seed, kind, name, come_up)
    known = world.remembered.get(key)
    last = first + cells
    if not isinstance(known, RowLuck) or len(known.factor) < last:
        known = batch_luck(world, world.kinds[kind], name, last, come_up=come_up, seed=seed)
        world.remembered[key] = known
    if len(known.factor) == cells:
        return known
    return RowLuck(known.factor[first:last], known.alive[first:last], known.dies[first:last])


def batch_luck(world: World, kind: Kind, name: str, cells: int, *, come_up: bool, seed: int) -> RowLuck:
    """Return the luck of the cells of one batch, (cells, seasons of one block).

    ``come_up``: it is known that they did.
    """
    seasons = world.seasons // world.blocks
    shape = (cells, seasons)
    if seed == LUCKLESS:
        ones = np.ones(shape, np.float32)
        return RowLuck(ones, ones, np.full(shape, 2.0, np.float32))
    own = random_stream(seed, "batch", name)
    shared = world.batch_sd * own.standard_normal(seasons)
    parts = [_cell_luck(world, kind, random_stream(seed, "cell", name, str(number)), come_up=come_up)
             for number in range(cells)]  # fmt: skip
    normal, alive, dies = (np.stack([part[at] for part in parts]) for at in range(3))
    plants = 1 if kind.heads else max(kind.plants, 1)
    spread = float(np.sqrt(np.log1p((np.exp(world.plant_sd**2) - 1) / plants)))
    middle = 0.0 if kind.heads else spread**2 / 2
    factor = np.exp(shared + spread * normal - middle)
    return RowLuck(factor.astype(np.float32), alive.astype(np.float32), dies.astype(np.float32))


def after_a_loss(luck: RowLuck, kind: Kind, name: str, share: float, first: int = 0, *, seed: int) -> RowLuck:
    """Return the luck of plants of which a share is lost already; their other luck stays as it is.

    Of trays that share of each is lost, of others whole sites (cells), each by luck of its own.
    """
    if share <= 0 or seed == LUCKLESS:
        return luck
    if kind.thick:
        return replace(luck, alive=luck.alive * np.float32(1.0 - share))
    cells, seasons = luck.alive.shape
    drawn = [random_stream(seed, "loss", name, str(first + at)).random(seasons) for at in range(cells)]
    lives = np.array(drawn).reshape(cells, seasons) >= share
    return replace(luck, alive=np.where(lives, luck.alive, np.float32(0.0)))


def _cell_luck(
    world: World, kind: Kind, own: np.random.Generator, *, come_up: bool
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return a standard normal, the share alive, and when it dies, of one cell, (seasons,) each."""
    seasons = world.seasons // world.blocks
    normal = own.standard_normal(seasons)
    stand = 1.0 if come_up else kind.stand
    if kind.heads:
        alive = (own.random(seasons) < stand).astype(float)
        dies = np.where(own.random(seasons) < world.lost, own.random(seasons), 2.0)
        return normal, alive, dies
    never = np.full(seasons, 2.0)
    if kind.thick:
        return normal, np.full(seasons, 1.0 - world.lost), never
    come = own.binomial(kind.plants, stand * (1.0 - world.lost), seasons)
    return normal, come / kind.plants, never
