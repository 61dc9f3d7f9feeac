"""How likely each wanted week is met: the plan drawn thousands of times, with luck that batches share.

All crops of a grower share part of how fast they grow, all batches of a crop the rest of it and how soon it
emerges, all beds under a lamp the error of its light. What is left is each plant's own.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from cropcal.planning.batches import Hold
from cropcal.planning.carry import Group, Way
from cropcal.planning.growing import SHOOTS_LN_SD_YIELD, Grown, plants_per_site
from cropcal.planning.kept import Plot
from cropcal.planning.offers import Ground, Place
from cropcal.planning.pace import Pace
from cropcal.planning.programme import FloatArray, IntArray
from cropcal.planning.serving import NEVER, Serving
from cropcal.planning.ways import NO_DAY, Ways
from cropcal.records.crop import Crop
from cropcal.records.plan import Batch
from cropcal.science import chance
from cropcal.science.growth import PLANT_CV

DRAWS = 10_000
"""Drawings of a plan: a chance is known to half a per cent."""
SEED = 20
"""The same space gives the same chances; luck is drawn by name, so the order of rows does not matter."""


@dataclass(frozen=True)
class Cut:
    """Sites of a batch that are cut alike: days after sowing of all cuts until this, and what it brings."""

    week: int
    days: tuple[int, ...]
    sites: int
    amount: float


@dataclass(frozen=True, eq=False)
class Lot:
    """Sites of one batch in one place. ``age`` is its row of ``grown``, ``seeds`` those of each plant.

    ``cells`` were sown for its sites; ``stands``: they are seen to stand already.
    """

    name: str
    want: int
    zone: str
    grown: Grown
    age: int
    cells: int
    seeds: int
    cuts: tuple[Cut, ...]
    stands: bool = False

    @property
    def stand_chance(self) -> float:
        """Return the chance that at least one seed of a cell comes up."""
        return 1.0 if self.stands else 1.0 - (1.0 - self.grown.stand) ** self.seeds


@dataclass(eq=False)
class Luck:
    """Drawings of all that batches share, each made once."""

    draws: int = DRAWS
    seed: int = SEED
    normals: dict[tuple[str, str], FloatArray] = field(default_factory=dict)
    shifted: dict[tuple[Grown, int], tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]] = field(
        default_factory=dict
    )
    cuts: dict[Hashable, list[tuple[int, FloatArray]]] = field(default_factory=dict)
    masses: dict[tuple[Grown, int, tuple[int, ...]], tuple[FloatArray, float]] = field(default_factory=dict)

    def normal(self, what: str, name: str = "") -> FloatArray:
        """Return the standard normal numbers of one source of luck."""
        if (what, name) not in self.normals:
            own = chance.stream(self.seed, what, name)
            self.normals[what, name] = own.standard_normal(self.draws)
        return self.normals[what, name]

    def shifts(
        self, crop: str, zone: str, pace: Pace, sd_light: float
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the shifts of ln speed, ln light and ln days to emergence of a crop in a zone."""
        shared = min(pace.shared_ln_speed, pace.sd_ln_speed)
        own = np.sqrt(pace.sd_ln_speed**2 - shared**2)
        speed = shared * self.normal("grower") + own * self.normal("speed", crop)
        light = sd_light if pace.sd_ln_light is None else pace.sd_ln_light
        emerges = pace.sd_ln_emergence * self.normal("emergence", crop)
        return speed, light * self.normal("light", zone), emerges

    def ln_g(self, lot: Lot, days: tuple[int, ...]) -> tuple[FloatArray, float]:
        """Return ln fresh g of a plant at a cut in each drawing, and as forecast."""
        stages = lot.grown.stages
        if stages is None:  # shoots: nothing is known of them but the spread of what they yield
            return SHOOTS_LN_SD_YIELD * self.normal("shoots", lot.grown.crop.slug), 0.0
        key = (lot.grown, lot.age, days)
        if key not in self.masses:
            one = (lot.grown, 0 if stages.rows_alike else lot.age)
            if one not in self.shifted:
                sd_light = stages.spots[-1].sd_ln_light
                shifts = self.shifts(stages.crop.slug, lot.zone, stages.pace, sd_light)
                none = np.zeros(1)
                self.shifted[one] = (
                    stages.one_for_each(lot.age, *shifts),
                    stages.one_for_each(lot.age, none, none, none),
                )
            with np.errstate(divide="ignore"):
                drawn, middle = (
                    np.log(stages.fresh_g_at(lot.age, days, shifted)) for shifted in self.shifted[one]
                )
            self.masses[key] = drawn, float(middle[0])
        return self.masses[key]


