"""Planning again in the other world: one grower after another lives a season and replans from the journal.

``python tests/studies/other_again.py [ARM [GROWERS [FIRST]]]`` prints a row a grower and the mean gain.
Nobody grew any of it. The space is ``mixed.toml``. The first plan is the usual choice, searched as the
command does; the later ones are searched with less effort (``AGAIN``), from the last plan on. A grower goes
by queue, as in ``other_world.py``, and sows what the newest plan says. What is noted and learned is one of
``ARMS``.

The season is lived from its start for each plan: luck goes by names, so what was before comes out the same.
"""

import sys
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from other_habits import ByQueue
from other_plants import Ground, Luck, ground
from other_season import GAP_SEEN_D, Habit, Lived, mean_and_error
from other_sowings import Sowing, sowings_of
from other_world import WEEKS, luck_space

from cropcal.planning import choices
from cropcal.planning.history.calibration import learned_from_journal, paces
from cropcal.planning.planner import SolveOptions, plan
from cropcal.planning.site.bed_light import bed_lights
from cropcal.reading.crops.read import read_crop_tables
from cropcal.records.crop import CropTables
from cropcal.records.journal import Entry
from cropcal.records.plan import SeasonPlan
from cropcal.records.space import Space
from cropcal.records.written_plan import Past

SPACE = "mixed"
EVERY_D = 14
LAST_D = 7 * WEEKS[SPACE].stop - 21
"""Last day of planning again: what is sown later is hardly ripe in the weeks that count."""
AGAIN = choices.SearchEffort(screening=16, screens=2, deciding=48, sweeps=1, sweeps_more=0, rule=False)
"""Effort of a search for a plan that goes on."""
ARMS = {
    "harvests": (False, True),
    "harvests-unlearned": (False, False),
    "all": (True, True),
    "all-unlearned": (True, False),
}
"""Whether all is noted, and whether a pace is learned from it.

Else only what was cut is noted. All: also what was sown, moved, found not ready after its day, or died; and
what waits for room on a day of planning is not sown unless the new plan says so.
"""
LIMIT = SolveOptions(time_limit_s=300.0)


class Noting(ByQueue):
    """A queue that writes down each cut: row, day and amount, of a single season."""

    def __init__(self, *args) -> None:
        super().__init__(*args)
        self.cuts_made: list[tuple[int, int, float]] = []
        self.full_since: dict[int, list[tuple[int, float]]] = {}

    def cut(self, row: int, seasons: np.ndarray, day: int, last: bool = False) -> np.ndarray:
        """Cut, and write it down."""
        amount = super().cut(row, seasons, day, last)
        self.cuts_made += [(row, day, float(amount[0]))] * (len(seasons) > 0)
        return amount

    def ripen(self, at: tuple, row: int) -> None:
        """Work out when a plant is ripe, and remember since when that is known."""
        super().ripen(at, row)
        if len(self.full[at]):
            self.full_since.setdefault(row, []).append((self.last_day, float(self.full[at][0])))

    def was_full(self, row: int, day: int) -> float:
        """Return the day of full weight of what stood on a day."""
        return [full for since, full in self.full_since[row] if since <= day][-1]


