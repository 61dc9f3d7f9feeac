"""Read journal.csv: what happened, corrections resolved, and everything that is wrong with it."""

import hashlib
from collections import Counter
from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

from cropcal.problems import Problem, Where
from cropcal.reading.files.plain_file import read_bytes
from cropcal.reading.journal.cells import day_of, value_in
from cropcal.reading.journal.checks import mistakes
from cropcal.reading.journal.corrections import resolve_corrections
from cropcal.reading.journal.event_words import (
    LOGGED_EVENTS,
    event_of,
    nearest_event,
    unit_of,
)
from cropcal.reading.journal.lines import (
    COLUMNS,
    ID_LENGTH,
    ID_LETTERS,
    LINES_REMEMBERED,
    split_journal,
)
from cropcal.reading.text.csv_cells import Bad
from cropcal.reading.text.source import in_order, shorten
from cropcal.reading.text.suggestions import one_of
from cropcal.records.journal import Entry, Journal, Torn
from cropcal.spreadsheets import as_typed

FILE_NAME = "journal.csv"
_OTHERS = tuple(name for name in COLUMNS if name not in ("on", "event", "unit"))
_FIELD = {"from": "starts", "until": "ends"}


def read_journal(path: Path, today: date | None = None) -> tuple[Journal, list[Problem]]:
    """Return what a journal file says, and its problems; no file is an empty journal.

    Parameters
    ----------
    path
        The journal.csv.
    today
        Events after this day are a problem; not looked at if None.
    """
    try:
        data = read_bytes(path)
    except FileNotFoundError:
        return Journal(), []
    except OSError as error:
        why = (error.strerror or "an error").lower()
        return Journal(), [Problem(Where(str(path)), "", why, "a CSV file to read")]
    return parse_journal(data, str(path), today)


def parse_journal(data: bytes, path: str, today: date | None = None) -> tuple[Journal, list[Problem]]:
    """Return what the bytes of a journal say, and every problem as ``path:line:``.

    A line with a problem is no entry; all others are. Half lines are set aside in ``torn`` and are no
    problem: see ``torn_notes``.
    """
    split, problems = split_journal(data, path)
    if split.form is None:
        return Journal(torn=split.torn), problems
    entries: list[Entry] = []
    for line in split.lines:
        cells = tuple((name, cell) for name, cell in line.cells.items() if cell)
        entry, slips = _entry(cells, Where(path, line.number), split.form.delimiter, today)
        problems += slips
        if entry is not None:
            entries.append(entry)
    named = _with_ids(entries)
    events, unresolved = resolve_corrections(named, path)
    journal = Journal(entries=tuple(named), events=events, torn=split.torn)
    return journal, in_order([*problems, *unresolved])


def torn_notes(torn: Iterable[Torn], path: str) -> list[Problem]:
    """Return a note about each half line: a crash left it, and it is still in the file."""
    return [
        Problem(
            Where(path, line.line),
            "",
            f'half a line, set aside: "{shorten(line.text)}"',
            "a whole one",
            "note it again if it is missing, then take this line out",
        )
        for line in torn
    ]


@lru_cache(maxsize=LINES_REMEMBERED)
def _entry(
    filled: tuple[tuple[str, str], ...], where: Where, delimiter: str, today: date | None
) -> tuple[Entry | None, tuple[Problem, ...]]:
    cells, decimal_comma = dict(filled), delimiter != ","
    problems: list[Problem] = []
    values: dict[str, Any] = {}

    def bad(column: str, text: str, why: Bad) -> None:
        found = f'"{shorten(text)}"' if text else "nothing"
        problems.append(Problem(where, column, found, why.expected, why.hint))

    for column in _OTHERS:
        if text := cells.get(column, ""):
            value = value_in(column, text, decimal_comma=decimal_comma)
            if isinstance(value, Bad):
                bad(column, text, value)
            else:
                values[_FIELD.get(column, column)] = value
    text = cells.get("event", "")
    event = event_of(text)
    if event is None:
        near = nearest_event(text) if text else None
        bad("event", text, Bad(one_of(LOGGED_EVENTS), f'did you mean "{near}"?' if near else ""))
    text = cells.get("on", "")
    written_at = values.get("written_at")
    on = day_of(text, written_at.date() if written_at else today)
    if isinstance(on, Bad):
        bad("on", text, on)
    elif today is not None and on > today:
        bad("on", text, Bad(f"a day up to today, {today.isoformat()}"))
    if text := cells.get("unit", ""):
        unit = as_typed(text) if event == "bill" else unit_of(text)
        if unit is None:
            bad("unit", text, Bad("a unit like heads, g or sites"))
        values["unit"] = unit or ""
    if problems or event is None or isinstance(on, Bad):
        return None, tuple(problems)
    entry = Entry(on=on, event=event, line=where.line, **values)
    slips = mistakes(entry)
    return None if slips else entry, tuple(
        Problem(where, slip.key, slip.found, slip.expected, slip.hint) for slip in slips
    )


def _with_ids(entries: list[Entry]) -> list[Entry]:
    """Give lines typed by hand an id made from their content: it stays while the line is unchanged."""
    taken = {entry.id for entry in entries}
    repeats: Counter[str] = Counter()
    named = []
    for entry in entries:
        if not entry.id:
            # a column that came later counts only where it says something: ids stay as they were
            later = {name for name in ("sure", "kwh") if not getattr(entry, name)}
            content = entry.model_dump_json(exclude={"id", "line", "written_at"} | later)
            while True:
                repeats[content] += 1
                name = id_from(
                    int.from_bytes(hashlib.sha256(f"{repeats[content]} {content}".encode()).digest())
                )
                if name not in taken:
                    break
            taken.add(name)
            entry = entry.model_copy(update={"id": name})
        named.append(entry)
    return named


def id_from(number: int) -> str:
    """Return an id made from a large number."""
    letters = ""
    for _ in range(ID_LENGTH):
        number, place = divmod(number, len(ID_LETTERS))
        letters += ID_LETTERS[place]
    return letters
