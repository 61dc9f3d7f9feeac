"""Sowings of ``other_world.py``: the batches of a plan, or those of the plain rule."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import ceil, floor
from typing import NamedTuple

import numpy as np
from other_plants import Ground, Key, Way, ground

from cropcal.planning.realise import RealisedPlan
from cropcal.records.crop import CropTables
from cropcal.records.plan import SeasonPlan
from cropcal.records.space import Space

DAYS = 7


class Slot(NamedTuple):
    """Planned sites of one plant (its own first) and the days on which it is to be cut."""

    sites: tuple[int, ...]
    cuts: tuple[int, ...]


@dataclass(frozen=True)
class Sowing:
    """Cells (or sites, without a nursery) of one crop sown on one day, counted from the start of the plan.

    ``move_d``: days after sowing at which they may be moved, None: the crop's first. ``cuts``: most cuts of a
    plant, None: the crop's. ``seeds``: of a cell, None: the crop's. ``slots``: for the calendar habit.
    """

    want: int
    crop: str
    bed: str
    nursery: str | None
    day: int
    cells: int
    each: int = 1
    move_d: int | None = None
    cuts: int | None = None
    seeds: float | None = None
    slots: tuple[Slot, ...] = ()


def sowings_of(plan: SeasonPlan | RealisedPlan, here: Ground) -> list[Sowing]:
    """Return the batches of a plan as sowings, oldest first.

    Raises ValueError where crops stand already: they are not in this world.
    """
    start = here.space.settings.start
    if any(batch.sow_on < start for batch in plan.batches):
        raise ValueError("crops that stand already are not in this world")
    beside: dict[tuple[str, str, int], list[int]] = {}
    for use in plan.sites:
        if use.empty_for:
            beside.setdefault((use.batch, use.bed, use.empty_for), []).append(use.site)
    sowings = []
    for batch in plan.batches:
        slots = tuple(
            Slot(
                (use.site, *beside.get((batch.id, use.bed, use.site), ())),
                tuple((on - start).days for on in use.cuts),
            )
            for use in plan.sites
            if use.batch == batch.id and use.planted
        )
        cells = batch.cells or batch.sites
        crop_plants = max(
            way.plants if way.tray else 1.0
            for key, way in here.ways.items()
            if (key[0], key[1]) == (batch.want, batch.crop)
        )
        sowings.append(
            Sowing(
                want=batch.want,
                crop=batch.crop,
                bed=batch.bed,
                nursery=batch.nursery,
                day=(batch.sow_on - start).days,
                cells=cells,
                each=batch.sites_each,
                move_d=(batch.transplant_on - batch.sow_on).days if batch.transplant_on else None,
                cuts=max(harvest.cut for harvest in batch.harvests),
                seeds=batch.seeds / cells / crop_plants if batch.seeds else None,
                slots=slots,
            )
        )
    return sowings


def steady_rule(
    space: Space,
    tables: CropTables,
    per_week_cells: Mapping[int, float],
    head_start: int = 0,
) -> list[Sowing]:
    """Return the sowings of the plain rule in a space: see ``rule_here``."""
    return rule_here(ground(space, tables), per_week_cells, head_start)


def rule_here(here: Ground, per_week_cells: Mapping[int, float], head_start: int = 0) -> list[Sowing]:
    """Return the sowings of the plain rule: as many cells of each want on the first work day of every week.

    Of each want the crop that is ready first is sown, in turn for each bed in which it grows, until it would
    not be ready while it is wanted. ``per_week_cells`` may be fractions, which are carried on; ``head_start``
    cells more are sown in each of the first two weeks. For a feast they are sown once, in time for it.
    """
    sowings = []
    for want, per_week in per_week_cells.items():
        (_, crop, _, nursery, each), way = first_choice(here, want)
        alike = sorted(
            (float(other.left_d[0]), here.places[key[2]].bed)
            for key, other in here.ways.items()
            if (key[0], key[1], key[3], key[4]) == (want, crop, nursery, each)
        )
        beds = list(dict.fromkeys(bed for _, bed in alike))
        if want in here.feasts:
            sowings += _before_feasts(here, want, per_week)
            continue
        weeks = np.flatnonzero(here.wanted[want])
        owed, turn = 0.0, 0
        for week in range(here.weeks):
            days = here.work_days[here.work_days // DAYS == week]
            owed += per_week + (head_start if week < 2 else 0)
            cells = floor(owed + 1e-9)
            if not cells or not len(days) or not len(weeks):
                continue
            owed -= cells
            day = int(days[0])
            ready_week = (day + round(float(way.ages_d[0] + way.left_d[0]))) // DAYS
            if weeks[0] - 1 <= ready_week <= weeks[-1]:
                turns = [beds[(turn + cell) % len(beds)] for cell in range(cells)]
                turn += cells
                sowings += [
                    Sowing(want, crop, bed, nursery, day, turns.count(bed), each)
                    for bed in dict.fromkeys(turns)
                ]
    return sowings


def _before_feasts(here: Ground, want: int, cells: float) -> list[Sowing]:
    """Return the sowings of the plain rule for feasts: on the last work day from which all is ready."""
    (_, crop, place, nursery, each), way = first_choice(here, want)
    days = [here.work_days[here.work_days <= on - way.ages_d[0] - way.left_d[0]] for on in here.feasts[want]]
    bed = here.places[place].bed
    return [
        Sowing(want, crop, bed, nursery, int(before[-1]), ceil(cells), each) for before in days if len(before)
    ]


def first_choice(here: Ground, want: int) -> tuple[Key, Way]:
    """Return how a want is ready first, without empty sites beside its plants where that is possible."""
    ways = [(key[4], float(way.ages_d[0] + way.left_d[0]), key) for key, way in here.ways.items()]
    key = min((row for row in ways if row[2][0] == want), key=lambda row: row[:2])[2]
    return key, here.ways[key]


def enough_cells(here: Ground) -> dict[int, float]:
    """Return for each want the cells a week that bring what is wanted if all goes well."""
    cells = {}
    for want in sorted({key[0] for key in here.ways}):
        way = first_choice(here, want)[1]
        cuts = 1.0 + (way.cuts - 1) * (1.0 - way.leaves)
        cells[want] = float(here.per_week[want]) / (way.amount * cuts)
    return cells


def ripe_within(sowings: Iterable[Sowing], here: Ground, weeks: range) -> int:
    """Return the cells of sowings that are for some weeks: full-grown, without luck, before these end."""
    cells = 0
    for sowing in sowings:
        ready_d = min(
            float(way.ages_d[0] + way.left_d[0])
            for key, way in here.ways.items()
            if (key[0], key[1], key[3]) == (sowing.want, sowing.crop, sowing.nursery)
        )
        cells += sowing.cells if sowing.day + ready_d < DAYS * weeks.stop else 0
    return cells
