"""What a choice of sowings is worth in drawn seasons: missing weeks, and all else at its price."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from cropcal.optimize.programme import SECOND
from cropcal.planning.growth.crop_growth import GrowthTable
from cropcal.planning.luck.drawn import Stage
from cropcal.planning.luck.sowings import Slots, Sown
from cropcal.planning.luck.told import MINUTES
from cropcal.planning.schedule.batches import seeds
from cropcal.records.space import Prices, SowChoice, Want
from cropcal.seasons.checkpoint import Checkpoint
from cropcal.seasons.simulate import Seasons
from cropcal.seasons.world import BoolArray, FloatArray, Kind, Sowing

USUAL_PRICES: Mapping[SowChoice, Prices] = {
    "sparing": Prices(surplus=0.4, cell=0.08, sowing=0.02, seed=0.0, minute=0.0, site_week=0.0),
    "usual": Prices(surplus=0.2, cell=0.03, sowing=0.02, seed=0.0, minute=0.0, site_week=0.0),
    "safe": Prices(surplus=0.08, cell=0.01, sowing=0.02, seed=0.0, minute=0.0, site_week=0.0),
}
"""Prices of each choice, in weeks without one want (assumed)."""
MOST_OF_ONE = 0.75
"""Share of what is wanted in two weeks running that one crop of a want with variety is to bring at most."""
SAMENESS = 0.2
"""Price of a week's worth that it brings beyond (assumed)."""


def prices_of(choice: SowChoice, own: Prices) -> Prices:
    """Return the prices of a choice, with those that a person has set."""
    return USUAL_PRICES[choice].model_copy(
        update={name: value for name, value in own.model_dump().items() if value is not None}
    )


