"""Diagnosis of troubles in the journal: a likely cause in the light, hours or air of a bed, and a cure."""

import re
from collections.abc import Callable, Iterable, Sequence
from math import ceil, floor

import numpy as np

from cropcal.planning.growth.cautions import SEEDLING_DLI_MOL_M2_D
from cropcal.planning.growth.crop_constants import home_ln_speed
from cropcal.planning.growth.suitability import WATCHED_DAY_H
from cropcal.planning.history.calibration import Learned
from cropcal.planning.history.observed_conditions import Conditions
from cropcal.planning.site.air import measured_source, zone_air
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop, CropTables
from cropcal.records.journal import Entry
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, Zone
from cropcal.units import MOL_PER_UMOL_H, Z_80, known_to

WELL_LIT_SEEDLINGS_MOL_M2_D = 8.0
"""Daily light of sturdy seedlings (8 to 14: Ebba J., University of New Hampshire Extension)."""

LEGGY = re.compile(r"legg|spindl|stretch|lank|fell over|fall over|thin stem|long stem", re.IGNORECASE)
"""Words for seedlings that grew long and thin."""

COOLER = "cooler air, or light in the cool hours"

NotedOf = tuple[Entry, BatchHistory]
Diagnosis = Callable[[Crop, GrowingConditions], tuple[str, str]]


def diagnoses(
    space: Space,
    tables: CropTables,
    lights: Iterable[BedLight],
    learned: Learned,
    histories: Sequence[BatchHistory],
    conditions: Conditions,
) -> tuple[str, ...]:
    """Return one sentence or two for each kind of trouble of a crop in a bed, then for what grows slowly.

    Parameters
    ----------
    space, tables, lights
        The space of the file, its crops, and the light of its beds.
    learned
        What was learned.
    histories
        The history of each batch.
    conditions
        The observed conditions of each bed.
    """
    histories = [
        history for history in histories if history.crop in tables.crops and history.bed in conditions.spots
    ]
    kinds: tuple[tuple[str, Callable[[Entry], bool], Diagnosis], ...] = (
        ("tip burn", lambda entry: entry.event == "tip burn", _tip_burn),
        ("bolting", lambda entry: entry.event == "bolted", _bolting),
        (
            "leggy seedlings",
            lambda entry: entry.event == "lost" and LEGGY.search(f"{entry.why} {entry.note}") is not None,
            _leggy,
        ),
    )
    sentences = []
    for trouble, concerns, diagnose in kinds:
        for (crop, bed), noted in _by_place(histories, conditions, concerns).items():
            entry, _ = noted[-1]
            batches_there = len(
                {
                    history.batch
                    for history in histories
                    if history.crop == crop and _stood_in(history, bed, conditions)
                }
            )
            batches_hit = len({history.batch for _, history in noted})
            why, cure = diagnose(tables.crops[crop], conditions.on(bed, entry.on))
            where = f"{tables.crops[crop].name} in {bed}: {trouble} in {batches_hit} of {batches_there}"
            sentences.append(f"{where} batch{'' if batches_there == 1 else 'es'}. {why}. Try: {cure}")
    sentences += _slow_crops(space, tables, {light.bed: light for light in lights}, learned, histories)
    return (*sentences, *_unusable_lux_readings(conditions))


def _by_place(
    histories: Iterable[BatchHistory], conditions: Conditions, concerns: Callable[[Entry], bool]
) -> dict[tuple[str, str], list[NotedOf]]:
    """Return the entries of one kind by (crop, bed where it happened), by day."""
    noted = [(entry, history) for history in histories for entry in history.noted if concerns(entry)]
    by_place: dict[tuple[str, str], list[NotedOf]] = {}
    for entry, history in sorted(noted, key=lambda pair: pair[0].on):
        by_place.setdefault((history.crop, _where(entry, history, conditions)), []).append((entry, history))
    return by_place


