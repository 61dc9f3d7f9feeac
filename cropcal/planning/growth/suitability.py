"""How a crop suits a bed: ok, slow, at risk, or not at all; why; and what would cure it."""

from collections.abc import Callable
from dataclasses import replace
from math import ceil
from typing import Literal

import numpy as np
import numpy.typing as npt

from cropcal.planning.growth.crop_in_bed import CropInBed, crop_in_bed, in_half_month, suits_bed
from cropcal.planning.site.air import cooling
from cropcal.planning.site.lamp_light import CLEAR_OF_LAMP_M
from cropcal.planning.site.sunlight import planned_halves
from cropcal.records.crop import Crop
from cropcal.records.daylight import half_month_name, rough_spans
from cropcal.records.fit import Fit
from cropcal.records.plan import BedLight
from cropcal.records.space import Bed, Space
from cropcal.science import light
from cropcal.units import MOL_PER_UMOL_H

FAR_TOO_MUCH = 2.0
"""Times its ceiling from which light is no risk any more but a certain loss (assumed)."""

FAR_TOO_LITTLE = 0.5
"""Share of the least light below which a crop is left out (assumed). The least is the lowest light with which
it was tested, so it is no wall: a little below it a crop is only slower, and nobody has looked."""

WATCHED_DAY_H = 16.0
"""A longer day than this, with a crop whose limit nobody printed, gets a word of doubt (common practice: 16 h
is the usual long day of leafy crops)."""

TIPS_MAY_BURN = "leaf tips may burn, which spoils leaves but costs no weight"
"""What too much light for the moving air does: tip burn rises with light and speed of growth (Sago 2016,
HortScience 51:1087-1091, title and citation read)."""

SMALL_FAN = "a small fan over the leaves, the cheapest cure"
"""Air blown at the inner leaves prevents tip burn (Goto & Takakura 1992, Transactions of the ASAE 35:641-645,
from memory)."""

Verdict = Literal["ok", "slow", "risk", "no"]
VERDICTS: tuple[Verdict, ...] = ("ok", "slow", "risk", "no")
GOOD_WORDS: dict[Verdict, str] = {"ok": "well", "slow": "slowly", "risk": "at risk"}
"""How well a crop does in the rest of the year where it does worse in some of it."""

NEAR_TARGET = 0.7
"""Share of the target DLI from which a crop counts as well lit (assumed: from there it takes about a tenth
longer than at the target, 39 d instead of 35 d for butterhead lettuce)."""


Look = Callable[[CropInBed], tuple[str, str] | None]


def suitability(growing: CropInBed) -> Fit:
    """Return the verdict on one crop in one bed, with the chances that its light is right.

    A verdict holds where it is more likely than not: the light is known to a few tens of percent only.
    """
    verdict, (why, cure) = _verdict(growing)
    crop, in_pots = growing.crop, growing.crop.kind not in ("tray", "shoots")
    return Fit(
        crop=crop.slug,
        bed=growing.bed.name,
        verdict=verdict,
        why=why,
        cure=cure,
        chance_enough=round(growing.chance_enough, 2),
        chance_not_too_much=round(growing.chance_not_too_much, 2),
        plants_m2=growing.clumps_m2 if in_pots else None,
        usual_plants_m2=crop.anchor_plants_m2 / crop.plants_per_site if in_pots else None,
    )


def _verdict(growing: CropInBed) -> tuple[Verdict, tuple[str, str]]:
    """Return the gravest verdict that applies, with why and cure."""
    checks: tuple[tuple[Verdict, Look], ...] = (("no", _forbids), ("risk", _endangers), ("slow", _slows))
    for verdict, check in checks:
        reason = check(growing)
        if reason is not None:
            return verdict, reason
    return "ok", _suits(growing)


def suitability_over(space: Space, crop: Crop, bed: Bed, bed_light: BedLight, asked: npt.ArrayLike) -> Fit:
    """Return the gravest verdict of some half months, and when it holds; without a window, the verdict.

    Parameters
    ----------
    asked
        Whether each half month of the year counts, shape (24,).
    """
    whole = crop_in_bed(space, crop, bed, bed_light)
    if not bed_light.halves:
        return suitability(whole)
    number = [int(half) for half in np.flatnonzero(asked)]
    return _gravest([in_half_month(whole, half) for half in number], number)


