"""The long form of a crop table: one row a value, with its unit, whose it is and how it is known."""

from collections.abc import Iterator, Mapping

from cropcal.problems import Problem
from cropcal.reading.crops.checks import ColumnMistake
from cropcal.reading.crops.given import LIKE, GivenCrop, named_source
from cropcal.reading.text.csv_cells import CHOICES, Bad, Column, Value, read_cells, value_of
from cropcal.reading.text.csv_table import CsvTable
from cropcal.reading.text.source import shorten
from cropcal.reading.text.suggestions import did_you_mean, one_of
from cropcal.records.crop import NOT_FROM_PRINT, Source, source_keys

CROP, COLUMN, VALUE = "crop", "column", "value"
LONG_COLUMNS = {
    column.name: column
    for column in (
        Column(CROP, "text", 2, 40),
        Column(COLUMN, "text", 1, 200),
        Column(VALUE, "text", 1, 1000),
        Column("unit", "text", 0, 200, required=False),
        Column("source", "text", 0, 200, required=False),
        Column("known", "choice", required=False),
        Column("note", "text", 0, 200, required=False),
    )
}


def is_long(table: CsvTable) -> bool:
    """Return whether a table has one row a value."""
    return "slug" not in table.columns and {COLUMN, VALUE} <= set(table.columns)


def long_rows(table: CsvTable, columns: Mapping[str, Column]) -> tuple[list[GivenCrop], list[Problem]]:
    """Return what the rows give of each crop, in the order of first mention, and every problem.

    A row with a mistake gives no value, but its crop is named.
    """
    read, problems = read_cells(table, LONG_COLUMNS, partial=True)
    if CROP not in table.columns:
        expected = "a column with each row's crop"
        problems.append(table.problem(table.header_line, CROP, "no such column", expected))
        return [], problems
    crops: dict[str, GivenCrop] = {}
    for row, cells in read:
        slug = row.cells.get(CROP, "")
        crop = crops.setdefault(slug, GivenCrop(slug, row.line, {}, {}, {}))
        if not row.whole:
            continue
        name, value, slip = _value_of(row.cells, table, columns)
        if not slip and name in crop.lines:
            slip = ColumnMistake(COLUMN, f'"{name}" again', "each value once", _has_it(crop.lines[name]))
        if slip:
            problems.append(table.problem(row.line, *slip))
            continue
        crop.values[name] = value
        crop.lines[name] = row.line
        if name in columns and columns[name].group:
            said = cells.get("source", ""), cells.get("known"), cells.get("note", "")
            crop.sources[name] = named_source(*said)
    return list(crops.values()), problems


def _value_of(
    cells: Mapping[str, str], table: CsvTable, columns: Mapping[str, Column]
) -> tuple[str, Value, ColumnMistake | None]:
    """Return the column and the value of a row, or what is wrong with it."""
    name, text, unit = (cells.get(key, "") for key in (COLUMN, VALUE, "unit"))
    names = {**{key: column for key, column in columns.items() if key != "slug"}, LIKE.name: LIKE}
    if name not in names:
        found = f'"{shorten(name)}"' if name else "nothing"
        hint = did_you_mean(name, list(names)) if name else ""
        return name, None, ColumnMistake(COLUMN, found, "a column of the crop tables", hint)
    column = names[name]
    if unit and unit != column.unit:
        expected = f'"{column.unit}"' if column.unit else f"nothing: {name} has no unit"
        return name, None, ColumnMistake("unit", f'"{shorten(unit)}"', expected, _unit_hint(column))
    if not text:
        return name, None, ColumnMistake(name, "nothing", column.expected)
    value = value_of(column, text, decimal_comma=table.decimal_comma)
    if isinstance(value, Bad):
        return name, None, ColumnMistake(name, f'"{shorten(text)}"', value.expected, value.hint)
    return name, value, None


def _unit_hint(column: Column) -> str:
    return f"{column.name} is always in {column.unit}" if column.unit else ""


def _has_it(line: int) -> str:
    return f"line {line} has it"


def unsourced(table: CsvTable, columns: Mapping[str, Column], sources: Mapping[str, Source]) -> list[Problem]:
    """Return a problem for each value that names no source it should name, or one that is in no table."""
    return [
        table.problem(row.line, *slip)
        for row in table.rows
        if (column := columns.get(row.cells.get(COLUMN, ""))) and column.group
        for slip in _source_slips(row.cells, sources)
    ]


def _source_slips(cells: Mapping[str, str], sources: Mapping[str, Source]) -> Iterator[ColumnMistake]:
    known, keys = cells.get("known", ""), source_keys(cells.get("source", ""))
    if not known:
        yield ColumnMistake("known", "nothing", one_of(CHOICES["known"]))
    if not keys and known not in NOT_FROM_PRINT:
        yield ColumnMistake("source", "nothing", "a key of sources.csv")
    for key in keys:
        if key not in sources:
            hint = did_you_mean(key, list(sources))
            yield ColumnMistake("source", f'"{shorten(key)}"', "a key of sources.csv", hint)
