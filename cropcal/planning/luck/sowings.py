"""Sowings that are still to choose: so many cells of an option on a work day, each to be cut so often."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from cropcal.planning.candidates.columns import NO_DAY, CandidateColumns
from cropcal.planning.candidates.eligible import Capacity
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.records.plan import Batch
from cropcal.seasons.world import IntArray, Sowing


class Slot(NamedTuple):
    """What is sown at once: number of the option, day from the plan's start, and cuts of each plant."""

    option: int
    day: int
    cuts: int


Sown = Mapping[Slot, int]
"""Cells sown in each slot."""


@dataclass(frozen=True, eq=False)
class Slots:
    """The slots that a season has: each has at least one candidate column.

    Options that differ only in their place are one: ``goes`` has the options of each, in the order in which
    seedlings go there (``alternatives``), and the first stands for all of them.
    """

    candidates: CandidateColumns
    time: WorkCalendar
    goes: tuple[tuple[int, ...], ...]

    @cached_property
    def cuts(self) -> IntArray:
        """Return the number of cuts of each candidate, (candidates,)."""
        return np.asarray((self.candidates.cuts != NO_DAY).sum(axis=1))

    @cached_property
    def days(self) -> Mapping[int, tuple[int, ...]]:
        """Return the days on which each option may be sown, in order; options without any are left out."""
        days: dict[int, set[int]] = {}
        for option, day in self.most_cuts:
            days.setdefault(option, set()).add(day)
        return {option: tuple(sorted(days[option])) for option in sorted(days)}

    @cached_property
    def most_cuts(self) -> Mapping[tuple[int, int], int]:
        """Return the most cuts of a plant, by option and day of sowing."""
        most: dict[tuple[int, int], int] = {}
        keys = zip(self.candidates.option.tolist(), self.candidates.sown.tolist(), strict=True)
        for (option, day), cuts in zip(keys, self.cuts.tolist(), strict=True):
            key = (self.goes[option][0], day)
            most[key] = max(most.get(key, 1), cuts)
        return most

    def want(self, slot: Slot) -> int:
        """Return the want that a slot is for."""
        return self.candidates.options[slot.option].want

    def slot(self, option: int, day: int, cuts: int) -> Slot | None:
        """Return the slot of an option on a day, with as many of the cuts as it has; None: there is none."""
        first = self.goes[option][0]
        most = self.most_cuts.get((first, day))
        return None if most is None else Slot(first, day, min(max(cuts, 1), most))

    def of_columns(self, n: IntArray) -> dict[Slot, int]:
        """Return the sowings of sites of each candidate, (candidates,)."""
        sown: dict[Slot, int] = {}
        for column in np.flatnonzero(n).tolist():
            slot = Slot(
                self.goes[int(self.candidates.option[column])][0],
                int(self.candidates.sown[column]),
                int(self.cuts[column]),
            )
            sown[slot] = sown.get(slot, 0) + int(n[column])
        return sown

    def season_sowings(self, choices: Sequence[Sown]) -> list[Sowing]:
        """Return the sowings of several choices, each in its own block of the seasons."""
        result = []
        for slot in sorted({slot for sown in choices for slot in sown}, key=_by_day):
            numbers = [sown.get(slot, 0) for sown in choices]
            most = max(numbers)
            if not most:
                continue
            option = self.candidates.options[slot.option]
            result.append(
                Sowing(
                    name=f"{option.grown.crop.slug} {self.time.date_of(slot.day)} {option.want}",
                    day=slot.day,
                    kinds=self.goes[slot.option],
                    cuts=(slot.cuts,) * most,
                    sown_in=np.arange(most)[:, None] < np.array(numbers),
                )
            )
        return result


class PlannedCells(NamedTuple):
    """Cells sown in a slot in a plan, and the sites that were planned for them."""

    cells: int
    sites: int


def sowings_of_batches(batches: Iterable[Batch], slots: Slots, land: Capacity) -> dict[Slot, PlannedCells]:
    """Return the sowings of batches of a plan, as far as they are possible.

    Plants of one batch that are cut so often are one sowing; spare cells go to those cut most often.
    """
    numbers = {
        (option.want, option.grown.crop.slug, land.places[option.place].bed.name, option.grown.nursery,
         option.sites_each): number
        for number, option in reversed(list(enumerate(slots.candidates.options)))
    }  # fmt: skip
    sown: dict[Slot, PlannedCells] = {}
    for batch in batches:
        option = numbers.get((batch.want, batch.crop, batch.bed, batch.nursery, batch.sites_each))
        if option is None:
            continue
        spare = max(batch.cells - batch.sites, 0)
        for cuts, sites in sorted(_sites_by_cuts(batch).items(), reverse=True):
            slot = slots.slot(option, slots.time.day_of(batch.sow_on), cuts)
            if slot is not None:
                cells, before = sown.get(slot, (0, 0))
                sown[slot] = PlannedCells(cells + sites + spare, before + sites)
                spare = 0
    return sown


def _sites_by_cuts(batch: Batch) -> dict[int, int]:
    """Return the sites of a batch by how often they are cut."""
    cut: Counter[int] = Counter()
    for harvest in batch.harvests:
        cut[harvest.cut] += harvest.sites
    return {cuts: cut[cuts] - cut[cuts + 1] for cuts in cut if cut[cuts] > cut[cuts + 1]} or {1: batch.sites}


def cells_of(sown: Sown) -> int:
    """Return all cells sown."""
    return sum(sown.values())


def raised(sown: Sown, factor: float) -> dict[Slot, int]:
    """Return so many times as many cells of each option, in whole cells from sowing to sowing."""
    owed: dict[int, float] = {}
    result = {}
    for slot, cells in in_order(sown):
        owed[slot.option] = owed.get(slot.option, 0.0) + cells * factor
        result[slot] = max(round(owed[slot.option]), 0)
        owed[slot.option] -= result[slot]
    return {slot: cells for slot, cells in result.items() if cells}


def carried_on(last: Sown, other: Sown, slots: Slots) -> dict[Slot, int]:
    """Return the sowings of a plan, and of another those after its last one for the same want."""
    until: dict[int, int] = {}
    for slot in last:
        until[slots.want(slot)] = max(until.get(slots.want(slot), slot.day), slot.day)
    later = {slot: cells for slot, cells in other.items() if slot.day > until.get(slots.want(slot), slot.day)}
    return {**last, **later}


def changed(first: Sown, second: Sown) -> int:
    """Return the cells by which two choices of sowings differ; one that is moved counts twice."""
    return sum(abs(first.get(slot, 0) - second.get(slot, 0)) for slot in {*first, *second})


def in_order(sown: Sown) -> Iterable[tuple[Slot, int]]:
    """Return the slots with their cells, by day."""
    return sorted(sown.items(), key=lambda item: _by_day(item[0]))


def _by_day(slot: Slot) -> tuple[int, int, int]:
    return slot.day, slot.option, slot.cuts