def _where(entry: Entry, history: BatchHistory, conditions: Conditions) -> str:
    bed = history.place(entry.on)
    return bed if bed in conditions.spots else history.bed


def _stood_in(history: BatchHistory, bed: str, conditions: Conditions) -> bool:
    return any(_where(entry, history, conditions) == bed for entry in history.noted) or history.bed == bed


def _tip_burn(crop: Crop, at: GrowingConditions) -> tuple[str, str]:
    """Return cause and cure of burnt leaf tips: too much light for the moving air, heat, or still air."""
    still, moved = crop.dli_max_still_air_mol_m2_d, crop.dli_max_mol_m2_d
    ceiling = moved if at.air_moving else still
    light = f"{at.dli_mol_m2_d:.1f} mol a day"
    fan = "" if at.air_moving else "a small fan over the leaves"
    if at.dli_mol_m2_d > ceiling:
        over = f"{light}, above its {ceiling:g} in {'moving' if at.air_moving else 'still'} air"
        why = f"It points to light: {over}"
        fewer = f"{_quarter_hour_down(at.photoperiod_h * ceiling / at.dli_mol_m2_d):g} h of light"
        if fan and at.dli_mol_m2_d <= moved:
            return why, f"{fan}, or {fewer}"
        return why, f"{fewer}, or a lamp turned down" + (f", and {fan}" if fan else "")
    if _too_warm(crop, at):
        return f"It points to heat: {_too_warm(crop, at)}", COOLER
    if fan:
        why = f"Light does not explain it, {light} of {ceiling:g}: it points to air that does not move"
        return why, f"{fan}, and more room"
    why = f"Light and air do not explain it, {light} of {ceiling:g}"
    return (
        why,
        "the fan nearer, cooler roots, or weaker nutrients",
    )


def _bolting(crop: Crop, at: GrowingConditions) -> tuple[str, str]:
    """Return cause and cure of early flowering: too long a day, or heat."""
    longest, hours = crop.photoperiod_max_h, f"{at.photoperiod_h:g} h of light"
    if longest is not None and at.photoperiod_h > longest:
        then, least = at.dli_mol_m2_d * longest / at.photoperiod_h, crop.dli_min_mol_m2_d
        grade = "enough" if then >= least else f"too little, it needs {least:g}"
        cure = f"{longest:g} h would give {then:.1f} mol a day, {grade}; or a zone with its own timer"
        return f"It points to hours: {hours}, it bolts above {longest:g} h", cure
    if _too_warm(crop, at):
        return f"It points to heat: {_too_warm(crop, at)}", COOLER
    if longest is None and at.photoperiod_h > WATCHED_DAY_H:
        why = f"It may be the hours: {hours}, and nobody printed its limit"
        return why, f"{WATCHED_DAY_H:g} h of light, or cut sooner"
    why = f"Hours and air do not explain it, {hours} and {at.air_c:.3g} °C"
    return why, "cut sooner, let it not dry out, or try a kind that is slow to bolt"


def _leggy(crop: Crop, at: GrowingConditions) -> tuple[str, str]:
    """Return cause and cure of long thin seedlings: too little light, or too warm for it."""
    dli, wanted = at.dli_mol_m2_d, WELL_LIT_SEEDLINGS_MOL_M2_D
    if dli < wanted:
        grade = "far too little" if dli < SEEDLING_DLI_MOL_M2_D else "little"
        why = f"It points to light: {dli:.1f} mol a day is {grade}, sturdy seedlings have {wanted:g} and more"
        longest = crop.photoperiod_max_h or max(WATCHED_DAY_H, at.photoperiod_h)
        hours = at.photoperiod_h * wanted / dli if dli > 0 else np.inf
        if hours <= longest:
            return why, f"{ceil(hours * 4) / 4:g} h of light"
        ppfd = wanted / (longest * MOL_PER_UMOL_H)
        return why, f"a lamp nearer or stronger: {ppfd:.0f} µmol for {longest:g} h"
    if at.air_c > crop.air_optimum_c:
        best = f"it grows best at {crop.air_optimum_c:g} °C"
        return f"It points to warmth: air of {at.air_c:.3g} °C, {best}", "cooler air, at night above all"
    why = f"The light is enough by the file, {dli:.1f} mol a day"
    return why, "read it where the seedlings stand, light them as soon as they are up, and sow thinner"