def _gravest(each: list[CropInBed], halves: list[int]) -> Fit:
    """Return the gravest verdict of several half months, at its worst, with its span and that of the best.

    The darkest half month is named with its light, whatever the verdict.
    """
    verdicts = [suitability(rated) for rated in each]
    rank = [VERDICTS.index(rated.verdict) for rated in verdicts]
    worst, best = max(rank), min(rank)
    grave = [at for at, rated in enumerate(rank) if rated == worst]
    darkest = min(range(len(each)), key=lambda at: each[at].dli_mol_m2_d)
    at_worst = max(grave, key=lambda at: _strain(each[at], verdicts[at].verdict)) if worst else darkest
    picked = verdicts[at_worst]
    why = picked.why
    if any(verdicts[at].why != why for at in grave):
        word = "at worst" if worst else "darkest"
        why = f"{word} in {half_month_name(halves[at_worst])}: {why}"
    if worst != best:
        when = rough_spans([halves[at] for at in grave], len(halves))
        well = rough_spans([halves[at] for at, rated in enumerate(rank) if rated == best], len(halves))
        why = f"{when}: {why}; {GOOD_WORDS[VERDICTS[best]]} {well}"
    if at_worst != darkest:
        dark = each[darkest].dli_mol_m2_d
        why += f"; darkest in {half_month_name(halves[darkest])}: {dark:.1f} mol a day"
    return picked.model_copy(update={"why": why})


def _strain(case: CropInBed, verdict: Verdict) -> float:
    """Return how far light or day lie beyond what a crop asks for: the larger, the worse."""
    much = case.dli_mol_m2_d / case.ceiling_mol_m2_d
    if verdict == "risk":
        return max(much, case.day_h / (case.crop.photoperiod_max_h or np.inf))
    return max(much, case.best_mol_m2_d / max(case.dli_mol_m2_d, 1e-9))


def suitabilities(space: Space, lights: tuple[BedLight, ...], crops: tuple[Crop, ...]) -> tuple[Fit, ...]:
    """Return the verdict for every crop and every bed of a kind that it grows in."""
    by_bed, asked = {light.bed: light for light in lights}, planned_halves(space) > 0
    return tuple(
        suitability_over(space, crop, bed, by_bed[bed.name], asked)
        for crop in crops
        for bed in space.beds
        if suits_bed(crop, bed)
    )


def _forbids(case: CropInBed) -> tuple[str, str] | None:
    crop, air = case.crop, case.air.mean_c
    if not crop.air_base_c < air < crop.air_max_c:
        why = f"air of {air:.3g} °C; it grows between {crop.air_base_c:g} and {crop.air_max_c:g} °C"
        return why, _milder(case)
    if case.dli_mol_m2_d > FAR_TOO_MUCH * crop.dli_max_mol_m2_d:
        why = f"{case.dli_mol_m2_d:.0f} mol a day, far above its {crop.dli_max_mol_m2_d:g}"
        if case.sun_mol_m2_d:
            return why, _less_sun(case)
        dimmer = float(light.ppfd_for(crop.dli_target_mol_m2_d, case.light.photoperiod_h))
        return why, f"about {dimmer:.0f} µmol at these hours: turn the lamp down or hang it higher"
    if case.dli_mol_m2_d < FAR_TOO_LITTLE * crop.dli_min_mol_m2_d:
        why = f"{case.dli_mol_m2_d:.1f} mol a day, far below {crop.dli_min_mol_m2_d:g}, the least tested"
        return why, _more_light(case)
    return None


def _endangers(case: CropInBed) -> tuple[str, str] | None:
    """Return the most pressing risks to the crop and their cures; heat and light may both be named."""
    risks = [risk for risk in (_light_spoils(case), _warmth_spoils(case)) if risk]
    if not risks:
        return _too_tall(case)
    return "; ".join(why for why, _ in risks), "; ".join(cure for _, cure in risks)


