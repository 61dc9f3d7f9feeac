"""The steady rule of a space as a plan: tuned in drawn seasons, placed on sites, and in words of records."""

from collections.abc import Callable, Sequence

import numpy as np

from cropcal.optimize.programme import FloatArray, IntArray, Task
from cropcal.optimize.solve import Solution, evaluated, solve
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.luck.drawn import SEARCH_SEED
from cropcal.planning.luck.placing import placed, with_cells
from cropcal.planning.luck.steady import HEAD_START_WEEKS, SEASONS, SowingHabit, Tuning, tuned
from cropcal.planning.realise import PlanBuilder, RealisedPlan
from cropcal.records import habits as records
from cropcal.records.plan import Batch

STANDING_S = 5.0
"""Seconds in which the ways of what stands already are chosen."""


def steady_rule(
    builder: PlanBuilder, task: Task, time_limit_s: float, stop: Callable[[], bool] | None = None
) -> tuple[Solution, RealisedPlan, tuple[records.Habit, ...]]:
    """Return the plan of the steady rule; what stands already is cut as a free plan would have it."""
    candidates, time = builder.model.candidates, builder.time
    standing = _standing(builder, task, min(time_limit_s, STANDING_S), stop)
    parts = builder.realise(standing).chosen
    stage = builder.model.stage(parts.parts, parts.batches, SEASONS, SEARCH_SEED)
    work = time.work_days[time.work_days < builder.space.settings.weeks * DAYS_PER_WEEK]
    work = work[work >= builder.today]
    tuning = Tuning(
        stage=stage,
        wants=builder.space.wants,
        counted=_to_come(builder),
        per_week=builder.per_week,
        options=candidates.options,
        time=time,
        work_days=work,
        first=builder.today,
    )
    habits = tuned(tuning, head_start=builder.resumed is None)
    on_sites = placed(habits, work, builder.today, stage, task, candidates, standing)

    def spare(fresh: Sequence[Batch], _: Sequence[Batch]) -> tuple[Batch, ...]:
        return with_cells(fresh, on_sites.cells, time.start)

    solution = evaluated(task, on_sites.n, "steady rule" if on_sites.n.any() else "empty")
    return solution, builder.realise(on_sites.n, spare), _recorded(habits, builder)


def _standing(
    builder: PlanBuilder, task: Task, time_limit_s: float, stop: Callable[[], bool] | None
) -> IntArray:
    """Return the sites of the columns by which what stands goes on; nothing new is sown."""
    n = np.zeros(task.columns.count, dtype=np.int64)
    begins = task.columns.count - builder.model.candidates.count
    if begins:
        n[:begins] = solve(task, time_limit_s=time_limit_s, stop=stop).n[:begins]
    return n


def _to_come(builder: PlanBuilder) -> FloatArray:
    """Return what is wanted in the weeks that count, (wants, weeks); without a number it is what fits."""
    counted = builder.wanted.counted.copy()
    counted[:, : builder.today // DAYS_PER_WEEK] = 0.0
    return counted


def _recorded(habits: Sequence[SowingHabit], builder: PlanBuilder) -> tuple[records.Habit, ...]:
    options = builder.model.candidates.options
    return tuple(
        records.Habit(
            want=habit.want,
            label=builder.space.wants[habit.want].label,
            crop=options[habit.option].grown.crop.slug,
            number=habit.number,
            every_weeks=habit.every_weeks,
            more=habit.more,
            more_weeks=HEAD_START_WEEKS if habit.more else 0,
            cuts=habit.cuts,
            in_place=options[habit.option].nursery < 0,
            on=tuple(builder.time.date_of(day) for day in habit.on),
        )
        for habit in habits
    )