@dataclass
class Going:
    """One grower: luck, what was or will be sown and the batch of each sowing."""

    here: Ground
    luck: Luck
    sowings: list[Sowing]
    batch: dict[int, str] = field(default_factory=dict)

    def live(self) -> tuple[Noting, Lived]:
        """Live the season with the sowings that are known now."""
        grower = Noting(self.here, self.sowings, self.luck, Habit())
        return grower, grower.live()

    def take(self, made: SeasonPlan, today: int) -> None:
        """Sow from a day on what a plan says; all before is as it was, also what waits for room."""
        start = self.here.space.settings.start
        before = [sowing for sowing in self.sowings if sowing.day < today]
        news = [batch for batch in made.batches if (batch.sow_on - start).days >= today]
        fresh = sowings_of(SimpleNamespace(batches=news, sites=made.sites), self.here)
        self.batch = {id(sowing): self.batch[id(sowing)] for sowing in before}
        self.batch |= {id(sowing): batch.id for sowing, batch in zip(fresh, news, strict=True)}
        self.sowings = [*before, *fresh]

    def give_up_waiting(self, made: SeasonPlan, today: int) -> SeasonPlan:
        """Take back what was to be sown before a day but found no room, and the same in the last plan."""
        grower, lived = self.live()
        waits: dict[int, int] = {}
        for row, sowing in enumerate(grower.of_row):
            on = lived.sown_on[row, 0]
            waits[id(sowing)] = waits.get(id(sowing), 0) + (sowing.day < today and not 0 <= on < today)
        gone = set()
        kept, batch = [], {}
        for sowing in self.sowings:
            left = sowing.cells - waits[id(sowing)]
            name = self.batch[id(sowing)]
            if not left:
                gone.add(name)
                continue
            its = sowing if left == sowing.cells else replace(sowing, cells=left)
            kept.append(its)
            batch[id(its)] = name
        self.sowings, self.batch = kept, batch
        return made.model_copy(
            update={
                "batches": tuple(its for its in made.batches if its.id not in gone),
                "sites": tuple(use for use in made.sites if use.batch not in gone),
            }
        )

    def journal(self, made: SeasonPlan, today: int, all_notes: bool) -> tuple[Entry, ...]:
        """Return what was noted until a day."""
        grower, lived = self.live()
        start = self.here.space.settings.start
        rows = [(self.batch[id(sowing)], sowing) for sowing in grower.of_row]
        cut: dict[tuple[int, str], float] = {}
        for row, day, amount in grower.cuts_made:
            if day < today and amount > 0:
                key = (day, rows[row][0])
                cut[key] = cut.get(key, 0.0) + amount
        crops = {name: sowing.crop for name, sowing in rows}
        heads = {name: grower.heads[row] for row, (name, _) in enumerate(rows)}
        lines = [
            (day, "harvested", name, {"amount": round(amount, 1), "unit": "heads" if heads[name] else "g"})
            for (day, name), amount in cut.items()
        ]
        if all_notes:
            lines += self._other_notes(made, today, grower, lived, rows, cut)
        lines.sort(key=lambda line: line[:1])
        return tuple(
            Entry(
                on=start + timedelta(days=int(day)),
                event=event,
                batch=name,
                crop=crops[name],
                line=number + 1,
                **more,
            )
            for number, (day, event, name, more) in enumerate(lines)
        )

    def _other_notes(self, made, today, grower, lived, rows, cut) -> Iterable[tuple]:
        """Yield what was sown and moved, what died in its site, and days on which nothing could be cut."""
        start = self.here.space.settings.start
        by_batch: dict[str, list[int]] = {}
        for row, (name, _) in enumerate(rows):
            by_batch.setdefault(name, []).append(row)
        harvest_days = self.here.harvest_days
        due = {batch.id: [(harvest.on - start).days for harvest in batch.harvests] for batch in made.batches}
        for name, its in by_batch.items():
            sown = [int(day) for day in lived.sown_on[its, 0] if 0 <= day < today]
            if not sown:
                continue
            sowing = rows[its[0]][1]
            unit = "cells" if sowing.nursery else "sites"
            bed = sowing.nursery or self.here.places[max(int(lived.place[its[0], 0]), 0)].bed
            yield min(sown), "sown", name, {"amount": len(sown), "unit": unit, "bed": bed}
            if sowing.nursery:
                moved: dict[int, list[int]] = {}
                for row in its:
                    day = int(lived.planted_on[row, 0])
                    if 0 <= day < today:
                        moved.setdefault(day, []).append(row)
                for day, moves in moved.items():
                    place = self.here.places[int(lived.place[moves[0], 0])].bed
                    yield day, "transplanted", name, {"amount": len(moves), "unit": "sites", "bed": place}
            died = [row for row in its if self._came_to_nothing(grower, lived, row, today)]
            for row in died:
                moved_on = int(lived.planted_on[row, 0])
                gone, kind = (
                    (int(lived.cleared_on[row, 0]), "sites")
                    if moved_on >= 0
                    else (int(lived.sown_on[row, 0]) + GAP_SEEN_D, "cells")
                )
                yield gone, "lost", name, {"amount": 1, "unit": kind}
            looked = int(harvest_days[harvest_days < today][-1])
            stand = [
                row
                for row in its
                if 0 <= lived.planted_on[row, 0] <= looked
                and not 0 <= lived.cleared_on[row, 0] < today
                and grower.was_full(row, looked) > looked
            ]
            if stand and sum(day <= looked for day in due.get(name, [])) > sum(
                other == name for _, other in cut
            ):
                yield looked, "not ready", name, {}

    def _came_to_nothing(self, grower: Noting, lived: Lived, row: int, today: int) -> bool:
        """Return whether it is known on a day that a row never came up, or died before any cut."""
        sown, gone = int(lived.sown_on[row, 0]), int(lived.cleared_on[row, 0])
        if sown < 0 or sown >= today or any(at == row for at, _, _ in grower.cuts_made):
            return False
        if lived.planted_on[row, 0] >= 0:
            return 0 <= gone < today
        return not grower.alive[row, 0] and sown + GAP_SEEN_D < today


def season(
    space: Space, tables: CropTables, here: Ground, first: SeasonPlan, seed: int, arm: str | None
) -> float:
    """Return the short weeks of one grower, who plans again as an arm says, or never."""
    lights = bed_lights(space, tables)
    start = space.settings.start
    going = Going(here, Luck(seed, 1, 1.0, 0.0, True), [])
    going.take(first, 0)
    made = first
    if arm is not None:
        all_notes, learns = ARMS[arm]
        for today in range(EVERY_D, LAST_D, EVERY_D):
            if all_notes:
                made = going.give_up_waiting(made, today)
            events = going.journal(made, today, all_notes)
            now = learned_from_journal(space, tables, lights, events, made.batches)
            known = paces(now, lights, tables.crops) if learns else {}
            on: date = start + timedelta(days=today)
            past = Past(on=on, batches=made.batches, sites=made.sites, supply=made.supply, events=events)
            made = plan(space, tables, LIMIT, known, past)
            going.take(made, today)
    _, lived = going.live()
    return float(lived.short_by_season(WEEKS[SPACE])[0])


def main() -> None:
    """Print a row a grower, and the mean difference so far."""
    how = sys.argv[1] if len(sys.argv) > 1 else "harvests"
    growers = int(sys.argv[2]) if len(sys.argv) > 2 else 60
    begin = int(sys.argv[3]) if len(sys.argv) > 3 else 1
    tables, _ = read_crop_tables(None)
    assert tables is not None
    space = luck_space(SPACE, tables)
    here = ground(space, tables)
    first = plan(space, tables, LIMIT)
    choices.EFFORT = AGAIN
    print(f"| grower | once | again, {how} | difference so far |\n| ---: | ---: | ---: | ---: |")
    less = []
    for seed in range(begin, begin + growers):
        once, again = (season(space, tables, here, first, seed, arm) for arm in (None, how))
        less.append(again - once)
        mean = "{:+.2f} ± {:.2f}".format(*mean_and_error(np.array(less))) if len(less) > 1 else ""
        print(f"| {seed} | {once:.2f} | {again:.2f} | {mean} |", flush=True)


if __name__ == "__main__":
    main()
