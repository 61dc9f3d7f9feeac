"""A plan's sowings in drawn seasons of a changed space, with the same luck as in its own."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import inf

import numpy as np

from cropcal.planning.candidates.assessment import Assessment, assess
from cropcal.planning.candidates.columns import Option
from cropcal.planning.candidates.eligible import Capacity
from cropcal.planning.candidates.prepare import Prepared, with_growth_by_sowing_day
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.work_calendar import WorkCalendar, work_calendar
from cropcal.planning.growth.pace import Paces
from cropcal.planning.luck.drawn import FEWEST, MOST_ROWS, TOLD_SEED, Drawn, Stage
from cropcal.planning.luck.streams import RandomStreams
from cropcal.planning.luck.world import alternatives, luck_name, season_world
from cropcal.records.crop import CropTables
from cropcal.records.plan import Batch, SiteUse
from cropcal.records.space import Space
from cropcal.seasons.world import FloatArray, Sowing

SEASONS = 200
"""Drawn seasons by which a change is judged."""


@dataclass(frozen=True)
class Grown:
    """The batches of a plan, the sites that they hold, and whether its search ran out of time."""

    batches: tuple[Batch, ...]
    sites: tuple[SiteUse, ...]
    cut_short: bool = False

    def all_sown_within(self, space: Space) -> bool:
        """Return whether all of it is sown from the first day of a space's plan on, and anything is."""
        start = space.settings.start
        return bool(self.batches) and all(batch.sow_on >= start for batch in self.batches)


@dataclass(frozen=True)
class SownCells:
    """Cells of one crop sown on one day, for sites of like light of one bed.

    ``name`` is that of its luck, ``first_cell`` the number of cells before it that share it, ``site`` the
    first of its sites, ``plug_age_d`` that of bought plants, which are planted that day. ``cuts`` has one
    entry a cell: how often it is cut.
    """

    name: str
    first_cell: int
    batch: str
    want: int
    crop: str
    bed: str
    site: int
    nursery: str | None
    sites_each: int
    plug_age_d: int | None
    day: date
    cuts: tuple[int, ...]


def sowings_of(grown: Grown, land: Capacity) -> tuple[SownCells, ...]:
    """Return the sowings of a plan; spare cells go with the first place of their batch."""
    planted: dict[str, dict[int, list[SiteUse]]] = {}
    place_of = {
        (place.bed.name, site): number for number, place in enumerate(land.places) for site in place.sites
    }
    for use in grown.sites:
        if use.planted and (use.bed, use.site) in place_of:
            place = place_of[use.bed, use.site]
            planted.setdefault(use.batch, {}).setdefault(place, []).append(use)
    result, named = [], Counter[str]()
    for batch in grown.batches:
        luck, spare = luck_name(batch), max(batch.cells - batch.sites, 0)
        for _, uses in sorted(planted.get(batch.id, {}).items()):
            cuts = [len(use.cuts) for use in uses]
            cuts += [max(cuts)] * spare
            spare = 0
            result.append(
                SownCells(
                    name=luck,
                    first_cell=named[luck],
                    batch=batch.id,
                    want=batch.want,
                    crop=batch.crop,
                    bed=batch.bed,
                    site=min(use.site for use in uses),
                    nursery=batch.nursery,
                    sites_each=batch.sites_each,
                    plug_age_d=batch.plug_age_d,
                    day=batch.sow_on,
                    cuts=tuple(sorted(cuts, reverse=True)),
                )
            )
            named[luck] += len(cuts)
    return tuple(result)


