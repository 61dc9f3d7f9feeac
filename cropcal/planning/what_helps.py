"""What would help a plan: its sowings in drawn seasons of a changed space, beside those of its own.

Read first: ``one_more``, for what is changed.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import ceil, inf, sqrt

import numpy as np

from cropcal.planning.candidates.assessment import Assessment, assess
from cropcal.planning.candidates.columns import Option
from cropcal.planning.candidates.eligible import Capacity
from cropcal.planning.candidates.prepare import Prepared, with_growth_by_sowing_day
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar, work_calendar
from cropcal.planning.growth.pace import Paces
from cropcal.planning.growth.plugs import plug_age_d
from cropcal.planning.luck.drawn import FEWEST, MOST_ROWS, TOLD_SEED, Drawn, Stage
from cropcal.planning.luck.streams import RandomStreams
from cropcal.planning.luck.world import alternatives, luck_name, season_world
from cropcal.planning.one_more import Change, changes, like_crops, power, with_want
from cropcal.planning.power.quarter_hour_prices import DAYS_PER_MONTH
from cropcal.records.crop import CropTables
from cropcal.records.outlook import OneMore
from cropcal.records.plan import Batch, SiteUse
from cropcal.records.space import Space
from cropcal.seasons.world import FloatArray, Sowing

SEASONS = 200
"""Drawn seasons by which a change is judged."""
SOONER_D = 1.0
"""Days by which a crop must be ready sooner to be offered instead."""


@dataclass(frozen=True)
class Sown:
    """Cells of one crop sown on one day, for sites of like light of one bed.

    ``name`` is that of its luck, ``site`` the first of its sites, ``plug_age_d`` that of bought plants, which
    are planted that day. ``moved``: the day on which seedlings are planned to be moved. ``cuts`` has one
    entry a cell: how often it is cut.
    """

    name: str
    batch: str
    want: int
    crop: str
    bed: str
    site: int
    nursery: str | None
    sites_each: int
    plug_age_d: int | None
    day: date
    moved: date
    cuts: tuple[int, ...]


@dataclass(frozen=True)
class Grown:
    """The batches of a plan, and the sites that they hold."""

    batches: tuple[Batch, ...]
    sites: tuple[SiteUse, ...]

    def all_sown_within(self, space: Space) -> bool:
        """Return whether all of it is sown from the first day of a space's plan on, and anything is."""
        start = space.settings.start
        return bool(self.batches) and all(batch.sow_on >= start for batch in self.batches)


def sowings_of(grown: Grown, land: Capacity) -> tuple[Sown, ...]:
    """Return the sowings of a plan; spare cells are shared out to the sites of their batch."""
    planted: dict[str, dict[int, list[SiteUse]]] = {}
    place_of = {
        (place.bed.name, site): number for number, place in enumerate(land.places) for site in place.sites
    }
    for use in grown.sites:
        if use.planted and (use.bed, use.site) in place_of:
            place = place_of[use.bed, use.site]
            planted.setdefault(use.batch, {}).setdefault(place, []).append(use)
    result = []
    for batch in grown.batches:
        for place, uses in sorted(planted.get(batch.id, {}).items()):
            cuts = [len(use.cuts) for use in uses]
            spare = max(batch.cells - batch.sites, 0) * len(cuts) // max(batch.sites, 1)
            cuts += [max(cuts)] * spare
            result.append(
                Sown(
                    name=luck_name(batch, land.places[place]),
                    batch=batch.id,
                    want=batch.want,
                    crop=batch.crop,
                    bed=batch.bed,
                    site=min(use.site for use in uses),
                    nursery=batch.nursery,
                    sites_each=batch.sites_each,
                    plug_age_d=batch.plug_age_d,
                    day=batch.sow_on,
                    moved=batch.planted_on,
                    cuts=tuple(sorted(cuts, reverse=True)),
                )
            )
    return tuple(result)


@dataclass(frozen=True, eq=False)
class Scene:
    """A space, as it is or changed, as a world in which sowings can be drawn."""

    space: Space
    assessment: Assessment
    options: tuple[Option, ...]
    time: WorkCalendar
    stage: Stage

    def sowings(self, sown: Sequence[Sown]) -> tuple[tuple[Sowing, ...], tuple[str, ...]]:
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
            sowings.append(Sowing(name=row.name, day=day, kinds=goes[planned], cuts=cuts))
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

    def stand(self, row: Sown) -> float:
        """Return the chance that a cell of a sowing has a plant."""
        kinds = zip(self.options, self.stage.world.kinds, strict=True)
        return next((kind.stand for option, kind in kinds if _key_of(option) == _key_of_row(row)), 1.0)

    def drawn(self, sown: Sequence[Sown]) -> Drawn:
        """Return the drawn seasons of sowings."""
        sowings, names = self.sowings(sown)
        seasons = self.stage.run(sowings)
        cells = sum(sowing.cells for sowing in sowings)
        return Drawn(seasons, tuple(names[number] for number in seasons.batch.tolist()), cells)


