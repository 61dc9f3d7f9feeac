"""Minutes of work on a day, where they are limited: sowings spread over work days, the work of columns."""

from collections.abc import Sequence
from itertools import chain

import numpy as np

from cropcal.optimize.work_rows import WorkLimit
from cropcal.planning.candidates.columns import NO_DAY, CandidateColumns
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.luck.sowings import Slot, Slots, Sown, in_order
from cropcal.planning.replan.continuations import PlotGroup
from cropcal.planning.schedule.batches import seeds
from cropcal.planning.schedule.jobs import TRUE_LEAVES_D, chores_due
from cropcal.planning.schedule.workload import THIN_MIN, chore_minutes
from cropcal.records.space import Chore
from cropcal.seasons.world import FloatArray, IntArray
from cropcal.units import CUT_MIN, MOVE_MIN, SOW_MIN

SOWING_SHARE = 0.5
"""Part of a day's minutes that sowing may take, so that there is time to move and to cut (assumed)."""
FARTHEST_D = 14
"""Days by which a sowing may be moved to a day with time for it (assumed)."""


def without_chores(chores: Sequence[Chore], time: WorkCalendar) -> FloatArray:
    """Return the minutes of each day that chores leave of the most, (days,)."""
    left = np.full(time.days, time.most_minutes_a_day or 0.0)
    minutes = chore_minutes(chores)
    for job in chores_due(tuple(chores), time.since_the_first_day):
        day = time.day_of(job.on)
        if job.job == "chore" and 0 <= day < time.days:
            left[day] -= minutes[job.note]
    return np.asarray(np.maximum(left, 0.0))


def spread(sown: Sown, slots: Slots, minutes: FloatArray, kept: Sown) -> dict[Slot, int]:
    """Return sowings with the cells that a day has no time for moved to the nearest work day that has.

    ``minutes`` are those of each day for plants. A sowing of ``kept`` stays where it is. What fits nowhere
    within ``FARTHEST_D`` days stays too, and makes its day too long: then it is said.
    """
    most = np.floor(minutes * SOWING_SHARE / SOW_MIN).astype(np.int64)
    taken: dict[int, int] = {}
    result: dict[Slot, int] = {}

    def put(slot: Slot, cells: int) -> None:
        if cells > 0:
            taken[slot.day] = taken.get(slot.day, 0) + cells
            result[slot] = result.get(slot, 0) + cells

    for slot, cells in in_order(sown):
        put(slot, min(cells, kept.get(slot, 0)))
    for slot, cells in in_order(sown):
        left = cells - min(cells, kept.get(slot, 0))
        days = sorted(slots.days.get(slot.option, ()), key=lambda day: (abs(day - slot.day), day))
        for day in days:
            other = slots.slot(slot.option, day, slot.cuts)
            if not left or abs(day - slot.day) > FARTHEST_D:
                break
            if other is not None:
                now = min(left, max(int(most[day]) - taken.get(day, 0), 0))
                put(other, now)
                left -= now
        put(slot, left)
    return result


def seedling_minutes(sown: Sown, slots: Slots) -> FloatArray:
    """Return the minutes of sowing into nursery cells and of thinning on each day, (days,)."""
    time = slots.time
    minutes = np.zeros(time.days)
    for slot, cells in sown.items():
        option = slots.candidates.options[slot.option]
        grown, crop = option.grown, option.grown.crop
        if option.nursery >= 0:
            minutes[slot.day] += cells * SOW_MIN
        sown_by_hand = crop.kind not in ("tray", "shoots") and grown.plug_age_d is None
        if sown_by_hand and seeds(crop, grown, cells) // cells > crop.plants_per_site:
            days = time.work_days[time.work_days >= slot.day + np.ceil(grown.emergence_d[1]) + TRUE_LEAVES_D]
            if len(days):
                minutes[days[0]] += cells * THIN_MIN
    return minutes


def work_limit(
    groups: Sequence[PlotGroup], candidates: CandidateColumns, today: int, begins: int, left: FloatArray
) -> WorkLimit:
    """Return the work of one site of each column: of what stands, then, from ``begins`` on, of candidates.

    ``left`` are the minutes of each day that seedlings leave, (days,). Work after them is not limited.
    """
    ways = [(group, way) for group in groups for way in group.ways]
    standing = [
        (number, day, minutes)
        for number, (group, way) in enumerate(ways)
        for day, minutes in chain(
            [(way.planted, MOVE_MIN)] if group.batch.waits and way.planted >= today else [],
            ((day, CUT_MIN) for day, amount in zip(way.cuts, way.amounts, strict=True) if amount[0] > 0),
        )
    ]
    number, cut = np.nonzero(candidates.cuts != NO_DAY)
    raised = np.array([option.nursery >= 0 for option in candidates.options], dtype=bool)[candidates.option]
    column: IntArray = np.concatenate(
        [
            np.array([entry[0] for entry in standing], dtype=np.int64),
            begins + np.arange(candidates.count),
            begins + number,
        ]
    )
    day = np.concatenate(
        [
            np.array([entry[1] for entry in standing], dtype=np.int64),
            candidates.planted,
            candidates.cuts[number, cut],
        ]
    )
    minutes = np.concatenate(
        [
            np.array([entry[2] for entry in standing], dtype=np.float64),
            np.where(raised, MOVE_MIN, SOW_MIN),
            np.full(len(number), CUT_MIN),
        ]
    )
    inside = (day >= today) & (day < len(left))
    return WorkLimit(column[inside], day[inside], minutes[inside], left)


def time_left(sown: Sown, slots: Slots, minutes: FloatArray) -> FloatArray:
    """Return the minutes of each day that sowing and thinning leave of those for plants, (days,)."""
    left = np.floor((minutes - seedling_minutes(sown, slots)) / SOW_MIN) * SOW_MIN
    return np.maximum(left, 0.0)