def met(
    lots: Iterable[Lot],
    wanted: FloatArray,
    already: Mapping[tuple[int, int], float] | None = None,
    luck: Luck | None = None,
) -> FloatArray:
    """Return the chance that each want is met in each week, shape (wants, weeks); nan where nothing is.

    ``already``: what was cut before today, by want and week.
    """
    luck = luck or Luck()
    total: dict[tuple[int, int], FloatArray] = {}
    for lot in lots:
        for week, cut in _cut(lot, luck):
            if lot.want >= 0 and 0 <= week < wanted.shape[1]:
                key = (lot.want, week)
                total[key] = total[key] + cut if key in total else cut
    found = np.full(wanted.shape, np.nan)
    for want, week in np.argwhere(wanted > 0).tolist():
        key = (want, week)
        had = (already or {}).get(key, 0.0)
        found[key] = float(chance.share_met(total.get(key, np.zeros(1)) + had, wanted[key]))
    return found


def _cut(lot: Lot, luck: Luck) -> list[tuple[int, FloatArray]]:
    """Return (week, what is cut in each drawing) for each cut of a lot, drawn once."""
    key = (lot.name, lot.grown, lot.age, lot.cells, lot.seeds, lot.stands, lot.cuts)
    if key not in luck.cuts:
        luck.cuts[key] = _cut_anew(lot, luck)
    return luck.cuts[key]


def _cut_anew(lot: Lot, luck: Luck) -> list[tuple[int, FloatArray]]:
    crop, own = lot.grown.crop, chance.stream(luck.seed, "lot", lot.name)
    cuts = sorted(lot.cuts, key=lambda cut: cut.days)
    if crop.unit == "heads":
        least = np.log(chance.MINIMUM_SHARE * crop.anchor_g_per_plant)
        passing = np.stack(
            [chance.share_passing(luck.ln_g(lot, cut.days)[0] - least, PLANT_CV) for cut in cuts]
        )
        sites = [cut.sites if cut.amount > 0 else 0 for cut in cuts]
        good = chance.heads_cut(own, sites, passing, lot.cells, lot.stand_chance)
        return [(cut.week, good[number]) for number, cut in enumerate(cuts)]
    found = []
    for cut in cuts:
        drawn, middle = luck.ln_g(lot, cut.days)
        if not (np.isfinite(middle) and cut.amount > 0):
            continue
        plants = max(int(plants_per_site(crop, lot.grown.spot) * cut.sites + 0.5), 1)
        firsts = [one.sites for one in cuts if len(one.days) == len(cuts[0].days)]
        sown, stands = plants * lot.cells // max(sum(firsts), 1), lot.stand_chance
        most: int | None = plants
        if crop.kind in ("tray", "shoots"):  # so much is sown that as many come up as are counted on
            stands = 1.0 if lot.stands else lot.grown.stand
            sown, most = int(plants / float(stands) + 0.5), None
        grams = chance.grams_cut(
            own, cut.amount, drawn - middle, plants, max(sown, plants), stands, PLANT_CV, most=most
        )
        found.append((cut.week, grams))
    return found


