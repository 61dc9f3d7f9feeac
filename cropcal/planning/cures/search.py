"""Cures of crops that do badly in a bed: changed spaces, of which those are kept that mend it.

Each is judged as the space is that its ``--set`` makes, for every wanted crop.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from cropcal.planning.cures import air_steps, light_steps
from cropcal.planning.cures.light_steps import Ladder, Step
from cropcal.planning.cures.settings import Setting, changed, want_settings
from cropcal.planning.cures.trial import Outcome, Trial, beds_allowed, rank_of
from cropcal.planning.cures.worth import too_weak, weighed
from cropcal.planning.growth.pace import Paces
from cropcal.planning.growth.suitability import VERDICTS
from cropcal.planning.site.air import Air, zone_air
from cropcal.planning.site.lamp_light import CLEAR_OF_LAMP_M
from cropcal.records.crop import Crop, CropTables
from cropcal.records.cure import Cure, Cures, CureStep, StepKind
from cropcal.records.fit import Fit
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, Zone, photoperiod_h
from cropcal.units import MOL_PER_UMOL_H

MOST_CURES = 2
"""Cures that are kept for a crop in a bed."""
SMALL_HOURS = 2.0
"""Hours of lamp up to which more or fewer of them count as a smaller step than moving a lamp."""
ORDER: tuple[StepKind, ...] = (
    "hours",
    "fan",
    "height",
    "output",
    "walls",
    "bed",
    "flow",
    "shade",
    "air",
    "watts",
)
"""Kinds of steps, the smallest first."""
FIRST_OF_PAIR: tuple[StepKind, ...] = ("hours", "fan", "height", "output", "walls", "flow")
MOST_RUNGS = 8
"""Steps of the first of two: 2 h, 8 cm."""
BRIGHT = 0.7
"""Share of a crop's ceiling from which less light is tried (assumed: the light is known to a fifth or so)."""


def cures(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    fits: tuple[Fit, ...],
    paces: Paces | None = None,
) -> Cures:
    """Return the cures of all wanted crops that do badly where they may grow, the smallest steps first.

    Parameters
    ----------
    space
        With lamp hours for every zone; zones, beds, lamps, readings and wants as they stand in the file.
    lights, fits
        Light of each of its beds; verdict of each wanted crop in each bed of its kind.
    paces
        Growth learned so far, for days to harvest.
    """
    doing = Trial(space, tables, {light.bed: light for light in lights}, fits, paces or {})
    kept: list[Cure] = []
    for fit in fits:
        if fit.verdict != "ok" and fit.bed in doing.allowed[fit.crop]:
            kept += _cures_of(doing, fit)
    return Cures(cures=tuple(kept), too_weak=too_weak(doing, kept))


def _cures_of(doing: Trial, fit: Fit) -> list[Cure]:
    """Return the cures of one crop in one bed: another bed where it does well, else the smallest steps."""
    moved = _other_bed(doing, fit)
    if moved is not None and moved.verdict_after == "ok":
        return [moved]
    if fit.bed != _best_bed(doing, fit.crop):
        return []
    zone = doing.space.zone(doing.space.bed(fit.bed).zone)
    found = [*_searched(doing, fit, zone), *([moved] if moved else [])]
    free_of_harm = [cure for cure in found if not cure.harms]
    ordered = sorted(free_of_harm or found, key=_size)
    return [weighed(doing, zone, cure) for cure in ordered[:MOST_CURES]]


def _best_bed(doing: Trial, crop: str) -> str:
    """Return the bed in which a crop does best: of like verdicts, in light nearest its target."""
    target = doing.crops[crop].dli_target_mol_m2_d

    def strain(bed: str) -> tuple[int, float, str]:
        dli = max(_least_and_most(doing, bed)[0], 1e-6)
        return rank_of(doing.fits[crop, bed]), abs(float(np.log(dli / target))), bed

    return min(doing.allowed[crop], key=strain)


