"""A plan's sowings, and what stands, as drawn seasons."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from cropcal.planning.candidates.assessment import Assessment
from cropcal.planning.candidates.columns import CandidateColumns
from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.luck.standing import Part, deliveries, options_of_standing, standing_parts
from cropcal.planning.luck.streams import RandomStreams
from cropcal.planning.luck.world import planned_sowings, season_world
from cropcal.planning.replan.resume import Resumed
from cropcal.planning.schedule.batches import Hold
from cropcal.records.plan import Batch
from cropcal.seasons.checkpoint import Checkpoint
from cropcal.seasons.simulate import Seasons, simulate
from cropcal.seasons.world import Delivery, FloatArray, IntArray, Sowing, Standing, World

TOLD_SEED, SEARCH_SEED = 20, 7
"""Seeds of the seasons that are told, and of those by which something is chosen: never the same."""
TOLD = 500
"""Drawn seasons by which a plan is told: a chance is known to two in a hundred."""
MOST_ROWS = 400_000
"""Sown cells times seasons at most, for the memory of large spaces."""
FEWEST = 100


@dataclass(frozen=True, eq=False)
class Chosen:
    """Sowings that were chosen: columns, their sites, the batches of them, and parts that stand."""

    n: IntArray
    holds: tuple[Hold, ...]
    batches: Mapping[str, Batch]
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True, eq=False)
class Drawn:
    """Drawn seasons, and the id of the batch of each of their rows, (rows,)."""

    seasons: Seasons
    batch_of_row: tuple[str, ...]
    cells: int

    def rows_of(self, batch: str) -> IntArray:
        """Return the rows of a batch."""
        return np.array([at for at, name in enumerate(self.batch_of_row) if name == batch], dtype=np.int64)


@dataclass(frozen=True, eq=False)
class Stage:
    """A world of drawn seasons, what stands in it and the batch of each, and what was cut before."""

    world: World
    seed: int
    standing: tuple[Standing, ...] = ()
    of_standing: tuple[str, ...] = ()
    before: tuple[Delivery, ...] = ()
    whole_run: dict[object, Seasons] = field(default_factory=dict)
    """The last whole seasons that were scored, by what was sown: another price needs no new run."""
    _repeated: dict[int, "Stage"] = field(default_factory=dict)

    def run(
        self,
        sowings: Sequence[Sowing],
        keep_on: Sequence[int] = (),
        since: Checkpoint | None = None,
        until_day: int | None = None,
    ) -> Seasons:
        """Return the seasons of some sowings; the other parameters are those of ``simulate``."""
        return simulate(
            self.world,
            sowings,
            self.standing,
            self.before,
            self.seed,
            keep_on=keep_on,
            since=since,
            until_day=until_day,
        )

    def repeated(self, blocks: int) -> "Stage":
        """Return the stage with its seasons repeated, to compare so many choices of sowings in one run."""
        if blocks not in self._repeated:
            standing = tuple(
                replace(part, mass_g=np.tile(part.mass_g, blocks), from_d=np.tile(part.from_d, blocks))
                for part in self.standing
            )
            world = self.world.repeated(blocks)
            self._repeated[blocks] = replace(self, world=world, standing=standing, whole_run={}, _repeated={})
        return self._repeated[blocks]


@dataclass(frozen=True, eq=False)
class SeasonModel:
    """All that drawn seasons need of a space but its sowings."""

    assessment: Assessment
    candidates: CandidateColumns
    serving: ServiceWeeks
    wanted: Demand
    clean_days: int
    resumed: Resumed | None = None

    def stage(self, parts: tuple[Part, ...], batches: Mapping[str, Batch], seasons: int, seed: int) -> Stage:
        """Return the world of drawn seasons, with what stands in it."""
        land, options = self.assessment.land, self.candidates.options
        luck, wants = RandomStreams(seasons, seed), len(self.serving.wants)
        more, numbers = options_of_standing(parts, options, land, wants)
        today = self.resumed.context.today if self.resumed is not None else 0
        world = season_world((*options, *more), land, self.serving, self.wanted, self.clean_days, luck, today)
        if self.resumed is None:
            return Stage(world, seed)
        context = self.resumed.context
        standing, of_standing = standing_parts(
            parts, numbers, batches, world, luck, context, self.resumed.losses
        )
        before = deliveries(self.resumed.standing, context, wants)
        return Stage(world, seed, standing, of_standing, before)

    def draw(self, chosen: Chosen, seasons: int = TOLD, seed: int = TOLD_SEED) -> Drawn:
        """Return drawn seasons of chosen sowings; fewer of them in a large space."""
        cells = sum(batch.cells or batch.sites for batch in chosen.batches.values())
        seasons = max(min(seasons, MOST_ROWS // max(cells, 1)), min(seasons, FEWEST))
        stage = self.stage(chosen.parts, chosen.batches, seasons, seed)
        sowings, of_sowing = planned_sowings(
            self.candidates, chosen.n, chosen.holds, chosen.batches, stage.world
        )
        result = stage.run(sowings)
        names = (*stage.of_standing, *of_sowing)
        sown = sum(sowing.cells for sowing in sowings)
        return Drawn(result, tuple(names[number] for number in result.batch.tolist()), sown)

    def chance(self, drawn: Drawn) -> FloatArray:
        """Return the chance that each want is met in each week, (wants, weeks); nan where nothing counts."""
        counted = self.wanted.counted
        missing = drawn.seasons.short(counted)
        return np.where(counted > 0, (missing == 0).mean(axis=2), np.nan)
