"""Whole seasons run forward: plan, what truly grows, the journal, and the plan again. Nobody grew any of it.

``python tests/studies/seasons.py [GROWERS]`` prints a table: how many weeks of heads were missing
of the 14 counted, from the thirteenth week on (one head of two missing is half a week), with learning and
planning again or without. The plan goes on for four weeks more, so that its end is no part of it. The growers
are simulated (``growers.py`` tells the three truths); the plans, what the journal means and what it teaches
are the library's.

A grower does the jobs of the plan on their days. Heads are cut on their day if they have nine tenths of their
weight; else the grower notes that they are not ready, and looks again on the next harvest day. At the end of
a week that is short, heads that are ready are cut before their day. Heads that were ready a fortnight before
count for nothing. What is cut is eaten in its week, or in the next ones as long as it keeps, oldest first.
Seedlings whose sites are taken wait. One seedling in twenty is lost, and the batches of one grower differ by
up to 8 % in speed (all of this is assumed).
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
import growers

from cropcal.planning.growth.crop_constants import days_to_emerge
from cropcal.planning.growth.crop_growth import LAST_DAY, Stages
from cropcal.planning.growth.pace import Pace
from cropcal.planning.history.calibration import learned_from_journal, paces
from cropcal.planning.planner import SolveOptions, plan
from cropcal.reading.space.read import read_space_text
from cropcal.records.journal import Entry
from cropcal.records.written_plan import Past
from cropcal.science import growth

START = date(2027, 1, 4)
WEEKS = 30
FROM_WEEK, LAST_WEEK = 12, 26
"""Weeks that are counted: the first, and the first that is not any more."""
PER_WEEK = 2
SPACE = (
    growers.SPACE.replace(
        "per_week = 3", f"per_week = {PER_WEEK}\nfrom = {START + timedelta(weeks=FROM_WEEK)}"
    )
    + f"""
[plan]
start = {START}
weeks = {WEEKS}
work_days = ["mon", "thu"]
"""
)
EFFORT = SolveOptions(time_limit_s=20.0)
EVERY_D = 14
"""Days from one plan to the next."""
ENOUGH = 0.9
"""Share of its weight at which a head is taken."""
OLD_D = 14
"""Days after which a head that was ready counts for nothing."""
LOST = 0.05
BATCHES = (-0.08, -0.04, 0.0, 0.04, 0.08)
"""How batches of one grower differ in ln speed."""
MOVED_UNTIL_D = 30
"""Age above which seedlings are taken to have grown as if moved then."""
ARMS = {
    "as planned at first": {"learns": False, "again": False},
    "as planned at first for a chance of 80 %": {"learns": False, "again": False, "service": 0.8},
    "planned again": {"learns": False, "again": True},
    "planned again, learning": {"learns": True, "again": True},
    "as planned at first by last year's journal": {"learns": True, "again": False, "before": 3},
    "planned again, learning, with last year's journal": {"learns": True, "again": True, "before": 3},
}
"""What a grower does; last year's journal has three batches."""


class Truth:
    """How heads of one grower grow, by the age at which they are moved and by how fast their batch is."""

    def __init__(self, kind: str, here: growers.Room, rng: np.random.Generator) -> None:
        made_of, ages = growers.drawn(kind, here, rng), range(here.crop.nursery_d, MOVED_UNTIL_D + 1)
        rows = [(age, place) for age in ages for place in range(len(BATCHES))]
        grown = (
            self._two_states(here, made_of, rows) if kind == "two-state" else self._own(here, made_of, rows)
        )
        self.up_d = grown[0][0]
        self.grams = {row: g for row, (_, g) in zip(rows, grown, strict=True)}

    @staticmethod
    def _own(here, made_of, rows):
        crop, (speed, light, emergence) = here.crop, made_of
        spots = (here.spots["plugs"], here.spots["raft"])
        book = days_to_emerge(crop, here.tables, spots[0].air_c)
        ends = np.array([[age, np.inf] for age, _ in rows], dtype=float)
        pace = Pace(ln_speed=speed, ln_light=light, ln_emergence=emergence)
        batches = np.array([BATCHES[place] for _, place in rows])
        stages = Stages(crop, here.tables, spots, ends, book, pace)
        grams = stages.fresh_g(np.arange(float(LAST_DAY)), batches, 0.0, 0.0)
        return [(book * np.exp(emergence), g) for g in grams]

    @staticmethod
    def _two_states(here, made_of, rows):
        emergence, leaves, co2, air_c, light = made_of
        drawn = [(emergence, leaves, co2, air_c, light + BATCHES[place] / growth.P) for _, place in rows]
        found = growers.by_two_states(here, np.array(drawn), np.array([age for age, _ in rows]))
        return [(one.up_d, one.g) for one in found]


@dataclass
class Going:
    """One batch as it truly grows: seedlings in the nursery, standing plants, day moved."""

    id: str
    sown: date
    speed: int
    waits: int
    seen: int
    moved: date | None = None
    stands: int = 0
    taken: int = 0