def sown_lots(
    found: Ways,
    chosen: IntArray,
    holds: Sequence[Hold],
    batches: Mapping[str, Batch],
    land: Ground,
    serving: Serving,
) -> list[Lot]:
    """Return the lots of batches that are yet to be sown; ``holds`` are those of the chosen columns."""
    rows: dict[tuple[str, int], list[int]] = {}
    for column, hold in zip(np.flatnonzero(chosen).tolist(), holds, strict=True):
        rows.setdefault((hold.batch, hold.place), []).append(column)
    lots = []
    for (name, place), columns in rows.items():
        offer = found.offers[found.offer[columns[0]]]
        crop, batch = offer.grown.crop, batches[name]
        sites = int(chosen[columns].sum())
        cuts = []
        for column in columns:
            days = [int(day) for day in found.cuts[column] if day != NO_DAY]
            after = tuple(day - int(found.sown[column]) for day in days)
            count = int(chosen[column])
            cuts += [
                Cut(_week(serving, offer.want, crop, day), after[: number + 1], count, count * float(amount))
                for number, (day, amount) in enumerate(zip(days, found.amounts[column], strict=False))
            ]
        lots.append(
            Lot(
                name=_name(batch, land.places[place], offer.want),
                want=offer.want,
                zone=land.places[place].bed.zone,
                grown=offer.grown,
                age=int(found.age[columns[0]]),
                cells=(batch.cells or batch.sites) * sites // batch.sites,
                seeds=_seeds(batch, crop, offer.grown),
                cuts=tuple(cuts),
                stands=offer.grown.plug_age_d is not None,
            )
        )
    return lots


def standing_lots(
    parts: Sequence[tuple[Group, Way, list[Plot]]],
    batches: Mapping[str, Batch],
    land: Ground,
    serving: Serving,
) -> list[Lot]:
    """Return the lots of batches in the ground, one for each way in which plots of a group go on."""
    together: dict[tuple[int, int], list[tuple[Group, Way, list[Plot]]]] = {}
    for part in parts:
        together.setdefault((id(part[0]), part[1].planted), []).append(part)
    lots, time = [], serving.time
    for mine in together.values():
        group, first, plots = mine[0]
        one, sown, crop = group.kept, time.day_of(group.kept.story.sown_on), first.grown.crop
        place, batch = land.places[group.place], batches[one.was.id]
        done = tuple(time.day_of(day) - sown for day in plots[0].done)
        cuts = []
        for _, way, rest in mine:
            after = (*done, *(day - sown for day in way.cuts))
            cuts += [
                Cut(
                    week=_week(serving, group.want, crop, day),
                    days=after[: len(done) + number + 1],
                    sites=len(rest),
                    amount=len(rest) * amounts[0],
                )
                for number, (day, amounts) in enumerate(zip(way.cuts, way.amounts, strict=True))
            ]
        sites = sum(len(rest) for _, _, rest in mine)
        spare = max(batch.cells - batch.sites, 0) if one.waits else 0
        lots.append(
            Lot(
                name=_name(batch, place, group.want) + (f" {done}" if done else ""),
                want=group.want,
                zone=place.bed.zone,
                grown=first.grown,
                age=0,
                cells=sites + round(spare * sites / max(batch.sites, 1)),
                seeds=_seeds(batch, crop, first.grown),
                cuts=tuple(cuts),
                stands=one.story.emerged_on is not None or one.story.moved_on is not None,
            )
        )
    return lots


def _week(serving: Serving, want: int, crop: Crop, day: int) -> int:
    """Return the week of its want that a cut serves, ``NEVER``: none."""
    weeks = serving.by_day(want, crop.slug)
    return int(weeks[day]) if 0 <= day < len(weeks) else NEVER


def _name(batch: Batch, place: Place, want: int) -> str:
    """Return what a lot's own luck goes by: the same when it is planned again."""
    return f"{batch.crop} {place.label} {batch.sow_on} {batch.planted_on} {want}"


def _seeds(batch: Batch, crop: Crop, grown: Grown) -> int:
    """Return how many seeds are sown for each plant."""
    if crop.kind in ("tray", "shoots"):
        return crop.seeds_per_plant
    plants = plants_per_site(crop, grown.spot) * max(batch.cells, batch.sites, 1)
    return max(int(batch.seeds / plants + 0.5), crop.seeds_per_plant)
