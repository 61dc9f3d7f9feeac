"""Calibration by the journal: the grower's growth rates, days to emergence, and the assumed light."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from cropcal.planning.growth.crop_constants import days_to_emerge
from cropcal.planning.growth.crop_growth import Stages, plants_per_site
from cropcal.planning.growth.pace import Pace, Paces
from cropcal.planning.history.batch_history import batch_histories
from cropcal.planning.history.observed_conditions import Conditions, observed_conditions
from cropcal.planning.history.past_settings import past_conditions
from cropcal.planning.site.bed_light import lux_factors
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop, CropTables, cut_at
from cropcal.records.journal import Entry
from cropcal.records.learned import Lesson, LessonKind
from cropcal.records.plan import Batch, BedLight
from cropcal.records.space import Space
from cropcal.science import growth, learning
from cropcal.science.learning import Belief
from cropcal.units import Z_80

PART_SD = growth.EMERGENCE_SD / np.sqrt(2)
"""Spread of ln days to emergence that crops share, and of each crop: half the variance each (assumed)."""

UNWEIGHED_SD = 0.30
"""Noise of ln g a head that nobody weighed, taken as what is wanted: cut on the next work day (assumed)."""
UNNOTED_SD = 0.50
"""More noise of ln g where nobody noted the sowing: it may have been days after the plan's (assumed)."""

SEEDBED_D = 7.0
"""Days whose mean air sets the days to emergence (assumed: half of the crops are up by then)."""

WIDE = 3**0.5
"""Standard deviations by which slopes are taken."""
STEP = 0.01
"""Shift in ln by which slopes are taken at least."""

RELINEARISATIONS = 2
"""Times a step is repeated with the slopes at the point it led to."""

Expected = tuple[float, learning.Array, float]
"""Expected value, share of each part in its ln, and the sd that linear slopes leave out."""

Forecaster = Callable[[Belief], Expected | None]


@dataclass(frozen=True, eq=False)
class Learned:
    """The belief after all lessons: speed and emergence of the grower and each crop, light of each zone."""

    belief: Belief
    crops: tuple[str, ...]
    zones: tuple[str, ...]
    lessons: tuple[Lesson, ...]

    def pace(self, crop: str, zone: str, sd_ln_light: float) -> Pace:
        """Return the growth rate of a crop in a zone, with its spread."""
        speed, emergence, light = self.reaches(crop, zone)
        ln_speed, sd_speed = learning.mean_and_sd(self.belief, speed)
        ln_emergence, sd_emergence = learning.mean_and_sd(self.belief, emergence)
        if crop not in self.crops:
            sd_speed, sd_emergence = np.hypot(sd_speed, growth.CROP_SD), np.hypot(sd_emergence, PART_SD)
        ln_light, sd_light = (
            learning.mean_and_sd(self.belief, light) if zone in self.zones else (0.0, sd_ln_light)
        )
        together = float(speed @ self.belief.cov @ light) / sd_speed**2
        left = sd_light**2 - (together * sd_speed) ** 2
        return Pace(
            ln_speed=ln_speed,
            sd_ln_speed=float(sd_speed),
            ln_emergence=ln_emergence,
            sd_ln_emergence=float(sd_emergence),
            ln_light=ln_light,
            sd_ln_light=float(np.sqrt(max(left, 0.0))),
            light_with_speed=together,
            shared_ln_speed=float(speed @ self.belief.cov[:, 0] / np.sqrt(self.belief.cov[0, 0])),
        )

    def reaches(self, crop: str, zone: str) -> tuple[learning.Array, learning.Array, learning.Array]:
        """Return the weights of the parts in a crop's speed, its days to emergence, and a zone's light."""
        parts = np.zeros((3, len(self.belief.mean)))
        parts[0, 0] = parts[1, 1] = 1.0
        if crop in self.crops:
            place = 2 + 2 * self.crops.index(crop)
            parts[0, place] = parts[1, place + 1] = 1.0
        if zone in self.zones:
            parts[2, 2 + 2 * len(self.crops) + self.zones.index(zone)] = 1.0
        return parts[0], parts[1], parts[2]


