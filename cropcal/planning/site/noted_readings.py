"""Readings noted in the journal, in place of older ones of space.toml: measured beats stated."""

from collections.abc import Mapping
from datetime import date

from cropcal.planning.site.bed_light import lux_factors
from cropcal.planning.site.lamp_light import lamps_over
from cropcal.records.crop import CropTables
from cropcal.records.journal import Entry
from cropcal.records.measured import NotedReading
from cropcal.records.space import Reading, Space


def with_noted_readings(
    space: Space,
    tables: CropTables,
    noted: Mapping[str, Entry],
    light_since: Mapping[str, date],
    as_written: Space | None = None,
) -> Space:
    """Return the space with readings of the journal as if they were written in its file.

    Parameters
    ----------
    space
        What the file says, maybe with other values tried.
    tables
        For the lux of its lamps.
    noted
        The last reading of each bed.
    light_since
        The day from which each zone has had the lamps of today, where its plans know of others before:
        what was read earlier was read under those.
    as_written
        The file without the tried values: readings that are tried are kept.
    """
    as_written = as_written or space
    written = {reading.bed: reading for reading in as_written.readings}
    tried = {reading.bed: reading for reading in space.readings}
    counts = [
        NotedReading.model_validate(
            {
                "bed": entry.bed,
                "on": entry.on,
                entry.unit: ((entry.amount,),),
                "in_file": bed.name in written,
            }
        )
        for bed in space.beds
        if (entry := noted.get(bed.name)) is not None
        and tried.get(bed.name) == written.get(bed.name)
        and not unused(entry, as_written, tables, light_since)
        and not unused(entry, space, tables, {})
    ]
    beds = {reading.bed for reading in counts}
    if not beds:
        return space
    kept = (reading for reading in space.readings if reading.bed not in beds)
    return space.model_copy(update={"readings": (*kept, *counts)})


def under_tried_lamps(space: Space, tables: CropTables, tried: Space, as_written: Space) -> Space:
    """Return the space with what was read in proportion to other lamps, walls or heights that are tried.

    Parameters
    ----------
    space
        With all readings that count.
    tables
        For the lamps.
    tried, as_written
        What the file says with the tried values, and without.
    """
    changed = []
    for reading in space.readings:
        ratio = _tried_over_written(reading, tables, tried, as_written)
        key = "lux" if reading.umol_m2_s is None else "umol_m2_s"
        rows = tuple(tuple(value * ratio for value in row) for row in getattr(reading, key) or ())
        changed.append(reading if ratio == 1 else reading.model_copy(update={key: rows}))
    return space.model_copy(update={"readings": tuple(changed)})


def _tried_over_written(reading: Reading, tables: CropTables, tried: Space, as_written: Space) -> float:
    """Return a reading under the lamps that are tried over that under the file's; 1 if it is tried itself."""
    before, after = (_computed(reading, where, tables) for where in (as_written, tried))
    mine = [[other for other in where.readings if other.bed == reading.bed] for where in (as_written, tried)]
    return after / before if before and after and mine[0] == mine[1] else 1.0


def _computed(reading: Reading, space: Space, tables: CropTables) -> float:
    """Return the mean light that its lamps give a bed, in the unit of a reading; 0 if that is not known."""
    bed = next((bed for bed in space.beds if bed.name == reading.bed), None)
    lamps = lamps_over(bed, space, tables) if bed is not None else None
    if lamps is None:
        return 0.0
    factor = 1.0 if reading.umol_m2_s is not None else lux_factors(space, tables).get(reading.bed, 0.0)
    return float(lamps.sites_umol_m2_s().mean()) * factor


def unused(entry: Entry, space: Space, tables: CropTables, light_since: Mapping[str, date]) -> str:
    """Return why a reading of the journal does not count, "" if it does."""
    bed = next((bed for bed in space.beds if bed.name == entry.bed), None)
    if bed is None:
        return f"no bed of space.toml is called {entry.bed}"
    zone = space.zone(bed.zone)
    lamps = [lamp for lamp in space.fixtures if lamp.zone == zone.name]
    written = next((reading for reading in space.readings if reading.bed == bed.name), None)
    since = light_since.get(zone.name)
    if since is not None and entry.on < since:
        return f"lamp or place over it changed in space.toml since, as planned on {_day(since)}"
    if written is not None and written.on is not None and written.on >= entry.on:
        return f"the reading in space.toml is newer, of {_day(written.on)}"
    if zone.has_daylight and not lamps and written is None:
        return "no lamp hangs there, and the light of one moment says nothing of the sun's over a year"
    if entry.unit == "lux" and bed.name not in lux_factors(space, tables):
        return "the lux of its lamp for each µmol is not known; read it in µmol, or say the kind of lamp"
    return ""


def reminders(
    space: Space, tables: CropTables, noted: Mapping[str, Entry], light_since: Mapping[str, date]
) -> tuple[str, ...]:
    """Return a sentence for each reading of the journal that does not count, or counts instead of the file's.

    The arguments are those of ``with_noted_readings``.
    """
    written = {reading.bed: reading for reading in space.readings}
    sentences = []
    for bed, entry in noted.items():
        read = f"{bed}: the journal has {entry.amount:g} {_UNITS[entry.unit]} read on {_day(entry.on)}"
        why = unused(entry, space, tables, light_since)
        if why:
            sentences.append(f"{read}. It is not used: {why}")
        elif bed in written and not _same(written[bed], entry):
            sentences.append(
                f"{read}, which counts in place of the reading in space.toml. If that one is newer, write its"
                " day beside it, like on = 2027-01-15"
            )
    return tuple(sentences)


_UNITS = {"umol_m2_s": "µmol", "lux": "lux"}
SAME = 0.15
"""Readings that differ by no more are not worth a word (assumed)."""


def _same(written: Reading, entry: Entry) -> bool:
    """Return whether a reading of the file and one of the journal say about the same."""
    values = [value for row in getattr(written, entry.unit) or () for value in row]
    mean = sum(values) / len(values) if values else 0.0
    return bool(abs(mean - (entry.amount or 0.0)) <= SAME * mean)


def _day(when: date) -> str:
    return f"{when.day} {when:%b %Y}"
