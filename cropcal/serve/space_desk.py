"""Change space.toml by a form: tried first or kept at once, by the checks of the file, all or not at all."""

import copy
import hashlib
import threading
import tomllib
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from cropcal.problems import Problem
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.files.plain_file import read_bytes
from cropcal.reading.interview.answers import AskBack
from cropcal.reading.journal.read import FILE_NAME as JOURNAL
from cropcal.reading.journal.read import read_journal
from cropcal.reading.space.read import read_space, read_space_text, read_space_text_with
from cropcal.reading.space.rewrite import Rewritten, rewritten, with_data
from cropcal.reading.space.setting_key import TABLES as RECORDS
from cropcal.reading.space.setting_value import NoValueError, read_value
from cropcal.reading.text.key_types import fields
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.reading.text.toml_value import toml_value
from cropcal.records.crop import CropTables
from cropcal.season import clock
from cropcal.season.edit import space_file, write_if_same
from cropcal.season.errors import SpaceError
from cropcal.season.load import folder_of
from cropcal.serve.space_page import (
    INNER,
    NEW,
    ROWS,
    Tried,
    along,
    is_form,
    path_of,
    source_of,
    table_of,
    text_of,
)
from cropcal.serve.space_values import has_choices, how_of, typed
from cropcal.serve.space_words import TABLES, unit_of, words_of

FIELD = "f."
"""Before the key in the name of a field; a tick has its number behind it."""
MOST_TEXTS = 100
MOST_ANSWERED = 200
GONE = "This is not in the file any more: it was taken out or moved meanwhile. Nothing was written."
OLD = "This page was shown too long ago. Look at it again. Nothing was written."
NOTHING = "Nothing was changed: the fields hold what the file holds."
NO_TRIAL = "There is nothing tried that could be kept: it was kept or thrown away in another window."
MEANWHILE = "space.toml was changed meanwhile, so what was tried was not kept."


@dataclass(frozen=True)
class Said:
    """What came of a form of the space.

    Attributes
    ----------
    words, mistakes
        What to say: what was changed, or why nothing was.
    tried
        What was typed and not taken.
    back
        Name of the text before, to which the file can go back.
    is_kept
        Whether the file was changed.
    """

    words: tuple[str, ...] = ()
    mistakes: tuple[str, ...] = ()
    tried: Tried | None = None
    back: str = ""
    is_kept: bool = False


@dataclass(frozen=True)
class Trial:
    """A text that is tried, the file it was made from, and what is different, in words."""

    text: str
    file: bytes
    changes: tuple[str, ...]


@dataclass(frozen=True)
class _Asked:
    """One form: its table, the texts it was shown from and is applied to, and what was typed."""

    at: str
    path: KeyPath
    shown: Mapping[str, Any]
    now: Mapping[str, Any]
    typed: Mapping[str, str]
    changed: Mapping[str, str] = field(default_factory=dict)


class _RefusedError(Exception):
    """A form cannot be answered; ``said`` is why."""

    def __init__(self, said: Said) -> None:
        super().__init__()
        self.said = said


