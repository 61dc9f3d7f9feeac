"""A space file's text with other values in it, as it would be kept."""

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cropcal.problems import Problem, Where
from cropcal.reading.space.setting import with_settings
from cropcal.reading.text.source import SourceText
from cropcal.reading.text.toml_edit import CannotEditError, edited
from cropcal.reading.text.toml_locations import find_locations
from cropcal.records.values import Change


@dataclass(frozen=True)
class Rewritten:
    """A text with other values, what they change, and ``KEY=VALUE`` that bring the former ones back."""

    text: str
    changes: tuple[Change, ...] = ()
    undo: tuple[str, ...] = ()


def rewritten(text: str, options: Sequence[str], shown_path: str) -> tuple[Rewritten | None, list[Problem]]:
    """Return the text of a space file with values in place; its comments and its order stay.

    Parameters
    ----------
    text
        The file: valid TOML.
    options
        ``KEY=VALUE`` as for ``--set``; an empty value takes the key out.
    shown_path
        How to name the file in problems.
    """
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n")
    source = SourceText(shown_path, find_locations(plain), tomllib.loads(plain))
    tried, changes, problems = with_settings(source, options)
    if problems:
        return None, problems
    try:
        new = edited(text, tried.data)
    except CannotEditError:
        return None, [cannot_edit(shown_path)]
    undo = tuple(f"{change.key}={change.before or ''}" for change in changes)
    return Rewritten(new, changes, undo), []


def with_data(text: str, data: Mapping[str, Any], shown_path: str) -> tuple[Rewritten | None, list[Problem]]:
    """Return the text of a space file that holds other data; its comments and its order stay."""
    try:
        return Rewritten(edited(text, data)), []
    except CannotEditError:
        return None, [cannot_edit(shown_path)]


def cannot_edit(shown_path: str) -> Problem:
    """Return the problem of a change that has no place in a file as it is written."""
    return Problem(Where(shown_path), "", "a table written with dotted keys", "the change made by hand")
