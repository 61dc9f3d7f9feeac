"""Past settings: lamp hours, air and light before the file was changed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

import numpy as np

from cropcal.planning.site.air import zone_air
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.growing_conditions import GrowingConditions, conditions_in
from cropcal.records.crop import CropTables
from cropcal.records.plan import BedLight
from cropcal.records.space import (
    Bed,
    Fixture,
    Held,
    Reading,
    Space,
    Zone,
    photoperiod_h,
)

KEYS = {
    "hours": ("lit", "photoperiod_h"),
    "air": (
        "air_c", "lamp_on_air_c", "lamp_off_air_c", "room_c", "fan_m3_h", "loss_w_per_k", "air_moving", "co2",
    ),
    "light": ("walls", "length_m", "width_m"),
    "daylight": ("daylight_share",),
}  # fmt: skip
"""The keys of a zone that make up each setting. Lamps and readings go with its light."""


@dataclass(frozen=True)
class PastConditions:
    """Growing conditions of each bed before a day, and the PPFD of its lamps [umol m-2 s-1]."""

    until: date
    spots: Mapping[str, GrowingConditions]
    ppfd_umol_m2_s: Mapping[str, float]


def with_current_settings(held: Sequence[Held], now: Held) -> tuple[Held, ...]:
    """Return the past settings followed by those of the file now.

    A new stretch begins only where a setting changed. Readings alone, or watts read off a meter in place of
    a label, are no change of the lamp but better knowledge of it, also of its past.
    """
    if not held:
        return (now.model_copy(update={"since": None}),)
    last = held[-1]
    if changed(last, now):
        since = max(now.since or date.min, last.since or date.min)
        if last.since == since:  # changed twice in a day
            return with_current_settings(held[:-1], now.model_copy(update={"since": since}))
        return (*held, now.model_copy(update={"since": since}))
    return (*held[:-1], now.model_copy(update={"since": last.since}))


def changed(old: Held, now: Held) -> tuple[tuple[str, str], ...]:
    """Return the settings that differ, as (zone, setting)."""
    return tuple((zone.name, part) for zone in now.zones for part in KEYS if _differs(old, now, zone, part))


def light_since(held: Sequence[Held], now: Held) -> dict[str, date]:
    """Return the day from which a zone has had the lamps and walls of now, if plans know others."""
    stretches = pairwise(with_current_settings(held, now))
    return {
        zone: later.since or date.min
        for old, later in stretches
        for zone, part in changed(old, later)
        if part == "light"
    }


def changes(held: Sequence[Held], now: Held, beds: Sequence[Bed]) -> tuple[tuple[str, ...], ...]:
    """Return each setting changed since the last plan: a phrase, and the journal note that would date it.

    The note is an event of the journal, the zone or bed it is about, and its amount.
    """
    changed_settings: list[tuple[str, ...]] = []
    for name, part in changed(held[-1], now) if held else ():
        old, new = _zone(held[-1], name), _zone(now, name)
        if old is None or new is None:
            continue
        if part == "hours":
            before_h, now_h = photoperiod_h(old), photoperiod_h(new)
            apart = f" from {before_h:g} h to {now_h:g} h" if before_h != now_h else ""
            changed_settings.append(
                (f"lamp hours of {name} changed{apart}", "lamp hours", name, f"{now_h:g}")
            )
        elif part == "air":
            before_c, now_c = zone_air(old, held[-1].fixtures).mean_c, zone_air(new, now.fixtures).mean_c
            apart = f" from {before_c:.3g} °C to {now_c:.3g} °C" if before_c != now_c else ""
            changed_settings.append((f"air of {name} changed{apart}", "air", name, f"{now_c:.3g}"))
        else:
            bed = next((other.name for other in beds if other.zone == name), name)
            what = "lamp" if part == "light" else "daylight"
            changed_settings.append((f"{what} of {name} changed", "reading", bed, "UMOL"))
    return tuple(changed_settings)


def past_conditions(space: Space, tables: CropTables) -> tuple[PastConditions, ...]:
    """Return the conditions of each bed in each past stretch with other settings."""
    if space.history is None or not space.history.held:
        return ()
    held, now = with_current_settings(space.history.held, space.history.now), space.history.now
    stretches = []
    for old, later in pairwise(held):
        past = as_it_was(space, old, now)
        lights = {bed.name: light for bed in past.beds for light in _light(past, space, bed, tables)}
        stretches.append(
            PastConditions(
                until=later.since or date.min,
                spots={bed.name: conditions_in(bed, past, lights[bed.name]) for bed in past.beds},
                ppfd_umol_m2_s={name: light.ppfd_umol_m2_s for name, light in lights.items()},
            )
        )
    return tuple(stretches)


def as_it_was(space: Space, old: Held, now: Held) -> Space:
    """Return the space with past settings, where they differ from those of now.

    What was only measured or read since holds for the past too; readings of the past count with their mean,
    for the sites may have been others.
    """
    apart = changed(old, now)
    dark = {name for name, part in apart if part == "light"}
    timed = {name for name, part in apart if part == "hours"}
    beds_of = {bed.name for bed in space.beds if bed.zone in dark}

    def zone(one: Zone) -> Zone:
        was = _zone(old, one.name) or one
        keys = [key for name, part in apart if name == one.name for key in KEYS[part]]
        return one.model_copy(update={key: getattr(was, key) for key in keys})

    def bed(one: Bed) -> Bed:
        height_m = old.canopy_m.get(one.zone, {}).get(one.name, one.lamp_to_canopy_m)
        return one.model_copy(update={"lamp_to_canopy_m": height_m}) if one.name in beds_of else one

    return space.model_copy(
        update={
            "zones": tuple(zone(one) for one in space.zones),
            "beds": tuple(bed(one) for one in space.beds),
            "fixtures": (
                *(one for one in space.fixtures if one.zone not in dark),
                *(one for one in old.fixtures if one.zone in dark),
            ),
            "readings": (
                *(one for one in space.readings if one.bed not in beds_of),
                *(_mean(one) for one in old.readings if one.bed in beds_of),
            ),
            "month_hours": (
                *(one for one in space.month_hours if one.zone not in timed),
                *(one for one in old.month_hours if one.zone in timed),
            ),
        }
    )


def _light(past: Space, space: Space, bed: Bed, tables: CropTables) -> tuple[BedLight, ...]:
    """Return the past light of one bed, or its present light where the past one is unknown."""
    try:
        return bed_lights(past, tables, (bed,))
    except ValueError:
        return bed_lights(space, tables, (space.bed(bed.name),))


def _mean(reading: Reading) -> Reading:
    key = "lux" if reading.umol_m2_s is None else "umol_m2_s"
    rows = getattr(reading, key)
    return reading.model_copy(update={key: ((float(np.mean([cell for row in rows for cell in row])),),)})


def _zone(held: Held, name: str) -> Zone | None:
    return next((zone for zone in held.zones if zone.name == name), None)


def _differs(old: Held, now: Held, zone: Zone, part: str) -> bool:
    was = _zone(old, zone.name)
    if was is None:
        return False
    if part == "hours" and not (zone.has_daylight or was.has_daylight):
        return photoperiod_h(was) != photoperiod_h(zone)
    if any(getattr(was, key) != getattr(zone, key) for key in KEYS[part]):
        return True
    if part == "hours":
        return _month_hours(old, zone.name) != _month_hours(now, zone.name)
    return part == "light" and _lamps(old, now, zone.name)


def _month_hours(held: Held, zone: str) -> list[object]:
    return [row.lit for row in held.month_hours if row.zone == zone]


def _lamps(old: Held, now: Held, zone: str) -> bool:
    """Return whether the lamps of a zone or their heights differ."""
    then, lamps = ([fixture for fixture in held.fixtures if fixture.zone == zone] for held in (old, now))
    heights, before = now.canopy_m.get(zone, {}), old.canopy_m.get(zone, {})
    return (
        len(then) != len(lamps)
        or any(_lamp_differs(*pair) for pair in zip(then, lamps, strict=True))
        or any(before[bed] != height for bed, height in heights.items() if bed in before)
    )


def _lamp_differs(old: Fixture, now: Fixture) -> bool:
    """Return whether a lamp differs; better known watts or photons are no change."""
    known: dict[str, object] = {"watts_from": now.watts_from}
    if old.watts_from != now.watts_from:
        known["watts"] = now.watts
    if old.ppf_umol_s is None:
        known["ppf_umol_s"] = now.ppf_umol_s
    return old.model_copy(update=known) != now
