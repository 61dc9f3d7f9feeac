"""What a form of the space asks for: the keys that were changed in it, and their values for the file."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from cropcal.reading.interview.answers import AskBack
from cropcal.reading.space.setting_key import TABLES as RECORDS
from cropcal.reading.space.setting_value import NoValueError, read_value
from cropcal.reading.text.key_types import fields
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.reading.text.toml_value import toml_value
from cropcal.records.crop import CropTables
from cropcal.serve.space_cards import INNER, NEW, ROWS, Tried, is_form, path_of, source_of, table_of
from cropcal.serve.space_values import has_choices, how_of, text_of, typed

FIELD = "f."
"""Before the key in the name of a field; a tick has its number behind it."""
GONE = "This is not in the file any more: it was taken out or moved meanwhile. Nothing was written."
OLD = "This page was shown too long ago. Look at it again. Nothing was written."


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
class TypedForm:
    """One form: its table, the texts it was shown from and is applied to, and what was typed."""

    at: str
    path: KeyPath
    shown: Mapping[str, Any]
    now: Mapping[str, Any]
    typed: Mapping[str, str]
    changed: Mapping[str, str] = field(default_factory=dict)


class RefusedError(Exception):
    """A form cannot be answered; ``said`` is why."""

    def __init__(self, said: Said) -> None:
        super().__init__()
        self.said = said


def asked_of(form: Mapping[str, str], base: str | None, text: str) -> TypedForm:
    """Return what a form asks for: the keys that were changed in it, and its place in the text now.

    Parameters
    ----------
    form
        Its fields.
    base
        The text that it was shown from, None if that is not known any more.
    text
        The text as it is now.

    Raises
    ------
    RefusedError
        If its table is gone, or another value was put meanwhile where one was typed.
    """
    at = form.get("at", "")
    table = table_of(at)
    if base is None:
        raise RefusedError(Said(mistakes=(OLD,)))
    shown, now = source_of(base, ""), source_of(text, "")
    row = shown.get(path_of(at)) if is_form(at) else None
    row = {} if row is None and is_form(at) and (table not in ROWS or at.endswith(NEW)) else row
    if not isinstance(row, dict):
        raise RefusedError(Said(mistakes=(GONE,)))
    values = _typed_fields(table, form)
    if at.endswith(f".{NEW}"):
        rows = now.get(path_of(table))
        path = (*path_of(table), len(rows) if isinstance(rows, list) else 0)
        return TypedForm(
            at, path, {}, now.data, values, {key: value for key, value in values.items() if value}
        )
    path = path_of(at)
    if base != text:
        path = _moved(shown.data, now.data, path)
    there = now.get(path) or {}
    changed = {}
    for key, value in values.items():
        former = _as_shown(table, key, row.get(key))
        if _is_ticks(table, key):
            value = _in_order_of(row.get(key), value)
        if value != former:
            changed[key] = value
    values = {key: changed.get(key, _as_shown(table, key, there.get(key))) for key in values}
    asked = TypedForm(_at(path), path, row, now.data, values, changed)
    _refuse_both(asked, there, table, name_of(text))
    return asked


def _is_ticks(table: str, key: str) -> bool:
    kind = fields(RECORDS[table])[key]
    return kind.sort == "list" and has_choices(table, key, kind)


def _refuse_both(asked: TypedForm, now: Mapping[str, Any], table: str, base: str) -> None:
    """Refuse a value where another one was put meanwhile: both are shown, the typed one in its field."""
    mistakes = {}
    for key, value in asked.changed.items():
        there = _as_shown(table, key, now.get(key))
        if there not in (_as_shown(table, key, asked.shown.get(key)), value):
            mistakes[key] = (
                f"The file was changed meanwhile: it has {_shown(there) or 'nothing'} here, "
                f"you typed {_shown(value) or 'nothing'}. Press once more for yours."
            )
    if mistakes:
        tried = Tried(asked.at, asked.typed, mistakes, base=base)
        raise RefusedError(
            Said(mistakes=("The file was changed meanwhile. Nothing was written.",), tried=tried)
        )


def _as_shown(table: str, key: str, value: Any) -> str:
    kind = fields(RECORDS[table])[key]
    return text_of(value, kind, key, how_of(table, key, kind))


def options_of(asked: TypedForm, tables: CropTables) -> tuple[list[str], dict[str, Any], dict[str, str]]:
    """Return ``KEY=VALUE`` of what was changed, the values themselves, and what is not understood."""
    table = table_of(asked.at)
    start = "".join(f"[{part + 1}]" if isinstance(part, int) else f".{part}" for part in asked.path)[1:]
    options, values, mistakes = [], {}, {}
    crops = {crop.name.casefold(): slug for slug, crop in tables.crops.items()}
    for key, text in asked.changed.items():
        kind = fields(RECORDS[table])[key]
        is_list = kind.sort == "list" and has_choices(table, key, kind)
        try:
            value = text if is_list else typed(text, kind, key, lambda name: crops.get(name.casefold(), name))
            read, _ = read_value(value, kind)
        except AskBack as error:
            mistakes[key] = f"{capital(str(error))}."
            continue
        except NoValueError:
            mistakes[key] = "Brackets or quotes in it do not close."
            continue
        options.append(f"{start}.{key}={value}")
        if read is not None:
            values[key] = read
    return options, values, mistakes


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
    before, after = (rows_at(data, path[:-1]) for data in (shown, now))
    if path[-1] >= len(before):
        raise RefusedError(Said(mistakes=(GONE,)))
    row = before[path[-1]]
    same = [place for place, other in enumerate(after) if other == row]
    named = [
        place for place, other in enumerate(after) if row.get("name") and other.get("name") == row["name"]
    ]
    if len(same) == 1 or len(named) == 1:
        return (*path[:-1], same[0] if len(same) == 1 else named[0])
    if len(before) == len(after) and not row.get("name"):
        return path
    raise RefusedError(Said(mistakes=(GONE,)))


def rows_at(data: Mapping[str, Any], path: KeyPath) -> list[Any]:
    """Return the rows of a table in the data of a file, [] if it has none."""
    value: Any = data
    for part in path:
        value = value.get(part, {}) if isinstance(value, dict) else {}
    return value if isinstance(value, list) else []


def _at(path: KeyPath) -> str:
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in path)


def _shown(text: str) -> str:
    """Return a text of a field on one line, a list without its brackets."""
    return plain_text(" / ".join(text.split("\n")))


def plain_text(text: str) -> str:
    """Return a value of the file without the brackets and quotes around it."""
    return text.strip('[]"').replace('", "', ", ") if text[:1] in '["' else text


def capital(text: str) -> str:
    """Return a text that begins as a sentence does."""
    return text[:1].upper() + text[1:]


def name_of(text: str) -> str:
    """Return a short name of a text, by which a form says what it was shown from."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:20]