def _too_warm(crop: Crop, at: GrowingConditions) -> str:
    """Return a phrase if the air is above the limit of quality, else ""."""
    ceiling = crop.air_quality_max_c
    if ceiling is None or at.air_c <= ceiling:
        return ""
    return f"air of {at.air_c:.3g} °C, quality falls above {ceiling:g} °C"


def _slow_crops(
    space: Space,
    tables: CropTables,
    lights: dict[str, BedLight],
    learned: Learned,
    histories: Sequence[BatchHistory],
) -> list[str]:
    """Return one sentence for each clearly slow crop in a bed: something differs from the file.

    Clearly: the 80 % range of the speed ends below what a home is taken to start with.
    """
    sentences: list[str] = []
    taught = {lesson.crop for lesson in learned.lessons if lesson.used}
    for crop, bed in dict.fromkeys(
        (history.crop, history.bed) for history in histories if history.crop in taught
    ):
        light, zone = lights[bed], space.zone(lights[bed].zone)
        pace = learned.pace(crop, light.zone, light.sd_ln)
        if pace.ln_speed + Z_80 * pace.sd_ln_speed < 0:
            home = home_ln_speed(tables.crops[crop])
            sentences.append(
                f"{tables.crops[crop].name} in {bed}, slow: {np.exp(home + pace.ln_speed):.0%} of the book,"
                f" {light.dli_mol_m2_d():.1f} mol a day assumed. Check what may differ from the file:"
                f" the light first ({_light_source(light)}), then the air ({_air_source(space, zone)}),"
                " nutrients and roots"
            )
        if pace.ln_emergence - Z_80 * pace.sd_ln_emergence > 0:
            sentences.append(
                f"{tables.crops[crop].name} comes up late, after {np.exp(pace.ln_emergence):.1f} times the"
                " book's days: look at how warm the seedbed really is, at the age of the seed, and whether it"
                " dries out"
            )
    return list(dict.fromkeys(sentences))


def _light_source(light: BedLight) -> str:
    better = f"; {light.narrower[0].find} would show it" if light.narrower else ""
    return f"from {light.source}, known to within {known_to(light.sd_ln)}{better}"


def _air_source(space: Space, zone: Zone) -> str:
    mean_c = zone_air(zone, space.fixtures).mean_c
    series = next(
        (measured for measured in space.measured_air if measured.zone == zone.name and measured.used), None
    )
    if series is not None:
        return f"{mean_c:.3g} °C, {measured_source(series)}"
    if zone.room_c is not None:
        return f"{mean_c:.3g} °C, worked out from the room's {zone.room_c:g} °C"
    assumed = any(zone.name in item.key and item.key.endswith("air_c") for item in space.assumed)
    return f"{mean_c:.3g} °C, {'assumed: hang a thermometer among the leaves' if assumed else 'as given'}"


def _unusable_lux_readings(conditions: Conditions) -> list[str]:
    """Return one sentence for each bed with lux readings but no known lux factor of its lamp."""
    beds = {
        entry.bed: entry
        for entry in conditions.noted
        if entry.event == "reading" and entry.unit == "lux" and entry.bed in conditions.spots
        if entry.bed not in conditions.lux_per_umol
    }
    return [
        f"{bed}: readings in lux are not used, the lux of its lamp for each µmol is not known. Read it in"
        " µmol, or say the kind of lamp in space.toml"
        for bed in beds
    ]


def _quarter_hour_down(hours: float) -> float:
    """Round hours down to a quarter of an hour."""
    return floor(hours * 4) / 4
