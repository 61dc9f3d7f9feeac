"""How far forecasts are off before and after harvests were logged: simulated growers, three kinds of truth.

``python tests/studies/growers.py [GROWERS]`` prints a table a truth. A forecast is the day on which heads are
expected to reach their weight; its error is the days to the day on which they truly do. Truths:

own
    The planner's own model; speed, light and emergence of each grower drawn from what the planner assumes.
two-state
    The lettuce model of Van Henten (1994): sugars and structure, leaf area and CO2 of each grower drawn.
slow
    The planner's own model in a room 25 % slower than the book, its light 40 % more or less than is told.
"""

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
import van_henten

from cropcal.planning.conditions import conditions
from cropcal.planning.growing import (
    LAST_DAY,
    Stages,
    days_to_emerge,
    grow,
    seedling_g,
)
from cropcal.planning.learned import learn
from cropcal.planning.light_budget import bed_lights
from cropcal.planning.pace import Pace
from cropcal.planning.spots import Spot, spot
from cropcal.planning.stories import stories
from cropcal.reading.crops import read_crop_tables
from cropcal.reading.space import read_space_text
from cropcal.records.journal import Entry
from cropcal.science import growth

SPACE = """
[[zone]]
name = "loft"
length_m = 1.0
width_m = 0.6
photoperiod_h = 16
air_c = 21
air_moving = true
wall_reflectance = 0.8
[[bed]]
name = "raft"
zone = "loft"
rows = 2
columns = 8
length_m = 1.0
width_m = 0.42
x_m = 0
y_m = 0
[[bed]]
name = "plugs"
zone = "loft"
kind = "nursery"
rows = 2
columns = 20
length_m = 1.0
width_m = 0.1
x_m = 0
y_m = 0.45
[[fixture]]
zone = "loft"
watts = 90
watts_from = "meter"
ppf_umol_s = 205
length_m = 0.9
width_m = 0.4
[[want]]
crops = ["lettuce-butterhead"]
per_week = 3
"""
CROP = "lettuce-butterhead"
KINDS = ("own", "two-state", "slow")
FIRST = date(2027, 1, 6)
APART_D = 28
HARVESTS = 5
SHOWN_AFTER = (0, 1, 3, 5)
SEEN_SD = 0.10
"""How unlike the days are on which a grower first sees seedlings, in ln (assumed)."""
WEIGHED_SD = 0.20
"""How unlike heads of two batches of one grower are, in ln g: the reader's own assumption."""


@dataclass(frozen=True)
class Room:
    """The beds as the file tells them, and the tables."""

    tables: object
    space: object
    lights: tuple
    spots: dict[str, Spot]

    @property
    def crop(self):
        """Return the crop that is grown."""
        return self.tables.crops[CROP]


def room() -> Room:
    """Return the space of the study."""
    tables, _ = read_crop_tables(None)
    space, problems = read_space_text(SPACE, tables, today=FIRST)
    assert not problems, problems
    lights = bed_lights(space, tables)
    by_bed = {light.bed: light for light in lights}
    return Room(
        tables,
        space,
        lights,
        {bed.name: spot(bed, space, by_bed[bed.name]) for bed in space.beds},
    )


@dataclass(frozen=True)
class Truth:
    """One grower: the day on which seedlings are up, and fresh g a head on each day after sowing."""

    up_d: float
    g: np.ndarray

    def ready_d(self, wanted_g: float) -> float:
        """Return the day on which heads reach a weight."""
        return float(np.interp(wanted_g, self.g, np.arange(len(self.g))))


def by_own_model(here: Room, ln_speed: float, ln_light: float, ln_emergence: float) -> Truth:
    """Return a grower whose plants grow by the planner's own equations."""
    crop = here.crop
    book = days_to_emerge(crop, here.tables, here.spots["plugs"].air_c)
    pace = Pace(ln_speed=ln_speed, ln_light=ln_light, ln_emergence=ln_emergence)
    spots = (here.spots["plugs"], here.spots["raft"])
    stages = Stages(crop, here.tables, spots, np.array([[crop.nursery_d, np.inf]]), book, pace)
    return Truth(book * np.exp(ln_emergence), stages.fresh_g(np.arange(float(LAST_DAY)), 0.0, 0.0, 0.0)[0])


def by_two_states(here: Room, drawn: np.ndarray, moved_d: np.ndarray | None = None) -> list[Truth]:
    """Return growers whose plants grow by Van Henten's model, in air and leaves of their own.

    ``drawn``: ln of emergence and of leaf area, CO2 in ppm, air in °C, ln of light; one row a grower.
    ``moved_d``: days after sowing on which each leaves the nursery; the table's if none are given.
    """
    crop, step_s, cradle, bed = here.crop, 1800, here.spots["plugs"], here.spots["raft"]
    emergence, leaves, co2, air_c, light = np.array(drawn).T
    up = days_to_emerge(crop, here.tables, here.spots["plugs"].air_c) * np.exp(emergence)
    leaf_area = van_henten.LEAF_AREA_M2_G * np.exp(leaves)
    plant = np.full(len(up), seedling_g(crop) / (1 - van_henten.ROOT_SHARE))
    sugars, structure = 0.25 * plant, 0.75 * plant
    grams = []
    for day in range(LAST_DAY):
        fresh = (sugars + structure) * (1 - van_henten.ROOT_SHARE) / crop.dry_matter
        grams.append(np.where(day > up, fresh, 0.0))
        young = day < (np.full(len(up), crop.nursery_d) if moved_d is None else moved_d)
        density = np.where(young, 1 / cradle.site_area_m2, 1 / bed.site_area_m2)
        dli = np.where(young, cradle.dli_mol_m2_d, bed.dli_mol_m2_d) * np.exp(light)
        par = dli / bed.photoperiod_h / 0.0036 * van_henten.J_PER_UMOL
        a, b = sugars * density, structure * density
        for number in range(48):
            lit = par if number < 2 * bed.photoperiod_h else 0.0
            a, b = van_henten.step(a, b, lit, air_c, co2, step_s, leaf_area)
        grows = day + 1 > up
        sugars, structure = (np.where(grows, a / density, sugars), np.where(grows, b / density, structure))
    heads = np.maximum.accumulate(np.array(grams), axis=0).T
    return [Truth(float(day), g) for day, g in zip(up, heads, strict=True)]