def _key_of(option: Option) -> tuple[object, ...]:
    grown = option.grown
    return option.want, grown.crop.slug, grown.nursery or None, option.sites_each, grown.plug_age_d


def _key_of_row(row: Sown) -> tuple[object, ...]:
    return row.want, row.crop, row.nursery, row.sites_each, row.plug_age_d


@dataclass(frozen=True, eq=False)
class Comparison:
    """A plan's sowings in a space, and all that is needed to compare them with those in changed ones.

    The weeks that count, and what is wanted in them, stay those of the space as it is.
    """

    ready: Prepared
    tables: CropTables
    paces: Paces
    sown: tuple[Sown, ...]

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

    def short(self, scene: Scene, sown: Sequence[Sown]) -> FloatArray:
        """Return the missing want-weeks of each drawn season, (seasons,)."""
        return np.asarray(scene.drawn(sown).seasons.short(self.counted).sum(axis=(0, 1)))


@dataclass(frozen=True, eq=False)
class Trial:
    """A change, its world, and the plan's sowings as they are carried over to it."""

    change: Change
    scene: Scene
    sown: tuple[Sown, ...]
    young_plants: int = 0


NewPlan = Callable[[Space, Paces], Grown]
"""Function from a space to a plan made anew."""
Tell = Callable[[int, int], None]
"""Function that is given how many changes are done, and of how many."""


@dataclass(frozen=True)
class Helps:
    """What would help, best first, and how many changes were not tried."""

    rows: tuple[OneMore, ...]
    not_tried: int = 0


def what_helps(
    comparison: Comparison,
    new_plan: NewPlan | None = None,
    stop: Callable[[], bool] = lambda: False,
    tell: Tell | None = None,
) -> Helps:
    """Return what one more of each thing would do to a plan.

    Parameters
    ----------
    comparison
        The plan's sowings in its space.
    new_plan
        Makes a plan of a changed space, whose sowings are then compared. None: the same sowings are.
    stop
        Whether to leave out what is not tried yet.
    tell
        Called before each new plan.
    """
    base = comparison.scene(comparison.ready.space, comparison.seasons)
    before = comparison.short(base, comparison.sown)
    tried = [(trial, comparison.short(trial.scene, trial.sown)) for trial in _trials(comparison, base)]
    days = [pair for pair in tried if pair[0].change.kind == "work day"]
    best_day = min(days, key=lambda pair: float(pair[1].mean()), default=None)
    tried = [pair for pair in tried if pair[0].change.kind != "work day" or pair is best_day]
    rows: list[OneMore] = []
    for number, (trial, after) in enumerate(tried):
        if stop():
            break
        if new_plan is not None:
            if tell is not None:
                tell(number, len(tried))
            after = comparison.short(trial.scene, _planned(comparison, trial, new_plan))
            if stop():  # a search that was cut short would be unfair to its change
                break
        rows.append(_row(comparison, base, trial, before - after, anew=new_plan is not None))
    rows.sort(key=lambda row: (not row.helps, -row.gain_want_weeks, row.cost_a_month or 0.0))
    return Helps(tuple(rows), len(tried) - len(rows))


def _planned(comparison: Comparison, trial: Trial, new_plan: NewPlan) -> tuple[Sown, ...]:
    """Return the sowings of a new plan of a changed space; its wants are numbered by their own order."""
    space = trial.change.space
    paces = comparison.with_added(trial.change.like)
    order = sorted(range(len(space.wants)), key=lambda at: space.wants[at].model_dump_json())
    sown = sowings_of(new_plan(space, paces), trial.scene.assessment.land)
    return tuple(replace(row, want=order[row.want]) for row in sown if row.want >= 0)


def _trials(comparison: Comparison, base: Scene) -> Iterator[Trial]:
    for change in changes(comparison.ready.space):
        scene = comparison.scene(change.space, comparison.seasons, change.like)
        yield Trial(change, scene, comparison.sown)
    for number in range(len(comparison.ready.space.wants)):
        yield from _quicker(comparison, base, number)
        yield from _bought(comparison, base, number)


