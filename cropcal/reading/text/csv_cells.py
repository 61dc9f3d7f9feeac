"""One cell of a table checked against its column: the value, or the mistake in words."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal, get_args

from cropcal.letters import is_name
from cropcal.problems import Problem
from cropcal.reading.text.csv_table import CsvTable, Row
from cropcal.reading.text.source import shorten
from cropcal.reading.text.suggestions import (
    SEEN,
    did_you_mean,
    nearest,
    one_of,
)
from cropcal.records.crop import BookCo2, CropKind, CutAs, Known, Unit
from cropcal.units import signs

CellType = Literal["text", "choice", "number", "whole"]
CHOICES: Final = {
    "kind": get_args(CropKind),
    "unit": get_args(Unit),
    "known": get_args(Known),
    "anchor_co2": get_args(BookCo2),
    "cut_as": get_args(CutAs),
}
NONE: Final = "none"
"""Written into an optional cell to say that nothing is known or that there is none."""

_NUMBER = re.compile(r"[-+]?(?:\d+(?:\.\d*)?|\.\d+)(?:e[-+]?\d{1,3})?", re.ASCII | re.IGNORECASE)
_COMMA = re.compile(r"[-+]?\d*,\d+", re.ASCII)
_WITH_UNIT = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*([^\d\s.,-][^\d]*)", re.ASCII)
_RANGE = re.compile(r"\d+(?:[.,]\d+)?\s*(?:-|–|to)\s*\d+(?:[.,]\d+)?.*", re.ASCII)


@dataclass(frozen=True)
class Column:
    """What a column holds. ``low`` and ``high`` bound numbers, and the length of texts."""

    name: str
    type: CellType
    low: float = float("-inf")
    high: float = float("inf")
    required: bool = True
    unit: str = ""
    group: str = ""
    meaning: str = ""

    @property
    def expected(self) -> str:
        """Return what a cell should hold, in words."""
        if self.type == "choice":
            return one_of(CHOICES[self.name])
        if self.type == "text":
            return f"a text of {self.low:g} to {self.high:g} characters"
        unit = f" ({signs(self.unit)})" if self.unit else ""
        whole = "a whole number" if self.type == "whole" else "a number"
        return f"{whole} from {self.low:.10g} to {self.high:.10g}{unit}"


@dataclass(frozen=True)
class Bad:
    """Why a cell has no value: what it should have been, and the likely slip."""

    expected: str
    hint: str = ""


Value = str | float | int | None


def value_of(column: Column, text: str, *, decimal_comma: bool = False) -> Value | Bad:
    """Return the value of a cell that is not blank, or what is wrong with it.

    ``decimal_comma`` allows 4,5 for 4.5 (cells parted by semicolons). The word none gives None where
    the column is optional.
    """
    if column.type == "text":
        return _text(column, text)
    if column.type == "choice":
        choices = CHOICES[column.name]
        near = nearest(text, choices)
        return text if text in choices else Bad(column.expected, f'did you mean "{near}"?' if near else "")
    if text.casefold() == NONE and not column.required:
        return None
    if decimal_comma and _COMMA.fullmatch(text):
        text = text.replace(",", ".")
    if not _NUMBER.fullmatch(text):
        return Bad(column.expected, _number_hint(text))
    number = float(text)
    if not column.low <= number <= column.high:
        return Bad(column.expected, _bounds_hint(column, number))
    if column.type == "number":
        return number
    return int(number) if number == int(number) else Bad(column.expected)


def _text(column: Column, text: str) -> Value | Bad:
    if not is_name(text):
        return Bad(SEEN)
    return text if column.low <= len(text) <= column.high else Bad(column.expected)


def _number_hint(text: str) -> str:
    if _COMMA.fullmatch(text):
        return f"write {text.replace(',', '.')}"
    if _RANGE.fullmatch(text):
        return "one number, no range"
    with_unit = _WITH_UNIT.fullmatch(text)
    return f"leave out the unit: {with_unit[1].replace(',', '.')}" if with_unit else ""


def _bounds_hint(column: Column, number: float) -> str:
    if column.unit == "share" and column.low <= number / 100 <= column.high:
        return f"looks like percent: {number / 100:.4g}"
    celsius = (number - 32) / 1.8
    if column.unit == "C" and column.low <= celsius <= column.high:
        return f"looks like °F: {celsius:.3g}"
    return ""


def read_cells(
    table: CsvTable, columns: Mapping[str, Column], *, partial: bool = False
) -> tuple[list[tuple[Row, dict[str, Any]]], list[Problem]]:
    """Return the values of every row by column, and every problem with header and cells.

    Cells that are blank or wrong are left out of ``partial`` rows (a user may fill in a few); else
    blank optional cells become None, or "" in text columns, and blank required ones are a problem.
    """
    problems = unknown_columns(table, columns)
    if not partial:
        problems += _missing_columns(table, columns.values())
    read = []
    for row in table.rows:
        values: dict[str, Any] = {}
        for column in columns.values() if row.whole else ():
            text = row.cells.get(column.name, "")
            if text:
                value = value_of(column, text, decimal_comma=table.decimal_comma)
                if not isinstance(value, Bad):
                    values[column.name] = value
                    continue
                found = f'"{shorten(text)}"'
                problems.append(table.problem(row.line, column.name, found, value.expected, value.hint))
            elif not partial and not column.required:
                values[column.name] = "" if column.type == "text" else None
            elif not partial and column.name in table.columns:
                problems.append(table.problem(row.line, column.name, "nothing", column.expected))
        read.append((row, values))
    return read, problems


def unknown_columns(table: CsvTable, columns: Mapping[str, Column]) -> list[Problem]:
    """Return a problem for each column that is not one of ours, with the nearest that is."""
    return [
        table.problem(
            table.header_line,
            shorten(name),
            "an unknown column",
            "a column of the crop tables",
            did_you_mean(name, list(columns)),
        )
        for name in table.columns
        if name not in columns
    ]


def _missing_columns(table: CsvTable, columns: Iterable[Column]) -> list[Problem]:
    return [
        table.problem(table.header_line, column.name, "no such column", column.expected)
        for column in columns
        if column.required and column.name not in table.columns
    ]