@dataclass(frozen=True, eq=False)
class Scorer:
    """Scores choices of sowings; a score is in weeks without one want, the lower the better.

    ``counted`` are the wants in the weeks that count, (wants, weeks); ``per_week`` their usual amounts.
    ``stages`` are worlds of drawn seasons, any of which may be asked for by its number.
    """

    stages: Sequence[Stage]
    slots: Slots
    wants: Sequence[Want]
    counted: FloatArray
    per_week: FloatArray
    prices: Prices
    _seeds: dict[int, float] = field(default_factory=dict)

    def scores(
        self,
        choices: Sequence[Sown],
        stage: int = 0,
        since: Checkpoint | None = None,
        until_day: int | None = None,
    ) -> FloatArray:
        """Return the score of each choice in each season of a stage, (choices, seasons).

        All choices go on from the checkpoint ``since``, and leave off before ``until_day``: then only their
        differences mean something.
        """
        world = self.stages[stage].world
        sowings = self.slots.season_sowings(choices)
        seasons = self._run(choices, sowings, self.stages[stage], since, until_day)
        shape = (len(self.wants), len(choices), world.seasons)
        weight = np.array([1.0 if want.is_numbered else SECOND for want in self.wants])
        usual = np.where(self.per_week > 0, self.per_week, 1.0)
        short = seasons.short(self.counted).sum(axis=1).reshape(shape)
        over = seasons.wasted[: len(self.wants)].reshape(shape) / usual[:, None, None]
        score = np.einsum("w,wcs->cs", weight, short + (self.prices.surplus or 0.0) * over)
        score += np.array([self._sowing_cost(sown) for sown in choices])[:, None]
        if self.prices.minute or self.prices.site_week:
            parts = (*self.stages[stage].standing, *sowings)
            kinds = [world.kinds[parts[batch].kinds[0]] for batch in seasons.batch.tolist()]
            score += self._work_and_light(seasons, kinds, shape[1:])
        return np.asarray(score + self._sameness(seasons, sowings, shape[1:]), float)

    @staticmethod
    def _run(
        choices: Sequence[Sown],
        sowings: Sequence[Sowing],
        stage: Stage,
        since: Checkpoint | None,
        until_day: int | None,
    ) -> Seasons:
        """Return the seasons of some choices; the last whole ones are kept, for the same choices."""
        repeated = stage.repeated(len(choices))
        if since is not None or until_day is not None:
            return repeated.run(sowings, since=since, until_day=until_day)
        key = tuple(frozenset(sown.items()) for sown in choices)
        if key not in stage.whole_run:
            stage.whole_run.clear()
            stage.whole_run[key] = repeated.run(sowings)
        return stage.whole_run[key]

    def checkpoint(self, sown: Sown, stage: int, day: int, since: Checkpoint | None = None) -> Checkpoint:
        """Return the state of the seasons of some sowings on the morning of a day."""
        sowings = self.slots.season_sowings([sown])
        seasons = self.stages[stage].run(sowings, keep_on=[day], since=since, until_day=day + 1)
        return seasons.checkpoints[0]

    def _sowing_cost(self, sown: Sown) -> float:
        """Return the price of sowings and cells, of their seed, and of the minutes to sow them."""
        options = self.slots.candidates.options
        crops = {(options[slot.option].grown.crop.slug, slot.day) for slot in sown}
        cost: float = len(crops) * (self.prices.sowing or 0.0) + sum(sown.values()) * (
            (self.prices.cell or 0.0) + (self.prices.minute or 0.0) * MINUTES[0]
        )
        if self.prices.seed:
            for slot, cells in sown.items():
                if slot.option not in self._seeds:
                    self._seeds[slot.option] = _seeds_a_cell(options[slot.option].grown)
                cost += self.prices.seed * cells * self._seeds[slot.option]
        return cost

    def _work_and_light(self, seasons: Seasons, kinds: Sequence[Kind], shape: tuple[int, int]) -> FloatArray:
        """Return the price of moving and cutting, and of sites in the light, (choices, seasons).

        ``kinds`` are those of the rows. What is sown in place is never moved.
        """
        planted = seasons.planted >= 0
        raised = np.array([kind.nursery >= 0 for kind in kinds], dtype=bool)
        each = np.array([kind.sites_each for kind in kinds], dtype=np.int64)
        cut = (seasons.cut_day >= 0).sum(axis=(0, 1))
        minutes = MINUTES[1] * planted[raised].sum(axis=0) + MINUTES[2] * cut
        last = seasons.cut_day.max(axis=0)
        days = each @ np.where(planted & (last >= 0), last - seasons.planted, 0)
        price = (self.prices.minute or 0.0) * minutes + (self.prices.site_week or 0.0) * days / 7
        return np.asarray(price.reshape(shape), float)

    def _sameness(self, seasons: Seasons, sowings: Sequence[Sowing], shape: tuple[int, int]) -> FloatArray:
        """Return the price of one crop in place of variety, where a want asks for it, (choices, seasons)."""
        total = np.zeros(shape)
        weeks = self.counted.shape[1]
        options = self.slots.candidates.options
        standing = len(seasons.batch) and int(seasons.batch.max(initial=-1)) + 1 - len(sowings)
        of_row = [
            options[sowings[batch - standing].kinds[0]] if batch >= standing else None
            for batch in seasons.batch.tolist()
        ]
        for number, want in enumerate(self.wants):
            if not want.variety:
                continue
            asked = self.counted[number, 1:] + self.counted[number, :-1]
            both = (self.counted[number, 1:] > 0) & (self.counted[number, :-1] > 0)
            for slug in dict.fromkeys(want.crops):
                mine = [
                    option is not None and option.want == number and option.grown.crop.slug == slug
                    for option in of_row
                ]
                brought = _by_week(seasons, np.array(mine, dtype=bool), weeks)
                beyond = brought[1:] + brought[:-1] - MOST_OF_ONE * asked[:, None]
                beyond = np.where(both[:, None], np.maximum(beyond, 0.0), 0.0).sum(axis=0)
                total += SAMENESS * (beyond / max(float(self.per_week[number]), 1e-9)).reshape(shape)
        return total


def _by_week(seasons: Seasons, rows: BoolArray, weeks: int) -> FloatArray:
    """Return what some rows bring in each week, (weeks, seasons)."""
    day, amount = seasons.cut_day[:, rows], seasons.cut_amount[:, rows]
    columns = seasons.eaten.shape[2]
    some = day >= 0
    season = np.broadcast_to(np.arange(columns), day.shape)[some]
    at = np.minimum(day[some] // 7, weeks - 1).astype(np.int64) * columns + season
    return np.asarray(np.bincount(at, amount[some], weeks * columns).reshape(weeks, columns), float)


def _seeds_a_cell(grown: GrowthTable) -> float:
    return float(seeds(grown.crop, grown, 1)) if grown.plug_age_d is None else 1.0
