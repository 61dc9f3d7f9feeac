"""A bound on the short want-weeks: what every plan misses, even if all comes as forecast."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np

from cropcal.optimize.assemble import build
from cropcal.optimize.highs import Relaxed
from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import Programme, Task

SHORTAGE_ONLY = Weights(
    short=1.0,
    surplus=0.0,
    cost=0.0,
    staleness=0.0,
    kept=0.0,
    alike=0.0,
    segments=((1.0, 1.0),),
    given_up=0.0,
    calm=0.0,
)


@dataclass(frozen=True)
class TimeLimits:
    """Time limit of the analysis, and a function that ends it early by returning True."""

    time_limit_s: float = float("inf")
    stop: Callable[[], bool] | None = None

    def relaxed(self, programme: Programme) -> Relaxed:
        """Return the relaxation of a programme, with this time limit."""
        return Relaxed(programme, until=perf_counter() + self.time_limit_s, stop=self.stop)


def least_shortage(
    task: Task, wants: Sequence[int], limits: TimeLimits = TimeLimits(), unknown: float = 0.0
) -> float:
    """Return a lower bound on the short want-weeks of some wants: the optimum of the relaxed programme.

    Sites may be split there, as far as the rows for whole sites let them; a plan may well miss more. It is
    ``unknown`` if time ran out: nothing is proven then.
    """
    only = _with_only(task, wants)
    if not (only.demand > 0).any():
        return 0.0
    programme = build(only, SHORTAGE_ONLY)
    optimum = limits.relaxed(programme).solve(programme.lower, programme.upper)
    return max(optimum[1], 0.0) if optimum else unknown


def _with_only(task: Task, wants: Sequence[int]) -> Task:
    """Return the task with no demand but that of some wants."""
    counted = np.zeros(len(task.demand), dtype=bool)
    counted[list(wants)] = True
    return replace(task, demand=np.where(counted[:, None], task.demand, 0.0))