def _least_and_most(doing: Trial, bed: str) -> tuple[float, float]:
    """Return the least and the most light of a day of a bed over the half months of the year."""
    light = doing.lights[bed]
    if not light.halves:
        return light.dli_mol_m2_d(), light.dli_mol_m2_d()
    lamp = light.ppfd_umol_m2_s * MOL_PER_UMOL_H
    days = [lamp * half.lamp_h + half.sun_mol_m2_d for half in light.halves]
    return min(days), max(days)


def _size(cure: Cure) -> tuple[bool, bool, int, int, float]:
    """Return how small a cure is: what costs no lamp first, and of that what ends the trouble first."""
    kinds = [step.kind for step in cure.steps]
    first = cure.steps[0]
    far = first.kind == "hours" and abs(first.after - first.before) > SMALL_HOURS
    order = ORDER.index("bed") if far else max(ORDER.index(kind) for kind in kinds)
    return "watts" in kinds, cure.verdict_after != "ok", len(kinds), order, abs(first.after - first.before)


def _searched(doing: Trial, fit: Fit, zone: Zone) -> list[Cure]:
    """Return the smallest step of each kind that mends, pairs where none alone does, and watts."""
    if zone.name in _unsure_zones(doing):
        return []
    ladders = list(_ladders(doing, fit, doing.space))
    free = [ladder for ladder in ladders if ladder.kind != "watts"]
    found = [cure for ladder in free for cure in _climbed(doing, fit, zone, ladder)]
    well = any(cure.verdict_after == "ok" and not cure.harms for cure in found)
    if not well:
        found += _pairs(doing, fit, zone, free)
    if not any(cure.verdict_after == "ok" and not cure.harms for cure in found):
        brighter = (ladder for ladder in ladders if ladder.kind == "watts")
        found += [cure for ladder in brighter for cure in _climbed(doing, fit, zone, ladder)]
    return found


def _unsure_zones(doing: Trial) -> set[str]:
    """Return the zones whose lamps may be turned down with picked hours: what ``--set`` does is open."""
    return {
        zone.name
        for zone in doing.space.zones
        if doing.picked(zone)
        and any(lamp.dims_to is not None for lamp in doing.space.fixtures if lamp.zone == zone.name)
    }


def _ladders(doing: Trial, fit: Fit, space: Space) -> Iterator[Ladder]:
    """Yield the ladders from a space that may help a crop, by what it lacks now or has too much of."""
    crop, bed = doing.crops[fit.crop], space.bed(fit.bed)
    zone = space.zone(bed.zone)
    light = doing.lights[bed.name]
    least, most = _least_and_most(doing, bed.name)
    ceiling = crop.dli_max_mol_m2_d if zone.air_moving else crop.dli_max_still_air_mol_m2_d
    seen_h = max((half.day_seen_h for half in light.halves), default=light.photoperiod_h)
    too_long = crop.photoperiod_max_h is not None and seen_h > crop.photoperiod_max_h
    dim, bright = least < crop.dli_target_mol_m2_d, most > BRIGHT * ceiling
    clear_m = max(light.lamp_clearance_m or 0.0, CLEAR_OF_LAMP_M)
    too_near = light.lamp_to_canopy_m is not None and light.lamp_to_canopy_m < crop.height_cm / 100 + clear_m
    by_lamp = light.source != "daylight"
    tables = doing.tables
    ladders: list[Ladder | None] = []
    if by_lamp and not doing.picked(zone):
        ladders += [light_steps.hours(space, zone, longer=True)] if dim and not too_long else []
        shorter = light_steps.hours(space, zone, longer=False)
        if bright or too_long or fit.verdict == "risk":
            ladders.append(replace(shorter, more=None) if too_long else shorter)
    ladders += [air_steps.fan(space, zone)] if bright else []
    if by_lamp and dim:
        ladders.append(
            light_steps.height(space, zone, tables, _lowest_m(doing, zone, crop, clear_m), lower=True)
        )
        ladders += [light_steps.output(space, zone, up=True), light_steps.walls(space, zone, tables)]
    if by_lamp and (bright or too_near):
        higher = light_steps.height(space, zone, tables, 0.0, lower=False)
        ladders.append(replace(higher, more=None) if higher and too_near else higher)
    if by_lamp and (bright or fit.verdict == "risk"):
        ladders.append(light_steps.output(space, zone, up=False))
    if fit.verdict in ("risk", "no") and not _air_suits(crop, zone_air(zone, space.fixtures)):
        ladders += [
            air_steps.flow(space, zone),
            *(air_steps.air(space, zone, warmer=warmer) for warmer in (False, True)),
        ]
    ladders += [air_steps.shade(space, zone)] if bright else []
    ladders += [light_steps.watts(space, zone)] if by_lamp and dim else []
    yield from (ladder for ladder in ladders if ladder is not None)


