"""Steps of a lamp that may let a crop do better: hours, height, output, white walls, watts."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from math import floor

from cropcal.planning.cures.settings import SetValue, changed, quoted, zone_setting
from cropcal.planning.power.lamp_hours import lit_stretches, quiet_overlap_h
from cropcal.planning.site.lamp_light import lamps_over
from cropcal.records.base import MINUTES_PER_DAY, stretch_hours
from cropcal.records.crop import CropTables
from cropcal.records.fit import CureStep, StepKind
from cropcal.records.space import Bed, Fixture, Reading, Space, Zone, photoperiod_h
from cropcal.science.power import lamp_watts

WHITE_WALL = 0.8
"""Share of light that white boards or white paint throw back, as `cropcal new` takes it (from memory: clean
white paint throws back 0.8 to 0.9)."""
MOST_HIGHER_M = 0.3
"""A lamp is offered no more than so much higher, or twice as high (assumed: above that is a shelf)."""
SURE_GEOMETRY = 1.5
"""A lamp of unknown size may be moved where a wide and a small one give a bed light within this ratio."""
OUTPUT_STEP, WATTS_STEP, HOURS_STEP, CM = 0.05, 5.0, 0.25, 0.01
MOST_WATTS_STEPS, MOST_FIXTURE_W, LEAST_HOURS, LONGEST_HOURS = 800, 20_000.0, 1.0, 20.0


@dataclass(frozen=True)
class TriedStep:
    """One step: what is said of it, the settings that make it, how many times the light its lamps give."""

    said: CureStep
    settings: tuple[SetValue, ...]
    light: float = 1.0


@dataclass(frozen=True, eq=False)
class Ladder:
    """Steps of one kind, the smallest first; ``build`` makes the step of a size, None where it cannot be.

    ``more``: whether they bring more light, or less; None: it is not about light.
    """

    kind: StepKind
    sizes: Sequence[float]
    build: Callable[[float], TriedStep | None]
    more: bool | None = None


def merged(steps: Sequence[TriedStep]) -> tuple[SetValue, ...]:
    """Return the settings of some steps, each built on the one before: of two of one value the last."""
    return tuple({setting.place: setting for step in steps for setting in step.settings}.values())


def _fixtures(space: Space, zone: Zone) -> list[tuple[int, str, Fixture]]:
    """Return place, handle and record of each lamp of a zone."""
    mine = [(at, lamp) for at, lamp in enumerate(space.fixtures) if lamp.zone == zone.name]
    return [(at, quoted(zone.name) if len(mine) == 1 else f"{at + 1}", lamp) for at, lamp in mine]


def beds_of(space: Space, zone: Zone) -> tuple[Bed, ...]:
    """Return the beds of a zone."""
    return tuple(bed for bed in space.beds if bed.zone == zone.name)


def hours(space: Space, zone: Zone, *, longer: bool) -> Ladder:
    """Return longer or shorter lamp hours, by quarters, where no more of them are quiet hours."""
    now = photoperiod_h(zone)
    room = LONGEST_HOURS - now if longer else now - LEAST_HOURS
    most = max(floor(room / HOURS_STEP + 1e-9), 0)
    sizes = [HOURS_STEP * number for number in range(1, most + 1)]
    quiet = quiet_overlap_h(zone, lit_stretches(zone, space.tariff))

    def build(size: float) -> TriedStep | None:
        new = now + (size if longer else -size)
        for other in _with_hours(zone, round(size * 60), new, longer=longer):
            if quiet_overlap_h(other, lit_stretches(other, space.tariff)) <= quiet + 1e-9:
                key = "photoperiod_h" if other.lit is None else "lit"
                setting = zone_setting(space, zone, key, getattr(other, key))
                said = CureStep(kind="hours", subject=zone.name, before=now, after=new, unit="h")
                return TriedStep(said, (setting,))
        return None

    return Ladder("hours", sizes, build, longer)


def _with_hours(zone: Zone, minutes: int, new_h: float, *, longer: bool) -> Iterator[Zone]:
    """Yield the zone with so many minutes more or less, at the end of a stretch or at its beginning."""
    if zone.lit is None:
        yield zone.model_copy(update={"photoperiod_h": round(new_h, 4)})
        return
    by = minutes if longer else -minutes
    for at, (on, off) in reversed(list(enumerate(zone.lit))):
        if not longer and stretch_hours((on, off)) * 60 <= minutes:
            continue
        later = (off + by) % MINUTES_PER_DAY or MINUTES_PER_DAY
        for stretch in ((on, later), ((on - by) % MINUTES_PER_DAY, off)):
            lit = (*zone.lit[:at], stretch, *zone.lit[at + 1 :])
            if abs(_covered_h(lit) - new_h) < 1e-6 and abs(sum(map(stretch_hours, lit)) - new_h) < 1e-6:
                yield zone.model_copy(update={"lit": lit})


def _covered_h(lit: tuple[tuple[int, int], ...]) -> float:
    """Return the hours in which any stretch is on."""
    on = set(
        chain.from_iterable(
            (
                minute % MINUTES_PER_DAY
                for minute in range(start, start + round(stretch_hours((start, end)) * 60))
            )
            for start, end in lit
        )
    )
    return len(on) / 60


def height(space: Space, zone: Zone, tables: CropTables, least_m: float, *, lower: bool) -> Ladder | None:
    """Return the lamps of a zone lower or higher by whole cm, down to ``least_m``; None if that is not known.

    Their distances must be in the file, and their light at any distance sure enough.
    """
    lamps = [over for bed in beds_of(space, zone) if (over := lamps_over(bed, space, tables)) is not None]
    if not lamps or not all(over.distances_stated for over in lamps):
        return None
    distances = [distance for over in lamps for distance in over.distances_m]
    nearest = min(distances)
    room = nearest - least_m if lower else max(nearest, MOST_HIGHER_M)
    sizes = [CM * number for number in range(1, floor(room / CM + 1e-6) + 1)]
    beds = {bed.name for bed in beds_of(space, zone)}

    def build(size: float) -> TriedStep | None:
        by = -size if lower else size
        settings = []
        for at, handle, lamp in _fixtures(space, zone):
            key = f"fixture[{at + 1}].lamp_to_canopy_m"
            if lamp.lamp_to_canopy_m is not None and not any(item.key == key for item in space.assumed):
                new = round(lamp.lamp_to_canopy_m + by, 4)
                settings.append(SetValue("fixture", at, handle, "lamp_to_canopy_m", new))
        for at, bed in enumerate(space.beds):
            if bed.name in beds and bed.lamp_to_canopy_m is not None:
                new = round(bed.lamp_to_canopy_m + by, 4)
                settings.append(SetValue("bed", at, quoted(bed.name), "lamp_to_canopy_m", new))
        if any(isinstance(setting.value, float) and setting.value <= 0 for setting in settings):
            return None
        moved = _with_readings(space, zone, tables, settings)
        if moved is None:
            return None
        said = CureStep(kind="height", subject=zone.name, before=nearest, after=nearest + by, unit="m")
        return TriedStep(said, moved)

    return Ladder("height", sizes, build, lower)


def _with_readings(
    space: Space, zone: Zone, tables: CropTables, settings: Sequence[SetValue]
) -> tuple[SetValue, ...] | None:
    """Return settings that move light, with the readings as they would then be; None if it is not sure."""
    after = changed(space, settings)
    scaled = []
    for bed in beds_of(space, zone):
        before_lamps, after_lamps = (
            lamps_over(other.bed(bed.name), other, tables) for other in (space, after)
        )
        if before_lamps is None or after_lamps is None:
            return None
        for lamps in (before_lamps, after_lamps):
            if not lamps.sized and any(high > SURE_GEOMETRY * low for low, high in lamps.shares()):
                return None
        for at, reading in enumerate(space.readings):
            if reading.bed == bed.name:
                ratio = after_lamps.mean_umol_m2_s() / before_lamps.mean_umol_m2_s()
                scaled.append(_scaled(at, reading, ratio))
    return (*settings, *scaled)


def _scaled(at: int, reading: Reading, ratio: float) -> SetValue:
    """Return the setting of a reading under so much more or less lamp light."""
    key = "lux" if reading.umol_m2_s is None else "umol_m2_s"
    digits = 0 if key == "lux" else 1
    rows = tuple(tuple(round(value * ratio, digits) for value in row) for row in getattr(reading, key))
    return SetValue("reading", at, quoted(reading.bed), key, rows)


def _readings_times(space: Space, zone: Zone, ratio: float) -> list[SetValue]:
    beds = {bed.name for bed in beds_of(space, zone)}
    return [_scaled(at, reading, ratio) for at, reading in enumerate(space.readings) if reading.bed in beds]


def output(space: Space, zone: Zone, *, up: bool) -> Ladder | None:
    """Return lamps that can be turned down or up, by twentieths; their watts and readings with them."""
    lamps = _fixtures(space, zone)
    if not lamps or any(lamp.dims_to is None for _, _, lamp in lamps):
        return None
    now = [lamp.output for _, _, lamp in lamps]
    room = 1 - max(now) if up else min(now) - max(lamp.dims_to or 0 for _, _, lamp in lamps)
    sizes = [OUTPUT_STEP * number for number in range(1, floor(room / OUTPUT_STEP + 1e-9) + 1)]

    def build(size: float) -> TriedStep | None:
        share = (now[0] + (size if up else -size)) / now[0]
        settings: list[SetValue] = []
        for at, handle, lamp in lamps:
            watts = lamp_watts(lamp.watts, share, 1.0, lamp.standby_watts)
            new = round(min(lamp.output * share, 1.0), 4)
            if new < (lamp.dims_to or 0):
                return None
            settings.append(SetValue("fixture", at, handle, "output", new))
            settings.append(SetValue("fixture", at, handle, "watts", round(watts, 2)))
        said = CureStep(kind="output", subject=zone.name, before=now[0], after=now[0] * share, unit="1")
        return TriedStep(said, (*settings, *_readings_times(space, zone, share)), share)

    return Ladder("output", sizes, build, up)


def walls(space: Space, zone: Zone, tables: CropTables) -> Ladder | None:
    """Return white walls on all sides, one step; None beside a window, where they would shut out the sun."""
    white = tuple(max(wall, WHITE_WALL) for wall in zone.walls)
    if zone.has_daylight or white == zone.walls:
        return None

    def build(_: float) -> TriedStep | None:
        settings = [zone_setting(space, zone, "wall_reflectance", white, "walls"), *same_loss(space, zone)]
        lit = _with_readings(space, zone, tables, settings)
        mean = sum(zone.walls) / len(zone.walls)
        said = CureStep(kind="walls", subject=zone.name, before=mean, after=WHITE_WALL, unit="1")
        return None if lit is None else TriedStep(said, lit)

    return Ladder("walls", (1.0,), build, more=True)


def same_loss(space: Space, zone: Zone) -> list[SetValue]:
    """Return a setting that keeps what walls let through of heat, where it goes by fan and walls else."""
    if zone.room_c is None or zone.loss_w_per_k is None:
        return []
    return [zone_setting(space, zone, "loss_w_per_k", zone.loss_w_per_k)]


def watts(space: Space, zone: Zone) -> Ladder | None:
    """Return more watts of the same lamps by fives, and as much more light; None without a lamp."""
    lamps = _fixtures(space, zone)
    now = sum(lamp.watts * lamp.count for _, _, lamp in lamps)
    if not now:
        return None
    sizes = [WATTS_STEP * number for number in range(1, MOST_WATTS_STEPS + 1)]

    def build(size: float) -> TriedStep | None:
        share = (now + size) / now
        settings: list[SetValue] = []
        for at, handle, lamp in lamps:
            settings.append(SetValue("fixture", at, handle, "watts", round(lamp.watts * share, 2)))
            if lamp.ppf_umol_s is not None:
                settings.append(
                    SetValue("fixture", at, handle, "ppf_umol_s", round(lamp.ppf_umol_s * share, 2))
                )
        if any(isinstance(setting.value, float) and setting.value > MOST_FIXTURE_W for setting in settings):
            return None
        lit = (*settings, *_readings_times(space, zone, share), *_warmer(space, zone, share))
        said = CureStep(kind="watts", subject=zone.name, before=now, after=now + size, unit="W")
        return TriedStep(said, lit, share)

    return Ladder("watts", sizes, build, more=True)


def _warmer(space: Space, zone: Zone, share: float) -> list[SetValue]:
    """Return the air with the lamp on, where it was given, warmer in proportion to the lamps' watts."""
    on, off = zone.lamp_on_air_c, zone.lamp_off_air_c
    if zone.air_c is not None or on is None or off is None or on <= off:
        return []
    warmer = min(round(off + share * (on - off), 2), 50.0)
    return [zone_setting(space, zone, "lamp_on_air_c", warmer)]
