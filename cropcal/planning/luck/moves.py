"""Changes of a choice of sowings, one step each: more, less, on another day, another crop or bed."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from cropcal.planning.luck.sowings import Slot, Slots, Sown
from cropcal.science.chance import random_stream

SHIFTS = (-4, -3, -2, -1, 1, 2, 3, 4)
"""Work days by which one cell is moved; a whole sowing is moved by no more than two."""
WHOLE_SHIFTS = (-2, -1, 1, 2)


@dataclass(frozen=True)
class Move:
    """Cells taken from one slot, ``None``: from nowhere, and given to another; ``cells`` 0: all of them."""

    kind: str
    taken: Slot | None
    given: Slot | None
    cells: int = 1

    def applied(self, sown: Sown) -> dict[Slot, int] | None:
        """Return the sowings after the move; None: it has nothing to take."""
        after = dict(sown)
        cells = self.cells
        if self.taken is not None:
            there = after.get(self.taken, 0)
            cells = cells or there
            if not there or there < cells:
                return None
            after[self.taken] = there - cells
            if not after[self.taken]:
                del after[self.taken]
        if self.given is not None:
            after[self.given] = after.get(self.given, 0) + cells
        return after


class Moves:
    """Draws moves at random: first the kind of the move, then one of that kind."""

    def __init__(self, slots: Slots, seed: int) -> None:
        self.slots = slots
        self.random = random_stream(seed, "moves")
        want = {option: slots.candidates.options[option].want for option in slots.days}
        self.add = [Move("more", None, slot) for slot in self._all_slots()]
        self.alike = {
            option: [other for other in want if other != option and want[other] == want[option]]
            for option in want
        }
        self.others = {option: [other for other in want if want[other] != want[option]] for option in want}
        self.kinds: tuple[Callable[[Sown], Iterator[Move]], ...] = (
            lambda sown: (move for move in self.add),
            lambda sown: (Move("two more", None, move.given, 2) for move in self.add),
            lambda sown: (Move("less", slot, None) for slot in sown),
            lambda sown: (Move("none", slot, None, 0) for slot in sown),
            lambda sown: self._shifted(sown, SHIFTS, 1),
            lambda sown: self._shifted(sown, WHOLE_SHIFTS, 0),
            lambda sown: self._elsewhere(sown, self.alike, 1),
            lambda sown: self._elsewhere(sown, self.alike, 0),
            lambda sown: self._elsewhere(sown, self.others, 1),
            self._cut_otherwise,
        )

    def draw(self, sown: Sown, count: int, first: int, last: int) -> list[Move]:
        """Return moves of what is sown on the days from ``first`` to ``last``, no move twice.

        Nothing is moved to a day before the first.
        """
        near = {slot: cells for slot, cells in sown.items() if first <= slot.day <= last}
        tables: dict[int, list[Move]] = {}
        drawn: dict[Move, None] = {}
        for kind in self.random.integers(len(self.kinds), size=2 * count).tolist():
            if kind not in tables:
                tables[kind] = [move for move in self.kinds[kind](near) if _within(move, first, last)]
            if tables[kind] and len(drawn) < count:
                drawn[tables[kind][int(self.random.integers(len(tables[kind])))]] = None
        return list(drawn)

    def _all_slots(self) -> Iterator[Slot]:
        for option, days in self.slots.days.items():
            for day in days:
                for cuts in range(1, self.slots.most_cuts[option, day] + 1):
                    yield Slot(option, day, cuts)

    def _shifted(self, sown: Sown, shifts: tuple[int, ...], cells: int) -> Iterator[Move]:
        for slot, count in sown.items():
            days = self.slots.days[slot.option]
            if not cells and count == 1:
                continue
            at = days.index(slot.day)
            for by in shifts:
                if 0 <= at + by < len(days):
                    given = self.slots.slot(slot.option, days[at + by], slot.cuts)
                    yield Move("another day", slot, given, cells)

    def _elsewhere(self, sown: Sown, options: Mapping[int, list[int]], cells: int) -> Iterator[Move]:
        for slot, count in sown.items():
            if not cells and count == 1:
                continue
            for option in options[slot.option]:
                given = self.slots.slot(option, slot.day, slot.cuts)
                if given is not None:
                    yield Move("another crop", slot, given, cells)

    def _cut_otherwise(self, sown: Sown) -> Iterator[Move]:
        for slot in sown:
            for cuts in (slot.cuts - 1, slot.cuts + 1):
                given = self.slots.slot(slot.option, slot.day, cuts)
                if given is not None and given != slot and cuts == given.cuts:
                    yield Move("cut otherwise", slot, given)


def _within(move: Move, first: int, last: int) -> bool:
    """Return whether what a move gives lies within some days; what is moved may go beyond the last."""
    if move.given is None:
        return True
    return first <= move.given.day and (move.taken is not None or move.given.day <= last)
