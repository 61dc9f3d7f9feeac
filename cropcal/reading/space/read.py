"""Read a space: a folder with ``space.toml``, or that file, into a record or a list of all its problems."""

import codecs
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from cropcal.problems import Problem, Where
from cropcal.reading.files.plain_file import read_bytes
from cropcal.reading.space.checks.all import check, doubts
from cropcal.reading.space.defaults import fill_in, first_day
from cropcal.reading.space.draft import read_draft
from cropcal.reading.space.setting import blame, with_settings
from cropcal.reading.text.crop_names import crops_named
from cropcal.reading.text.source import SourceText, in_order
from cropcal.reading.text.toml_locations import find_locations
from cropcal.reading.text.toml_syntax import syntax_problem
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.records.values import Change

FILE_NAME = "space.toml"
NEW = "cropcal new writes one"
DEEPEST = 12
"""Deepest nesting of tables and lists; a valid space file has half of that."""
_PARTS = re.compile(r"[.\[{]")
UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def read_space(
    path: Path, tables: CropTables, shown_path: str | None = None, *, today: date
) -> tuple[Space | None, list[Problem]]:
    """Read a space and report everything that is wrong with it.

    Parameters
    ----------
    path
        The folder, or the ``space.toml`` itself.
    tables
        The crop and lamp tables its names are looked up in.
    shown_path
        How to name the file in problems; left out, the path of the file as given.
    today
        Day of the reader's calendar: a plan without a start begins on the Monday from there on.

    Returns
    -------
    space, problems
        The space and no problems, or None and all problems, sorted by line. Never raises for
        anything a user can write.
    """
    text, shown, problems = _read_text(path, shown_path)
    if text is None:
        return None, problems
    return read_space_text(text, tables, shown, today=today)


def read_space_text(
    text: str, tables: CropTables, shown_path: str = FILE_NAME, *, today: date
) -> tuple[Space | None, list[Problem]]:
    """Read a space from the text of a ``space.toml``; otherwise as ``read_space``."""
    source, problems = _source(text, shown_path)
    return (None, problems) if source is None else _space(source, tables, today)


def read_space_with(
    path: Path, tables: CropTables, options: Sequence[str], shown_path: str | None = None, *, today: date
) -> tuple[Space | None, tuple[Change, ...], list[Problem]]:
    """Read a space as if other values stood in its file; otherwise as ``read_space``.

    Parameters
    ----------
    options
        ``KEY=VALUE`` as typed on the command line.

    Returns
    -------
    space, changes, problems
        The space with these values, what they change in the file, and all problems: those of a tried
        value have the option as their place.
    """
    text, shown, problems = _read_text(path, shown_path)
    if text is None:
        return None, (), problems
    return read_space_text_with(text, tables, options, shown, today=today)


def read_space_text_with(
    text: str, tables: CropTables, options: Sequence[str], shown_path: str = FILE_NAME, *, today: date
) -> tuple[Space | None, tuple[Change, ...], list[Problem]]:
    """Read a space from the text of a ``space.toml`` with other values; else as ``read_space_with``."""
    source, problems = _source(text, shown_path)
    if source is None:
        return None, (), problems
    tried, changes, problems = with_settings(source, options)
    if problems:
        return None, (), problems
    space, problems = _space(tried, tables, today)
    return space, changes, blame(problems, source, options)


def _source(text: str, shown_path: str) -> tuple[SourceText | None, list[Problem]]:
    """Return a text as data with its places, or why it is no TOML."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    try:
        data = tomllib.loads(text)
        if _is_deep(data):
            return None, [_too_deep(shown_path, text)]
        spots = find_locations(text)
    except (ValueError, RecursionError) as error:  # the latter: brackets without end
        return None, [syntax_problem(shown_path, text, error)]
    if not data:
        expected = "at least a [[zone]], a [[bed]], a [[fixture]] and a [[want]]"
        return None, [Problem(Where(shown_path), "", "an empty file", expected, NEW)]
    return SourceText(shown_path, spots, data), []


def _is_deep(data: Any) -> bool:
    """Return whether tables and lists are nested deeper than in any space file."""
    level = [data]
    for _ in range(DEEPEST):
        level = [
            inner
            for outer in level
            for inner in (outer.values() if isinstance(outer, dict) else outer)
            if isinstance(inner, dict | list)
        ]
    return bool(level)


def _too_deep(shown_path: str, text: str) -> Problem:
    lines = text.splitlines()
    deep = (at for at, line in enumerate(lines, 1) if len(_PARTS.findall(line)) >= DEEPEST)
    found = "keys or brackets nested too deep"
    return Problem(Where(shown_path, next(deep, None)), "", found, "tables like [[zone]], with keys in them")


def _space(source: SourceText, tables: CropTables, today: date) -> tuple[Space | None, list[Problem]]:
    """Return the data as a space, or everything that is wrong with it."""
    source = replace(source, data=_with_slugs(source.data, tables))
    draft, problems = read_draft(source, tables, first_day(today))
    problems = in_order([*problems, *check(draft)])
    if problems:
        return None, problems
    return fill_in(draft).model_copy(update={"doubts": tuple(in_order(doubts(draft)))}), []


def _with_slugs(data: Mapping[str, Any], tables: CropTables) -> dict[str, Any]:
    """Return the data with slugs for the names of crops that are clear; others stay as they are."""

    def slug_of(name: Any) -> Any:
        slugs = crops_named(name, tables) if isinstance(name, str) else ()
        return slugs[0] if len(slugs) == 1 else name

    def named(key: str, value: Any) -> Any:
        if key == "cut_at_g" and isinstance(value, dict):
            return {slug_of(name): weight for name, weight in value.items()}
        if key not in ("crop", "crops"):
            return value
        return [slug_of(name) for name in value] if isinstance(value, list) else slug_of(value)

    return {
        table: [
            {key: named(key, value) for key, value in row.items()} if isinstance(row, dict) else row
            for row in rows
        ]
        if table in ("bed", "want", "growing", "seed") and isinstance(rows, list)
        else rows
        for table, rows in data.items()
    }


def _read_text(path: Path, shown_path: str | None) -> tuple[str | None, str, list[Problem]]:
    """Return the text of the file (None with a problem if there is none) and how to name the file."""
    shown = shown_path or str(path)
    line = None
    try:
        if path.is_dir() and path.name != FILE_NAME:
            path = path / FILE_NAME
            shown = shown_path or str(path)
        data = read_bytes(path)
        if data.startswith(UTF16):
            return (
                None,
                shown,
                [Problem(Where(shown), "", "text saved as UTF-16", "UTF-8", "save it as UTF-8")],
            )
        return data.decode("utf-8"), shown, []
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        found = f"a byte that is not UTF-8 (0x{error.object[error.start]:02x})"
        hint = "save the file as UTF-8"
        return None, shown, [Problem(Where(shown, line), "", found, "text in UTF-8", hint)]
    except FileNotFoundError:
        return (
            None,
            shown,
            [Problem(Where(shown), "", "no such file", "a space.toml, or a folder with one", NEW)],
        )
    except IsADirectoryError:
        return None, shown, [Problem(Where(shown), "", "a folder", "a file of that name")]
    except (OSError, ValueError) as error:  # a pipe; no right to read it; a name no file can have
        found = (getattr(error, "strerror", "") or "a file that cannot be read").lower()
        return None, shown, [Problem(Where(shown), "", found, "a file to read")]