class Season:
    """One grower through one season: does the jobs of a plan, notes what happens, counts what is eaten."""

    def __init__(self, truth: Truth, here: growers.Room, seed: int) -> None:
        self.truth, self.crop, self.seed = truth, here.crop, seed
        self.sites = here.space.bed("raft").site_count
        self.going: dict[str, Going] = {}
        self.events: list[Entry] = []
        self.brought = np.zeros(7 * WEEKS)
        self.due: dict[str, list[date]] = {}

    def note(self, on: date, event: str, batch: str, **more) -> None:
        line = len(self.events) + 1
        entry = Entry(on=on, event=event, batch=batch, crop=self.crop.slug, line=line, **more)
        self.events.append(entry)

    def follow(self, made, on: date) -> None:
        """Take the days of cutting from a plan, and clear what it gives up."""
        self.due = {
            batch.id: [harvest.on for harvest in batch.harvests for _ in range(harvest.sites)]
            for batch in made.batches
        }
        for one in self.going.values():
            more = one.stands - max(len(self.due.get(one.id, [])) - one.taken, 0)
            if more > 0:
                one.stands -= more
                self.note(on, "lost", one.id, amount=more, unit="sites", why="given up")

    def chance(self, sown: date) -> np.random.Generator:
        """Return the luck of what is sown on a day: the same whatever else a grower does."""
        return np.random.default_rng([self.seed, sown.toordinal()])

    def grams(self, one: Going, on: date) -> float:
        """Return fresh g a head on a day."""
        if one.moved is None:
            return 0.0
        age = min(max((one.moved - one.sown).days, self.crop.nursery_d), MOVED_UNTIL_D)
        grown = self.truth.grams[age, one.speed]
        return float(grown[min((on - one.sown).days, len(grown) - 1)])

    def ready_since(self, one: Going, on: date) -> int:
        """Return how many days a head has had enough weight, -1 if it has not."""
        enough = ENOUGH * self.crop.anchor_g_per_plant
        if self.grams(one, on) < enough:
            return -1
        return next(days for days in range(200) if self.grams(one, on - timedelta(days=days + 1)) < enough)

    def day(self, made, on: date) -> None:
        """Live one day: seedlings are seen, then jobs are done, cutting first."""
        for one in self.going.values():
            if one.waits and (on - one.sown).days == one.seen:
                self.note(on, "emerged", one.id)
        if on not in made.work_days:
            return
        self.cut(made, on)
        for batch in made.batches:
            if batch.sow_on == on and batch.id not in self.going:
                self.sow(batch, on)
        for batch in made.batches:
            one = self.going.get(batch.id)
            if one is not None and one.waits and batch.transplant_on and batch.transplant_on <= on:
                self.move(one, on)

    def sow(self, batch, on: date) -> None:
        rng = self.chance(on)
        alive = min(int(np.sum(rng.random(20)[: batch.cells] >= LOST)), batch.sites)
        up = self.truth.up_d * np.exp(rng.normal(0, growers.SEEN_SD))
        speed = int(rng.integers(0, len(BATCHES)))
        self.going[batch.id] = Going(batch.id, on, speed, alive, max(ceil(up - 0.5), 1))
        self.note(on, "sown", batch.id, bed="plugs", amount=batch.cells, unit="cells")
        if alive < batch.sites:
            self.note(on + timedelta(days=7), "lost", batch.id, amount=batch.sites - alive, unit="cells")

    def move(self, one: Going, on: date) -> None:
        room = self.sites - sum(other.stands for other in self.going.values())
        if room >= one.waits and (on - one.sown).days >= self.crop.nursery_d:
            one.moved, one.stands, one.waits = on, one.waits, 0
            self.note(on, "transplanted", one.id, bed="raft", amount=one.stands, unit="sites")

    def cut(self, made, on: date) -> None:
        """Cut what is due and ready; look again at what is not; fill up the week from what is ready."""
        week = (on - START).days // 7
        for one in sorted(self.going.values(), key=lambda one: one.sown):
            due = sum(day <= on for day in self.due.get(one.id, [])) - one.taken
            self.take(one, min(due, one.stands), on, week, due=True)
        last = not any(on < day < START + timedelta(weeks=week + 1) for day in made.work_days)
        if last and FROM_WEEK <= week < WEEKS:
            for one in sorted(self.going.values(), key=lambda one: one.sown):
                missing = PER_WEEK - self.eaten[week]
                self.take(one, min(int(missing), one.stands), on, week, due=False)

    def take(self, one: Going, heads: int, on: date, week: int, *, due: bool) -> None:
        if heads <= 0:
            return
        since = self.ready_since(one, on)
        if since < 0:
            if due:
                self.note(on, "not ready", one.id)
            return
        one.stands, one.taken = one.stands - heads, one.taken + heads
        noise = float(np.exp(self.chance(one.sown).normal(0, growers.WEIGHED_SD)))
        weight = heads * self.grams(one, on) * noise
        self.note(on, "harvested", one.id, amount=heads, unit="heads", weight_g=weight)
        if since <= OLD_D and week < WEEKS:
            self.brought[(on - START).days] += heads

    @property
    def eaten(self) -> np.ndarray:
        """Return the heads eaten in each week, cut in it or still good when it begins, the oldest first."""
        left, eaten = self.brought.copy(), np.zeros(WEEKS)
        for week in range(FROM_WEEK, WEEKS):
            for cut in range(max(7 * week - self.crop.keeping_d, 0), 7 * week + 7):
                heads = min(left[cut], PER_WEEK - eaten[week])
                left[cut] -= heads
                eaten[week] += heads
        return eaten

    @property
    def sown(self) -> float:
        """Return the cells that were sown."""
        return float(sum(line.amount for line in self.events if line.event == "sown"))

    @property
    def short(self) -> float:
        """Return the weeks' worth that was missing."""
        counted = self.eaten[FROM_WEEK:LAST_WEEK]
        return float(np.maximum(PER_WEEK - counted, 0).sum() / PER_WEEK)


