"""A solution made into batches with their sites, and drawn: how likely each want is met in each week."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cropcal.optimize.programme import FloatArray, IntArray
from cropcal.planning.candidates.assessment import Assessment
from cropcal.planning.candidates.columns import CandidateColumns
from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.service_weeks import NEVER, ServiceWeeks
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.replan.resume import Resumed
from cropcal.planning.risk.lots import Lot, sown_lots
from cropcal.planning.risk.simulation import RandomStreams, chance_met
from cropcal.planning.risk.spares import Oversown, Spare, no_spare
from cropcal.planning.schedule.batches import batches, site_uses
from cropcal.records.plan import Batch, SiteUse
from cropcal.records.replan import Replan
from cropcal.records.space import Space


@dataclass(frozen=True, eq=False)
class RealisedPlan:
    """Batches, who holds which site, what changed; what is ready and the chance of each want and week.

    ``chance`` is nan where nothing is wanted; ``standing`` are the lots that are in the ground.
    """

    batches: tuple[Batch, ...]
    sites: tuple[SiteUse, ...]
    again: Replan | None
    ready: FloatArray
    chance: FloatArray
    standing: tuple[Lot, ...]


@dataclass(frozen=True, eq=False)
class PlanBuilder:
    """All it takes to make a plan of a solution."""

    space: Space
    seen: Assessment
    found: CandidateColumns
    wanted: Demand
    serving: ServiceWeeks
    resumed: Resumed | None
    luck: RandomStreams

    @property
    def time(self) -> WorkCalendar:
        """Return the days of the plan."""
        return self.serving.time

    @cached_property
    def spare(self) -> Spare:
        """Return what gives batches their spare cells and seeds: nothing where no chance is asked for."""
        if self.space.settings.service is None:
            return no_spare
        offers = self.seen.offers
        return Oversown(
            grown={
                (option.grown.crop.slug, option.grown.spot.bed, option.grown.nursery): option.grown
                for option in offers
            },
            cells={bed.name: bed.site_count for bed in self.seen.land.nurseries},
        )

    @cached_property
    def already(self) -> dict[tuple[int, int, int], float]:
        """Return what was cut before today, by want, week and weeks for which it is kept."""
        return self.resumed.cut_already if self.resumed is not None else {}

    def drawn(self, n: IntArray, *, over_sown: bool = True) -> RealisedPlan:
        """Return a solution made into a plan and drawn; over-sown if a chance is asked for."""
        land, time, spare = self.seen.land, self.time, self.spare if over_sown else no_spare
        standing: list[Lot] = []
        if self.resumed is not None:
            all_batches, sites, replan, standing, lots = self.resumed.finish(n, spare)
        else:
            fresh, holds = batches(self.found, n, land.places, time)
            all_batches, replan = spare(fresh, ()), None
            sites = site_uses(holds, land.places, time, self.space.settings.clean_days)
            lots = sown_lots(
                self.found, n, holds, {batch.id: batch for batch in all_batches}, land, self.serving
            )
        chance = chance_met([*standing, *lots], self.wanted.counted, self.already, self.luck)
        return RealisedPlan(all_batches, sites, replan, self._ready(all_batches), chance, tuple(standing))

    def _ready(self, all_batches: tuple[Batch, ...]) -> FloatArray:
        """Return what is ready for each want in each week, in the middle."""
        ready = np.zeros_like(self.wanted.counted)
        for batch in all_batches:
            for harvest in batch.harvests:
                week = self.serving.week(batch.want, batch.crop, harvest.on) if batch.want >= 0 else NEVER
                if week != NEVER:
                    ready[batch.want, week] += harvest.amount
        return ready
