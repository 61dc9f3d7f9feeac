"""The wide form of a crop table: one row a crop, one column a value, and columns that name sources."""

from collections.abc import Mapping

from cropcal.problems import Problem
from cropcal.reading.crops.given import LIKE, GivenCrop, Values, named_source
from cropcal.reading.text.csv_cells import Column, read_cells
from cropcal.reading.text.csv_table import CsvTable
from cropcal.records.crop import ValueSource

SUFFIX = "_source"
ANCHOR_NOTE = "anchor_note"


def wide_columns(columns: Mapping[str, Column]) -> dict[str, Column]:
    """Return the columns that a wide table may have: values, ``like``, sources, the note of the anchor."""
    valued = [column for column in columns.values() if column.group]
    names = [name for column in valued for name in (column.group, column.name)]
    sources = ["source", *dict.fromkeys(f"{name}{SUFFIX}" for name in names)]
    return {
        "slug": Column("slug", "text", 2, 40),
        **columns,
        LIKE.name: LIKE,
        ANCHOR_NOTE: Column(ANCHOR_NOTE, "text", 0, 200, required=False),
        **{name: Column(name, "text", 1, 200, required=False) for name in sources},
    }


def wide_rows(table: CsvTable, columns: Mapping[str, Column]) -> tuple[list[GivenCrop], list[Problem]]:
    """Return what each row gives of its crop, and every problem with header and cells."""
    rows, problems = read_cells(table, wide_columns(columns), partial=True)
    given = []
    for row, cells in rows:
        values = {name: value for name, value in cells.items() if name in columns or name == LIKE.name}
        sources = _sources(cells, columns)
        # A cell whose slug is wrong has no value, so that the slug is taken as it is written.
        given.append(GivenCrop(row.cells.get("slug", ""), row.line, values, sources, is_whole=row.whole))
    return given, problems


def _sources(cells: Values, columns: Mapping[str, Column]) -> dict[str, ValueSource]:
    """Return whose values a row says they are: its own cell, else its group's, else the row's.

    A row's source is for the values it fills in; so is a group's, but where it fills in none of the
    group, it is for them all.
    """
    sources = {}
    note = cells.get(ANCHOR_NOTE, "")
    filled_groups = {column.group for name, column in columns.items() if name in cells}
    for name, column in columns.items():
        if not column.group:
            continue
        own, of_group = cells.get(f"{name}{SUFFIX}"), cells.get(f"{column.group}{SUFFIX}")
        if name not in cells and column.group in filled_groups:
            of_group = None
        named = own or of_group or (cells.get("source") if name in cells else None)
        if named:
            sources[name] = named_source(named, note=note if column.group == "anchor" else "")
        elif note and column.group == "anchor" and (name in cells or "anchor" not in filled_groups):
            sources[name] = named_source("", note=note)
    return sources