def _air_suits(crop: Crop, air: Air) -> bool:
    """Return whether air can be no trouble to a crop, whatever else is."""
    warm = min(most for most in (crop.air_quality_max_c, crop.air_max_c) if most is not None)
    return crop.air_base_c < air.mean_c <= warm and air.lamp_on_c < crop.air_max_c


def _lowest_m(doing: Trial, zone: Zone, crop: Crop, clear_m: float) -> float:
    """Return how low a lamp may hang: clear of this crop and the tallest that does best in its zone."""
    beds = {bed.name for bed in light_steps.beds_of(doing.space, zone)}
    here = [
        other for slug, other in doing.crops.items() if doing.allowed[slug] and _best_bed(doing, slug) in beds
    ]
    return max(other.height_cm for other in (*here, crop)) / 100 + clear_m


def _climbed(doing: Trial, fit: Fit, zone: Zone, ladder: Ladder) -> list[Cure]:
    """Return the smallest step of a ladder that mends, and that harms nobody if there is such a one."""
    for harmless in (True, False):
        for goal in range(min(rank_of(fit), VERDICTS.index("risk"))):
            at = _smallest(doing, fit, zone, ladder, (), goal, harmless=harmless)
            outcome = None if at is None else _at(doing, zone, ladder, (), at)
            if outcome is not None:
                return [_cure(doing, fit, outcome)]
    return []


def _at(doing: Trial, zone: Zone, ladder: Ladder, base: tuple[Step, ...], number: int) -> Outcome | None:
    step = ladder.build(ladder.sizes[number])
    return None if step is None else doing.outcome(zone, (*base, step))


def _smallest(
    doing: Trial,
    fit: Fit,
    zone: Zone,
    ladder: Ladder,
    base: tuple[Step, ...],
    goal: int,
    *,
    harmless: bool,
) -> int | None:
    """Return the number of the smallest step that makes a crop at least that good, None if none does.

    Steps further and further apart are tried, then those between the last that fails and the first that does.
    """

    def mends(number: int) -> bool:
        outcome = _at(doing, zone, ladder, base, number)
        if outcome is None or outcome.rank(fit.crop, fit.bed) > goal:
            return False
        return not harmless or not doing.harms(outcome, fit.crop)

    failed = -1
    for number in _wider(len(ladder.sizes)):
        if mends(number):
            while number - failed > 1:
                between = (number + failed) // 2
                number, failed = (between, failed) if mends(between) else (number, between)
            return number
        failed = number
    return None


def _wider(count: int) -> Iterator[int]:
    """Yield 0, 1, 2, 3, 5, 7, 10 ... and the last of some numbers."""
    number = 0.0
    while number < count - 1:
        yield int(number)
        number = max(number + 1, number * 1.4)
    if count:
        yield count - 1


