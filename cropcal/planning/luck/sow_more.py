"""What to sow besides where a week is not sure, tried in the drawn seasons of the plan."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from cropcal.planning.candidates.columns import Option
from cropcal.planning.luck.drawn import Stage
from cropcal.planning.luck.sowings import Slot, Slots, Sown
from cropcal.records.chances import SowMore
from cropcal.records.space import Want
from cropcal.seasons.world import FloatArray

UNSURE = 0.7
"""Chance of a week below which something is advised."""
GOOD = 0.8
"""Chance that is enough: the fewest cells that bring it are advised."""
LEAST_GAIN = 0.15
"""Gain of chance that more cells must bring to be worth a word (assumed)."""
WEEKS = 4
"""Unsure weeks of a want that are tried, the least sure first."""
HARM = 0.1
"""Expected short weeks that all weeks together may lose by it (assumed)."""
AROUND_D = 14
"""Days by which what is sown may be ready before or after the week (luck moves it)."""
MANY = 3
"""Times the cells that would do without luck, at most."""
AT_ONCE = 24


@dataclass(frozen=True, eq=False)
class MoreCells:
    """Tries more cells for single weeks of a plan.

    ``counted`` are the numbered wants in the weeks to come, (wants, weeks); ``chance`` that each is met, nan
    where nothing counts. ``search`` and ``fresh`` are worlds of drawn seasons, for choosing and for telling.
    """

    slots: Slots
    wants: Sequence[Want]
    counted: FloatArray
    chance: FloatArray
    search: Stage
    fresh: Stage
    today: int

    def advised(self, sown: Sown) -> tuple[SowMore, ...]:
        """Return what to sow besides for an unsure week of each want, the least sure that it helps."""
        rows = []
        for number in range(len(self.wants)):
            chances = np.where(self.counted[number] > 0, self.chance[number], np.nan)
            unsure = [week for week in np.argsort(chances).tolist() if chances[week] < UNSURE]
            found = (self._for_week(sown, number, week) for week in unsure[:WEEKS])
            row = next((row for row in found if row is not None), None)
            rows += [row] if row is not None else []
        return tuple(rows)

    def _for_week(self, sown: Sown, want: int, week: int) -> SowMore | None:
        tries = list(self._tries(want, week))
        best: tuple[float, int, float, Slot] | None = None
        for first in range(0, len(tries), AT_ONCE):
            some = tries[first : first + AT_ONCE]
            met, short = self._tried(self.search, sown, some, want, week)
            for at, (slot, cells) in enumerate(some, 1):
                if met[at] < UNSURE or met[at] - met[0] < LEAST_GAIN or short[at] > short[0] + HARM:
                    continue
                enough = met[at] >= GOOD
                rank = (0.0, cells, -met[at]) if enough else (1.0 - met[at], cells, 0.0)
                if best is None or (*rank, slot) < best:
                    best = (*rank, slot)
        if best is None:
            return None
        slot, cells = best[3], best[1]
        met, short = self._tried(self.fresh, sown, [(slot, cells)], want, week)
        if met[1] < UNSURE or met[1] - met[0] < LEAST_GAIN or short[1] > short[0] + HARM:
            return None
        option = self._option(slot)
        return SowMore(
            want=want,
            label=self.wants[want].label,
            week=self.slots.time.date_of(7 * week),
            crop=option.grown.crop.slug,
            on=self.slots.time.date_of(slot.day),
            cells=cells,
            chance_before=round(float(met[0]), 2),
            chance_after=round(float(met[1]), 2),
        )

    def _option(self, slot: Slot) -> Option:
        return self.slots.candidates.options[slot.option]

    def _tries(self, want: int, week: int) -> Iterator[tuple[Slot, int]]:
        """Yield slots that may be ready about a week, each with several numbers of cells."""
        for number, days in self.slots.days.items():
            option = self.slots.candidates.options[number]
            if option.want != want:
                continue
            ready_d = float(option.grown.ready_d[1].mean())
            each = float(option.grown.amount[0, ceil(float(option.grown.ready_d[1, 0]))])
            needed = max(ceil(self.counted[want, week] / each), 1) if each > 0 else 1
            for day in days:
                if day < self.today or abs(day + ready_d - (7 * week + 3)) > AROUND_D:
                    continue
                slot = self.slots.slot(number, day, self.slots.most_cuts[number, day])
                if slot is not None:
                    for cells in sorted({1, ceil(needed / 2), needed, ceil(1.5 * needed), MANY * needed}):
                        yield slot, cells

    def _tried(
        self, stage: Stage, sown: Sown, more: Sequence[tuple[Slot, int]], want: int, week: int
    ) -> tuple[FloatArray, FloatArray]:
        """Return the chance of the week and all expected short weeks, without and with more cells of each."""
        choices = [sown, *({**sown, slot: sown.get(slot, 0) + cells} for slot, cells in more)]
        seasons = stage.repeated(len(choices)).run(self.slots.season_sowings(choices))
        short = seasons.short(self.counted)
        by_choice = short.reshape(*short.shape[:2], len(choices), -1)
        return (by_choice[want, week] == 0).mean(axis=1), by_choice.sum(axis=(0, 1)).mean(axis=1)
