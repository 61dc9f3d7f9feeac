"""One season at a time, one plant at a time, in lists and scalar maths.

Written apart from ``cropcal.seasons``, which must agree with it. It shares nothing with it but the rules that
the module docs state: what a grower does, and what plants are lucky in.
"""

from dataclasses import dataclass, field
from math import exp, expm1, floor, log, log1p
from random import Random

TRIFLE = 0.01
LATE_SOWING_D = 14


@dataclass(frozen=True)
class Facts:
    """A crop: what it needs, what it brings. Masses are g dry; places are those where it may stand.

    ``growth``: k times density, and k times C, in the nursery and in each place. ``site_d``: days on a site,
    by which sites that are soon out of use are left empty. A site brings ``full`` if all its ``plants`` live.
    """

    want: int
    places: tuple[int, ...]
    heads: bool
    full: float
    plants: int
    stand: float
    window_d: int
    keeps_d: int
    cuts: int
    leaves: float
    lag_d: int
    young_d: int
    old_d: int
    emerges_d: float
    start_g: float
    full_g: float
    young: tuple[float, float]
    growth: tuple[tuple[float, float], ...]
    site_d: float
    nursery: bool = True


@dataclass(frozen=True)
class Space:
    """A space and its season: visits, wants by week, sites of each place, sowings (day, crop, cells)."""

    days: int
    work: frozenset[int]
    harvest: frozenset[int]
    wanted: tuple[tuple[float, ...], ...]
    sites: tuple[int, ...]
    cells: int
    clean_days: int
    crops: tuple[Facts, ...]
    sowings: tuple[tuple[int, int, int], ...]
    closed: dict[int, tuple[int, int]] = field(default_factory=dict)
    sd_pace: float = 0.12
    sd_emergence: float = 0.15
    plant_cv: float = 0.18
    batch_sd: float = 0.1
    lost: float = 0.06
    least: float = 0.8

    def is_open(self, place: int, day: int) -> bool:
        first, last = self.closed.get(place, (self.days + 1, -1))
        return not first <= day <= last

    def closes_after(self, place: int, day: int) -> float:
        return min((other for other in range(day, self.days) if not self.is_open(place, other)), default=1e9)


def grown(mass: float, days: float, slope: float, speed: float) -> float:
    """Return the mass after some days of dW/dt = C (1 - exp(-k W)): exp(kW) - 1 rises by a fixed share."""
    return log1p(expm1(slope * mass) * exp(speed * max(days, 0.0))) / slope


def days_until(goal: float, mass: float, slope: float, speed: float) -> float:
    """Return the days in which a mass grows to another."""
    return log(expm1(slope * goal) / expm1(slope * mass)) / speed


@dataclass
class Cell:
    """One sown cell and its plants, in the nursery or on its site."""

    crop: Facts
    number: int
    sown: int
    luck: list[float]
    dies: float | None
    state: str = "to sow"
    place: int = -1
    planted: int = -1
    mass: float = 0.0
    since: float = 0.0
    full_on: float = 1e9
    ripe_on: float = 1e9
    over_on: float = 1e9
    dead_on: float = 1e9
    done: int = 0
    grows: tuple[float, float] = (1.0, 0.0)

    @property
    def lives(self) -> bool:
        return bool(self.luck)

    @property
    def factor(self) -> float:
        """Return the mean of its plants against the forecast."""
        return sum(self.luck) / len(self.luck) if self.luck else 1.0

    def mass_on(self, day: float) -> float:
        return grown(self.mass, day - self.since, *self.grows)

    def brings(self, day: int) -> float:
        if self.crop.heads:
            return float(self.lives)
        share = self.mass_on(day) / self.crop.full_g * sum(self.luck) / self.crop.plants
        return self.crop.full * share * (1 - self.crop.leaves if self.done + 1 < self.crop.cuts else 1.0)

    def grow_from(self, mass: float, since: float, least: float) -> None:
        self.mass, self.since = mass, since
        goal = self.crop.full_g / self.factor
        self.full_on = since + days_until(goal, mass, *self.grows)
        self.ripe_on = since + days_until(goal * least, mass, *self.grows)
        self.over_on = floor(self.full_on) + self.crop.window_d