class SpaceDesk:
    """Answers the forms of a space, one at a time, each once, and holds what is tried."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._turn = threading.RLock()
        self._answered: OrderedDict[str, Said] = OrderedDict()
        self._texts: OrderedDict[str, str] = OrderedDict()
        self._trial: Trial | None = None

    def answered(self, token: str) -> Said | None:
        """Return what came of the form with a token, None if nothing is known of it."""
        return self._answered.get(token)

    def trial(self) -> Trial | None:
        """Return what is tried."""
        return self._trial

    def text(self) -> tuple[str, str]:
        """Return the text that the form shows, with what is tried, and its name.

        Raises
        ------
        SpaceError
            If the file cannot be read, or is no TOML.
        """
        with self._turn:
            text = self._trial.text if self._trial else self._file().decode("utf-8")
            return text, self._remember(text)

    def tables(self) -> CropTables:
        """Return crops and lamps.

        Raises
        ------
        SpaceError
            If the space's own crops have mistakes.
        """
        tables, problems = read_crop_tables(folder_of(self.path))
        if tables is None:
            raise SpaceError(problems)
        return tables

    def is_stale(self) -> bool:
        """Return whether the file was changed since the trial began."""
        return self._trial is not None and self._file() != self._trial.file

    def change(self, token: str, form: Mapping[str, str], *, keep: bool) -> Said:
        """Change the values of one table, or add a row; ``keep``: write it, unless something is tried."""
        return self._once(token, lambda: self._changed(form, keep=keep))

    def take_out(self, token: str, form: Mapping[str, str], *, keep: bool) -> Said:
        """Take a row out, with what cannot be without it."""
        return self._once(token, lambda: self._taken_out(form, keep=keep))

    def keep(self, token: str) -> Said:
        """Write what is tried."""
        return self._once(token, self._kept)

    def drop(self, token: str) -> Said:
        """Throw away what is tried."""

        def dropped() -> Said:
            self._trial = None
            return Said(("Thrown away. The space is as it was.",))

        return self._once(token, dropped)

    def back(self, token: str, form: Mapping[str, str]) -> Said:
        """Put a former text back, if nobody changed the file since."""
        return self._once(token, lambda: self._put_back(form))

    def _once(self, token: str, answer: Callable[[], Said]) -> Said:
        with self._turn:
            known = self._answered.get(token)
            if known is None or known.mistakes:
                try:
                    self._answered[token] = answer()
                except _RefusedError as refused:
                    self._answered[token] = refused.said
                except SpaceError as error:
                    self._answered[token] = Said(mistakes=tuple(map(str, error.problems)))
                while len(self._answered) > MOST_ANSWERED:
                    self._answered.popitem(last=False)
            return self._answered[token]

    def _changed(self, form: Mapping[str, str], *, keep: bool) -> Said:
        file = self._file()
        text = self._trial.text if self._trial else file.decode("utf-8")
        asked = self._asked(form, text)
        options, values, mistakes = self._options(asked)
        words: tuple[str, ...] = ()
        tried = Tried(asked.at, asked.typed, mistakes, base=self._remember(text))
        if asked.at.endswith(f".{NEW}"):
            if not values and not mistakes:
                return Said(mistakes=("Nothing was typed, so nothing was added.",), tried=tried)
            data = copy.deepcopy(dict(asked.now))
            self._rows(data, asked.path[:-1]).append(values)
            words = (f"{_capital(TABLES[table_of(asked.at)].row)} added: {_in_short(asked)}.",)
            made, problems = with_data(text, data, "space.toml")
            found = self._problems(made.text) if made else problems
        else:
            if not asked.changed:
                return Said((NOTHING,))
            mistakes |= self._of_rename(asked)
            made, found = None, []
            if not mistakes:
                _, _, found = read_space_text_with(
                    text, self.tables(), options, "space.toml", today=clock.today()
                )
                made, problems = rewritten(text, options, "space.toml")
                words = self._words(asked, made)
                found = found or problems
        if mistakes or found or made is None:
            tried = replace(tried, problems=tuple(found))
            return Said(mistakes=("Nothing was written: see below.",), tried=tried)
        return self._done(file, text, made, words, keep=keep)

    def _taken_out(self, form: Mapping[str, str], *, keep: bool) -> Said:
        file = self._file()
        text = self._trial.text if self._trial else file.decode("utf-8")
        asked = self._asked(form, text)
        table = table_of(asked.at)
        data = copy.deepcopy(dict(asked.now))
        gone = [(table, asked.path[-1]), *along(data, asked.path)]
        if table in ("zone", "bed"):
            for name, place in gone:
                if name == "bed" and isinstance(place, int):
                    self._refuse_noted(str(data["bed"][place].get("name")))
        for name, place in sorted(gone, key=lambda one: -int(one[1])):
            rows = self._rows(data, path_of(name))
            del rows[int(place)]
            if not rows and name == "tariff.rate":
                del data["tariff"]
            elif not rows:
                del data[name]
        made, problems = with_data(text, data, "space.toml")
        found = self._problems(made.text) if made else problems
        if made is None or found:
            return Said(mistakes=("Nothing was taken out.", *map(_without_file, found)))
        names = [f"{TABLES[name].row} {_row_name(asked.now, name, int(place))}" for name, place in gone]
        return self._done(file, text, made, (f"Taken out: {', '.join(names)}.",), keep=keep)

    def _refuse_noted(self, bed: str) -> None:
        """Refuse to take out or rename a bed of which the journal has notes: they could not be read then."""
        count = self._notes_of(bed)
        if count:
            notes = f"{count} note{'s' if count > 1 else ''}"
            advice = 'Use "Out of use" of the bed instead'
            raise _RefusedError(
                Said(mistakes=(f"The journal has {notes} about {bed}, so it stays. {advice}.",))
            )

    def _of_rename(self, asked: _Asked) -> dict[str, str]:
        """Return what is wrong with another name for a bed of which the journal has notes."""
        old = asked.shown.get("name")
        if asked.at.split(".")[0] != "bed" or "name" not in asked.changed or not isinstance(old, str):
            return {}
        return (
            {"name": f"The journal has notes about {old}, so it keeps its name."}
            if self._notes_of(old)
            else {}
        )

    def _notes_of(self, bed: str) -> int:
        journal = read_journal(folder_of(self.path) / JOURNAL, None)[0]
        return sum(event.bed == bed for event in journal.events)

    def _done(self, file: bytes, text: str, made: Rewritten, words: Sequence[str], *, keep: bool) -> Said:
        """Write a new text, or hold it as what is tried."""
        before = self._trial
        if keep and before is None:
            write_if_same(space_file(self.path), file, made)
            name = self._remember(text)
            self._remember(made.text)
            return Said(tuple(words), back=name, is_kept=True)
        changes = (*(before.changes if before else ()), *words)
        self._trial = Trial(made.text, before.file if before else file, changes)
        return Said(("Tried. The file stays as it is until you keep it.",))

    def _kept(self) -> Said:
        trial = self._trial
        if trial is None:
            return Said(mistakes=(NO_TRIAL,))
        if self._file() != trial.file:
            return Said(mistakes=(MEANWHILE,))
        write_if_same(space_file(self.path), trial.file, Rewritten(trial.text))
        self._trial = None
        back = self._remember(trial.file.decode("utf-8"))
        return Said(trial.changes, back=back, is_kept=True)

    def _put_back(self, form: Mapping[str, str]) -> Said:
        former = self._texts.get(form.get("text", ""))
        file = self._file()
        if former is None or _name_of(file.decode("utf-8")) != form.get("base"):
            return Said(mistakes=("The file was changed meanwhile, so nothing was put back.",))
        write_if_same(space_file(self.path), file, Rewritten(former))
        return Said(("The space is as it was before.",), is_kept=True)

    def _asked(self, form: Mapping[str, str], text: str) -> _Asked:
        """Return what a form asks for: the keys that were changed in it, and its place in the text now."""
        at, base = form.get("at", ""), self._texts.get(form.get("base", ""))
        table = table_of(at)
        if base is None:
            raise _RefusedError(Said(mistakes=(OLD,)))
        shown, now = source_of(base, ""), source_of(text, "")
        row = shown.get(path_of(at)) if is_form(at) else None
        row = {} if row is None and is_form(at) and (table not in ROWS or at.endswith(NEW)) else row
        if not isinstance(row, dict):
            raise _RefusedError(Said(mistakes=(GONE,)))
        values = _typed_fields(table, form)
        if at.endswith(f".{NEW}"):
            rows = now.get(path_of(table))
            path = (*path_of(table), len(rows) if isinstance(rows, list) else 0)
            return _Asked(
                at, path, {}, now.data, values, {key: value for key, value in values.items() if value}
            )
        path = path_of(at)
        if base != text:
            path = _moved(shown.data, now.data, path)
        there = now.get(path) or {}
        changed = {}
        for key, value in values.items():
            former = self._as_shown(table, key, row.get(key))
            if self._is_ticks(table, key):
                value = _in_order_of(row.get(key), value)
            if value != former:
                changed[key] = value
        values = {key: changed.get(key, self._as_shown(table, key, there.get(key))) for key in values}
        asked = _Asked(_at(path), path, row, now.data, values, changed)
        self._refuse_both(asked, there, table, self._remember(text))
        return asked

    def _is_ticks(self, table: str, key: str) -> bool:
        kind = fields(RECORDS[table])[key]
        return kind.sort == "list" and has_choices(table, key, kind)

    def _refuse_both(self, asked: _Asked, now: Mapping[str, Any], table: str, base: str) -> None:
        """Refuse a value where another one was put meanwhile: both are shown, the typed one in its field."""
        mistakes = {}
        for key, value in asked.changed.items():
            there = self._as_shown(table, key, now.get(key))
            if there not in (self._as_shown(table, key, asked.shown.get(key)), value):
                mistakes[key] = (
                    f"The file was changed meanwhile: it has {_shown(there) or 'nothing'} here, "
                    f"you typed {_shown(value) or 'nothing'}. Press once more for yours."
                )
        if mistakes:
            tried = Tried(asked.at, asked.typed, mistakes, base=base)
            raise _RefusedError(
                Said(mistakes=("The file was changed meanwhile. Nothing was written.",), tried=tried)
            )

    def _as_shown(self, table: str, key: str, value: Any) -> str:
        kind = fields(RECORDS[table])[key]
        return text_of(value, kind, key, how_of(table, key, kind))

    def _options(self, asked: _Asked) -> tuple[list[str], dict[str, Any], dict[str, str]]:
        """Return ``KEY=VALUE`` of what was changed, the values themselves, and what is not understood."""
        table = table_of(asked.at)
        start = "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in asked.path)[1:]
        options, values, mistakes = [], {}, {}
        crops = {crop.name.casefold(): slug for slug, crop in self.tables().crops.items()}
        for key, text in asked.changed.items():
            kind = fields(RECORDS[table])[key]
            is_list = kind.sort == "list" and has_choices(table, key, kind)
            try:
                value = (
                    text if is_list else typed(text, kind, key, lambda name: crops.get(name.casefold(), name))
                )
                read, _ = read_value(value, kind)
            except AskBack as error:
                mistakes[key] = f"{_capital(str(error))}."
                continue
            except NoValueError:
                mistakes[key] = "Brackets or quotes in it do not close."
                continue
            options.append(f"{start}.{key}={value}")
            if read is not None:
                values[key] = read
        return options, values, mistakes

    def _words(self, asked: _Asked, made: Rewritten | None) -> tuple[str, ...]:
        """Return what a form changed, key by key, in the words of its fields."""
        table = table_of(asked.at)
        name = (
            ""
            if len(asked.path) < 2 or not isinstance(asked.path[-1], int)
            else _row_name(asked.now, table, asked.path[-1])
        )
        where = f"{TABLES[table].row} {name}".strip()
        lines = []
        for change in made.changes if made else ():
            key = change.key.rpartition(".")[2]
            label = words_of(table, key).label
            unit = f" {unit_of(key)}" if unit_of(key) else ""
            was = "not given" if change.before is None else f"{_plain_text(change.before)}{unit}"
            now = "taken out" if change.now is None else f"{_plain_text(change.now)}{unit}"
            because = f", because of {words_of(table, change.because).label}" if change.because else ""
            lines.append(f"{_capital(where)}, {label}: {now} (was {was}{because}).")
        return tuple(lines)

    def _problems(self, text: str) -> list[Problem]:
        return read_space_text(text, self.tables(), "space.toml", today=clock.today())[1]

    def _rows(self, data: dict[str, Any], path: KeyPath) -> list[Any]:
        """Return the list of rows of a table, put there if there is none."""
        *outer, last = path
        holder: Any = data
        for part in outer:
            holder = holder.setdefault(part, {})
        rows: list[Any] = holder.setdefault(last, [])
        return rows

    def _file(self) -> bytes:
        """Return the bytes of the file, which is TOML."""
        file = space_file(self.path)
        try:
            data = read_bytes(file)
            tomllib.loads(data.decode("utf-8").removeprefix("\ufeff"))
        except (OSError, ValueError, RecursionError):
            raise SpaceError(read_space(file, self.tables(), today=clock.today())[1]) from None
        return data

    def _remember(self, text: str) -> str:
        name = _name_of(text)
        self._texts[name] = text
        self._texts.move_to_end(name)
        while len(self._texts) > MOST_TEXTS:
            self._texts.popitem(last=False)
        return name


def _typed_fields(table: str, form: Mapping[str, str]) -> dict[str, str]:
    """Return the text of each field of a table; ticks that are missing were not set."""
    values = {}
    for key, kind in fields(RECORDS[table]).items():
        if (table, key) in INNER:
            continue
        if kind.sort == "list" and has_choices(table, key, kind):
            ticks = [
                (int(name.rpartition(":")[2]), value)
                for name, value in form.items()
                if name.startswith(f"{FIELD}{key}:") and name.rpartition(":")[2].isdecimal() and value
            ]
            values[key] = toml_value([value for _, value in sorted(ticks)]) if ticks else ""
        else:
            values[key] = form.get(f"{FIELD}{key}", "").replace("\r\n", "\n").strip()
    return values


def _in_order_of(former: Any, ticked: str) -> str:
    """Return ticked values in the order in which the file had them, new ones behind."""
    if not ticked or not isinstance(former, list):
        return ticked
    values = read_value(ticked, None)[0]
    kept = [value for value in former if value in values]
    return toml_value([*kept, *(value for value in values if value not in kept)]) if kept else ticked


def _moved(shown: Mapping[str, Any], now: Mapping[str, Any], path: KeyPath) -> KeyPath:
    """Return where a table of a former text stands now."""
    if not isinstance(path[-1], int):
        return path
    before, after = (_rows_at(data, path[:-1]) for data in (shown, now))
    if path[-1] >= len(before):
        raise _RefusedError(Said(mistakes=(GONE,)))
    row = before[path[-1]]
    same = [place for place, other in enumerate(after) if other == row]
    named = [
        place for place, other in enumerate(after) if row.get("name") and other.get("name") == row["name"]
    ]
    if len(same) == 1 or len(named) == 1:
        return (*path[:-1], same[0] if len(same) == 1 else named[0])
    if len(before) == len(after) and not row.get("name"):
        return path
    raise _RefusedError(Said(mistakes=(GONE,)))


def _rows_at(data: Mapping[str, Any], path: KeyPath) -> list[Any]:
    value: Any = data
    for part in path:
        value = value.get(part, {}) if isinstance(value, dict) else {}
    return value if isinstance(value, list) else []


def _at(path: KeyPath) -> str:
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def _name_of(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:20]


def _row_name(data: Mapping[str, Any], table: str, place: int) -> str:
    rows = _rows_at(data, path_of(table))
    row = rows[place] if place < len(rows) and isinstance(rows[place], dict) else {}
    crops = row.get("crops")
    if isinstance(crops, list):
        return " or ".join(map(str, crops))
    over = next((f"over {row[key]}" for key in ("zone", "bed") if isinstance(row.get(key), str)), "")
    return str(row.get("name") or row.get("crop") or over or place + 1)


def _in_short(asked: _Asked) -> str:
    return _shown(asked.typed.get("name") or next((value for value in asked.changed.values()), ""))


def _shown(text: str) -> str:
    """Return a text of a field on one line, a list without its brackets."""
    return _plain_text(" / ".join(text.split("\n")))


def _plain_text(text: str) -> str:
    return text.strip('[]"').replace('", "', ", ") if text[:1] in '["' else text


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _without_file(problem: Problem) -> str:
    return str(problem).removeprefix(f"{problem.where}:").strip()
