"""Read measured series beside space.toml: air.csv of a thermometer, meter.csv of a plug meter."""

from collections import Counter
from collections.abc import Callable, Sequence
from datetime import date, datetime
from itertools import pairwise
from pathlib import Path
from statistics import fmean, median
from typing import TypeVar

from cropcal.problems import Problem, Where
from cropcal.reading.journal.cells import day_of, moment_of
from cropcal.reading.text.csv_cells import Bad, Column, value_of
from cropcal.reading.text.csv_table import (
    CsvTable,
    Row,
    parse,
    read_file,
)
from cropcal.reading.text.source import in_order, shorten
from cropcal.reading.text.suggestions import did_you_mean, listed, nearest
from cropcal.reading.text.timezones import comes_twice
from cropcal.records.journal import AirReading, MeterReading

AIR_FILE, METER_FILE = "air.csv", "meter.csv"
AIR = Column("air_c", "number", -30, 60, unit="C")
HUMIDITY = Column("humidity_percent", "number", 1, 100, required=False, unit="%")
KWH = Column("kwh", "number", 0, 1e6, unit="kWh")
TIMES = ("time", "date")
A_TIME = "a date and time like 2027-01-06 18:30"

LEAP = 5.0
"""A rise faster than this many times the counter's usual rate is a misreading (assumed)."""
LEAST_INTERVALS = 2
"""Other intervals needed to know the usual rate (assumed)."""

FREE = "note"
"""A column for words, which nobody reads but people."""
STEMS = {"hum": HUMIDITY.name, "rh": HUMIDITY.name, "temp": AIR.name, "kw": KWH.name, "energy": KWH.name}
"""What the names of columns that mean one of ours begin with, where they are spelt otherwise."""

Reading = tuple[datetime, str, float, int, float | None]
"""A row of a series: when, which zone, how much, its line, and what its optional column holds."""

T = TypeVar("T", AirReading, MeterReading)


def read_air(
    path: Path, zones: Sequence[str] = (), timezone: str | None = None, today: date | None = None
) -> tuple[tuple[AirReading, ...], list[Problem]]:
    """Return the readings of a thermometer (columns time, air_c), and what is wrong with the file.

    A column ``humidity_percent`` holds the relative humidity, blank where it was not read. Without a file
    there are no readings. Where there are several zones, a column ``zone`` names one.
    ``timezone`` decides in which hour clocks are set back. A reading after ``today`` is a mistake.
    """
    return _read(path, parse_air, zones, timezone, today)


def read_meter(
    path: Path, zones: Sequence[str] = (), timezone: str | None = None, today: date | None = None
) -> tuple[tuple[MeterReading, ...], list[Problem]]:
    """Return what a plug meter's counter showed (columns time or date, kwh); a bare date is its midnight.

    A column ``zone`` names the zone it measures; else it measures all. ``timezone`` and ``today`` as for air.
    """
    return _read(path, parse_meter, zones, timezone, today)


def parse_air(
    text: str, path: str, zones: Sequence[str] = (), timezone: str | None = None, today: date | None = None
) -> tuple[tuple[AirReading, ...], list[Problem]]:
    """Return the text of an air.csv as readings by time, and its problems.

    Two readings at a time that comes twice in autumn count as their mean.
    """
    needs_zone = len(zones) > 1
    rows, problems = _series(text, path, AIR, zones, timezone, today, needs_zone=needs_zone, extra=HUMIDITY)
    moments: dict[tuple[datetime, str], list[Reading]] = {}
    for row in rows:
        moments.setdefault((row[0], row[1]), []).append(row)
    readings = (
        AirReading(
            at=at,
            air_c=fmean(row[2] for row in same),
            zone=zone,
            humidity_percent=_mean([row[4] for row in same if row[4] is not None]),
        )
        for (at, zone), same in moments.items()
    )
    return tuple(readings), problems


def _mean(values: Sequence[float]) -> float | None:
    return fmean(values) if values else None


