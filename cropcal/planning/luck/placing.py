"""Chosen sowings as columns: which sites they take, and when, if everything comes as forecast.

How much is sown, of what and when, is firm. The programme of the middle season only finds the days of moving
and cutting, and a site for each plant that is expected to live. All other cells are spare.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import BoolArray, FloatArray, IntArray, PreviousPlan, Task
from cropcal.optimize.solve import solve
from cropcal.optimize.work_rows import WorkLimit
from cropcal.planning.luck.sowings import PlannedCells, Slot, Slots, Sown, in_order
from cropcal.planning.schedule.spares import CellsSown
from cropcal.seasons.simulate import LATE_SOWING_D
from cropcal.seasons.world import Kind, World

NEAR_ENOUGH = 0.02
"""Part of its score by which the middle season may be worse than the best: its days are forecasts."""
LATE = 30.0
"""Price of a site of what is sown two weeks later; a week's want of it is worth a thousand (assumed)."""
CUT_D = 21
"""Days by which another sowing may rather be away than have a cut more, or less (assumed)."""
STANDS = 4.0
"""Weight of a site of what stands, times that of a sowing still to come: no plant is taken out for seed
that is still in its packet (assumed)."""
WORTH = 50.0
"""Points for which days of the last plan are changed: half a week's want (assumed)."""
SECONDS = 30.0
"""Most seconds that are spent on them, in spaces of any size; most take less than one."""


@dataclass(frozen=True, eq=False)
class Placed:
    """Sites of each column, and the cells of each sowing that has one."""

    n: IntArray
    cells: CellsSown


def placed(
    sown: Sown,
    slots: Slots,
    world: World,
    task: Task,
    planned: Mapping[Slot, PlannedCells] = MappingProxyType({}),
    work: WorkLimit | None = None,
) -> Placed:
    """Return the columns of chosen sowings, and how what stands goes on.

    ``task`` has the columns of what stands before those of the candidates. What is sown in place may be sown
    some days later. A sowing of as many cells as were ``planned`` before keeps its number of sites. One for
    which there is never a site is joined to one that is near in time and cut as often. ``work`` is that of
    each column, where a day has only so many minutes for it: then such a sowing is left out.
    """
    begins = task.columns.count - slots.candidates.count
    wishes = _wishes(sown, world, planned)
    rows, group = _rows_of(wishes, slots, world)
    sites = np.array([sites for _, _, sites in wishes], dtype=np.int64)
    site_days = np.array([_site_days(slot, world) for slot, _, _ in wishes])
    worth = site_days / max(site_days.sum() / max(len(wishes), 1), 1.0)
    late = _late(wishes, rows, group, slots)
    n = _days_of(replace(task, work=work), begins, rows, group, sites, worth, late)
    got = np.bincount(group, n[begins:], len(wishes)) if len(rows) else np.zeros(len(wishes))
    whole = np.zeros(task.columns.count, dtype=np.int64)
    whole[:begins] = n[:begins]
    np.add.at(whole, begins + rows, n[begins:])
    return Placed(whole, _cells(wishes, got > 0, slots, world, joined=work is None))


def _rows_of(
    wishes: Sequence[tuple[Slot, int, int]], slots: Slots, world: World
) -> tuple[IntArray, IntArray]:
    """Return the candidates by which each wish may be met, and the number of the wish of each."""
    candidates = slots.candidates
    rows, group = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for number, (slot, _, _) in enumerate(wishes):
        later = 0 if world.kinds[slot.option].nursery >= 0 else LATE_SOWING_D
        in_time = (candidates.sown >= slot.day) & (candidates.sown <= slot.day + later)
        mine = in_time & (slots.cuts == slot.cuts) & np.isin(candidates.option, slots.goes[slot.option])
        rows.append(np.flatnonzero(mine))
        group.append(np.full(len(rows[-1]), number, dtype=np.int64))
    return np.concatenate(rows), np.concatenate(group)


def _late(
    wishes: Sequence[tuple[Slot, int, int]], rows: IntArray, group: IntArray, slots: Slots
) -> FloatArray:
    """Return by what part of the days that it may wait each row is sown later than wished."""
    day = np.array([slot.day for slot, _, _ in wishes], dtype=np.int64)[group]
    return np.asarray((slots.candidates.sown[rows] - day) / LATE_SOWING_D, float)


def _site_days(slot: Slot, world: World) -> float:
    kind = world.kinds[slot.option]
    return kind.site_d * slot.cuts * kind.sites_each


