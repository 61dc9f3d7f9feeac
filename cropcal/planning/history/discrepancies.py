"""Where the last notes of air and hours in the journal differ from space.toml, which plans go by.

A note is of one moment, a plan of months: so a note counts for what stood there since, and whoever finds that
it holds puts it into the file. Readings of light count for plans too (``planning.site.noted_readings``).
"""

from collections.abc import Iterable, Mapping
from datetime import date

from cropcal.planning.history.observed_conditions import hours_noted
from cropcal.planning.site.air import zone_air
from cropcal.records.base import clock
from cropcal.records.journal import Entry
from cropcal.records.space import Space, Zone, photoperiod_h

AIR_OFF_C, HOURS_OFF_H = 1.0, 0.25
"""Smaller differences are not worth a word (assumed)."""


Notes = Mapping[tuple[str, str], Entry]
"""The last journal entry of each event in each zone."""


def discrepancies(space: Space, events: Iterable[Entry]) -> tuple[str, ...]:
    """Return one sentence for each last note that differs from space.toml, with the line that would adopt it.

    Parameters
    ----------
    space
        The space by its file.
    events
        The journal entries that hold, by day.
    """
    last: dict[tuple[str, str], Entry] = {(entry.event, entry.zone): entry for entry in events}
    sentences = []
    for zone in space.zones:
        sentences += [_air_discrepancy(zone, space, last), _hours_discrepancy(zone, last)]
    return tuple(filter(None, sentences))


def _air_discrepancy(zone: Zone, space: Space, last: Notes) -> str:
    """Return the sentence for noted air that differs by more than ``AIR_OFF_C``, "" if it does not.

    A note counts only if it is later than the measured series of the zone.
    """
    entry = last.get(("air", zone.name))
    if entry is None or entry.amount is None:
        return ""
    series = next((row for row in space.measured_air if row.zone == zone.name and row.used), None)
    air_c = zone_air(zone, space.fixtures).mean_c
    if (series is not None and series.last >= entry.on) or abs(entry.amount - air_c) <= AIR_OFF_C:
        return ""
    line = f"air_c = {entry.amount:g} in the zone, or hang up a thermometer that logs to air.csv"
    return _sentence(zone.name, f"air of {entry.amount:g} °C", entry.on, f"{air_c:.1f} °C", line)


def _hours_discrepancy(zone: Zone, last: Notes) -> str:
    """Return the sentence for noted lamp hours that differ by more than ``HOURS_OFF_H``, "" if none do."""
    entry = last.get(("lamp hours", zone.name))
    if entry is None or (zone.lit is None and zone.photoperiod_h is None):
        return ""
    planned_h = photoperiod_h(zone)
    noted_h = hours_noted(entry, planned_h)
    if abs(noted_h - planned_h) <= HOURS_OFF_H:
        return ""
    line = f"photoperiod_h = {noted_h:g} in the zone"
    if entry.starts and entry.ends:
        on, off = (clock(at.hour * 60 + at.minute) for at in (entry.starts, entry.ends))
        line = f'lit = [["{on}", "{off}"]] in the zone'
    return _sentence(zone.name, f"{noted_h:g} h of light", entry.on, f"{planned_h:g} h", line)


def _sentence(where: str, noted: str, on: date, planned: str, line: str) -> str:
    return (
        f"{where}: the journal has {noted} on {on.day} {on:%b %Y}, plans go by {planned} of space.toml. "
        f"If the new one holds, write {line}"
    )
