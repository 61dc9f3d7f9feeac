"""The state of a run on the morning of a day, from which other runs go on.

What is sown on a day changes nothing before it, so choices that differ from that day on share all that was.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cropcal.seasons.kitchen import Kitchen
from cropcal.seasons.plants import Plants
from cropcal.seasons.world import Delivery, FloatArray, IntArray, Sowing, Standing, World

OF_PLANTS = (
    *("status", "place", "kind", "sown", "planted", "young_g", "young_on", "x", "since", "full", "x_ripe"),
    *("x_full", "ripe_on", "out_on", "death_on", "over", "wants_site", "thrown_on", "done"),
    *("cut_day", "cut_amount"),
)
"""What ``Plants`` keeps of each plant and changes."""

Part = Sowing | Standing
Tables = Mapping[str, npt.NDArray[np.generic]]


@dataclass(frozen=True, eq=False)
class Checkpoint:
    """All seasons of a run before anything is done on a day.

    Attributes
    ----------
    day
        The first day that is still to come.
    before, week
        The last day on which somebody was there, -1: none, and the first week that has not begun.
    world, parts, delivered, seed
        Those of the run; ``parts`` are what stood, and what is sown before the day.
    plants
        What is kept of each plant, (..., rows, seasons), by its name.
    held, cells_held, freed
        Sites and cells in use, and sites that are free on some day, (places or nurseries, seasons).
    eaten, spoilt, wasted, stocks
        Those of the kitchen; stocks by want and last good day, (seasons,).
    jobs
        Jobs done in each week, (3, weeks), in all seasons together.
    """

    day: int
    before: int
    week: int
    world: World
    parts: tuple[Part, ...]
    delivered: tuple[Delivery, ...]
    seed: int
    plants: Tables
    held: IntArray
    cells_held: IntArray
    freed: Mapping[int, IntArray]
    eaten: FloatArray
    spoilt: FloatArray
    wasted: tuple[FloatArray, ...]
    stocks: tuple[Mapping[int, FloatArray], ...]
    jobs: FloatArray

    def restore(self, parts: Sequence[Part], plants: Plants, kitchen: Kitchen) -> None:
        """Set plants and kitchen of a new run to what they were here, in each of its blocks.

        Raises
        ------
        ValueError
            The run is of another world, or something else stood or was sown before the day.
        """
        times, rows = plants.seasons // self.world.seasons, _rows(self.parts)
        if plants.world.remembered is not self.world.remembered or (times > 1 and self.world.blocks > 1):
            raise ValueError("a run goes on in the world of its checkpoint, or in that world repeated")
        if [_name(part) for part in before(parts, self.day)] != [_name(part) for part in self.parts]:
            raise ValueError(f"what stood, or is sown before day {self.day}, is not that of the checkpoint")
        for name, kept in self.plants.items():
            its = plants.table(getattr(plants, name))[..., :rows, :]
            if kept.ndim > 2:  # what is sown later may be cut more often, or less
                cuts = min(len(its), len(kept))
                its, kept = its[:cuts], kept[:cuts]
            its[...] = np.tile(kept, times)
        plants.held, plants.cells_held = np.tile(self.held, times), np.tile(self.cells_held, times)
        plants.freed = {day: np.tile(sites, times) for day, sites in self.freed.items()}
        kitchen.eaten, kitchen.spoilt = np.tile(self.eaten, times), np.tile(self.spoilt, times)
        for pantry, wasted, stock in zip(kitchen.pantries, self.wasted, self.stocks, strict=True):
            pantry.wasted = np.tile(wasted, times)
            pantry.stock = {last: np.tile(amount, times) for last, amount in stock.items()}


def checkpoint(
    day: int,
    last: tuple[int, int],
    parts: Sequence[Part],
    delivered: Sequence[Delivery],
    seed: int,
    plants: Plants,
    kitchen: Kitchen,
    jobs: FloatArray,
) -> Checkpoint:
    """Return a copy of the state of a run; ``last`` are the last day of a visit and the next week."""
    known = tuple(before(parts, day))
    rows = _rows(known)
    return Checkpoint(
        day=day,
        before=last[0],
        week=last[1],
        world=plants.world,
        parts=known,
        delivered=tuple(delivered),
        seed=seed,
        plants={name: plants.table(getattr(plants, name))[..., :rows, :].copy() for name in OF_PLANTS},
        held=plants.held.copy(),
        cells_held=plants.cells_held.copy(),
        freed={day: sites.copy() for day, sites in plants.freed.items()},
        eaten=kitchen.eaten.copy(),
        spoilt=kitchen.spoilt.copy(),
        wasted=tuple(pantry.wasted.copy() for pantry in kitchen.pantries),
        stocks=tuple(
            {last: amount.copy() for last, amount in pantry.stock.items()} for pantry in kitchen.pantries
        ),
        jobs=jobs.copy(),
    )


def before(parts: Sequence[Part], day: int) -> list[Part]:
    """Return what stands, and what is sown before a day."""
    return [part for part in parts if isinstance(part, Standing) or part.day < day]


def _rows(parts: Sequence[Part]) -> int:
    return sum(len(part.cuts) for part in parts)


def _name(part: Part) -> tuple[object, ...]:
    """Return what makes two parts the same for a run."""
    if isinstance(part, Sowing):
        everywhere = part.sown_in is None or bool(part.sown_in.all())
        sown_in = None if everywhere or part.sown_in is None else part.sown_in.tolist()
        return part.name, part.day, part.kinds, part.cuts, sown_in
    state = part.done, part.waits, part.come_up, part.not_before
    return part.name, part.sown, part.planted, part.kinds, part.cuts, *state
