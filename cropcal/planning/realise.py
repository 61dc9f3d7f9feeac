"""A solution realised as batches with their sites, and simulated: the chance of each want and week."""

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
    """Batches, uses of sites, changes; amount ready and chance of each want and week, (wants, weeks).

    ``chance`` is nan where nothing is wanted; ``standing`` are the lots of standing batches.
    """

    batches: tuple[Batch, ...]
    sites: tuple[SiteUse, ...]
    again: Replan | None
    ready: FloatArray
    chance: FloatArray
    standing: tuple[Lot, ...]


@dataclass(frozen=True, eq=False)
class PlanBuilder:
    """Makes a plan of a solution: the assessment, candidates, demand and random streams it needs."""

    space: Space
    assessment: Assessment
    candidates: CandidateColumns
    wanted: Demand
    serving: ServiceWeeks
    resumed: Resumed | None
    luck: RandomStreams

    @property
    def time(self) -> WorkCalendar:
        """Return the calendar of the plan."""
        return self.serving.time

    @cached_property
    def spare(self) -> Spare:
        """Return the function that gives batches spare cells and seeds: none where no chance is asked for."""
        if self.space.settings.service is None:
            return no_spare
        options = self.assessment.options
        return Oversown(
            grown={
                (option.grown.crop.slug, option.grown.spot.bed, option.grown.nursery): option.grown
                for option in options
            },
            cells={bed.name: bed.site_count for bed in self.assessment.land.nurseries},
        )

    @cached_property
    def already(self) -> dict[tuple[int, int, int], float]:
        """Return the amounts cut before today, by (want, week, weeks for which they keep)."""
        return self.resumed.cut_already if self.resumed is not None else {}

    def realise(self, n: IntArray, *, over_sown: bool = True) -> RealisedPlan:
        """Return the plan of a solution, simulated; over-sown if a chance is asked for."""
        land, time, spare = self.assessment.land, self.time, self.spare if over_sown else no_spare
        standing: list[Lot] = []
        if self.resumed is not None:
            all_batches, sites, replan, standing, lots = self.resumed.finish(n, spare)
        else:
            fresh, holds = batches(self.candidates, n, land.places, time)
            all_batches, replan = spare(fresh, ()), None
            sites = site_uses(holds, land.places, time, self.space.settings.clean_days)
            lots = sown_lots(
                self.candidates, n, holds, {batch.id: batch for batch in all_batches}, land, self.serving
            )
        chance = chance_met([*standing, *lots], self.wanted.counted, self.already, self.luck)
        return RealisedPlan(all_batches, sites, replan, self._ready(all_batches), chance, tuple(standing))

    def _ready(self, all_batches: tuple[Batch, ...]) -> FloatArray:
        """Return the median amount ready for each want in each week, (wants, weeks)."""
        ready = np.zeros_like(self.wanted.counted)
        for batch in all_batches:
            for harvest in batch.harvests:
                week = self.serving.week(batch.want, batch.crop, harvest.on) if batch.want >= 0 else NEVER
                if week != NEVER:
                    ready[batch.want, week] += harvest.amount
        return ready