def parse_meter(
    text: str, path: str, zones: Sequence[str] = (), timezone: str | None = None, today: date | None = None
) -> tuple[tuple[MeterReading, ...], list[Problem]]:
    """Return the text of a meter.csv as readings by time, and its problems.

    Several readings in the hour that comes twice in autumn are left out, for their order is unknown: in the
    wrong order, the counter would seem to be set back to zero. The readings around them give the energy.
    """
    rows, problems = _series(text, path, KWH, zones, timezone, today, needs_zone=False)
    twice = Counter((at.date(), zone) for at, zone, *_ in rows if comes_twice(at, timezone))
    kept = [row for row in rows if twice[row[0].date(), row[1]] < 2 or not comes_twice(row[0], timezone)]
    for name in dict.fromkeys(zone for _, zone, *_ in kept):
        problems += _counter_slips([row for row in kept if row[1] == name], path)
    return tuple(MeterReading(at=at, kwh=value, zone=zone) for at, zone, value, *_ in kept), in_order(
        problems
    )


def _counter_slips(rows: Sequence[Reading], path: str) -> list[Problem]:
    """Return the readings of one counter that cannot be: out of line with both neighbours and all others.

    A counter that falls was set back to zero, and then rises at its usual rate. One that leaps, at many times
    the rate of the other intervals, and is back in line at the next reading was misread; so was one that
    leaps at its last reading.
    """
    pace_kw = [
        (after[2] - before[2]) / max((after[0] - before[0]).total_seconds() / 3600, 1 / 60)
        for before, after in pairwise(rows)
    ]
    slips = []
    for place in range(1, len(rows)):
        before, row = rows[place - 1], rows[place]
        after = rows[place + 1] if place + 1 < len(rows) else None
        others = [pace for at, pace in enumerate(pace_kw) if at not in (place - 1, place) and pace > 0]
        if len(others) < LEAST_INTERVALS:
            continue
        leap_kw = LEAP * median(others)
        up = pace_kw[place - 1] > leap_kw and (after is None or after[2] < row[2])
        down = after is not None and row[2] < before[2] <= after[2] and pace_kw[place] > leap_kw
        if not (up and (after is None or after[2] >= before[2])) and not down:
            continue
        least = f"{before[2]:g}"
        expected = f"at least {least}" if after is None else f"from {least} to {after[2]:g}"
        hint = "as its neighbours have it: a slip of the pen, or a lost point?"
        where = Where(path, row[3])
        slips.append(Problem(where, KWH.name, f"{row[2]:g}", f"{expected} kWh", hint))
    return slips


def _read(
    path: Path,
    parser: Callable[[str, str, Sequence[str], str | None, date | None], tuple[tuple[T, ...], list[Problem]]],
    zones: Sequence[str],
    timezone: str | None,
    today: date | None,
) -> tuple[tuple[T, ...], list[Problem]]:
    if not path.exists():
        return (), []
    text, problems = read_file(path)
    return ((), problems) if text is None else parser(text, str(path), zones, timezone, today)


