"""The lines of journal.csv, parsed one by one, so that a broken line harms no other.

A line that was torn off while it was written has no line end. Its cells distinguish it from a whole last line
without one (some editors and spreadsheets leave it off): ours end with the id, which has a fixed form.
"""

import csv
import io
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from cropcal.problems import Problem, Where
from cropcal.reading.text.csv_table import DELIMITERS
from cropcal.reading.text.source import shorten
from cropcal.reading.text.suggestions import did_you_mean
from cropcal.records.journal import TORN, Torn

COLUMNS: Final = (
    "on",
    "event",
    "batch",
    "crop",
    "bed",
    "zone",
    "sites",
    "amount",
    "unit",
    "weight_g",
    "kwh",
    "cut",
    "early",
    "what",
    "from",
    "until",
    "why",
    "note",
    "sure",
    "written_at",
    "corrects",
    "id",
)
"""Columns of a new journal.csv. The id comes last: a line with its id is whole."""
NEEDED: Final = ("on", "event")
HEADER: Final = ",".join(COLUMNS)
ID_LETTERS: Final = "bcdfghjkmnpqrstvwxz"
"""No vowels and no digits: an id is no word, no number, and no spreadsheet takes it for a date."""
ID_LENGTH: Final = 5
LINES_OF_A_CELL: Final = 20
"""The most lines that a cell with line ends in it may take."""
LINES_REMEMBERED: Final = 4096
"""Lines that are remembered as understood: a journal grows line by line, and none is ever rewritten."""

_ID = re.compile(f"[{ID_LETTERS}]{{{ID_LENGTH}}}")
_LINE_END = re.compile(rb"\r\n|\n|\r")


@dataclass(frozen=True)
class Form:
    """How a journal is written: its columns in order (none yet: ()), what parts cells, how lines end.

    ``ended`` is false if the file does not end with a line end; ``header_rest`` is what the first line
    lacks if it was torn off; ``open_quote`` says that the last line ends inside quotes.
    """

    columns: tuple[str, ...] = COLUMNS
    delimiter: str = ","
    newline: str = "\n"
    ended: bool = True
    header_rest: str = ""
    open_quote: bool = False


@dataclass(frozen=True)
class JournalLine:
    """The cells of one line by column, stripped, "" where blank."""

    number: int
    cells: dict[str, str]


@dataclass(frozen=True)
class JournalLines:
    """A journal's form (None: not readable), its whole lines, and torn lines that are set aside."""

    form: Form | None
    lines: tuple[JournalLine, ...] = ()
    torn: tuple[Torn, ...] = ()


@dataclass(frozen=True)
class _Piece:
    number: int
    text: str
    readable: bool
    ended: bool