def _wishes(sown: Sown, world: World, planned: Mapping[Slot, PlannedCells]) -> list[tuple[Slot, int, int]]:
    """Return slot, cells and sites of each sowing: as many sites as plants are expected to live."""
    owed: dict[int, float] = {}
    wishes = []
    for slot, cells in in_order(sown):
        kind = world.kinds[slot.option]
        owed[kind.want] = owed.get(kind.want, 0.0) + cells * _lives(kind, world)
        before = planned.get(slot)
        same = before is not None and before.cells == cells
        sites = before.sites if before and same else min(max(int(owed[kind.want] + 0.5), 1), cells)
        owed[kind.want] -= sites
        wishes.append((slot, cells, sites))
    return wishes


def _lives(kind: Kind, world: World) -> float:
    in_place = kind.nursery < 0  # then a plant that dies holds a site all the same
    return 1.0 if kind.thick or not kind.heads or in_place else kind.stand * (1.0 - world.lost)


def _days_of(
    task: Task,
    begins: int,
    rows: IntArray,
    group: IntArray,
    sites: IntArray,
    worth: FloatArray,
    late: FloatArray,
) -> IntArray:
    """Return the sites of the columns of what stands, then of ``rows``; a row may be there several times."""
    if not begins + len(rows):
        return np.zeros(0, dtype=np.int64)
    taken = np.concatenate([np.arange(begins), begins + rows])
    before = task.before
    standing = np.zeros(0, dtype=np.int64) if before is None else before.stands
    columns = task.columns.rows(taken)
    dearer = np.concatenate([np.zeros(begins), LATE * task.cost_unit * late])
    small = replace(
        task,
        columns=replace(columns, cost=columns.cost + dearer),
        kind=None if task.kind is None else task.kind[taken],
        work=None if task.work is None else task.work.rows(taken),
        before=PreviousPlan(
            group=np.concatenate([before.group[:begins] if before else standing, len(standing) + group]),
            planned=_still_planned(before, begins, taken, group, sites, late),
            calm=before.calm[taken] if before else np.zeros(len(taken)),
            stands=np.concatenate([standing, sites]),
            worth=np.concatenate([STANDS * before.worths if before else np.zeros(0), worth]),
        ),
    )
    weights = Weights(worth=WORTH)
    return solve(small, weights=weights, time_limit_s=SECONDS, gap=NEAR_ENOUGH, branch=False).n


def _still_planned(
    before: PreviousPlan | None,
    begins: int,
    taken: IntArray,
    group: IntArray,
    sites: IntArray,
    late: FloatArray,
) -> IntArray:
    """Return the sites of each column in the last plan, no more of a sowing than there now are.

    A column counts for the sowing of its day alone, not for an earlier one that may wait until then.
    """
    if before is None:
        return np.zeros(len(taken), dtype=np.int64)
    planned, left = before.planned[taken], sites.copy()
    planned[begins:][late > 0] = 0
    for column, number in zip(range(begins, len(taken)), group.tolist(), strict=True):
        planned[column] = min(planned[column], left[number])
        left[number] -= planned[column]
    return planned


def _cells(
    wishes: Sequence[tuple[Slot, int, int]], has_site: BoolArray, slots: Slots, world: World, *, joined: bool
) -> CellsSown:
    """Return the cells by want, crop and day; those of a sowing without a site go to one with a site.

    Unless they are ``joined`` so, they are not sown.
    """
    cells: dict[tuple[int, str, int], int] = {}
    sowings: dict[tuple[int, str, int], list[Slot]] = {}
    lost = []
    for (slot, count, _), has in zip(wishes, has_site.tolist(), strict=True):
        option, nursery = slots.candidates.options[slot.option], world.kinds[slot.option].nursery
        crop, alike = option.grown.crop.slug, (option.want, option.grown.crop.slug, nursery)
        if nursery < 0:
            continue
        if has:
            cells[option.want, crop, slot.day] = cells.get((option.want, crop, slot.day), 0) + count
            sowings.setdefault(alike, []).append(slot)
        elif joined:
            lost.append((alike, slot, count))
    for alike, slot, count in lost:
        if alike in sowings:
            nearest = min(sowings[alike], key=lambda other: (_apart(slot, other), other))
            cells[alike[0], alike[1], nearest.day] += count
    return cells


def _apart(first: Slot, second: Slot) -> int:
    """Return days between two sowings, and some for each cut that one has more than the other."""
    return abs(first.day - second.day) + CUT_D * abs(first.cuts - second.cuts)