def _light_spoils(case: CropInBed) -> tuple[str, str] | None:
    crop, hours = case.crop, case.day_h
    if crop.photoperiod_max_h is not None and hours > crop.photoperiod_max_h:
        if case.sun_mol_m2_d:
            why = f"a day of {hours:.1f} h with the sun, bolts above {crop.photoperiod_max_h:g} h"
            return why, _shorter_day(case)
        then = case.light.ppfd_umol_m2_s * crop.photoperiod_max_h * MOL_PER_UMOL_H
        word = (
            "enough" if then >= crop.dli_min_mol_m2_d else f"too little: it needs {crop.dli_min_mol_m2_d:g}"
        )
        why = f"{hours:g} h of light, bolts above {crop.photoperiod_max_h:g} h"
        return why, f"{crop.photoperiod_max_h:g} h would give {then:.1f} mol, {word}; or its own timer"
    if case.dli_mol_m2_d > case.ceiling_mol_m2_d:
        why = f"{case.dli_mol_m2_d:.1f} mol a day, above its {case.ceiling_mol_m2_d:g}: {TIPS_MAY_BURN}"
        if case.sun_mol_m2_d:
            return why, _less_sun(case)
        fewer = float(light.photoperiod_for(case.ceiling_mol_m2_d, case.light.ppfd_umol_m2_s))
        cure = f"{_down(fewer):g} h, or a lamp turned down"
        if not case.zone.air_moving and case.dli_mol_m2_d <= crop.dli_max_mol_m2_d:
            cure = f"{SMALL_FAN}, or {cure}"
        return why, cure
    return None


def _less_sun(case: CropInBed) -> str:
    """Return how to take light away where the sun is part of it."""
    still = not case.zone.air_moving and case.dli_mol_m2_d <= case.crop.dli_max_mol_m2_d
    fan = f"{SMALL_FAN}, or " if still else ""
    left = case.ceiling_mol_m2_d - case.sun_mol_m2_d
    if case.light.dli_mol_m2_d() > 0 and left >= 0:
        hours = _down(float(light.photoperiod_for(left, case.light.ppfd_umol_m2_s)))
        return f"{fan}no more than {hours:g} h of lamp"
    return f"{fan}shade it: let in no more than {case.ceiling_mol_m2_d / case.sun_mol_m2_d:.0%} of this sun"


def _shorter_day(case: CropInBed) -> str:
    longest = case.crop.photoperiod_max_h or 0.0
    if case.sun_h > longest:
        return f"the sun alone is up {case.sun_h:.1f} h: cover it, or grow it in shorter days"
    return f"lamp hours that lie within {longest:g} h together with the sun"


def _near_lamp(case: CropInBed) -> tuple[str, str] | None:
    """Return risk and cure where a grown plant comes too near to a lamp of known distance, else None."""
    if case.light.lamp_to_canopy_m is None:
        return None
    height_cm, lamp_cm = case.crop.height_cm, case.light.lamp_to_canopy_m * 100
    clear_cm = ceil((case.light.lamp_clearance_m or CLEAR_OF_LAMP_M) * 100 - 1e-6)
    if lamp_cm - height_cm >= clear_cm - 1e-6:
        return None
    why = (
        f"about {height_cm:.0f} cm tall, the lamp hangs {lamp_cm:.0f} cm above the young plants:"
        " leaves scorch"
    )
    sooner = f", or cut it below {lamp_cm - clear_cm:.0f} cm" if lamp_cm > 2 * clear_cm else ""
    return why, f"lamp {height_cm + clear_cm:.0f} cm above the young plants{sooner}"


def _warmth_spoils(case: CropInBed) -> tuple[str, str] | None:
    """Compare the daily mean with the ceiling of quality, which is printed as a mean (Maynard & Hochmuth)."""
    ceiling, air = case.crop.air_quality_max_c, case.air.mean_c
    if ceiling is not None and air > ceiling:
        return f"air of {air:.3g} °C, quality falls above {ceiling:g} °C", _milder(case)
    if case.air.lamp_on_c < case.crop.air_max_c:
        return None
    why = (
        f"air of {case.air.lamp_on_c:.3g} °C while the lamp is on,"
        f" no growth from {case.crop.air_max_c:g} °C on"
    )
    lit = replace(case.air, lamp_off_c=case.air.lamp_on_c, lit_h=24.0)
    return why, cooling(case.zone, lit, case.crop.air_max_c) or f"air near {case.crop.air_optimum_c:.0f} °C"


