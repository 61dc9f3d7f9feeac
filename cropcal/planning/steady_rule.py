"""The steady rule of a space: tuned in drawn seasons, its sowings, and in words of records."""

from collections.abc import Sequence

from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.luck.drawn import Stage
from cropcal.planning.luck.sowings import Slot, Slots
from cropcal.planning.luck.steady import HEAD_START_WEEKS, SowingHabit, Tuning, tuned
from cropcal.planning.realise import PlanBuilder
from cropcal.records import chances as records


def rule_habits(builder: PlanBuilder, stage: Stage) -> tuple[SowingHabit, ...]:
    """Return the habit of each want, tuned in the seasons of a stage."""
    time = builder.time
    work = time.work_days[time.work_days < builder.space.settings.weeks * DAYS_PER_WEEK]
    tuning = Tuning(
        stage=stage,
        wants=builder.space.wants,
        counted=builder.to_come,
        per_week=builder.per_week,
        options=builder.model.candidates.options,
        time=time,
        work_days=work[work >= builder.today],
        first=builder.today,
    )
    return tuned(tuning, head_start=builder.resumed is None)


def rule_sowings(habits: Sequence[SowingHabit], builder: PlanBuilder, slots: Slots) -> dict[Slot, int]:
    """Return the sowings of habits; one that would be ripe when nobody cuts is left out."""
    time = builder.time
    work = time.work_days[time.work_days < builder.space.settings.weeks * DAYS_PER_WEEK]
    work = work[work >= builder.today]
    sown: dict[Slot, int] = {}
    for habit in habits:
        for day, cells in habit.sowings(work, builder.today):
            slot = slots.slot(habit.option, day, habit.cuts)
            if slot is not None:
                sown[slot] = sown.get(slot, 0) + cells
    return sown


def recorded(habits: Sequence[SowingHabit], builder: PlanBuilder) -> tuple[records.Habit, ...]:
    """Return habits as records."""
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