def _quicker(comparison: Comparison, base: Scene, number: int) -> Iterator[Trial]:
    """Yield the quickest crop that could stand in for the one that is grown most for a want, if any is."""
    space, tables = comparison.ready.space, comparison.tables
    rows = [row for row in comparison.sown if row.want == number and row.plug_age_d is None]
    want = space.wants[number]
    if not rows or want.cut_at_g is not None:
        return
    cells = Counter[tuple[str, str, str | None]]()
    for row in rows:
        cells[row.crop, row.bed, row.nursery] += len(row.cuts)
    (crop, bed, nursery), _ = cells.most_common(1)[0]
    others = like_crops(want, crop, tables)
    if not others:
        return
    slugs = tuple(sorted((*want.crops, *(other.slug for other in others))))
    scene = comparison.scene(
        with_want(space, number, want.model_copy(update={"crops": slugs})), comparison.seasons
    )
    before = base.ready_d(number, crop, bed, nursery)
    ready = {other.slug: scene.ready_d(number, other.slug, bed, nursery) for other in others}
    slug = min(ready, key=lambda slug: (ready[slug], slug))
    if ready[slug] > before - SOONER_D:
        return
    also = want.model_copy(update={"crops": tuple(sorted((*want.crops, slug)))})
    change = Change(
        "quicker crop", want.label, with_want(space, number, also), before, ready[slug], crop=slug
    )
    swapped = tuple(
        replace(row, crop=slug) if row.want == number and row.crop == crop else row for row in comparison.sown
    )
    yield Trial(change, scene, swapped)


def _bought(comparison: Comparison, base: Scene, number: int) -> Iterator[Trial]:
    """Yield young plants for a want: as many as would come up, on the days on which seedlings are moved."""
    space, crops = comparison.ready.space, comparison.tables.crops
    want = space.wants[number].model_copy(update={"plugs": True})
    bought: list[Sown] = []
    for row in comparison.sown:
        if row.want != number or row.nursery is None or crops[row.crop].nursery_plants_m2 is None:
            continue
        count = ceil(len(row.cuts) * base.stand(row))
        bought.append(
            replace(
                row,
                nursery=None,
                plug_age_d=plug_age_d(want, crops[row.crop]),
                day=row.moved,
                cuts=row.cuts[:count],
            )
        )
    if not bought:
        return
    changed = with_want(space, number, want)
    scene = comparison.scene(changed, comparison.seasons)
    others = tuple(row for row in comparison.sown if row.want != number)
    change = Change("young plants", want.label, changed)
    plants = sum(len(row.cuts) for row in bought)
    yield Trial(change, scene, (*others, *bought), plants)


RANKS = ("no", "risk", "slow", "ok")


def _row(comparison: Comparison, base: Scene, trial: Trial, gains: FloatArray, *, anew: bool) -> OneMore:
    """Return what a change does, from the gain of each drawn season."""
    change, space = trial.change, comparison.ready.space
    days = space.settings.weeks * DAYS_PER_WEEK
    costs, kwh = (
        (after - before) / days * DAYS_PER_MONTH
        for before, after in zip(power(space, days), power(change.space, days), strict=True)
    )
    grown = {(row.crop, row.bed) for row in trial.sown}
    verdicts = [
        {(fit.crop, fit.bed): RANKS.index(fit.verdict) for fit in scene.assessment.verdicts}
        for scene in (base, trial.scene)
    ]
    moved = {
        (crop, bed): verdicts[1][crop, bed] - verdicts[0][crop, bed]
        for crop, bed in grown
        if (crop, bed) in verdicts[0] and (crop, bed) in verdicts[1]
    }
    lit = change.kind == "watts"
    return OneMore(
        kind=change.kind,
        subject=change.subject,
        before=change.before,
        after=change.after,
        gain_want_weeks=round(float(gains.mean()), 3),
        gain_se=round(float(gains.std(ddof=1) / sqrt(len(gains))), 3),
        cost_a_month=round(costs, 2) if space.tariff else None,
        kwh_a_month=round(kwh, 1),
        crop=change.crop,
        young_plants=0 if anew else trial.young_plants,
        umol_before=_mean_umol(base, change.subject) if lit else None,
        umol_after=_mean_umol(trial.scene, change.subject) if lit else None,
        worse_for=tuple(sorted({crop for (crop, _), rise in moved.items() if rise < 0})),
        better_for=tuple(sorted({crop for (crop, _), rise in moved.items() if rise > 0})),
        anew=anew,
    )


def _mean_umol(scene: Scene, zone: str) -> float:
    """Return the mean light of the lamps over all sites of a zone."""
    values = [
        value
        for light in scene.assessment.lights
        if light.zone == zone
        for value in light.site_ppfd_umol_m2_s
    ]
    return round(sum(values) / len(values), 1) if values else 0.0
