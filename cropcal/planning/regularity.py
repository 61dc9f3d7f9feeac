"""Search for a free or a cyclic plan, its regularity, and the cost of a cycle."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from cropcal.optimize import carryover as larder
from cropcal.optimize.fixed_interval import short_and_surplus
from cropcal.optimize.highs import Progress
from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import IntArray, Task
from cropcal.optimize.solve import Solution, solve
from cropcal.planning.candidates.columns import CandidateColumns
from cropcal.planning.candidates.prepare import Prepared
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.cyclic import best_cyclic_plan, ordinary_week_columns
from cropcal.records.plan import Batch
from cropcal.records.rhythm import CropRhythm, Rhythm, Tally
from cropcal.records.space import Space

STEADY_SHARE = 0.5
"""Share of the time for the search of a cyclic plan; the rest is for the free plan to compare."""


@dataclass(frozen=True, eq=False)
class SearchResult:
    """The plan asked for; if it is cyclic, the weeks of its cycle and the sites of the free plan."""

    solution: Solution
    cycle_weeks: int = 0
    free: IntArray | None = None


def search(
    ready: Prepared,
    task: Task,
    candidates: CandidateColumns,
    cycles: Sequence[int],
    *,
    time_limit_s: float,
    gap: float,
    stop: Callable[[], bool] | None,
    progress: Progress | None,
) -> SearchResult:
    """Return the best plan, or with ``cycles`` (weeks) the best that is the same in every cycle.

    The bound of a steady plan is that of all plans, free ones too: its gap is what steadiness costs at most.
    """
    if not cycles:
        return SearchResult(solve(task, time_limit_s=time_limit_s, gap=gap, stop=stop, progress=progress))
    began = perf_counter()
    listed = np.array([want.on is not None for want in ready.space.wants])
    best = best_cyclic_plan(
        task,
        candidates,
        ordinary_week_columns(ready),
        listed,
        time_limit_s=time_limit_s * STEADY_SHARE,
        stop=stop,
        periods=cycles,
    )
    left_s = max(time_limit_s - (perf_counter() - began), 1.0)
    free = solve(task, time_limit_s=left_s, gap=gap, stop=stop, progress=progress)
    steady = best.solution
    bound = min(free.bound, steady.value)
    return SearchResult(
        replace(
            steady,
            status=free.status if best.proven or free.status != "proven" else "time limit",
            bound=bound,
            gap=(steady.value - bound) / steady.value if steady.value > 0 else 0.0,
            seconds=perf_counter() - began,
            kept=larder.best_carryover(task, Weights(), steady.n),
        ),
        best.period_weeks,
        free.n,
    )


def regularity(
    space: Space, task: Task, searched: SearchResult, batches: Sequence[Batch], time: WorkCalendar
) -> Rhythm:
    """Return the regularity of a plan, and if it is cyclic its cost against the free one."""
    cycle = searched.cycle_weeks or 1
    counts = _sown(batches, time)
    days, usual = usual_days(counts, time.work_days.tolist(), cycle)
    steady = searched.free is not None
    return Rhythm(
        steady=steady,
        cycle_weeks=cycle,
        work_days=days,
        usual_days=usual,
        crops=tuple(
            CropRhythm(crop=crop, sowings=len(sown), sizes=tuple(sorted(set(sown.values()))))
            for crop, sown in sorted(counts.items())
        ),
        this=_tally(space, task, searched.solution.n) if steady else None,
        free=_tally(space, task, searched.free) if searched.free is not None else None,
        service_left=steady and space.settings.service is not None,
    )


def _sown(batches: Sequence[Batch], time: WorkCalendar) -> dict[str, dict[int, int]]:
    """Return the sites sown, by crop and day."""
    sites_sown: dict[str, dict[int, int]] = {}
    for batch in batches:
        day = time.day_of(batch.sow_on)
        if 0 <= day < time.days:
            sown = sites_sown.setdefault(batch.crop, {})
            sown[day] = sown.get(day, 0) + batch.sites
    return sites_sown


def usual_days(
    counts: Mapping[str, Mapping[int, int]], work_days: Sequence[int], cycle_weeks: int
) -> tuple[int, int]:
    """Return the count of work days from first to last sowing, and of those with all numbers usual.

    ``counts`` is how many sites of each crop are sown on each day on which some are. A crop counts from its
    own first sowing to its last; no sowing is a number too. Usual is what is commonest on that day of the
    cycle.
    """
    if not counts:
        return 0, 0
    unusual: set[int] = set()
    for sown in counts.values():
        days = [day for day in work_days if min(sown) <= day <= max(sown)]
        slots: dict[int, Counter[int]] = {}
        for day in days:
            slots.setdefault(day % (DAYS_PER_WEEK * cycle_weeks), Counter())[sown.get(day, 0)] += 1
        for day in days:
            slot = slots[day % (DAYS_PER_WEEK * cycle_weeks)]
            if slot[sown.get(day, 0)] < max(slot.values()):
                unusual.add(day)
    first, last = min(map(min, counts.values())), max(map(max, counts.values()))
    all_days = sum(first <= day <= last for day in work_days)
    return all_days, all_days - len(unusual)


def _tally(space: Space, task: Task, n: IntArray) -> Tally:
    numbered = np.array([want.is_numbered for want in space.wants])
    counted = replace(task, demand=np.where(numbered[:, None], task.demand, 0.0))
    columns = task.columns
    new = np.flatnonzero((n > 0) & (task.before is None or task.before.group < 0))
    keys = np.stack([columns.want, columns.place, columns.sown, columns.planted])
    sowings = np.unique(keys[:, new], axis=1)
    return Tally(
        short_want_weeks=short_and_surplus(counted, n)[0],
        surplus_want_weeks=short_and_surplus(task, n)[1],
        power_cost=float(n @ columns.cost),
        sowings=sowings.shape[1],
    )
