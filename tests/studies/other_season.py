"""A season of ``other_world.py``, whatever the grower's habit: plants, harvest, meals, and what came of it.

All seasons are lived at once: rows are sown cells (or sites sown in place), oldest first; columns, seasons.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import other_plants as plants
from other_plants import NEVER, Ground, Luck, Way
from other_sowings import Sowing

GAP_SEEN_D = 14
"""Days after sowing at which a cell or site in which nothing came up is used again (assumed)."""
DUE, NURSED, STANDS, GONE = range(4)
"""Not sown yet; in the nursery; on its site; cut, dead or thrown away."""


class Meal(NamedTuple):
    """What was eaten of one crop on one day: days of the cut and of the meal, amounts of all seasons."""

    want: int
    crop: str
    cut_on: int
    eaten_on: int
    amount: float


@dataclass(eq=False)
class Lived:
    """What came of a plan in many seasons.

    ``eaten`` has shape (seasons, wants, weeks); ``wanted`` (wants, weeks) is that of the task, 0 in weeks
    that do not count. ``surplus`` is what was thrown away, ripe or cut, in want-weeks, and ``cells`` what was
    sown, both (seasons,). ``sown_on``, ``planted_on``, ``cleared_on`` and ``place`` say of each row in each
    season when and where it stood, on ``held`` sites; -1: never.
    """

    here: Ground
    eaten: np.ndarray
    wanted: np.ndarray
    surplus: np.ndarray
    cells: np.ndarray
    sown_on: np.ndarray
    planted_on: np.ndarray
    cleared_on: np.ndarray
    place: np.ndarray
    held: np.ndarray
    meals: list[Meal]

    def short_by_season(self, weeks: Iterable[int]) -> np.ndarray:
        """Return the missing want-weeks of each season, (seasons,)."""
        at = list(weeks)
        wanted, eaten = self.wanted[:, at], self.eaten[:, :, at]
        missing = np.maximum(wanted - eaten, 0.0) / np.where(wanted > 0, wanted, 1.0)
        return missing.sum(axis=(1, 2))

    def short(self, weeks: Iterable[int]) -> tuple[float, float]:
        """Return the missing want-weeks in these weeks (numbers from 0), and their standard error."""
        return mean_and_error(self.short_by_season(weeks))

    @property
    def most_held(self) -> list[int]:
        """Return the most sites that were held or still to be cleaned at once in any season, by place."""
        clean = np.where(self.cleared_on < 0, NEVER, self.cleared_on + self.here.clean_days)
        return [
            self._most_at_once(self.place == place, self.planted_on, clean)
            for place in range(len(self.here.places))
        ]

    @property
    def most_nursed(self) -> int:
        """Return the most seedlings that were in all nurseries at once in any season, living or not."""
        nursed = (self.sown_on >= 0) & (self.sown_on != self.planted_on)
        return self._most_at_once(nursed & (self.planted_on > self.sown_on), self.sown_on, self.planted_on)

    def _most_at_once(self, rows: np.ndarray, since: np.ndarray, until: np.ndarray) -> int:
        row, season = np.nonzero(rows)
        last = self.here.days + 1
        change = np.zeros((last + 1, self.eaten.shape[0]), dtype=np.int64)
        np.add.at(change, (since[row, season], season), self.held[row])
        np.add.at(change, (np.minimum(until[row, season], last), season), -self.held[row])
        return int(change.cumsum(axis=0).max())


def mean_and_error(values: np.ndarray) -> tuple[float, float]:
    """Return the mean of independent seasons and its standard error."""
    return float(values.mean()), float(values.std(ddof=1) / np.sqrt(len(values)))


@dataclass(frozen=True)
class Habit:
    """How a grower goes about it.

    Seedlings wait for a site, and sowings for room, ``wait_d`` days beyond their day. ``spares``: the queue
    takes spare seedlings too, else those beyond the planned sites of their batch are thrown away. ``looks``:
    harvest days after the planned one on which the calendar looks at what was not ripe.
    """

    name: str = "queue"
    wait_d: int = 28
    spares: bool = True
    looks: int = 1


class Grower:
    """All seasons of one plan; what both habits share."""

    def __init__(self, here: Ground, sowings: Sequence[Sowing], luck: Luck, habit: Habit) -> None:
        self.here, self.luck, self.habit = here, luck, habit
        self.sowings = sorted(
            sowings, key=lambda sowing: (sowing.day, sowing.want, sowing.crop, sowing.bed, sowing.move_d or 0)
        )
        self.of_row = [sowing for sowing in self.sowings for _ in range(self.rows_of(sowing))]
        n, s = len(self.of_row), luck.seasons
        self.sow_day = np.array([sowing.day for sowing in self.of_row], dtype=np.int64)
        self.each = np.array([sowing.each for sowing in self.of_row], dtype=np.int64)
        self.ways = [self.places_of(sowing) for sowing in self.sowings]
        self.row_ways = [
            ways
            for sowing, ways in zip(self.sowings, self.ways, strict=True)
            for _ in range(self.rows_of(sowing))
        ]
        self.first = [next(iter(ways.values())) for ways in self.row_ways]
        self.move_d = np.array(
            [
                0 if sowing.nursery is None else way.ages_d[0] if sowing.move_d is None else sowing.move_d
                for sowing, way in zip(self.of_row, self.first, strict=True)
            ]
        )
        self.most = np.array(
            [sowing.cuts or way.cuts for sowing, way in zip(self.of_row, self.first, strict=True)]
        )
        self.ln_b = np.log([way.b for way in self.first])
        self.window = np.array([way.window_d for way in self.first])
        self.leaves = np.array([way.leaves for way in self.first])
        self.lag = np.array([way.lag_d for way in self.first])
        self.heads = np.array([way.heads for way in self.first], dtype=bool)
        self.phase = np.full((n, s), DUE, dtype=np.int8)
        self.cuts = np.zeros((n, s), dtype=np.int8)
        self.place = np.full((n, s), -1, dtype=np.int64)
        self.sown_on, self.planted_on, self.cleared_on = (
            np.full((n, s), -1, dtype=np.int64) for _ in range(3)
        )
        self.enough, self.full, self.over, self.dies = (np.full((n, s), float(NEVER)) for _ in range(4))
        self.x0, self.t0, self.per_d, self.regrown, self.amount = (np.zeros((n, s)) for _ in range(5))
        self.draw()
        self.free = np.array([[len(place.sites)] * s for place in here.places], dtype=np.int64)
        self.freed = np.zeros((here.days + 90, len(here.places), s), dtype=np.int64)
        self.last_day = -1
        self.cells = {name: np.full(s, count) for name, count in here.cells.items()}
        self.need = np.zeros((len(here.per_week), s))
        self.eaten = np.zeros((s, *here.wanted.shape))
        self.surplus = np.zeros(s)
        self.store: list[tuple[int, int, int, str, np.ndarray]] = []
        self.meals: list[Meal] = []
        self.week = 0
        self.feast_on: dict[int, int] = {}

    def rows_of(self, sowing: Sowing) -> int:
        """Return the rows of a sowing."""
        return sowing.cells

    def places_of(self, sowing: Sowing) -> dict[int, Way]:
        """Return the places where a sowing may stand, the first choice first, and how it does there."""
        here = self.here
        kind = here.space.bed(sowing.bed).kind
        beds = {other.bed for other in self.sowings if other.crop == sowing.crop} - {sowing.bed}
        choices = []
        for key, way in here.ways.items():
            place = here.places[key[2]]
            alike = (key[0], key[1], key[3], key[4]) == (
                sowing.want,
                sowing.crop,
                sowing.nursery,
                sowing.each,
            )
            if alike and place.kind == kind and (place.bed == sowing.bed or place.bed in beds):
                choices.append((place.bed != sowing.bed, float(way.left_d[0]), key[2], way))
        if not choices:
            message = (
                f"{sowing.crop} of want {sowing.want} cannot stand in {sowing.bed} ({sowing.each} sites each)"
            )
            raise ValueError(message)
        choices.sort(key=lambda row: row[:3])
        return {row[2]: row[3] for row in choices}

    def draw(self) -> None:
        """Draw what differs between batches and plants."""
        luck, s = self.luck, self.luck.seasons
        n = len(self.of_row)
        self.ln_pace, self.ln_plant = np.zeros((n, s)), np.zeros((n, s))
        self.alive = np.ones((n, s), dtype=bool)
        self.doomed = np.full((n, s), np.inf)
        self.filled = np.ones((n, s))
        start = 0
        seen: dict[tuple[str, ...], int] = {}
        for sowing, ways in zip(self.sowings, self.ways, strict=True):
            way, rows = next(iter(ways.values())), self.rows_of(sowing)
            name = ("batch", str(sowing.want), sowing.crop, sowing.bed, str(sowing.day))
            seen[name] = seen.get(name, 0) + 1
            stream = luck.stream(*name, str(seen[name]))
            batch = luck.crop_pace(sowing.crop) + plants.BATCHES * luck.noise * stream.standard_normal(s)
            at = slice(start, start + rows)
            start += rows
            normal, chances = stream.standard_normal((sowing.cells, s)), stream.random((3, sowing.cells, s))
            sd = plants.PLANTS * luck.noise / np.sqrt(way.plants if way.tray else 1.0)
            self.ln_pace[at] = batch
            self.ln_plant[at] = np.maximum(sd * normal - sd**2 / 2, -0.9)[:rows]
            share = luck.comes_up(way)
            if way.tray:
                self.filled[at] = share / way.stand if luck.losses else 1.0
            elif way.up_d > 0:
                up = chances[0] < 1.0 - (1.0 - share) ** (sowing.seeds or way.seeds)
                if sowing.slots and not self.habit.spares:
                    up &= up.cumsum(axis=0) <= len(sowing.slots)
                self.alive[at] = up if rows == sowing.cells else np.arange(rows)[:, None] < up.sum(axis=0)
            if luck.losses:
                self.doomed[at] = np.where(chances[1] < plants.LOST, chances[2], np.inf)[:rows]

    # what happens to plants

    def sow(self, row: int, seasons: np.ndarray, day: int) -> None:
        """Sow a cell in these seasons."""
        self.sown_on[row, seasons] = day
        self.phase[row, seasons] = NURSED
        self.cells[self.of_row[row].nursery][seasons] -= 1

    def plant(self, row: int, place: int, seasons: np.ndarray, day: int) -> None:
        """Move a seedling to a place in these seasons, or sow there what has no nursery."""
        sowing, way, luck, at = self.of_row[row], self.row_ways[row][place], self.luck, (row, seasons)
        up_d = luck.up_d(way)[seasons]
        if sowing.nursery is None:
            self.sown_on[at] = day
            self.x0[at], self.t0[at] = 0.0, day + up_d
        else:
            nursed = np.exp(self.ln_pace[at] + luck.light(way.nursery_zone, way)[seasons])
            age_d = way.up_d + nursed * (day - self.sown_on[at] - up_d)
            self.x0[at], self.t0[at] = 1.0 - way.left(age_d) / way.whole_d, day
            self.cells[sowing.nursery][seasons] += 1
        pace = np.exp(self.ln_pace[at] + luck.light(way.zone, way)[seasons])
        self.per_d[at] = pace / way.whole_d
        self.regrown[at] = pace * way.regrown_per_d
        self.amount[at] = way.amount * self.filled[at]
        self.phase[at], self.place[at], self.planted_on[at] = STANDS, place, day
        self.free[place, seasons] -= sowing.each
        self.ripen(at, row)
        self.dies[at] = np.where(
            self.alive[at],
            day + self.doomed[at] * np.maximum(self.full[at] - day, 1.0),
            self.sown_on[at] + GAP_SEEN_D,
        )
        for days in (self.enough, self.full, self.over):
            days[at] = np.where(self.alive[at], days[at], NEVER)

    def ripen(self, at: tuple, row: int) -> None:
        """Work out when a plant counts, has its full weight, and is over."""
        ln_b, luck = self.ln_b[row], self.ln_plant[at]
        for days, share in ((self.enough, plants.ENOUGH), (self.full, 1.0)):
            x = 1.0 - np.log(1.0 + luck - np.log(share)) / ln_b
            days[at] = self.t0[at] + (x - self.x0[at]) / self.per_d[at] - 1e-6
        self.over[at] = np.ceil(self.full[at]) + self.window[row]

    def ln_weight(self, at: tuple, row: int, day: int) -> np.ndarray:
        """Return ln of the weight of plants, as a share of full weight."""
        x = self.x0[at] + self.per_d[at] * np.maximum(day - self.t0[at], 0.0)
        return 1.0 - np.exp(self.ln_b[row] * (1.0 - x)) + self.ln_plant[at]

    def cut(self, row: int, seasons: np.ndarray, day: int, last: bool = False) -> np.ndarray:
        """Cut a plant in these seasons; return the amounts, (seasons,). The last cut leaves nothing."""
        at = (row, seasons)
        ln_g = self.ln_weight(at, row, day)
        final = last | (self.cuts[at] + 1 >= self.most[row])
        amount = np.zeros(self.luck.seasons)
        if self.heads[row]:
            amount[seasons] = np.where(ln_g >= np.log(plants.ENOUGH) - 1e-6, 1.0, 0.0)
        else:
            amount[seasons] = self.amount[at] * np.exp(ln_g) * np.where(final, 1.0, 1.0 - self.leaves[row])
        self.cuts[at] += 1
        self.clear(row, seasons[final], day)
        again = (row, seasons[~final])
        if len(again[1]):
            left = ln_g[~final] + np.log(self.leaves[row]) - self.ln_plant[again]
            self.x0[again] = 1.0 - np.log(1.0 - left) / self.ln_b[row]
            self.t0[again], self.per_d[again] = day + self.lag[row], self.regrown[again]
            self.ripen(again, row)
        return amount

    def clear(self, row: int, seasons: np.ndarray, day: int) -> None:
        """Take a plant away; its sites are free after the days of cleaning."""
        self.phase[row, seasons], self.cleared_on[row, seasons] = GONE, day
        free_on = day + self.here.clean_days
        free = self.free if free_on <= self.last_day else self.freed[free_on]
        free[self.place[row, seasons], seasons] += self.each[row]

    def throw(self, row: int, seasons: np.ndarray, day: int, last: bool = False) -> None:
        """Cut and throw away."""
        self.waste(self.of_row[row].want, self.cut(row, seasons, day, last))

    def waste(self, want: int, amount: np.ndarray) -> None:
        """Count what is thrown away, in weeks of its want; not that of a want that aims at nothing."""
        self.surplus += amount / (self.here.per_week[want] or np.inf)

    # what happens to the harvest

    def begin_week(self, week: int) -> None:
        """Eat what was kept and is still good on the first day of the week, oldest first; the rest goes."""
        self.week = week
        self.need[:] = self.here.eaten_at_most[:, week][:, None]
        self.need[list(self.here.feasts)] = 0.0
        self.eat_kept(7 * week, dict.fromkeys(range(len(self.need)), 7 * week))

    def lay_by(self, day: int) -> None:
        """Take what was kept for a feast before which nobody cuts again; what is missing is cut today."""
        after = self.next_after(self.here.harvest_days, day)
        self.need[list(self.here.feasts)] = 0.0
        self.feast_on = {
            want: on for want, days in self.here.feasts.items() for on in days if day <= on < after
        }
        for want, on in self.feast_on.items():
            self.need[want] = self.here.eaten_at_most[want, on // 7]
        self.eat_kept(day, self.feast_on)

    def eat_kept(self, day: int, good_on: Mapping[int, int]) -> None:
        """Eat what was kept of some wants, if it is good on a day; what is no longer good goes."""
        kept = []
        for cut_on, until, want, crop, amount in self.store:
            if until < day:
                self.waste(want, amount)
                continue
            good = until >= good_on.get(want, NEVER)
            left = self.eat(want, crop, amount, cut_on, day) if good else amount
            if left.any():
                kept.append((cut_on, until, want, crop, left))
        self.store = kept

    def eat(self, want: int, crop: str, amount: np.ndarray, cut_on: int, day: int) -> np.ndarray:
        """Eat as much as the week, or the feast, still wants; return what is left."""
        taken = np.minimum(amount, self.need[want])
        self.need[want] -= taken
        on = self.feast_on.get(want, day)
        self.eaten[:, want, on // 7] += taken
        if taken.any():
            self.meals.append(Meal(want, crop, cut_on, on, float(taken.sum())))
        return amount - taken

    def bring(self, row: int, seasons: np.ndarray, day: int, last: bool = False) -> None:
        """Cut, eat what the week wants, and keep the rest."""
        want, crop = self.of_row[row].want, self.of_row[row].crop
        left, keeps = self.cut(row, seasons, day, last), self.first[row].keeps_d
        if day + keeps >= self.feast_on.get(want, day):
            left = self.eat(want, crop, left, day, day)
        if left.any():
            self.store.append((day, day + keeps, want, crop, left))

    # the calendar

    def live(self) -> Lived:
        """Live through all days."""
        work, harvest = {*self.here.work_days.tolist()}, {*self.here.harvest_days.tolist()}
        visits = sorted(work | harvest)
        for week in range(self.here.weeks):
            self.begin_week(week)
            for day in visits:
                if day // 7 == week:
                    self.arrive(day)
                    if day in harvest:
                        self.lay_by(day)
                        self.harvest(day)
                    if day in work:
                        self.tend(day)
                    if day in harvest:
                        self.make_room(day)
        # spare cells of a calendar have no rows
        cells = np.array([sowing.cells / self.rows_of(sowing) for sowing in self.of_row])
        return Lived(
            here=self.here,
            eaten=self.eaten,
            wanted=self.here.wanted,
            surplus=self.surplus,
            cells=cells @ (self.sown_on >= 0),
            sown_on=self.sown_on,
            planted_on=self.planted_on,
            cleared_on=self.cleared_on,
            place=self.place,
            held=self.each,
            meals=self.meals,
        )

    def arrive(self, day: int) -> None:
        """Take stock: sites that are clean again; what died, did not come up, or waited too long."""
        for passed in range(self.last_day + 1, day + 1):
            self.free += self.freed[passed]
        self.last_day = day
        for row in self.rows((self.phase == STANDS) & (self.dies <= day)):
            self.clear(row, np.flatnonzero((self.phase[row] == STANDS) & (self.dies[row] <= day)), day)
        nursed = self.phase == NURSED
        empty = nursed & ~self.alive & (self.sown_on + GAP_SEEN_D <= day)
        tired = nursed & (self.sown_on + self.move_d[:, None] + self.habit.wait_d < day)
        for row in self.rows(empty | tired):
            seasons = np.flatnonzero(empty[row] | tired[row])
            self.phase[row, seasons] = GONE
            self.cells[self.of_row[row].nursery][seasons] += 1
        late = (self.phase == DUE) & (self.sow_day[:, None] + self.habit.wait_d < day)
        self.phase[late] = GONE

    @staticmethod
    def rows(mask: np.ndarray) -> list[int]:
        """Return the rows, oldest first, with some season in a mask."""
        return np.flatnonzero(mask.any(axis=1)).tolist()

    def next_after(self, days: np.ndarray, day: int) -> int:
        """Return the first of some days after a day."""
        at = int(np.searchsorted(days, day, side="right"))
        return int(days[at]) if at < len(days) else NEVER

    def harvest(self, day: int) -> None:
        raise NotImplementedError

    def tend(self, day: int) -> None:
        raise NotImplementedError

    def make_room(self, day: int) -> None:
        """Cut for what waits; nothing by default."""