def _too_tall(case: CropInBed) -> tuple[str, str] | None:
    room_cm = None if case.bed.headroom_m is None else case.bed.headroom_m * 100
    if room_cm is None or case.crop.height_cm <= room_cm:
        return _near_lamp(case)
    why = f"about {case.crop.height_cm:.0f} cm tall, {room_cm:.0f} cm of headroom"
    return why, "cut it earlier, or raise the lamp"


def _milder(case: CropInBed) -> str:
    """Return what would cool the air where that can be computed, else how warm it should be."""
    ceilings = [most for most in (case.crop.air_quality_max_c, case.crop.air_max_c) if most is not None]
    cure = cooling(case.zone, case.air, min(ceilings)) if case.air.mean_c >= min(ceilings) else ""
    return cure or f"air near {case.crop.air_optimum_c:.0f} °C"


def _slows(case: CropInBed) -> tuple[str, str] | None:
    least = case.crop.dli_min_mol_m2_d
    if case.chance_enough < 0.5:
        why = f"{case.dli_mol_m2_d:.1f} mol a day, below {least:g}, the least tested: probably slow"
        return why, _more_light(case)
    if case.dli_mol_m2_d >= NEAR_TARGET * case.crop.dli_target_mol_m2_d:
        return None
    why = f"{case.dli_mol_m2_d:.1f} mol a day, grows best at {case.best_mol_m2_d:g}"
    return why, _more_light(case)


def _suits(case: CropInBed) -> tuple[str, str]:
    why = f"{case.dli_mol_m2_d:.1f} mol a day is enough, {case.best_mol_m2_d:g} is best"
    if case.crop.photoperiod_max_h is None and case.day_h > WATCHED_DAY_H:
        why += f"; day-length limit unknown ({case.crop.photoperiod_reason})"
    return why, ""


def _more_light(case: CropInBed) -> str:
    """Return how many hours would do well enough, and how many for the target, or why hours cannot."""
    target = case.crop.dli_target_mol_m2_d
    enough = max(ceil(NEAR_TARGET * target), case.crop.dli_min_mol_m2_d)
    wanted = [dli for dli in (enough, target) if case.dli_mol_m2_d < dli <= case.ceiling_mol_m2_d] or [enough]
    now, asked = case.light.ppfd_umol_m2_s, _longest_day_ppfd(case, wanted[0])
    if 0 < now < asked and case.light.source != "daylight":
        return (
            f"no lamp hours are enough: {wanted[0]:g} mol takes {asked:.0f} µmol for {case.longest_h:g} h, "
            f"{asked / now:.2g} times what there is"
        )
    return "; ".join(_hours_for(case, dli) for dli in dict.fromkeys(wanted))


def _longest_day_ppfd(case: CropInBed, dli: float) -> float:
    """Return the lamp PPFD that gives ``dli`` over the longest day that may be offered [umol m-2 s-1]."""
    return float(light.ppfd_for(dli - case.sun_mol_m2_d, case.longest_h))


def _hours_for(case: CropInBed, dli: float) -> str:
    lacking = dli - case.sun_mol_m2_d
    if case.light.source == "daylight":
        return f"a lamp for the {lacking:.1f} mol a day that the sun leaves"
    now = case.light.ppfd_umol_m2_s
    hours = float(light.photoperiod_for(lacking, now)) if now > 0 else 99.0
    if hours <= case.longest_h:
        of_lamp = " of lamp" if case.sun_mol_m2_d else ""
        return f"{dli:g} mol needs {ceil(hours * 10 - 1e-6) / 10:.1f} h{of_lamp} at this light"
    ppfd = _longest_day_ppfd(case, dli)
    return f"{dli:g} mol is out of reach by hours: {ppfd:.0f} µmol for {case.longest_h:g} h"


def _down(hours: float) -> float:
    """Round hours down to a quarter of an hour."""
    return int(hours * 4) / 4
