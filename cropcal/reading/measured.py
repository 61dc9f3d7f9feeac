"""Read measured series beside space.toml: air.csv of a thermometer, meter.csv of a plug meter."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from cropcal.problems import Problem
from cropcal.reading.cells import Bad, Column, value_of
from cropcal.reading.journal_cells import day_of, moment_of
from cropcal.reading.source import in_order, shorten
from cropcal.reading.tables import Row, Table, parse, read_file
from cropcal.reading.words import did_you_mean
from cropcal.records.journal import AirReading, MeterReading

AIR = Column("air_c", "number", -30, 60, unit="C")
KWH = Column("kwh", "number", 0, 1e6, unit="kWh")
TIMES = ("time", "date")
A_TIME = "a date and time like 2027-01-06 18:30"

T = TypeVar("T", AirReading, MeterReading)


def read_air(path: Path) -> tuple[tuple[AirReading, ...], list[Problem]]:
    """Return the readings of a thermometer (columns time, air_c), and what is wrong with the file.

    No file is no reading.
    """
    return _read(path, parse_air)


def read_meter(path: Path) -> tuple[tuple[MeterReading, ...], list[Problem]]:
    """Return what a plug meter's counter showed (columns time or date, kwh); a bare date is its midnight."""
    return _read(path, parse_meter)


def parse_air(text: str, path: str) -> tuple[tuple[AirReading, ...], list[Problem]]:
    """Return the text of an air.csv as readings by time, and its problems."""
    rows, problems = _series(text, path, AIR)
    return tuple(AirReading(at=at, air_c=value) for at, value in rows), problems


def parse_meter(text: str, path: str) -> tuple[tuple[MeterReading, ...], list[Problem]]:
    """Return the text of a meter.csv as readings by time, and its problems."""
    rows, problems = _series(text, path, KWH)
    return tuple(MeterReading(at=at, kwh=value) for at, value in rows), problems


def _read(
    path: Path, parser: Callable[[str, str], tuple[tuple[T, ...], list[Problem]]]
) -> tuple[tuple[T, ...], list[Problem]]:
    if not path.exists():
        return (), []
    text, problems = read_file(path)
    return ((), problems) if text is None else parser(text, str(path))


def _series(text: str, path: str, column: Column) -> tuple[list[tuple[datetime, float]], list[Problem]]:
    table, problems = parse(text, path)
    if table is None:
        return [], problems
    time = next((name for name in TIMES if name in table.columns), None)
    for name in (time or TIMES[0], column.name):
        if name not in table.columns:
            hint = did_you_mean(name, table.columns)
            expected = "a column of that name in the first line"
            problems.append(table.problem(table.header_line, name, "no such column", expected, hint))
    if time is None or column.name not in table.columns:
        return [], problems
    found: dict[datetime, tuple[int, float]] = {}
    for row in table.rows:
        at, value, slips = _row(table, row, time, column)
        if at is not None and at in found:
            first = f"line {found[at][0]} has it"
            slips.append(table.problem(row.line, time, f'"{at}" again', "each time once", first))
        elif at is not None and value is not None:
            found[at] = row.line, value
        problems += slips
    return sorted((at, value) for at, (_, value) in found.items()), in_order(problems)


def _row(
    table: Table, row: Row, time: str, column: Column
) -> tuple[datetime | None, float | None, list[Problem]]:
    slips = []
    said = row.cells.get(time, "")
    at = _moment(said)
    if isinstance(at, Bad):
        slips.append(table.problem(row.line, time, _found(said), at.expected, at.hint))
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
