"""What would help a plan: its sowings in drawn seasons of a changed space, beside those of its own.

Read first: ``one_more``, for what is changed.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta
from math import ceil, sqrt

import numpy as np

from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.growth.pace import Paces
from cropcal.planning.growth.plugs import plug_age_d
from cropcal.planning.one_more import ChangedSpace, changes, like_crops, power, with_want
from cropcal.planning.power.quarter_hour_prices import DAYS_PER_MONTH
from cropcal.planning.same_sowings import Comparison, Grown, Scene, SownCells, sowings_of
from cropcal.records.outlook import OneMore
from cropcal.records.space import Space
from cropcal.seasons.world import FloatArray

FASTER = ("lamp hour", "watts", "quicker crop", "young plants")
"""Changes that make plants ready sooner."""
LEFT_EMPTY = ("site", "cells", "work day")
"""Changes of which nobody need make use: where that would be worse, nothing changes."""
MOST_LATER = 2
"""Work days by which the sowings may all be moved for those, lest they come before anybody wants them."""
SOONER_D = 1.0
"""Days by which a crop must be ready sooner to be offered instead."""


@dataclass(frozen=True, eq=False)
class TriedChange:
    """A change, its world, and the plan's sowings as they are carried over to it."""

    change: ChangedSpace
    scene: Scene
    sown: tuple[SownCells, ...]
    young_plants: int = 0

    @property
    def is_faster(self) -> bool:
        """Return whether plants are ready sooner; the sowings may then be moved, without the change too."""
        return self.change.kind in FASTER


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
    at_best = _short_at_best(comparison, base, comparison.sown)
    tried = [
        (
            trial,
            _short_at_best(comparison, trial.scene, trial.sown)
            if trial.is_faster
            else comparison.short(trial.scene, trial.sown),
        )
        for trial in _trials(comparison, base)
    ]
    days = [pair for pair in tried if pair[0].change.kind == "work day"]
    best_day = min(days, key=lambda pair: float(pair[1].mean()), default=None)
    tried = [pair for pair in tried if pair[0].change.kind != "work day" or pair is best_day]
    rows: list[OneMore] = []
    cut_short = False
    for number, (trial, after) in enumerate(tried):
        if stop():
            break
        if new_plan is not None:
            if tell is not None:
                tell(number, len(tried))
            sown, cut_short = _planned(comparison, trial, new_plan)
            after = comparison.short(trial.scene, sown)
            if stop():  # a search that was cut short would be unfair to its change
                break
        same = at_best if trial.is_faster and new_plan is None else before
        gains = same - after
        if trial.change.kind in LEFT_EMPTY and gains.mean() < 0:
            gains = np.zeros_like(gains)
        row = _row(comparison, base, trial, gains, anew=new_plan is not None)
        rows.append(row.model_copy(update={"cut_short": cut_short}))
    rows.sort(key=lambda row: (not row.helps, -row.gain_want_weeks, row.cost_a_month or 0.0))
    return Helps(tuple(rows), len(tried) - len(rows))


def _short_at_best(comparison: Comparison, scene: Scene, sown: tuple[SownCells, ...]) -> FloatArray:
    """Return the missing want-weeks of sowings that may all be moved a little, by what misses least."""
    shorts = [comparison.short(scene, scene.moved_later(sown, by)) for by in range(MOST_LATER + 1)]
    return min(shorts, key=lambda short: float(short.mean()))


def _planned(
    comparison: Comparison, trial: TriedChange, new_plan: NewPlan
) -> tuple[tuple[SownCells, ...], bool]:
    """Return the sowings of a new plan of a changed space, and whether its search was cut short."""
    space = trial.change.space
    paces = comparison.with_added(trial.change.like)
    order = sorted(range(len(space.wants)), key=lambda at: space.wants[at].model_dump_json())
    grown = new_plan(space, paces)
    sown = sowings_of(grown, trial.scene.assessment.land)
    return tuple(replace(row, want=order[row.want]) for row in sown if row.want >= 0), grown.cut_short


def _trials(comparison: Comparison, base: Scene) -> Iterator[TriedChange]:
    for change in changes(comparison.ready.space):
        scene = comparison.scene(change.space, comparison.seasons, change.like)
        if change.kind != "fan" or _verdicts(scene) != _verdicts(base):
            yield TriedChange(change, scene, comparison.sown)
    for number in range(len(comparison.ready.space.wants)):
        yield from _quicker(comparison, base, number)
        yield from _bought(comparison, base, number)


def _quicker(comparison: Comparison, base: Scene, number: int) -> Iterator[TriedChange]:
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
    change = ChangedSpace(
        "quicker crop", want.label, with_want(space, number, also), before, ready[slug], crop=slug
    )
    swapped = tuple(
        replace(row, crop=slug) if row.want == number and row.crop == crop else row for row in comparison.sown
    )
    yield TriedChange(change, scene, swapped)


def _bought(comparison: Comparison, base: Scene, number: int) -> Iterator[TriedChange]:
    """Yield young plants for a want: as many as would come up, when seedlings could first be moved."""
    space, crops = comparison.ready.space, comparison.tables.crops
    want = space.wants[number].model_copy(update={"plugs": True})
    bought: list[SownCells] = []
    for row in comparison.sown:
        if row.want != number or row.nursery is None or crops[row.crop].nursery_plants_m2 is None:
            continue
        count, age_d = ceil(len(row.cuts) * base.stand(row)), plug_age_d(want, crops[row.crop])
        day = base.work_day_from(row.day + timedelta(days=age_d))
        if day is None:
            continue
        bought.append(
            replace(
                row,
                nursery=None,
                plug_age_d=age_d,
                day=day,
                cuts=row.cuts[:count],
            )
        )
    if not bought:
        return
    changed = with_want(space, number, want)
    scene = comparison.scene(changed, comparison.seasons)
    others = tuple(row for row in comparison.sown if row.want != number)
    change = ChangedSpace("young plants", want.label, changed)
    plants = sum(len(row.cuts) for row in bought)
    yield TriedChange(change, scene, (*others, *bought), plants)


RANKS = ("no", "risk", "slow", "ok")


def _row(
    comparison: Comparison, base: Scene, trial: TriedChange, gains: FloatArray, *, anew: bool
) -> OneMore:
    """Return what a change does, from the gain of each drawn season."""
    change, space = trial.change, comparison.ready.space
    days = space.settings.weeks * DAYS_PER_WEEK
    costs, kwh = (
        (after - before) / days * DAYS_PER_MONTH
        for before, after in zip(power(space, days), power(change.space, days), strict=True)
    )
    grown = {(row.crop, row.bed) for row in trial.sown}
    verdicts = _verdicts(base), _verdicts(trial.scene)
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


def _verdicts(scene: Scene) -> dict[tuple[str, str], int]:
    """Return how each crop suits each bed, from 0: not at all."""
    return {(fit.crop, fit.bed): RANKS.index(fit.verdict) for fit in scene.assessment.verdicts}


def _mean_umol(scene: Scene, zone: str) -> float:
    """Return the mean light of the lamps over all sites of a zone."""
    values = [
        value
        for light in scene.assessment.lights
        if light.zone == zone
        for value in light.site_ppfd_umol_m2_s
    ]
    return round(sum(values) / len(values), 1) if values else 0.0