def room(service: float | None = None) -> growers.Room:
    """Return the space of the study with the chance that is asked for, and of the tables only its crop."""
    here = growers.room()
    asked = "" if service is None else f"service = {service}\n"
    space, problems = read_space_text(SPACE + asked, here.tables, today=START)
    assert not problems, problems
    return replace(
        here, space=space, tables=here.tables.model_copy(update={"crops": {growers.CROP: here.crop}})
    )


def season_before(truth: Truth, here: growers.Room, rng: np.random.Generator, batches: int) -> list[Entry]:
    """Return the journal of batches that were grown in the year before."""
    lines = []
    for number in range(batches):
        row = (here.crop.nursery_d, int(rng.integers(0, len(BATCHES))))
        grown = growers.Truth(truth.up_d, truth.grams[row])
        lines += growers.batch(number, grown, here, growers.noise(rng))
    return [line.model_copy(update={"on": line.on - timedelta(days=300)}) for line in lines]


def season(
    truth: Truth,
    seed: int,
    *,
    learns: bool,
    again: bool,
    before: int = 0,
    service: float | None = None,
    effort: SolveOptions = EFFORT,
) -> Season:
    """Return how one grower's season went.

    ``before``: batches of the year before that are in the journal, which only a learner reads. ``service``:
    the chance with which each week is to be met.
    """
    here = room(service)
    old = season_before(truth, here, np.random.default_rng(seed), before)
    run = Season(truth, here, seed)
    made = None
    for day in range(7 * LAST_WEEK):
        on = START + timedelta(days=day)
        if made is None or (again and day % EVERY_D == 0):
            lines = tuple(sorted([*old, *run.events], key=lambda line: (line.on, line.line or 0)))
            planned = made.batches if made is not None else ()
            now = learned_from_journal(here.space, here.tables, here.lights, lines, planned)
            known = paces(now, here.lights, here.tables.crops) if learns else {}
            mine = tuple(line for line in lines if line.on >= START)
            past = (
                Past(on=on, batches=planned, sites=made.sites, events=mine, supply=made.supply)
                if made is not None
                else None
            )
            made = plan(here.space, here.tables, effort, known, past)
            run.follow(made, on)
        run.day(made, on)
    return run


def table(kind: str, seeds: int) -> Iterator[tuple[str, float, float, float, float, float]]:
    """Yield what was done; short weeks and their difference from the first plan's, each with its standard
    error, the difference grower by grower; and the cells sown in a season.
    """
    short: dict[str, list[float]] = {name: [] for name in ARMS}
    cells: dict[str, list[float]] = {name: [] for name in ARMS}
    for seed in range(seeds):
        truth = Truth(kind, room(), np.random.default_rng([seed, growers.KINDS.index(kind)]))
        for name, how in ARMS.items():
            run = season(truth, seed, **how)
            short[name].append(run.short)
            cells[name].append(run.sown)
    first = np.array(next(iter(short.values())))
    for name, weeks in short.items():
        less = np.array(weeks) - first
        means = [
            (float(row.mean()), float(row.std(ddof=1)) / np.sqrt(seeds)) for row in (np.array(weeks), less)
        ]
        yield name, *means[0], *means[1], float(np.mean(cells[name]))


def main() -> None:
    """Print the table."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    print(
        "| truth | what a grower does | growers | short weeks of 14 | against the first plan | cells sown |"
    )
    print("| --- | --- | ---: | ---: | ---: | ---: |")
    for kind in growers.KINDS:
        for name, short, error, less, sure, cells in table(kind, seeds):
            told = f"{short:.2f} ± {error:.2f} | {less:+.2f} ± {sure:.2f} | {cells:.0f}"
            print(f"| {kind} | {name} | {seeds} | {told} |", flush=True)


if __name__ == "__main__":
    main()