def unlearned(crops: Iterable[str], lights: Iterable[BedLight]) -> Learned:
    """Return the belief before any observation."""
    slugs = tuple(dict.fromkeys(crops))
    zones: dict[str, float] = {}
    for light in lights:
        zones[light.zone] = max(zones.get(light.zone, 0.0), light.sd_ln_all)
    sds = [growth.GROWER_SD, PART_SD, *[growth.CROP_SD, PART_SD] * len(slugs), *zones.values()]
    return Learned(learning.prior(np.zeros(len(sds)), sds), slugs, tuple(zones), ())


def learn(
    histories: Iterable[BatchHistory],
    tables: CropTables,
    lights: tuple[BedLight, ...],
    conditions: Conditions,
) -> Learned:
    """Return the belief after all journal entries about batches, one step for each entry, by day.

    A check that found a batch not ready counts until there is a later check or a cut of it: these are the
    same plants with the same luck, and counting it each time would make all of the grower's crops slow.
    """
    histories = [
        history
        for history in histories
        if history.sown != "unknown" and history.crop in tables.crops and history.bed in conditions.spots
    ]
    learned = unlearned((history.crop for history in histories), lights)
    lines = sorted(
        ((entry, history) for history in histories for entry in history.noted),
        key=lambda pair: (pair[0].on, pair[0].line or 0),
    )
    before: date | None = None
    for entry, history in lines:
        if before is not None and entry.on > before:
            belief = learning.aged(learned.belief, 0, (entry.on - before).days / 365.25)
            learned = replace(learned, belief=belief)
        before = max(before or entry.on, entry.on)
        after = _after_entry(learned, entry, history, tables, conditions)
        learned = replace(learned, lessons=after.lessons) if _outdated(entry, history) else after
    return learned


def _outdated(entry: Entry, history: BatchHistory) -> bool:
    """Return whether an entry is a check ("not ready") of a batch that was checked again later, or cut."""
    return entry.event == "not ready" and any(
        other.event in ("not ready", "harvested")
        and (other.on, other.line or 0) > (entry.on, entry.line or 0)
        for other in history.noted
    )


def _after_entry(
    learned: Learned, entry: Entry, history: BatchHistory, tables: CropTables, conditions: Conditions
) -> Learned:
    """Return the belief after one more entry."""
    crop = cut_at(tables.crops[history.crop], history.planned.cut_at_g if history.planned else None)
    if crop.kind == "shoots" or history.plug_age_d is not None or entry.on <= history.sown_on:
        return learned
    if entry.event == "emerged":
        return _after_emergence(learned, entry, history, crop, tables, conditions)
    if entry.event in ("harvested", "not ready"):
        return _after_cut_or_check(learned, entry, history, crop, tables, conditions)
    return learned


def _after_emergence(
    learned: Learned,
    entry: Entry,
    history: BatchHistory,
    crop: Crop,
    tables: CropTables,
    conditions: Conditions,
) -> Learned:
    """Return the belief after the first day on which seedlings were seen."""
    if history.emerged_on != entry.on:
        return learned
    book = days_to_emerge(crop, tables, seedbed_c(*conditions.stages(history, entry.on)))
    if not np.isfinite(book):
        return learned
    _, reaches, _ = learned.reaches(crop.slug, "")
    expected = book * np.exp(learning.mean_and_sd(learned.belief, reaches)[0])
    observed = float(history.days(entry.on))
    return _updated(
        learned, entry, crop, "emerged", (expected, reaches, 0.0), observed, learning.EMERGENCE_NOISE_SD
    )


def _after_cut_or_check(
    learned: Learned,
    entry: Entry,
    history: BatchHistory,
    crop: Crop,
    tables: CropTables,
    conditions: Conditions,
) -> Learned:
    """Return the belief after a first cut, or after a check that found the batch not ready."""
    if entry.event == "harvested" and _earlier_cut(history, entry):
        return learned
    weighed = grams_a_plant(entry, history, crop, conditions)
    observed, noise_sd = weighed or crop.target_g, learning.HARVEST_SD
    if entry.event == "not ready":
        kind: LessonKind = "not ready"
    elif weighed is not None:
        kind = "weighed"
    elif entry.early:
        kind = "cut early"
    elif crop.unit == "heads":
        kind, noise_sd = "cut ready", UNWEIGHED_SD
    else:
        return learned
    if history.sown == "planned":
        noise_sd = float(np.hypot(noise_sd, UNNOTED_SD))

    def look(belief: Belief) -> Expected | None:
        return expected_g(replace(learned, belief=belief), history, entry.on, crop, tables, conditions)

    first = look(learned.belief)
    if first is None:
        return learned
    return _updated(learned, entry, crop, kind, first, observed, noise_sd, look)