class Season:
    """One season of a space: ``eaten[want][week]`` and ``wasted[want]`` when it has been lived."""

    def __init__(self, space: Space, draw: Random) -> None:
        self.space, self.weeks = space, len(space.wanted[0])
        self.eaten = [[0.0] * self.weeks for _ in space.wanted]
        self.wasted = [0.0 for _ in space.wanted]
        self.kept: list[list[list[float]]] = [[] for _ in space.wanted]
        self.sites = [[0 for _ in range(count)] for count in space.sites]
        pace = exp(draw.gauss(0, space.sd_pace))
        self.pace = pace
        self.emerges = [crop.emerges_d * exp(draw.gauss(0, space.sd_emergence)) for crop in space.crops]
        self.cells: list[Cell] = []
        for day, number, count in sorted(space.sowings, key=lambda row: row[0]):
            self.cells += self.batch(day, number, count, draw)

    def batch(self, day: int, number: int, count: int, draw: Random) -> list[Cell]:
        crop, space = self.space.crops[number], self.space
        of_batch = exp(draw.gauss(0, space.batch_sd))
        sd = log1p(space.plant_cv**2) ** 0.5
        middle = 0.0 if crop.heads else sd**2 / 2
        cells = []
        for _ in range(count):
            chance = crop.stand if crop.heads else crop.stand * (1 - space.lost)
            up = [draw.random() < chance for _ in range(crop.plants)]
            luck = [of_batch * exp(draw.gauss(0, sd) - middle) for comes in up if comes]
            dies = draw.random() if crop.heads and draw.random() < space.lost else None
            cells.append(Cell(crop, number, day, luck, dies))
        return cells

    def rates(self, pair: tuple[float, float]) -> tuple[float, float]:
        return pair[0], pair[1] * self.pace

    def live(self) -> "Season":
        week = 0
        for day in sorted(self.space.work | self.space.harvest):
            while week < self.weeks and 7 * week <= day:
                self.eat_kept(week)
                week += 1
            self.take_out(day)
            if day in self.space.harvest:
                self.harvest(day)
            if day in self.space.work:
                self.throw_away(day)
                self.move(day)
                self.sow(day)
        for later in range(week, self.weeks):
            self.eat_kept(later)
        for want, kept in enumerate(self.kept):
            self.wasted[want] += sum(amount for _, amount in kept)
        return self

    def need(self, want: int, week: int) -> float:
        return max(self.space.wanted[want][week] - self.eaten[want][week], 0.0)

    def eat_kept(self, week: int) -> None:
        for want, kept in enumerate(self.kept):
            self.wasted[want] += sum(amount for last, amount in kept if last < 7 * week)
            kept[:] = sorted(row for row in kept if row[0] >= 7 * week)
            for row in kept:
                bite = min(row[1], self.need(want, week))
                self.eaten[want][week] += bite
                row[1] -= bite

    def on_sites(self) -> list[Cell]:
        return [cell for cell in self.cells if cell.state == "on site"]

    def clear(self, cell: Cell, day: int) -> None:
        cell.state = "gone"
        at = self.sites[cell.place].index(-1)
        self.sites[cell.place][at] = day + self.space.clean_days

    def free(self, place: int, day: int) -> int:
        """Return the clean and empty sites of a place on a day; -1 is a site with plants."""
        if not self.space.is_open(place, day):
            return 0
        return sum(0 <= since <= day for since in self.sites[place])

    def take_out(self, day: int) -> None:
        for cell in self.on_sites():
            if cell.dead_on <= day:
                self.clear(cell, day)
            elif cell.over_on < day:
                self.wasted[cell.crop.want] += cell.brings(day)
                self.clear(cell, day)
            elif not self.space.is_open(cell.place, day):
                self.clear(cell, day)

    def harvest(self, day: int) -> None:
        later = [other for other in self.space.harvest if other > day]
        following = min(later, default=day + 7)
        ripe = [cell for cell in self.on_sites() if cell.ripe_on <= day]
        must = [cell for cell in ripe if cell.over_on < following]
        must += self.in_the_way(day, must, [cell for cell in ripe if cell not in must])
        week = day // 7
        last = not any(other // 7 == week for other in later)
        for want, weeks in enumerate(self.space.wanted):
            mine = [cell for cell in ripe if cell.crop.want == want]
            cut = [cell for cell in mine if cell in must]
            lacking = self.need(want, week) - sum(cell.brings(day) for cell in cut)
            full = [cell for cell in mine if cell.full_on <= day and (cell.crop.heads or last)]
            for cell in [*full, *(mine if last else [])]:
                brings = cell.brings(day)
                if lacking > TRIFLE * weeks[week] and brings > 0 and cell not in cut:
                    cut.append(cell)
                    lacking -= brings
            self.cut(want, day, cut)

    def cut(self, want: int, day: int, cut: list[Cell]) -> None:
        amount = sum(cell.brings(day) for cell in cut)
        now = min(amount, self.need(want, day // 7))
        self.eaten[want][day // 7] += now
        if cut:
            self.kept[want].append([day + cut[0].crop.keeps_d, amount - now])
        for cell in cut:
            cell.done += 1
            if cell.done == cell.crop.cuts:
                self.clear(cell, day)
            else:
                stub = cell.mass_on(day) * cell.crop.leaves
                cell.grow_from(stub, day + cell.crop.lag_d, self.space.least)

    def in_the_way(self, day: int, must: list[Cell], ripe: list[Cell]) -> list[Cell]:
        """Return the oldest ripe plants on sites that seedlings will lack when the sites are clean.

        Those that must be cut anyway give their sites.
        """
        ready = day + self.space.clean_days
        moves = min((other for other in self.space.work if other >= ready), default=None)
        if moves is None:
            return []
        cut = []
        for place in range(len(self.sites)):
            lacking = -self.free(place, moves)
            lacking -= sum(cell.place == place and cell.done + 1 == cell.crop.cuts for cell in must)
            asked = sum(
                cell.sown + cell.crop.young_d <= moves and cell.sown <= day and cell.crop.places[0] == place
                for cell in self.waiting()
            )
            lacking = min(lacking + asked, asked)
            for cell in ripe:
                if lacking > 0 and cell.place == place and cell.done + 1 == cell.crop.cuts:
                    cut.append(cell)
                    lacking -= 1
        return cut

    def waiting(self) -> list[Cell]:
        return [
            cell
            for cell in self.cells
            if (cell.state == "young" and cell.lives) or (cell.state == "to sow" and not cell.crop.nursery)
        ]

    def throw_away(self, day: int) -> None:
        for cell in self.cells:
            age = day - cell.sown
            useless = age >= cell.crop.young_d and not cell.lives
            if (cell.state == "young" and (useless or age > cell.crop.old_d)) or (
                cell.state == "to sow" and age > LATE_SOWING_D
            ):
                cell.state = "gone"

    def move(self, day: int) -> None:
        waits = [
            cell
            for cell in self.waiting()
            if cell.sown + cell.crop.young_d <= day and (cell.state == "to sow" or cell.since <= day)
        ]
        for planned in (True, False):
            for place in range(len(self.sites)):
                for cell in list(waits):
                    its = place in (cell.crop.places[:1] if planned else cell.crop.places[1:])
                    in_time = day + cell.crop.site_d <= self.space.closes_after(place, day)
                    if its and in_time and self.free(place, day):
                        self.plant(cell, place, day)
                        waits.remove(cell)

    def plant(self, cell: Cell, place: int, day: int) -> None:
        crop = cell.crop
        self.sites[place][next(at for at, since in enumerate(self.sites[place]) if 0 <= since <= day)] = -1
        since, mass = day + self.emerges[cell.number], crop.start_g
        if cell.state == "young":
            since, mass = day, grown(cell.mass, day - cell.since, *self.rates(crop.young))
        cell.state, cell.place, cell.planted = "on site", place, day
        cell.grows = self.rates(crop.growth[crop.places.index(place)])
        cell.grow_from(mass, since, self.space.least)
        if not cell.lives:
            cell.dead_on = day + max(crop.site_d / 3, 1.0)
        elif cell.dies is not None:
            cell.dead_on = day + cell.dies * max(cell.full_on - day, 1.0)

    def sow(self, day: int) -> None:
        held = sum(cell.state == "young" for cell in self.cells)
        for cell in self.cells:
            if cell.state == "to sow" and cell.sown <= day and cell.crop.nursery and held < self.space.cells:
                cell.state, cell.sown, cell.mass = "young", day, cell.crop.start_g
                cell.since = day + self.emerges[cell.number]
                held += 1