def _series(
    text: str,
    path: str,
    column: Column,
    zones: Sequence[str],
    timezone: str | None,
    today: date | None,
    *,
    needs_zone: bool,
    extra: Column | None = None,
) -> tuple[list[Reading], list[Problem]]:
    table, problems = parse(text, path)
    if table is None:
        return [], problems
    time = next((name for name in TIMES if name in table.columns), None)
    needed = (time or TIMES[0], column.name, *(["zone"] if needs_zone else []))
    missing = [name for name in needed if name not in table.columns]
    for name in missing:
        meant = [given for given in table.columns if _nearest(given, (name,)) == name]
        hint = f'is it the column "{shorten(meant[0])}"?' if meant else did_you_mean(name, table.columns)
        expected = "a column of that name in the first line"
        problems.append(table.problem(table.header_line, name, "no such column", expected, hint))
    if missing or time is None:
        return [], in_order(problems)
    problems += _unread_columns(table, [time, column.name, *([extra.name] if extra else []), "zone"])
    readings: list[Reading] = []
    lines_by_moment: dict[tuple[datetime, str], list[int]] = {}
    future: list[tuple[int, datetime]] = []
    for row in table.rows:
        at, value, slips = _row(table, row, time, column)
        other, extra_slips = _optional(table, row, extra)
        slips += extra_slips
        zone = row.cells.get("zone", "")
        if (zone or needs_zone) and zones and zone not in zones:
            hint = did_you_mean(zone, zones)
            slips.append(table.problem(row.line, "zone", _found(zone), "the name of a zone", hint))
        elif at is not None and today is not None and at.date() > today:
            future.append((row.line, at))
        elif at is not None and len(lines := lines_by_moment.get((at, zone), [])) > comes_twice(at, timezone):
            slips.append(table.problem(row.line, time, f'"{at}" again', "each time once", _has(lines)))
        elif at is not None and value is not None:
            lines_by_moment.setdefault((at, zone), []).append(row.line)
            readings.append((at, zone, value, row.line, other))
        problems += slips
    if future and today is not None:
        line, at = future[0]
        others = len(future) - 1
        more = f"; {others} more line{'s' if others > 1 else ''} like it" if others else ""
        hint = f"today is {today.isoformat()}{more}"
        problems.append(table.problem(line, time, f'"{at}"', "a time up to now", hint))
    return sorted(readings), in_order(problems)


def _unread_columns(table: CsvTable, known: Sequence[str]) -> list[Problem]:
    """Return a problem for each column that nothing here reads, with the nearest that is read."""
    problems = []
    for name in table.columns:
        if name in (*known, FREE):
            continue
        meant = _nearest(name, known)
        way = f'did you mean "{meant}"?' if meant else f'take it out, or call it "{FREE}"'
        expected = f"one of {listed((*known, FREE))}"
        problems.append(table.problem(table.header_line, shorten(name), "an unknown column", expected, way))
    return problems


def _nearest(name: str, known: Sequence[str]) -> str | None:
    """Return the one of some columns that a name is most likely to mean, None if it is none of them."""
    word = name.lower()
    stems = (column for stem, column in STEMS.items() if word.startswith(stem) or f"_{stem}" in word)
    return next((column for column in stems if column in known), None) or nearest(name, known)


def _optional(table: CsvTable, row: Row, column: Column | None) -> tuple[float | None, list[Problem]]:
    """Return the number in a cell that may be blank."""
    cell = row.cells.get(column.name, "") if column else ""
    if column is None or not cell:
        return None, []
    value = value_of(column, cell, decimal_comma=table.decimal_comma)
    if isinstance(value, Bad):
        hint = value.hint or ("a share of one: write percent" if cell.startswith("0.") else "")
        return None, [table.problem(row.line, column.name, _found(cell), value.expected, hint)]
    return (float(value) if isinstance(value, int | float) else None), []


def _has(lines: Sequence[int]) -> str:
    return f"line {lines[0]} has it" if len(lines) == 1 else f"lines {lines[0]} and {lines[1]} have it"


def _row(
    table: CsvTable, row: Row, time: str, column: Column
) -> tuple[datetime | None, float | None, list[Problem]]:
    slips = []
    time_text = row.cells.get(time, "")
    at = _moment(time_text)
    if isinstance(at, Bad):
        slips.append(table.problem(row.line, time, _found(time_text), at.expected, at.hint))
    number = row.cells.get(column.name, "")
    value = value_of(column, number, decimal_comma=table.decimal_comma) if number else Bad(column.expected)
    if isinstance(value, Bad):
        slips.append(table.problem(row.line, column.name, _found(number), value.expected, value.hint))
    return (
        None if isinstance(at, Bad) else at,
        float(value) if isinstance(value, int | float) else None,
        slips,
    )


def _moment(text: str) -> datetime | Bad:
    """Return a local moment; a bare day is its midnight."""
    at = moment_of(text)
    if not isinstance(at, Bad):
        return at
    day = day_of(text)
    if isinstance(day, Bad):
        return Bad(A_TIME, day.hint)
    return datetime.combine(day, datetime.min.time())


def _found(text: str) -> str:
    return f'"{shorten(text)}"' if text else "nothing"