def _updated(
    learned: Learned,
    entry: Entry,
    crop: Crop,
    kind: LessonKind,
    first: Expected,
    observed: float,
    noise_sd: float,
    expected_at: Forecaster | None = None,
) -> Learned:
    """Return the belief updated by one observation, unless it is too unlikely.

    ``expected_at`` gives what is expected, and how far the parts reach, at another belief. Where the step
    leads far, it is taken again with the slopes found there (the iterated filter: Bell & Cathey 1993, IEEE
    Transactions on Automatic Control 38:294-297).
    """
    expected, reaches, bend_sd = first
    surprise = float(np.log(observed / expected))
    noise = float(np.hypot(noise_sd, bend_sd))
    spread = float(np.hypot(learning.mean_and_sd(learned.belief, reaches)[1], noise))
    surprise_sds = surprise / spread
    ceiling = kind in ("not ready", "cut early")
    surprise_sds = min(surprise_sds, 0.0) if ceiling else surprise_sds
    used = entry.sure or abs(surprise_sds) <= learning.DOUBTED_SD
    lesson = Lesson(
        on=entry.on,
        batch=entry.batch,
        crop=crop.slug,
        line=entry.line,
        id=entry.id,
        kind=kind,
        expected=float(expected),
        low_80=float(expected * np.exp(-Z_80 * spread)),
        high_80=float(expected * np.exp(Z_80 * spread)),
        seen=float(observed),
        odd=surprise_sds,
        sure=entry.sure,
        used=used,
    )
    if not used:
        return replace(learned, lessons=(*learned.lessons, lesson))
    step = learning.updated_at_most if ceiling else learning.updated
    belief = step(learned.belief, reaches, surprise, noise)
    for _ in range(RELINEARISATIONS if expected_at is not None else 0):
        expected_there = expected_at(belief) if expected_at is not None else None
        if expected_there is None:
            break
        level, reaches, bend_sd = expected_there
        back = float(reaches @ (belief.mean - learned.belief.mean))
        noise = float(np.hypot(noise_sd, bend_sd))
        belief = step(learned.belief, reaches, float(np.log(observed / level)) + back, noise)
    return replace(learned, belief=belief, lessons=(*learned.lessons, lesson))


def expected_g(
    learned: Learned, history: BatchHistory, on: date, crop: Crop, tables: CropTables, conditions: Conditions
) -> Expected | None:
    """Return the expected fresh g of a plant on a day before any cut, the weights of the parts, and the bend.

    Slopes are those over the whole spread of the belief (divided differences: Nørgaard, Poulsen & Ravn 2000,
    Automatica 36:1627-1638, also for what the bend adds): more light may do a crop no good, so that
    a slope at one point says little. None where nothing is expected to stand yet.
    """
    spots, ends = conditions.stages(history, on)
    zone = conditions.zone_of[history.bed]
    pace = replace(learned.pace(crop.slug, zone, 0.0), light_with_speed=0.0)
    speed, emergence, light = learned.reaches(crop.slug, zone)
    parts = np.array([speed, light, emergence])
    steps = np.array([max(WIDE * learning.mean_and_sd(learned.belief, part)[1], STEP) for part in parts])
    shifts = np.concatenate([np.zeros((1, 3)), np.diag(steps), -np.diag(steps)])
    if history.emerged_on is not None:
        shifts[:, 2] = 0.0
    stages = stages_of(crop, tables, history, spots, np.repeat(ends, len(shifts), axis=0), pace)
    if stages is None:
        return None
    with np.errstate(divide="ignore"):
        ln_g = np.log(stages.fresh_g(np.array([float(history.days(on))]), *shifts.T)[:, 0])
    if not np.isfinite(ln_g[0]):
        return None
    up, down = ln_g[1:4] - ln_g[0], ln_g[4:] - ln_g[0]
    known = np.isfinite(up) & np.isfinite(down)
    slopes = np.where(known, up - down, 0.0) / (2 * steps)
    bend = np.where(known, up + down, 0.0) * (steps > STEP)
    bend_sd = float(np.sqrt((WIDE**2 - 1) / WIDE**4 * np.sum(bend**2))) / 2
    return float(np.exp(ln_g[0])), slopes @ parts, bend_sd


