"""A CSV text as rows that know their lines, whatever the spreadsheet that wrote it."""

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from cropcal.problems import Problem, Where
from cropcal.reading.files.plain_file import read_bytes
from cropcal.reading.text.source import shorten

DELIMITERS = (",", ";", "\t")


@dataclass(frozen=True)
class Row:
    """One row: the line it starts on, and its cells by column, stripped ("" if blank).

    ``whole`` is false if the row has more cells than the header, so that some stand in a wrong column.
    """

    line: int
    cells: dict[str, str]
    whole: bool = True


@dataclass(frozen=True)
class CsvTable:
    """A header and its rows. Where cells are not parted by commas, numbers may have a decimal comma."""

    path: str
    columns: tuple[str, ...]
    header_line: int
    rows: tuple[Row, ...]
    decimal_comma: bool

    def problem(self, line: int | None, key: str, found: str, expected: str, hint: str = "") -> Problem:
        """Return a problem in this table."""
        return Problem(Where(self.path, line), key, found, expected, hint)


def read_file(path: Path) -> tuple[str | None, list[Problem]]:
    """Return the text of a file, or None and why it cannot be read."""
    where = Where(str(path))
    try:
        data = read_bytes(path)
    except OSError as error:
        return None, [Problem(where, "", (error.strerror or "an error").lower(), "a CSV file to read")]
    return decode(data, str(path))


def decode(data: bytes, path: str) -> tuple[str | None, list[Problem]]:
    """Return UTF-8 bytes as text, a byte order mark left out, or None and the line that is no UTF-8."""
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        found = f"the byte 0x{data[error.start]:02x}"
        hint = 'save it as "CSV UTF-8"'
        return None, [Problem(Where(path, line), "", found, "text in UTF-8", hint)]


def parse(text: str, path: str) -> tuple[CsvTable | None, list[Problem]]:
    """Return a CSV text as a table, and everything wrong with its form.

    Cells are parted by commas, semicolons or tabs, whichever the header has most of. Blank lines and
    blank cells at the end of a row do not matter. None if there is no header.
    """
    lines = _Lines(text)
    header = next(lines, None)
    if header is None:
        found = "a row that is not in cells" if lines.problem_line else "an empty file"
        expected = "a first line with the names of columns"
        return None, [Problem(Where(path, lines.problem_line), "", found, expected)]
    header_line, names = header
    problems = [*_header_problems(names, path, header_line)]
    rows = []
    for line, cells in lines:
        whole = len(cells) <= len(names)
        if not whole:
            problems.append(_too_many(cells, len(names), Where(path, line), lines.delimiter))
        pairs = zip(names, cells, strict=False)
        rows.append(Row(line, {name: cell for name, cell in pairs if name}, whole))
    if lines.problem_line is not None:
        hint = "look for a quotation mark without its partner"
        problems.append(
            Problem(
                Where(path, lines.problem_line),
                "",
                "a row that is not in cells",
                "valid CSV",
                hint,
            )
        )
    columns = tuple(dict.fromkeys(name for name in names if name))
    table = CsvTable(path, columns, header_line, tuple(rows), lines.delimiter != ",")
    return table, problems


class _Lines:
    """The rows of a CSV text that are not blank, each with the line it starts on.

    ``problem_line`` is set if the text could not be split to its end.
    """

    def __init__(self, text: str) -> None:
        first = next((line for line in io.StringIO(text) if line.strip()), "")
        self.delimiter = max(DELIMITERS, key=first.count)
        # io.StringIO with newline="" counts lines as an editor does; str.splitlines splits at more.
        self._reader = csv.reader(io.StringIO(text, newline=""), delimiter=self.delimiter, strict=True)
        self.problem_line: int | None = None

    def __iter__(self) -> "_Lines":
        return self

    def __next__(self) -> tuple[int, list[str]]:
        while self.problem_line is None:
            line = self._reader.line_num + 1
            try:
                cells = [cell.replace("\N{NO-BREAK SPACE}", " ").strip() for cell in next(self._reader)]
            except csv.Error:
                self.problem_line = line
                break
            while cells and not cells[-1]:
                cells.pop()
            if cells:
                return line, cells
        raise StopIteration


def _header_problems(names: list[str], path: str, line: int) -> list[Problem]:
    """Return a problem for each column that has no name or the name of another."""
    where = Where(path, line)
    problems = [
        Problem(where, f"column {place}", "no name", "a name over every column")
        for place, name in enumerate(names, 1)
        if not name
    ]
    again = dict.fromkeys(name for name in names if name and names.count(name) > 1)
    problems += [
        Problem(where, shorten(name), f"{names.count(name)} columns of that name", "each column once")
        for name in again
    ]
    return problems


def _too_many(cells: list[str], columns: int, where: Where, delimiter: str) -> Problem:
    found, expected = f"{len(cells)} cells", f"at most {columns}, as the first line has"
    hint = "a comma inside a number or text parts a cell: write 4.5 for 4,5 and put text in quotes"
    return Problem(where, "", found, expected, hint if delimiter == "," else "")
