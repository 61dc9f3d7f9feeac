"""What the controllers of a space are set to for a plan: lamps, alarms, quiet hours, fans, floods, loads.

Each kind of set point has a function from a ``ZoneCase`` to its rows, listed in ``OF_ZONE``.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import Final

from cropcal.planning.hazards import HOT_C
from cropcal.planning.site.air import Air, zone_air
from cropcal.planning.water.zone_water import rhythm_of
from cropcal.records.base import WEEKDAYS, clock
from cropcal.records.crop import Crop, CropTables
from cropcal.records.hours import CLOCK, LAMP_OFF, LAMP_ON, LAMP_OUTPUT, SetPoint, TimerLine, hours_key
from cropcal.records.plan import SeasonPlan
from cropcal.records.space import Load, Space, Zone
from cropcal.science.growth import air_for_share_c

ALARM_SHARE: Final = 0.25
"""Growth, of that in the best air, below which an alarm is due (assumed: far from the air in which anybody
grows a crop, and still before it stands still or freezes)."""

BY_FILE: Final = "as space.toml has it"


@dataclass(frozen=True)
class ZoneCase:
    """One zone of a plan: its timer, and the crops that are to grow or germinate there."""

    space: Space
    zone: Zone
    timers: tuple[TimerLine, ...]
    crops: tuple[Crop, ...]


def set_points(
    space: Space, tables: CropTables, result: SeasonPlan, timers: Sequence[TimerLine]
) -> tuple[SetPoint, ...]:
    """Return what each zone's controllers are set to, zone by zone, then what serves all zones.

    What is not known has no row.

    Parameters
    ----------
    space
        The space of the plan, with its picked hours.
    tables
        The crop tables.
    result
        The plan.
    timers
        When each zone's lamp is on.
    """
    rows = []
    for zone in space.zones:
        of_zone = tuple(line for line in timers if line.zone == zone.name)
        case = ZoneCase(space, zone, of_zone, _crops_in(zone, space, tables, result))
        rows += [row for rows_of in OF_ZONE for row in rows_of(case)]
    rows += [row for load in space.loads if not _zone_of(load, space) for row in _load_rows(load, "")]
    return tuple(rows)


def _crops_in(zone: Zone, space: Space, tables: CropTables, result: SeasonPlan) -> tuple[Crop, ...]:
    """Return the crops that the plan has in a zone, seedlings included, in the order of their names."""
    beds = {bed.name for bed in space.beds if bed.zone == zone.name}
    grown = {use.crop for use in result.sites if use.bed in beds}
    raised = {batch.crop for batch in result.batches if batch.nursery in beds}
    return tuple(tables.crops[slug] for slug in sorted(grown | raised) if slug in tables.crops)


def _lamp(case: ZoneCase) -> Iterator[SetPoint]:
    zone = case.zone.name
    is_picked = any(item.key == hours_key(zone) for item in case.space.assumed)
    note = "picked: see cropcal photoperiod" if is_picked else BY_FILE
    for line in case.timers:
        if not line.output:
            yield SetPoint(
                zone=zone, what=LAMP_OUTPUT, value=0.0, unit="%", start=line.start, note="off all day"
            )
            continue
        for what, minute in ((LAMP_ON, line.on), (LAMP_OFF, line.off)):
            yield SetPoint(zone=zone, what=what, value=clock(minute), unit=CLOCK, start=line.start, note=note)
        output = round(100 * line.output, 1)
        yield SetPoint(zone=zone, what=LAMP_OUTPUT, value=output, unit="%", start=line.start, note=note)


def _air(case: ZoneCase) -> Iterator[SetPoint]:
    """Yield the alarms for cold and hot air, and the highest mean of a day, each by its most tender crop.

    Alarms are whole degrees on the safe side, and none is above what lamps and plugs are made for.
    """
    if not case.crops:
        return
    limits = {crop.slug: _alarms_c(crop) for crop in case.crops}
    cold = max(case.crops, key=lambda crop: limits[crop.slug][0])
    hot = min(case.crops, key=lambda crop: limits[crop.slug][1])
    low, high = ceil(limits[cold.slug][0] - 1e-9), floor(limits[hot.slug][1] + 1e-9)
    air, little = zone_air(case.zone, case.space.fixtures), f"under {ALARM_SHARE:.0%} of its best growth"
    why_low = f"{cold.name}: {little} below this, none at {_limit(cold, 'air_base_c')}"
    why_high = f"{hot.name}: {little} above this, none at {_limit(hot, 'air_max_c')}"
    if high > HOT_C:
        high, why_high = floor(HOT_C), "the most that lamps, drivers and plugs are made for (common practice)"
    rows = (
        ("air low alarm", low, why_low + _rings(air, low, high, lowest=True)),
        ("air high alarm", high, why_high + _rings(air, low, high, lowest=False)),
    )
    for what, value, note in rows:
        yield SetPoint(zone=case.zone.name, what=what, value=float(value), unit="C", note=note)
    fussy = [crop for crop in case.crops if crop.air_quality_max_c is not None]
    if fussy:
        first = min(fussy, key=lambda crop: crop.air_quality_max_c or 0.0)
        yield SetPoint(
            zone=case.zone.name,
            what="air mean at most",
            value=float(first.air_quality_max_c or 0.0),
            unit="C",
            note=f"{first.name}: quality falls if the daily mean is above this"
            f" ({first.source_of('air_quality_max_c').words})",
        )


def _alarms_c(crop: Crop) -> tuple[float, float]:
    low, high = air_for_share_c(ALARM_SHARE, crop.air_base_c, crop.air_optimum_c, crop.air_max_c)
    return float(low), float(high)


def _limit(crop: Crop, column: str) -> str:
    """Return a limit of a crop and how it is known: "5.7 °C (assumed)"."""
    return f"{getattr(crop, column):g} °C ({crop.source_of(column).words})"


def _rings(air: Air, low: int, high: int, *, lowest: bool) -> str:
    """Return a warning where the air that the plan counts on would set the alarm off."""
    coldest, warmest = sorted((air.lamp_on_c, air.lamp_off_c))
    if lowest and coldest < low:
        return f"; it will ring: the plan counts on {coldest:.0f} °C"
    if not lowest and warmest > high:
        return f"; it will ring: the plan counts on {warmest:.0f} °C"
    return ""


def _quiet(case: ZoneCase) -> Iterator[SetPoint]:
    for quiet in case.zone.quiet:
        days = "every day" if len(quiet.days) == len(WEEKDAYS) else ", ".join(quiet.days)
        for stretch in quiet.hours:
            for what, minute in zip(("quiet from", "quiet until"), stretch, strict=True):
                yield SetPoint(zone=case.zone.name, what=what, value=clock(minute), unit=CLOCK, note=days)


def _fan(case: ZoneCase) -> Iterator[SetPoint]:
    zone = case.zone
    if zone.fan_m3_h:
        note = "the air of the plan counts on this flow day and night"
        yield SetPoint(zone=zone.name, what="fan flow", value=zone.fan_m3_h, unit="m3/h", note=note)
    if zone.air_moving:
        note = "at least while the lamp is on: still air lets leaf tips burn"
        yield SetPoint(zone=zone.name, what="fan over the leaves", value="on", unit="", note=note)


def _floods(case: ZoneCase) -> Iterator[SetPoint]:
    """Yield how often and how long pots are flooded as growers do; a pump of the file is a load."""
    rhythm = rhythm_of(case.space, case.zone)
    if rhythm is None or rhythm.known == "file":
        return
    assumed = ", an assumed size" if rhythm.pot_assumed else ""
    note = (
        f"common practice for pots of {rhythm.pot_l:g} litres{assumed}: look whether they dry or stay soaked"
    )
    rows = (
        ("flood runs", float(rhythm.minutes), "min", note),
        ("flood every", float(rhythm.every_minutes), "min", "while the lamp is on, first as it comes on"),
        ("floods in the dark", float(rhythm.in_dark or 0), "1/d", "in the middle of the dark hours"),
    )
    for what, value, unit, why in rows:
        yield SetPoint(zone=case.zone.name, what=what, value=value, unit=unit, note=why)


def _loads(case: ZoneCase) -> Iterator[SetPoint]:
    for load in case.space.loads:
        if _zone_of(load, case.space) == case.zone.name:
            yield from _load_rows(load, case.zone.name)


def _zone_of(load: Load, space: Space) -> str:
    """Return the zone that a load serves, "" if it serves several."""
    return load.zone or (space.zones[0].name if len(space.zones) == 1 else "")


def _load_rows(load: Load, zone: str) -> Iterator[SetPoint]:
    """Yield how a load is switched, by whichever way the file says it."""
    rows: list[tuple[str, float | str, str]] = []
    if load.always:
        rows = [("", "always on", "")]
    elif load.hours_per_day is not None:
        rows = [(" runs", load.hours_per_day, "h/d")]
    elif load.on_minutes is not None and load.every_minutes is not None:
        rows = [(" runs", load.on_minutes, "min"), (" every", load.every_minutes, "min")]
    for first, last in load.on or ():
        rows += [(" on", clock(first), CLOCK), (" off", clock(last), CLOCK)]
    for what, value, unit in rows:
        yield SetPoint(zone=zone, what=f"{load.name}{what}", value=value, unit=unit, note=BY_FILE)


OF_ZONE: Final = (_lamp, _air, _quiet, _fan, _floods, _loads)
"""The kinds of set points, in the order in which a card shows them."""
