"""Two habits of growers in ``other_world.py``: by queue, by calendar."""

from collections.abc import Sequence

import numpy as np
from other_plants import NEVER, Ground, Luck, Way
from other_season import DUE, NURSED, STANDS, Grower, Habit
from other_sowings import Sowing


class ByQueue(Grower):
    """The oldest into any free site; cut when wanted, about to go over, or in the way."""

    def harvest(self, day: int) -> None:
        """Throw away what is over, cut what is about to be, then what the week wants."""
        after = self.next_after(self.here.harvest_days, day)
        stands = self.phase == STANDS
        gone = stands & (self.over < day)
        for row in self.rows(gone):
            self.throw(row, np.flatnonzero(gone[row]), day)
        if after < NEVER:
            soon = stands & ~gone & (self.full <= day) & (self.over < after)
            for row in self.rows(soon):
                self.bring(row, np.flatnonzero(soon[row]), day)
        for_feast = np.isin([sowing.want for sowing in self.of_row], list(self.feast_on))
        self.fill_up(day, self.full, self.heads | for_feast)
        self.fill_up(day, self.enough, for_feast)
        if after // 7 > self.week:
            self.fill_up(day, self.full)
            self.fill_up(day, self.enough)

    def fill_up(self, day: int, ripe_on: np.ndarray, among: np.ndarray | None = None) -> None:
        """Cut ripe plants, the oldest first, for what the week still wants; of some rows only."""
        ripe = (self.phase == STANDS) & (ripe_on <= day)
        for row in self.rows(ripe if among is None else ripe & among[:, None]):
            wanted = (self.phase[row] == STANDS) & (ripe_on[row] <= day)
            seasons = np.flatnonzero(wanted & (self.need[self.of_row[row].want] > 1e-9))
            if len(seasons):
                self.bring(row, seasons, day)

    def tend(self, day: int) -> None:
        """Sow what is due, then move the oldest seedlings; what is sown in place takes its turn."""
        for row in self.rows(self.phase == DUE):
            if self.sow_day[row] > day:
                break
            nursery = self.of_row[row].nursery
            if nursery is not None:
                seasons = np.flatnonzero((self.phase[row] == DUE) & (self.cells[nursery] > 0))
                self.sow(row, seasons, day)
        waiting = self.waits(day)
        for row in self.rows(waiting):
            left = waiting[row]
            for place in self.row_ways[row]:
                if self.closed(place, row, day):
                    continue
                fits = left & (self.free[place] >= self.each[row])
                if fits.any():
                    self.plant(row, place, np.flatnonzero(fits), day)
                    left = left & ~fits

    def waits(self, day: int) -> np.ndarray:
        """Return which rows are to go to a site by a day, (rows, seasons)."""
        grown = (self.phase == NURSED) & self.alive & (self.sown_on + self.move_d[:, None] <= day)
        in_place = np.array([sowing.nursery is None for sowing in self.of_row]) & (self.sow_day <= day)
        return grown | ((self.phase == DUE) & in_place[:, None])

    def closed(self, place: int, row: int, day: int) -> bool:
        """Return whether a place is out of use before a plant could leave it."""
        way = self.row_ways[row][place]
        until = day + way.left_d[0] + self.window[row]
        return any(first <= until and day <= last for first, last in self.here.places[place].closed)

    def make_room(self, day: int) -> None:
        """Cut the oldest ripe plants where a seedling waits that finds no site at the next visit."""
        again = self.next_after(self.here.work_days, day)
        if again == NEVER or day + self.here.clean_days > again:
            return
        soon = self.free + self.freed[day + 1 : again + 1].sum(axis=0)
        waiting = self.waits(again)
        ripe = (self.phase == STANDS) & (self.full <= day) & (self.cuts + 1 >= self.most[:, None])
        ripe_rows = self.rows(ripe)
        alike: dict[tuple, list[int]] = {}
        for row in self.rows(waiting):
            alike.setdefault((*self.row_ways[row], self.each[row]), []).append(row)
        for (*places, each), rows in alike.items():
            stand_there = np.isin(np.arange(len(self.here.places)), places)
            lack = waiting[rows].sum(axis=0)
            for place in places:
                fits = np.minimum(lack, soon[place] // each)
                soon[place] -= each * fits
                lack -= fits
            for row in ripe_rows:
                if self.each[row] < each or not lack.any():
                    continue
                given = ripe[row] & (lack > 0) & stand_there[self.place[row]]
                if given.any():
                    self.bring(row, np.flatnonzero(given), day)
                    ripe[row] &= ~given
                    lack -= given


class ByCalendar(Grower):
    """Everything on its day and in its place."""

    def __init__(self, here: Ground, sowings: Sequence[Sowing], luck: Luck, habit: Habit) -> None:
        if any(not sowing.slots for sowing in sowings):
            raise ValueError("a calendar needs planned sites and days of cutting")
        super().__init__(here, sowings, luck, habit)
        self.slots = [slot for sowing in self.sowings for slot in sowing.slots]
        self.turn = np.zeros(self.phase.shape, dtype=np.int8)
        self.site_free = {
            (place.bed, site): np.zeros(luck.seasons, dtype=np.int64)
            for place in here.places
            for site in place.sites
        }

    def rows_of(self, sowing: Sowing) -> int:
        """Return the planned sites of a sowing: spare seedlings only fill gaps."""
        return len(sowing.slots)

    def places_of(self, sowing: Sowing) -> dict[int, Way]:
        """Return the places of the planned sites."""
        places = sorted({self.here.place_of(sowing.bed, slot.sites[0]) for slot in sowing.slots})
        ways = self.here.ways
        return {place: ways[sowing.want, sowing.crop, place, sowing.nursery, sowing.each] for place in places}

    def clear(self, row: int, seasons: np.ndarray, day: int) -> None:
        """Take a plant away, and note of its sites when they are free."""
        super().clear(row, seasons, day)
        for site in self.slots[row].sites:
            self.site_free[self.of_row[row].bed, site][seasons] = day + self.here.clean_days

    def harvest(self, day: int) -> None:
        """Cut what is planned; look once more at what was not ripe on its day."""
        days = self.here.harvest_days
        for row in self.rows(self.phase == STANDS):
            cuts = self.slots[row].cuts
            for number, planned in enumerate(cuts):
                looks = days[(days >= planned) & (days <= day)]
                if not 0 < len(looks) <= 1 + self.habit.looks:
                    continue
                last = number == len(cuts) - 1
                due = (self.phase[row] == STANDS) & (self.turn[row] == number)
                ripe = due & (self.enough[row] <= day)
                over = ripe & (self.over[row] < day)
                self.turn[row] += ripe
                self.throw(row, np.flatnonzero(over), day, last)
                self.bring(row, np.flatnonzero(ripe & ~over), day, last)
                if len(looks) == 1 + self.habit.looks:
                    self.turn[row] += due & ~ripe
                    if last:
                        self.clear(row, np.flatnonzero(due & ~ripe), day)

    def tend(self, day: int) -> None:
        """Sow and move on the planned day, or as soon after as the planned site is free."""
        for row in self.rows(self.phase < STANDS):
            sowing, slot = self.of_row[row], self.slots[row]
            if self.sow_day[row] > day:
                continue
            if sowing.nursery is not None and self.sow_day[row] == day:
                seasons = np.flatnonzero((self.phase[row] == DUE) & (self.cells[sowing.nursery] > 0))
                self.sow(row, seasons, day)
            if day >= slot.cuts[0]:
                continue
            if sowing.nursery is None:
                moves = self.phase[row] == DUE
            else:
                moves = (self.phase[row] == NURSED) & self.alive[row]
                moves &= self.sown_on[row] + self.move_d[row] <= day
            sites = [self.site_free[sowing.bed, site] for site in slot.sites]
            for free_on in sites:
                moves = moves & (free_on <= day)
            seasons = np.flatnonzero(moves)
            if len(seasons):
                self.plant(row, self.here.place_of(sowing.bed, slot.sites[0]), seasons, day)
                for free_on in sites:
                    free_on[seasons] = NEVER


GROWERS = {"queue": ByQueue, "calendar": ByCalendar}
