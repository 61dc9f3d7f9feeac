"""Spare seedlings, so that each wanted week is met with the chance asked for, as far as that goes.

Each want's sowings are raised by one factor: the one with which its weeks come nearest to the chance, a
smaller one where a larger does hardly more. All factors are judged by the same drawn seasons, which are not
those that are told.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.records.chances import Service, Unsure
from cropcal.records.plan import Batch
from cropcal.records.space import Space
from cropcal.seasons.world import BoolArray, FloatArray

FACTORS = (1.0, 1.1, 1.2, 1.3, 1.4, 1.6, 1.8, 2.0)
ENOUGH = 0.01
"""Mean chance of a week that is not worth more seedlings."""
SEASONS = 200
"""Drawn seasons by which factors are judged."""
NO_USE, IN_PLACE = "more seedlings would not do", "it is sown in place, so nothing can wait"

Chances = Callable[[Mapping[int, float]], FloatArray]
"""Factor of each want -> chance of each want and week, (wants, weeks)."""


@dataclass(frozen=True, eq=False)
class Surer:
    """The factor of each want, and whether the search was stopped."""

    factors: dict[int, float]
    stopped: bool


def surer(chances: Chances, asked: float, counts: BoolArray, stop: Callable[[], bool]) -> Surer:
    """Return the factor for each want; ``counts`` are its weeks that count, (wants, weeks)."""
    wants = np.flatnonzero(counts.any(axis=1)).tolist()
    best = dict.fromkeys(wants, FACTORS[0])
    scores: dict[int, float] = dict.fromkeys(wants, -1.0)
    for factor in FACTORS:
        unsure = [want for want in wants if scores[want] < asked - ENOUGH]
        if not unsure:
            break
        if stop():
            return Surer(best, stopped=True)
        chance = chances(best | dict.fromkeys(unsure, factor))
        for want in unsure:
            score = float(np.minimum(chance[want][counts[want]], asked).mean())
            if score > scores[want] + ENOUGH:
                best[want], scores[want] = factor, score
    return Surer(best, stopped=False)


def report(
    space: Space,
    time: WorkCalendar,
    counts: BoolArray,
    chance: tuple[FloatArray, FloatArray],
    batches: tuple[tuple[Batch, ...], tuple[Batch, ...]],
    *,
    stopped: bool,
) -> Service:
    """Return what the chance asked for takes; ``chance`` and ``batches`` are those before and with it."""
    asked = space.settings.service or 0.0
    before, reached = (np.round(table, 2) >= asked for table in chance)
    in_place = {batch.want for batch in batches[1]} - {batch.want for batch in batches[1] if batch.nursery}
    unsure = tuple(
        Unsure(
            week=time.date_of(week * DAYS_PER_WEEK),
            want=want,
            label=space.wants[want].label,
            chance=round(float(chance[1][want, week]), 2),
            why=IN_PLACE if want in in_place else NO_USE,
        )
        for week, want in np.argwhere((counts & ~reached).T).tolist()
    )
    cells, seeds = (
        sum(getattr(batch, name) for batch in batches[1]) - sum(getattr(batch, name) for batch in batches[0])
        for name in ("cells", "seeds")
    )
    return Service(
        asked=asked,
        weeks=int(counts.sum()),
        before=int((counts & before).sum()),
        reached=int(counts.sum()) - len(unsure),
        cells_more=cells,
        seeds_more=seeds,
        unsure=unsure,
        stopped=stopped,
    )