def split_journal(data: bytes, path: str) -> tuple[JournalLines, list[Problem]]:
    """Return the lines of a journal as it lies on the disk, and what is wrong with their form."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        hint = 'save it as "CSV UTF-8"'
        return JournalLines(None), [Problem(Where(path, 1), "", "a file in UTF-16", "text in UTF-8", hint)]
    pieces = [piece for piece in _pieces(data.removeprefix(b"\xef\xbb\xbf")) if piece.text.strip("\0 \t")]
    ended = not data or data.endswith((b"\n", b"\r"))
    if not pieces:
        return JournalLines(Form(columns=(), ended=ended)), []
    head, *rest = pieces
    if not rest and not ended and HEADER.startswith(head.text) and head.text != HEADER:
        return JournalLines(Form(ended=False, header_rest=HEADER[len(head.text) :])), []
    delimiter = max(DELIMITERS, key=head.text.count)
    names = _cells(head.text, delimiter) or ()
    columns = tuple("_".join(name.casefold().split()) for name in names)
    problems = _header_problems(columns, path, head.number)
    if any(name not in columns for name in NEEDED):
        return JournalLines(None), problems
    newline = "\r\n" if b"\r\n" in data else "\n"
    open_quote = not pieces[-1].ended and pieces[-1].text.count('"') % 2 == 1
    form = Form(columns, delimiter, newline, ended, open_quote=open_quote)
    lines, torn, more = _rows(rest, form, path)
    return JournalLines(form, tuple(lines), tuple(torn)), [*problems, *more]


def _pieces(data: bytes) -> list[_Piece]:
    """Return the physical lines; one that is no UTF-8 keeps its shape with marks for the bad bytes."""
    parts = _LINE_END.split(data)
    pieces = []
    for number, part in enumerate(parts, 1):
        try:
            text, readable = part.decode("utf-8"), True
        except UnicodeDecodeError:
            text, readable = part.decode("utf-8", errors="replace"), False
        pieces.append(_Piece(number, text, readable, number < len(parts)))
    return pieces


@lru_cache(maxsize=LINES_REMEMBERED)
def _cells(text: str, delimiter: str) -> tuple[str, ...] | None:
    """Return the stripped cells of one row, None if it cannot be split."""
    try:
        row = next(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True), None)
    except csv.Error:
        return None
    return None if row is None else tuple(" ".join(cell.split()) for cell in row)


def _header_problems(columns: tuple[str, ...], path: str, line: int) -> list[Problem]:
    where = Where(path, line)
    problems = []
    for name in dict.fromkeys(columns):
        if name and name not in COLUMNS:
            hint = did_you_mean(name, COLUMNS)
            problems.append(Problem(where, shorten(name), "an unknown column", "a column of a journal", hint))
        elif name and columns.count(name) > 1:
            found = f"{columns.count(name)} columns of that name"
            problems.append(Problem(where, name, found, "each column once"))
    hint = f"a journal begins with: {HEADER}"
    problems += [
        Problem(where, name, "no such column", "a column of that name in the first line", hint)
        for name in NEEDED
        if name not in columns
    ]
    return problems


def _rows(pieces: list[_Piece], form: Form, path: str) -> tuple[list[JournalLine], list[Torn], list[Problem]]:
    lines: list[JournalLine] = []
    torn: list[Torn] = []
    problems: list[Problem] = []
    at = 0
    while at < len(pieces):
        piece, used = _joined(pieces, at, form)
        at += used
        cells = _cells(piece.text, form.delimiter)
        filled = [cell for cell in cells or () if cell]
        if cells is not None and not filled:
            continue
        if _is_marked(piece.text, form.delimiter):
            torn.append(Torn(line=piece.number, text=piece.text, marked=True))
        elif not piece.ended and not _is_whole(piece, cells, form):
            torn.append(Torn(line=piece.number, text=piece.text, marked=False))
        elif problem := _form_problem(piece, cells, form, path):
            problems.append(problem)
        else:
            pairs = zip(form.columns, cells or (), strict=False)
            lines.append(JournalLine(piece.number, {name: cell for name, cell in pairs if name}))
    return lines, torn, problems


def _joined(pieces: list[_Piece], at: int, form: Form) -> tuple[_Piece, int]:
    """Return one row and how many lines it takes: more than one if a cell holds a line end.

    Lines that look whole by themselves are never joined to a row before them.
    """
    first = pieces[at]
    if first.text.count('"') % 2 == 0:
        return first, 1
    text = first.text
    for used, piece in enumerate(pieces[at + 1 : at + LINES_OF_A_CELL], 2):
        odd = piece.text.count('"') % 2 == 1
        if not odd and piece.text.count(form.delimiter) >= len(form.columns) - 1:
            break
        text = f"{text} {piece.text}"
        if odd:
            cells = _cells(text, form.delimiter)
            if cells is None or len(cells) > len(form.columns):
                break
            readable = all(part.readable for part in pieces[at : at + used])
            return _Piece(first.number, text, readable, piece.ended), used
    return first, 1


def _is_marked(text: str, delimiter: str) -> bool:
    """Return whether a line was found torn before: its last cell that is not blank is the mark."""
    return text.rstrip(f'{delimiter}" ').endswith((f"{delimiter}{TORN}", f'{delimiter}"{TORN}'))


def _is_whole(piece: _Piece, cells: tuple[str, ...] | None, form: Form) -> bool:
    """Return whether a last line without a line end holds all that was to be written."""
    if cells is None or not piece.readable or "\0" in piece.text or len(cells) != len(form.columns):
        return False
    return form.columns[-1] != "id" or not cells[-1] or _ID.fullmatch(cells[-1]) is not None


def _form_problem(piece: _Piece, cells: tuple[str, ...] | None, form: Form, path: str) -> Problem | None:
    where = Where(path, piece.number)
    if not piece.readable:
        return Problem(where, "", "a byte that is not UTF-8", "text in UTF-8", 'save it as "CSV UTF-8"')
    if cells is None:
        hint = "look for a quotation mark without its partner"
        return Problem(where, "", "a row that is not in cells", "valid CSV", hint)
    if "\0" in piece.text:
        return Problem(where, "", "zero bytes", "text", "left by a crash: take the line out, enter it again")
    extra = [cell for cell in cells[len(form.columns) :] if cell]
    if extra:
        found, expected = f"{len(cells)} cells", f"at most {len(form.columns)}, as the first line has"
        hint = "a comma inside a number or text parts a cell: put it in quotes"
        return Problem(where, "", found, expected, hint if form.delimiter == "," else "")
    return None
