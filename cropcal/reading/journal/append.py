"""Write more lines to journal.csv: whole or not at all, and never over another's.

What is noted at once is one write to a file opened for appending, flushed to disk (fsync) before the command
reports it as noted. Writers wait for each other by a lock on the file. A line that a crash tore off is closed
with the mark ``#torn`` where it stands, so that nothing is ever taken out of the file.
"""

import contextlib
import csv
import io
import os
import re
import secrets
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from cropcal.problems import Problem, Where
from cropcal.reading.files.locked import (
    WAIT_S,
    HeldError,
    is_same_file,
    locked,
    sync_folder,
)
from cropcal.reading.files.plain_file import require_plain_file
from cropcal.reading.journal.cells import cells_of
from cropcal.reading.journal.lines import (
    COLUMNS,
    HEADER,
    LINES_OF_A_CELL,
    Form,
    split_journal,
)
from cropcal.reading.journal.read import id_from
from cropcal.records.journal import TORN, Entry

_MOST_TRIES = 5
_LINE_END = re.compile(rb"\r\n|\n|\r")


class CannotNoteError(Exception):
    """The line was not written; ``problem`` says why."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(str(problem))
        self.problem = problem


class AlreadyNotedError(Exception):
    """Nothing was written: what it says was noted while it was being made."""


def append(path: Path, entry: Entry, *, now: datetime, wait_s: float = WAIT_S) -> Entry:
    """Write an entry as a new last line, and return it as ``append_all`` does."""
    return append_all(path, (entry,), now=now, wait_s=wait_s)[0]


def append_all(
    path: Path,
    entries: Sequence[Entry],
    *,
    now: datetime,
    wait_s: float = WAIT_S,
    unless: Callable[[], bool] | None = None,
) -> tuple[Entry, ...]:
    """Write entries as new last lines, in one piece, and return them with ids and the time of writing.

    Parameters
    ----------
    path
        The journal.csv; made with its header if it is missing.
    entries
        What to write, one at least; an id that one has already is kept.
    now
        The time, with its offset from UTC.
    wait_s
        How long to wait for another writer [s].
    unless
        Asked once nobody else can write: whether to write nothing after all.

    Raises
    ------
    CannotNoteError
        If they could not be written; then the file is as it was.
    AlreadyNotedError
        If ``unless`` says so.
    """
    named: tuple[Entry, ...] = ()
    for _ in range(_MOST_TRIES):
        try:
            with _opened(path, wait_s) as handle:
                data = _all_of(handle)
                if not named or named[-1].id.encode() not in data:
                    if unless is not None and unless():
                        raise AlreadyNotedError
                    named = named or _named(entries, data, now)
                    _write(handle, path, _block(data, named, path), len(data))
                if is_same_file(path, handle):
                    return named
        except OSError as error:
            raise _cannot(path, (error.strerror or "an error").lower()) from error
    raise _cannot(path, "a file that another program keeps replacing")


def _named(entries: Sequence[Entry], data: bytes, now: datetime) -> tuple[Entry, ...]:
    named: list[Entry] = []
    for entry in entries:
        name = entry.id
        taken = {other.id for other in named}
        while not name or (not entry.id and (name in taken or name.encode() in data)):
            name = id_from(secrets.randbits(64))
        named.append(entry.model_copy(update={"id": name, "written_at": now.replace(microsecond=0)}))
    return tuple(named)


def _block(data: bytes, entries: Sequence[Entry], path: Path) -> bytes:
    """Return the bytes to append: the end of an open last line, a header if there is none, and the lines."""
    form, torn = _form(data, path)
    close = ""
    if form.header_rest:
        close = form.header_rest + form.newline
    elif not form.ended:
        close = (('"' if form.open_quote else "") + form.delimiter + TORN if torn else "") + form.newline
    if not form.columns:
        close += HEADER + form.newline
    columns = form.columns or COLUMNS
    text = io.StringIO(newline="")
    writer = csv.writer(text, delimiter=form.delimiter, lineterminator=form.newline)
    for entry in entries:
        cells = cells_of(entry, decimal_comma=form.delimiter == ";")
        lacking = [name for name, cell in cells.items() if cell and name not in columns]
        if lacking:
            hint = f'add "{lacking[0]}" as a last word of the first line'
            raise CannotNoteError(
                Problem(Where(str(path), 1), lacking[0], "no such column", "one to write into", hint)
            )
        writer.writerow([cells.get(name, "") for name in columns])
    return (close + text.getvalue()).encode()


def _form(data: bytes, path: Path) -> tuple[Form, bool]:
    """Return the form of the file, and whether its last line is torn and not yet marked as such."""
    parts = _LINE_END.split(data)
    head = next((number for number, part in enumerate(parts) if part.strip(b"\xef\xbb\xbf\0 \t")), None)
    if head is None:
        return Form(columns=(), ended=not parts[-1]), False
    newline = b"\r\n" if b"\r\n" in data else b"\n"
    first_of_end = len(parts) - LINES_OF_A_CELL if parts[-1] else len(parts) - 1
    ends = [parts[head], *parts[max(head + 1, first_of_end) :]]
    split, problems = split_journal(newline.join(ends), str(path))
    if split.form is None:
        raise CannotNoteError(problems[0])
    return split.form, any(not line.marked for line in split.torn)


@contextmanager
def _opened(path: Path, wait_s: float) -> Iterator[int]:
    """Open the file for appending and hold its lock."""
    is_new = not path.exists()
    if not is_new:
        require_plain_file(path)
    try:
        with locked(path, wait_s) as handle:
            if is_new:
                sync_folder(path.parent)
            yield handle
    except HeldError as error:
        raise _cannot(path, f"a file that another program has been writing for {wait_s:g} s") from error


def _all_of(handle: int) -> bytes:
    os.lseek(handle, 0, os.SEEK_SET)
    parts = []
    while part := os.read(handle, 1 << 20):
        parts.append(part)
    return b"".join(parts)


def _write(handle: int, path: Path, block: bytes, size: int) -> None:
    """Append all the bytes and flush them to disk, or remove those that were written."""
    try:
        written = os.write(handle, block)
    except OSError:
        with contextlib.suppress(OSError):
            os.ftruncate(handle, size)
        raise
    if written < len(block):
        os.ftruncate(handle, size)
        raise _cannot(path, "no room on the disk")
    os.fsync(handle)


def _cannot(path: Path, found: str) -> CannotNoteError:
    return CannotNoteError(
        Problem(Where(str(path)), "", found, "a journal to write into", "nothing was noted")
    )
