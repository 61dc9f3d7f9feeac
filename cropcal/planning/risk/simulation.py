"""The chance that each wanted week is met: Monte Carlo simulation, with spread that batches share.

All crops of a grower share part of how fast they grow, all batches of a crop the rest of it and how soon it
emerges, all beds under a lamp the error of its light, all plants of a batch what is odd about it. What is
left is each plant's own.

A grower cuts what is ready, not what a calendar says. Heads and leaves that are ready sooner may be cut
sooner if a week lacks them. Late ones stand on past their day, at most as long as their window is; what was
to follow them waits as long. What is not eaten stays in its window, or is kept as long as it keeps. Each week
eats the oldest first.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from cropcal.optimize.programme import FloatArray
from cropcal.planning.candidates.columns import FAR
from cropcal.planning.candidates.service_weeks import NEVER
from cropcal.planning.growth.crop_growth import SHOOTS_LN_SD_YIELD, GrowthTable, plants_per_site
from cropcal.planning.growth.pace import Pace
from cropcal.planning.risk.lots import Cut, Lot
from cropcal.science import chance
from cropcal.science.growth import PLANT_CV
from cropcal.science.learning import HARVEST_SD
from cropcal.science.pantry import Ready, demand_met

DRAWS = 10_000
"""Draws of a plan: a chance is known to half a per cent."""
SEED = 20
"""The same space gives the same chances; streams go by name, so the order of rows does not matter."""


@dataclass(eq=False)
class RandomStreams:
    """Random numbers that batches share, each drawn once."""

    draws: int = DRAWS
    seed: int = SEED
    batch_ln_sd: float = HARVEST_SD
    normals: dict[tuple[str, str], FloatArray] = field(default_factory=dict)
    shifted: dict[tuple[GrowthTable, int], tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]] = field(
        default_factory=dict
    )
    cuts: dict[Hashable, list[Ready]] = field(default_factory=dict)
    masses: dict[tuple[GrowthTable, int, tuple[int, ...]], tuple[FloatArray, float]] = field(
        default_factory=dict
    )

    def normal(self, what: str, name: str = "") -> FloatArray:
        """Return the standard normal numbers of one source of spread, (draws,)."""
        if (what, name) not in self.normals:
            own = chance.random_stream(self.seed, what, name)
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
        """Return ln fresh g of a plant at a cut in each draw, and as forecast, without the batch's spread.

        It is 0 as forecast where only the spread of what is yielded is known.
        """
        stages = lot.grown.stages
        if stages is None:  # shoots: only the spread of their yield is known
            return SHOOTS_LN_SD_YIELD * self.normal("shoots", lot.grown.crop.slug), 0.0
        days = tuple(max(day - lot.grown.late_d, 0) for day in days)
        key = (lot.grown, lot.age, days)
        if key not in self.masses:
            shift_key = (lot.grown, 0 if stages.rows_alike else lot.age)
            if shift_key not in self.shifted:
                sd_light = stages.spots[-1].sd_ln_light
                shifts = self.shifts(stages.crop.slug, lot.zone, stages.pace, sd_light)
                none = np.zeros(1)
                self.shifted[shift_key] = (
                    stages.one_for_each(lot.age, *shifts),
                    stages.one_for_each(lot.age, none, none, none),
                )
            with np.errstate(divide="ignore"):
                ln_drawn, middle = (
                    np.log(stages.fresh_g_at(lot.age, days, shifted)) for shifted in self.shifted[shift_key]
                )
            self.masses[key] = ln_drawn, float(middle[0])
        return self.masses[key]


def chance_met(
    lots: Iterable[Lot],
    wanted: FloatArray,
    already: Mapping[tuple[int, int, int], float] | None = None,
    luck: RandomStreams | None = None,
) -> FloatArray:
    """Return the chance that each want is met in each week, (wants, weeks); nan where nothing is wanted.

    ``already``: amounts cut before today, by (want, week, weeks for which they keep).
    """
    luck = luck or RandomStreams()
    ready: dict[int, list[Ready]] = {}
    for lot in lots:
        if lot.want >= 0:
            ready.setdefault(lot.want, []).extend(_simulated(lot, luck))
    for (want, week, keeps), amount in (already or {}).items():
        had = Ready((week - FAR, ""), week, week + keeps, np.full(luck.draws, amount))
        ready.setdefault(want, []).append(had)
    chance = np.full(wanted.shape, np.nan)
    for want in np.flatnonzero((wanted > 0).any(axis=1)).tolist():
        share = demand_met(ready.get(want, ()), wanted[want], luck.draws).mean(axis=1)
        chance[want] = np.where(wanted[want] > 0, share, np.nan)
    return chance


def _simulated(lot: Lot, luck: RandomStreams) -> list[Ready]:
    """Return the simulated supply of a lot, drawn once."""
    key = (lot.name, lot.grown, lot.age, lot.cells, lot.seeds, lot.stands, lot.cuts)
    if key not in luck.cuts:
        cuts = sorted((cut for cut in lot.cuts if cut.week != NEVER), key=lambda cut: cut.days)
        draw = _heads if lot.grown.crop.unit == "heads" else _grams
        luck.cuts[key] = draw(lot, cuts, luck) if cuts else []
    return luck.cuts[key]


def _ln_g(lot: Lot, days: tuple[int, ...], luck: RandomStreams) -> tuple[FloatArray, float]:
    """Return ln fresh g of a plant at a cut in each draw, and as forecast."""
    ln_drawn, middle = luck.ln_g(lot, days)
    if lot.grown.stages is None or luck.batch_ln_sd == 0:
        return ln_drawn, middle
    return ln_drawn + luck.batch_ln_sd * luck.normal("batch", lot.name), middle


def _heads(lot: Lot, cuts: Sequence[Cut], luck: RandomStreams) -> list[Ready]:
    """Return the heads of a lot that reach the minimum mass."""
    cuts = [cut for cut in cuts if cut.amount > 0]
    if not cuts:
        return []
    least = np.log(chance.MINIMUM_SHARE * lot.grown.crop.target_g)
    passing = [
        np.stack(
            [
                chance.share_passing(_ln_g(lot, (*cut.days[:-1], day), luck)[0] - least, PLANT_CV)
                for _, day in cut.visits
            ]
        )
        for cut in cuts
    ]
    own = chance.random_stream(luck.seed, "lot", lot.name)
    good = chance.heads_ready(own, [cut.sites for cut in cuts], passing, lot.cells, lot.stand_chance)
    return [
        Ready(
            order=(cut.week, f"{cut.keeps} {lot.name}"),
            week=week,
            last=max(cut.week, min(week + cut.stays, cut.visits[-1][0])) + cut.keeps,
            amount=heads,
        )
        for cut, rows in zip(cuts, good, strict=True)
        for (week, _), heads in zip(cut.visits, rows, strict=True)
    ]


def _grams(lot: Lot, cuts: Sequence[Cut], luck: RandomStreams) -> list[Ready]:
    """Return the grams of a lot: cut on their day, sooner once they weigh enough, or later and heavier."""
    crop, own = lot.grown.crop, chance.random_stream(luck.seed, "lot", lot.name)
    least = np.log(chance.MINIMUM_SHARE * crop.target_g)
    supplies = []
    for cut in cuts:
        middle = luck.ln_g(lot, cut.days)[1]
        if not (np.isfinite(middle) and cut.amount > 0):
            continue
        plants = max(int(plants_per_site(crop, lot.grown.spot) * cut.sites + 0.5), 1)
        firsts = [cut_of_lot.sites for cut_of_lot in cuts if len(cut_of_lot.days) == len(cuts[0].days)]
        sown, stands = plants * lot.cells // max(sum(firsts), 1), lot.stand_chance
        most: int | None = plants
        if crop.kind in ("tray", "shoots"):  # sown thickly enough for the planned number to come up
            stands = 1.0 if lot.stands else lot.grown.stand
            sown, most = int(plants / float(stands) + 0.5), None
        masses = [_ln_g(lot, (*cut.days[:-1], day), luck)[0] for _, day in cut.visits]
        base = chance.grams_cut(
            own, cut.amount, np.zeros(luck.draws), plants, max(sown, plants), stands, PLANT_CV, most=most
        )
        grams = [base * np.exp(mass - middle) for mass in masses]
        last = max(cut.week, cut.visits[-1][0]) + cut.keeps
        grows = {
            week: after / np.where(before > 0, before, 1.0)
            for (week, _), before, after in zip(cut.visits[1:], grams[:-1], grams[1:], strict=True)
        }
        waits = np.ones(luck.draws, dtype=bool)
        for (week, _), mass, weight_g in zip(cut.visits, masses, grams, strict=True):
            now = waits & ((mass >= least) | (week >= cut.week))
            if now.any():
                later = {at: factor for at, factor in grows.items() if at > week}
                supplies.append(
                    Ready(
                        (cut.week, f"{cut.keeps} {lot.name}"), week, last, np.where(now, weight_g, 0.0), later
                    )
                )
            waits &= ~now
    return supplies