@dataclass(frozen=True, eq=False)
class Scene:
    """A space, as it is or changed, as a world in which sowings can be drawn."""

    space: Space
    assessment: Assessment
    options: tuple[Option, ...]
    time: WorkCalendar
    stage: Stage

    def sowings(self, sown: Sequence[SownCells]) -> tuple[tuple[Sowing, ...], tuple[str, ...]]:
        """Return the sowings as far as they can be grown here, and the batch of each."""
        land = self.assessment.land
        goes = alternatives(self.stage.world)
        ways: dict[tuple[object, ...], list[int]] = {}
        for number, option in enumerate(self.options):
            ways.setdefault(_key_of(option), []).append(number)
        sowings, names = [], []
        for row in sown:
            day = self.time.day_of(row.day)
            numbers = ways.get(_key_of_row(row), [])
            there = [
                number for number in numbers if land.places[self.options[number].place].bed.name == row.bed
            ]
            if not there or not 0 <= day < self.time.days:
                continue
            planned = next(
                (n for n in there if row.site in land.places[self.options[n].place].sites), there[0]
            )
            most = self.stage.world.kinds[planned].cuts
            cuts = tuple(min(count, most) for count in row.cuts)
            sowings.append(Sowing(row.name, day, goes[planned], cuts, first_cell=row.first_cell))
            names.append(row.batch)
        return tuple(sowings), tuple(names)

    def ready_d(self, want: int, crop: str, bed: str, nursery: str | None) -> float:
        """Return the days from sowing until a crop is ready in a bed, infinite where it is not grown."""
        land = self.assessment.land
        return min(
            (
                float(option.grown.ready_d[1].min())
                for option in self.options
                if (option.want, option.grown.crop.slug) == (want, crop)
                and land.places[option.place].bed.name == bed
                and (option.grown.nursery or None) == nursery
            ),
            default=inf,
        )

    def stand(self, row: SownCells) -> float:
        """Return the chance that a cell of a sowing has a plant."""
        kinds = zip(self.options, self.stage.world.kinds, strict=True)
        return next((kind.stand for option, kind in kinds if _key_of(option) == _key_of_row(row)), 1.0)

    def work_day_from(self, on: date) -> date | None:
        """Return the first work day from a day on, None if there is none left."""
        later = self.time.work_days[self.time.work_days >= self.time.day_of(on)]
        return self.time.date_of(int(later[0])) if len(later) else None

    def moved_later(self, sown: Sequence[SownCells], by: int) -> tuple[SownCells, ...]:
        """Return the sowings, each so many work days later; those for which there is none are left out."""
        work = self.time.work_days
        first = np.searchsorted(work, [self.time.day_of(row.day) for row in sown]) + by
        return tuple(
            replace(row, day=self.time.date_of(work[at])) if by else row
            for row, at in zip(sown, first.tolist(), strict=True)
            if not by or at < len(work)
        )

    def drawn(self, sown: Sequence[SownCells]) -> Drawn:
        """Return the drawn seasons of sowings."""
        sowings, names = self.sowings(sown)
        seasons = self.stage.run(sowings)
        cells = sum(sowing.cells for sowing in sowings)
        return Drawn(seasons, tuple(names[number] for number in seasons.batch.tolist()), cells)


def _key_of(option: Option) -> tuple[object, ...]:
    grown = option.grown
    return option.want, grown.crop.slug, grown.nursery or None, option.sites_each, grown.plug_age_d


def _key_of_row(row: SownCells) -> tuple[object, ...]:
    return row.want, row.crop, row.nursery, row.sites_each, row.plug_age_d


@dataclass(frozen=True, eq=False)
class Comparison:
    """A plan's sowings in a space, and all that is needed to compare them with those in changed ones.

    The weeks that count, and what is wanted in them, stay those of the space as it is.
    """

    ready: Prepared
    tables: CropTables
    paces: Paces
    sown: tuple[SownCells, ...]

    @property
    def counted(self) -> FloatArray:
        """Return what is wanted in the weeks that count, of wants with a number, (wants, weeks)."""
        numbered = np.array([want.is_numbered for want in self.ready.space.wants], dtype=bool)
        counted = np.where(numbered[:, None], self.ready.wanted.counted, 0.0)
        counted[:, self.ready.space.settings.weeks :] = 0.0
        return counted

    @property
    def seasons(self) -> int:
        """Return how many seasons are drawn for a change; fewer in a large space."""
        return self.at_most(SEASONS)

    def at_most(self, seasons: int) -> int:
        """Return how many seasons are drawn where so many are wished."""
        cells = sum(len(row.cuts) for row in self.sown)
        return max(min(seasons, MOST_ROWS // max(cells, 1)), min(seasons, FEWEST))

    def with_added(self, like: Mapping[str, str]) -> Paces:
        """Return the learned paces, those of each added bed too: of the bed that it is like."""
        more = {
            (crop, extra): pace
            for extra, bed in like.items()
            for (crop, name), pace in self.paces.items()
            if name == bed
        }
        return {**self.paces, **more}

    def scene(self, space: Space, seasons: int, like: Mapping[str, str] | None = None) -> Scene:
        """Return the world of a changed space; an added bed learns from the one that it is like."""
        ready = self.ready
        paces = self.with_added(like or {})
        only_days = space.model_copy(update={"settings": ready.space.settings}) == ready.space
        assessment = ready.assessment if only_days else assess(space, self.tables, paces)
        time = replace(work_calendar(space.settings, space.first_day), weeks=ready.time.weeks)
        serving = ServiceWeeks(space.wants, self.tables.crops, time, space.settings.eat_within_d)
        options = with_growth_by_sowing_day(assessment.options, self.tables, assessment.land, paces, time)
        world = season_world(
            options,
            assessment.land,
            serving,
            ready.wanted,
            space.settings.clean_days,
            RandomStreams(seasons, TOLD_SEED),
        )
        return Scene(space, assessment, options, time, Stage(world, TOLD_SEED))

    def short(self, scene: Scene, sown: Sequence[SownCells]) -> FloatArray:
        """Return the missing want-weeks of each drawn season, (seasons,)."""
        return np.asarray(scene.drawn(sown).seasons.short(self.counted).sum(axis=(0, 1)))