def drawn(kind: str, here: Room, rng: np.random.Generator) -> tuple[float, ...]:
    """Return what makes one grower of a kind, drawn at random."""
    if kind == "own":
        sds = (growth.GROWER_SD, growth.CROP_SD, here.lights[0].sd_ln, growth.EMERGENCE_SD)
        shared, own, light, emergence = (float(rng.normal(0, sd)) for sd in sds)
        return shared + own, light, emergence
    if kind == "two-state":
        emergence, leaves = rng.normal(0, growth.EMERGENCE_SD), rng.normal(0, 0.2)
        co2, air_c = rng.uniform(400, 900), rng.uniform(18, 24)
        return emergence, leaves, co2, air_c, rng.normal(0, here.lights[0].sd_ln)
    light = np.log(rng.choice([0.6, 1.4]))
    slower = np.log(0.75) - growth.HOME_LN_SPEED_MEAN
    return slower + rng.normal(0, 0.1), light, rng.normal(0, growth.EMERGENCE_SD)


def truths(kind: str, here: Room, made_of: list[tuple[float, ...]]) -> list[Truth]:
    """Return the growers made of what was drawn."""
    if kind == "two-state":
        return by_two_states(here, np.array(made_of))
    return [by_own_model(here, *one) for one in made_of]


Noise = tuple[float, int, float]


def noise(rng: np.random.Generator) -> Noise:
    """Return of one batch: ln of the days until seedlings are seen, days until the cut, ln of weight."""
    return float(rng.normal(0, SEEN_SD)), int(rng.integers(0, 4)), float(rng.normal(0, WEIGHED_SD))


def batch(number: int, truth: Truth, here: Room, told: Noise) -> list[Entry]:
    """Return what a grower notes about one batch: three heads, cut a few days after they are ready."""
    crop, name = here.crop, f"b{number}"
    sown = FIRST + timedelta(days=APART_D * number)
    seen = max(int(np.ceil(truth.up_d * np.exp(told[0]) - 0.5)), 1)
    cut = int(np.ceil(truth.ready_d(crop.anchor_g_per_plant))) + told[1]
    weight = 3 * float(truth.g[min(cut, len(truth.g) - 1)] * np.exp(told[2]))
    about = {"batch": name, "crop": crop.slug}
    moved = sown + timedelta(days=int(crop.nursery_d))
    return [
        Entry(on=sown, event="sown", bed="plugs", amount=3, unit="cells", **about),
        Entry(on=sown + timedelta(days=seen), event="emerged", **about),
        Entry(on=moved, event="transplanted", bed="raft", **about),
        Entry(
            on=sown + timedelta(days=cut), event="harvested", amount=3, unit="heads", weight_g=weight, **about
        ),
    ]


def forecasts(kind: str, growers: int, seed: int = 1) -> Iterator[tuple[int, float, float, float, float]]:
    """Yield harvests logged, then true day and forecast day with its 80 % range, for each grower in turn."""
    here, rng = room(), np.random.default_rng(seed)
    crop = here.crop.model_copy(update={"nursery_hold_d": 0})  # one age is asked for, and 15 take longer
    random = [(drawn(kind, here, rng), [noise(rng) for _ in range(HARVESTS)]) for _ in range(growers)]
    every = truths(kind, here, [one for one, _ in random])
    for truth, (_, told) in zip(every, random, strict=True):
        ready = truth.ready_d(here.crop.anchor_g_per_plant)
        batches = [batch(number, truth, here, one) for number, one in enumerate(told)]
        for logged in SHOWN_AFTER:
            events = sorted((e for noted in batches[:logged] for e in noted), key=lambda entry: entry.on)
            went = stories(events, {}, frozenset({"plugs"}))
            now = learn(went, here.tables, here.lights, conditions(here.space, here.lights, events))
            pace = now.pace(CROP, "loft", here.lights[0].sd_ln)
            grown = grow(crop, here.tables, here.spots["raft"], here.spots["plugs"], pace)
            if grown is not None:
                low, middle, high = grown.ready_d[:, 0]
                yield logged, ready, float(middle), float(low), float(high)


def table(kind: str, growers: int, seed: int = 1) -> list[tuple[int, int, float, float, float]]:
    """Return harvests logged, forecasts, mean and median days off, and share within the 80 % range."""
    found = np.array(list(forecasts(kind, growers, seed)))
    rows = []
    for logged in SHOWN_AFTER:
        _, ready, middle, low, high = found[found[:, 0] == logged].T
        off = np.abs(middle - ready)
        inside = (low <= ready) & (ready <= high)
        rows.append((logged, len(off), float(off.mean()), float(np.median(off)), float(inside.mean())))
    return rows


def main() -> None:
    """Print the tables."""
    growers = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    print("| truth | harvests logged | forecasts | mean days off | median | within the 80 % range |")
    print("| --- | ---: | ---: | ---: | ---: | ---: |")
    for kind in KINDS:
        for logged, count, mean, median, inside in table(kind, growers):
            print(f"| {kind} | {logged} | {count} | {mean:.1f} | {median:.1f} | {inside:.0%} |", flush=True)


if __name__ == "__main__":
    main()
