"""What the journal notes of light, air and hours while space.toml, by which plans are made, has it otherwise.

A note is of one moment and one place, a plan of months and every site: so a note counts for what stood there
since, and whoever finds that it holds puts it into the file.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from cropcal.planning.history.observed_conditions import hours_noted
from cropcal.planning.site.air import zone_air
from cropcal.records.base import clock
from cropcal.records.journal import Entry
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, photoperiod_h

LIGHT_OFF, AIR_OFF_C, HOURS_OFF_H = 0.15, 1.0, 0.25
"""Smaller differences are not worth a word (assumed)."""


def discrepancies(
    space: Space, lights: Sequence[BedLight], events: Iterable[Entry], lux_per_umol: Mapping[str, float]
) -> tuple[str, ...]:
    """Return one sentence for each last note that plans do not go by, with the line that would change it."""
    last = {(entry.event, entry.bed or entry.zone): entry for entry in events}
    found = []
    for light in lights:
        entry = last.get(("reading", light.bed))
        factor = 1.0 if entry and entry.unit == "umol_m2_s" else lux_per_umol.get(light.bed)
        if entry is None or not entry.amount or factor is None or not light.ppfd_umol_m2_s:
            continue
        if abs(entry.amount / factor / light.ppfd_umol_m2_s - 1) > LIGHT_OFF:
            key = "lux" if entry.unit == "lux" else "umol_m2_s"
            line = f'[[reading]] with bed = "{light.bed}" and {key} = [[{entry.amount:g}]]'
            read, now = f"{entry.amount / factor:.0f} umol", f"{light.ppfd_umol_m2_s:.0f}"
            found.append(_said(light.bed, f"{read} read", entry.on, f"{now} umol", line))
    for zone in space.zones:
        entry = last.get(("air", zone.name))
        air_c = zone_air(zone, space.fixtures).mean_c
        seen = next((one for one in space.measured_air if one.zone == zone.name and one.used), None)
        noted = entry.amount if entry and (seen is None or seen.last < entry.on) else None
        if entry and noted is not None and abs(noted - air_c) > AIR_OFF_C:
            line = f"air_c = {noted:g} in the zone, or hang up a thermometer that writes air.csv"
            found.append(_said(zone.name, f"air of {noted:g} C", entry.on, f"{air_c:.1f} C", line))
        entry = last.get(("lamp hours", zone.name))
        if entry and (zone.lit is not None or zone.photoperiod_h is not None):
            hours, now_h = hours_noted(entry, photoperiod_h(zone)), photoperiod_h(zone)
            if abs(hours - now_h) > HOURS_OFF_H:
                line = f"photoperiod_h = {hours:g} in the zone"
                if entry.starts and entry.ends:
                    on, off = (clock(at.hour * 60 + at.minute) for at in (entry.starts, entry.ends))
                    line = f'lit = [["{on}", "{off}"]] in the zone'
                found.append(_said(zone.name, f"{hours:g} h of light", entry.on, f"{now_h:g} h", line))
    return tuple(found)


def _said(where: str, noted: str, on: date, planned: str, line: str) -> str:
    return (
        f"{where}: the journal has {noted} on {on.day} {on:%b %Y}, plans go by {planned} of space.toml. "
        f"If the new one holds, write {line}"
    )