def _pairs(doing: Trial, fit: Fit, zone: Zone, ladders: Sequence[Ladder]) -> list[Cure]:
    """Return the smallest pair of steps of two kinds by which a crop does well, for the first kind with one.

    A pair is the smaller the fewer rungs it has: quarter hours, cm, twentieths.
    """
    for ladder in ladders:
        if ladder.kind not in FIRST_OF_PAIR:
            continue
        pairs: dict[int, Outcome] = {}
        for number, first in reversed(_first_of_pair(doing, fit, zone, ladder)):
            seconds = [other for other in _ladders(doing, fit, first.space) if _may_follow(ladder, other)]
            for second in seconds:
                at = _smallest(doing, fit, zone, second, first.steps, 0, harmless=True)
                both = None if at is None else _at(doing, zone, second, first.steps, at)
                if at is not None and both is not None:
                    pairs.setdefault(number + at, both)
            if not pairs:
                break
        if pairs:
            return [_cure(doing, fit, pairs[min(pairs)])]
    return []


def _first_of_pair(doing: Trial, fit: Fit, zone: Zone, ladder: Ladder) -> list[tuple[int, Outcome]]:
    """Return small steps of a ladder that harm nobody; of too long a day only the step down to its limit."""
    if ladder.kind == "hours" and ladder.more is None:
        now, limit = photoperiod_h(zone), doing.crops[fit.crop].photoperiod_max_h or 0.0
        rungs = [number for number, size in enumerate(ladder.sizes) if now - size <= limit][:1]
        return [(number, outcome) for number in rungs if (outcome := _at(doing, zone, ladder, (), number))]
    few = _wider(min(len(ladder.sizes), MOST_RUNGS))
    taken = ((number, _at(doing, zone, ladder, (), number)) for number in few)
    return [(number, first) for number, first in taken if first and not doing.harms(first, fit.crop)]


def _may_follow(first: Ladder, second: Ladder) -> bool:
    """Return whether a step of the second kind may help beside one of the first."""
    if {first.more, second.more} == {True, False} or ORDER.index(second.kind) <= ORDER.index(first.kind):
        return False
    return second.kind != "watts" or (first.kind == "hours" and first.more is None)


def _cure(doing: Trial, fit: Fit, outcome: Outcome) -> Cure:
    return Cure(
        crop=fit.crop,
        bed=fit.bed,
        steps=tuple(step.said for step in outcome.steps),
        settings=tuple(setting.text for setting in outcome.settings),
        verdict_before=fit.verdict,
        verdict_after=outcome.fits[fit.crop, fit.bed].verdict,
        harms=doing.harms(outcome, fit.crop),
    )


def _other_bed(doing: Trial, fit: Fit) -> Cure | None:
    """Return the cure of growing a crop only in that bed where it does best, None where it is here."""
    crop = doing.crops[fit.crop]
    better = [other for other in doing.all_fits if other.crop == fit.crop and rank_of(other) < rank_of(fit)]
    if not better:
        return None
    target = min(better, key=lambda other: (rank_of(other), other.bed not in doing.allowed[fit.crop]))
    settings: list[Setting] = []
    for number, want in enumerate(doing.space.wants):
        if crop.slug in want.crops:
            settings += want_settings(doing.space, number, (target.bed,))
    allowed = _allowed_in(doing.space, settings, doing.crops.values())
    after = doing.best(doing.fits, allowed)
    harmed = [slug for slug, rank in after.items() if slug != crop.slug and rank > doing.before[slug]]
    if harmed:
        return None
    return Cure(
        crop=fit.crop,
        bed=fit.bed,
        steps=(CureStep(kind="bed", subject=target.bed),),
        settings=tuple(setting.text for setting in settings),
        verdict_before=fit.verdict,
        verdict_after=target.verdict,
    )


def _allowed_in(
    space: Space, settings: Sequence[Setting], crops: Iterable[Crop]
) -> dict[str, frozenset[str]]:
    """Return the beds in which each crop may grow in a changed space."""
    after = changed(space, settings)
    return {crop.slug: beds_allowed(after, crop) for crop in crops}
