"""A solution realised as batches with their sites, and told by drawn seasons."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from cropcal.optimize.programme import FloatArray, IntArray
from cropcal.planning.candidates.assessment import Assessment
from cropcal.planning.candidates.columns import CandidateColumns
from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.first_weeks import PROMISED
from cropcal.planning.candidates.service_weeks import NEVER, ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.luck.drawn import TOLD, TOLD_SEED, Chosen, Drawn, SeasonModel
from cropcal.planning.luck.told import expected, with_ranges
from cropcal.planning.replan.resume import Resumed
from cropcal.planning.schedule.batches import batches, site_uses
from cropcal.planning.schedule.spares import NO_SPARE, CellsSown, with_cells
from cropcal.records.chances import Expected
from cropcal.records.plan import Batch, SiteUse
from cropcal.records.replan import Replan
from cropcal.records.space import Space


@dataclass(frozen=True, eq=False)
class RealisedPlan:
    """Batches, uses of sites, changes; amount ready of each want and week in the middle, (wants, weeks).

    ``chosen`` are its sowings and what stands, as the drawn seasons need them.
    """

    batches: tuple[Batch, ...]
    sites: tuple[SiteUse, ...]
    again: Replan | None
    ready: FloatArray
    chosen: Chosen


@dataclass(frozen=True, eq=False)
class ToldPlan:
    """What drawn seasons tell: batches with their ranges, chance of each want and week, what is expected.

    ``chance`` and ``sure``, the amount eaten in 8 of 10 seasons, have the shape (wants, weeks); nan where
    nothing is wanted or the week is over.
    """

    batches: tuple[Batch, ...]
    chance: FloatArray
    sure: FloatArray
    expected: Expected


@dataclass(frozen=True, eq=False)
class PlanBuilder:
    """Makes a plan of a solution: the assessment, candidates and demand it needs."""

    space: Space
    assessment: Assessment
    candidates: CandidateColumns
    wanted: Demand
    serving: ServiceWeeks
    resumed: Resumed | None
    per_week: FloatArray

    @property
    def time(self) -> WorkCalendar:
        """Return the calendar of the plan."""
        return self.serving.time

    @property
    def today(self) -> int:
        """Return the first day that is still to be planned."""
        return self.resumed.context.today if self.resumed is not None else 0

    @property
    def to_come(self) -> FloatArray:
        """Return what is wanted in the weeks that count from now on, (wants, weeks)."""
        counted = self.wanted.counted.copy()
        counted[:, : self.today // DAYS_PER_WEEK] = 0.0
        return counted

    @cached_property
    def model(self) -> SeasonModel:
        """Return what drawn seasons need beside the sowings."""
        return SeasonModel(
            self.assessment,
            self.resumed.candidates if self.resumed is not None else self.candidates,
            self.serving,
            self.wanted,
            self.space.settings.clean_days,
            self.resumed,
        )

    def realise(self, n: IntArray, cells: CellsSown = NO_SPARE) -> RealisedPlan:
        """Return the plan of a solution; ``cells`` are those of its sowings where some are spare."""
        land, time = self.assessment.land, self.time
        if self.resumed is not None:
            continued = self.resumed.finish(n, cells)
            new_n = n[len(n) - self.model.candidates.count :]
            by_id = {batch.id: batch for batch in continued.batches}
            chosen = Chosen(new_n, continued.holds, by_id, continued.parts)
            all_batches, sites, again = continued.batches, continued.sites, continued.again
        else:
            fresh, holds = batches(self.candidates, n, land.places, time)
            all_batches, again = with_cells(fresh, cells, time.start), None
            sites = site_uses(holds, land.places, time, self.space.settings.clean_days)
            chosen = Chosen(n, holds, {batch.id: batch for batch in all_batches})
        return RealisedPlan(all_batches, sites, again, self._ready(all_batches), chosen)

    def drawn(self, realised: RealisedPlan, seasons: int = TOLD, seed: int = TOLD_SEED) -> Drawn:
        """Return drawn seasons of a plan."""
        return self.model.draw(realised.chosen, seasons, seed)

    def told(self, realised: RealisedPlan) -> ToldPlan:
        """Return what seasons drawn afresh tell of a plan."""
        drawn = self.drawn(realised)
        chance = self.model.chance(drawn)
        chance[:, : self.today // 7] = np.nan
        eaten = drawn.seasons.eaten[: len(chance)]
        return ToldPlan(
            with_ranges(realised.batches, drawn, self.time, self.today),
            chance,
            np.where(np.isnan(chance), np.nan, np.percentile(eaten, 100 * (1 - PROMISED), axis=2)),
            expected(
                drawn, self.space.wants, self.wanted, self.per_week, self.space.settings.weeks, self.today
            ),
        )

    def _ready(self, all_batches: tuple[Batch, ...]) -> FloatArray:
        """Return the median amount ready for each want in each week, (wants, weeks)."""
        ready = np.zeros_like(self.wanted.counted)
        for batch in all_batches:
            for harvest in batch.harvests:
                week = self.serving.week(batch.want, batch.crop, harvest.on) if batch.want >= 0 else NEVER
                if week != NEVER:
                    ready[batch.want, week] += harvest.amount
        return ready