def seedbed_c(spots: tuple[GrowingConditions, ...], ends: learning.Array) -> float:
    """Return the mean air of the first days, in which seeds come up."""
    air_c = [spot.air_c for spot in spots]
    if len(set(air_c)) == 1:
        return air_c[0]
    stays = np.diff(np.minimum(ends[0], SEEDBED_D), prepend=0.0)
    return float(np.average(air_c, weights=stays))


def stages_of(
    crop: Crop,
    tables: CropTables,
    history: BatchHistory,
    spots: tuple[GrowingConditions, ...],
    ends: learning.Array,
    pace: Pace,
) -> Stages | None:
    """Return the stages of one batch, from its real day of emergence if that was noted."""
    if history.emerged_on is not None:
        came_up = float(max(history.days(history.emerged_on), 1))
        known = replace(pace, ln_emergence=0.0, sd_ln_emergence=0.0)
        return Stages(crop, tables, spots, ends, came_up, known)
    book = days_to_emerge(crop, tables, seedbed_c(spots, ends))
    return Stages(crop, tables, spots, ends, book, pace) if np.isfinite(book) else None


def grams_a_plant(entry: Entry, history: BatchHistory, crop: Crop, conditions: Conditions) -> float | None:
    """Return the fresh g of each plant that was cut, None if not weighed, or nobody knows how many it was."""
    if crop.unit == "heads":
        return entry.weight_g / entry.amount if entry.weight_g and entry.amount else None
    if not entry.weighed_g or (crop.cuts_max == 1 and history.cut_in_parts):
        return None
    sites = len(entry.sites) or history.sites - history.lost(entry.on)
    plants = sites * plants_per_site(crop, conditions.spots[history.bed])
    standing = 1.0 if _taken_whole(entry, history, crop) else 1.0 - crop.cut_leaves_share
    return entry.weighed_g / plants / standing if plants > 0 else None


def _taken_whole(entry: Entry, history: BatchHistory, crop: Crop) -> bool:
    """Return whether a cut took all of the plant: as noted, or as planned where the plan ends with it."""
    last = history.planned is not None and history.planned.clear_on <= entry.on
    return entry.cut == "whole" or crop.cuts_max == 1 or last


def _earlier_cut(history: BatchHistory, entry: Entry) -> bool:
    """Return whether the same plants may have been cut before: then mass does not date from sowing."""
    if entry.cut == "whole":
        return False
    if isinstance(entry.cut, int):
        return entry.cut > 1
    return any(
        other.event == "harvested" and (other.on, other.line or 0) < (entry.on, entry.line or 0)
        for other in history.noted
        if not entry.sites or not other.sites or set(entry.sites) & set(other.sites)
    )


def learned_from_journal(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    events: tuple[Entry, ...],
    batches: Iterable[Batch],
) -> Learned:
    """Return what was learned from a journal. ``batches`` of the last plan fill in what the journal lacks."""
    histories, conditions = batches_and_conditions(space, tables, lights, events, batches)
    return learn(histories, tables, lights, conditions)


def batches_and_conditions(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    events: tuple[Entry, ...],
    batches: Iterable[Batch],
) -> tuple[list[BatchHistory], Conditions]:
    """Return the history of each batch that has entries, and the observed conditions of each bed."""
    nurseries = frozenset(bed.name for bed in space.beds if bed.kind == "nursery")
    planned = {batch.id: batch for batch in batches}
    histories = [
        history for history in batch_histories(events, planned, nurseries, tables.crops) if history.noted
    ]
    histories.sort(key=lambda history: (history.sown_on, history.batch))
    return histories, observed_conditions(
        space, lights, events, lux_factors(space, tables), past_conditions(space, tables)
    )


def paces(learned: Learned, lights: Iterable[BedLight], crops: Iterable[str]) -> Paces:
    """Return the growth rate of each crop in each bed; empty until something was learned."""
    beds = list(lights)
    if not any(lesson.used for lesson in learned.lessons):
        return {}
    return {
        (crop, light.bed): learned.pace(crop, light.zone, light.sd_ln_all) for crop in crops for light in beds
    }
