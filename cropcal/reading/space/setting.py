"""``--set KEY=VALUE``: a space file's data with other values in place."""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from cropcal.problems import Problem, Where
from cropcal.reading.space.setting_key import (
    TABLES,
    UnclearError,
    split_option,
    table_name,
)
from cropcal.reading.space.setting_value import NoValueError, read_value
from cropcal.reading.text.key_types import fields
from cropcal.reading.text.source import SourceText, shorten
from cropcal.reading.text.suggestions import did_you_mean
from cropcal.reading.text.toml_locations import KeyPath, Location, find_locations
from cropcal.records.values import Change

EXCLUSIVE_KEYS: Final[Mapping[str, tuple[tuple[frozenset[str], ...], ...]]] = {
    "zone": (
        (frozenset({"lit"}), frozenset({"photoperiod_h"})),
        (
            frozenset({"air_c"}),
            frozenset({"lamp_on_air_c", "lamp_off_air_c"}),
            frozenset({"room_c", "fan_m3_h", "loss_w_per_k"}),
        ),
    ),
    "plan": ((frozenset({"sow"}), frozenset({"service"})),),
    "bed": ((frozenset({"sites"}), frozenset({"rows", "columns"})),),
    "reading": ((frozenset({"umol_m2_s"}), frozenset({"lux"})),),
    "load": (
        (
            frozenset({"always"}),
            frozenset({"hours_per_day"}),
            frozenset({"on"}),
            frozenset({"on_minutes", "every_minutes"}),
        ),
    ),
    "tariff.rate": ((frozenset({"per_kwh"}), frozenset({"blocks"})),),
}
"""By table, groups of keys that exclude each other: a tried key takes the keys of the other groups out."""


@dataclass(frozen=True)
class Setting:
    """One ``--set``, understood: the option as typed, the place it means, its value (None: taken out).

    ``toml`` is the value as it would stand in a file.
    """

    option: str
    path: KeyPath
    text: str
    value: Any
    toml: str


def with_settings(
    source: SourceText, options: Sequence[str]
) -> tuple[SourceText, tuple[Change, ...], list[Problem]]:
    """Return a file's data as if other values stood in it; the file itself is not touched.

    Parameters
    ----------
    source
        The file as it stands.
    options
        ``KEY=VALUE`` as typed. KEY is a dotted key; a table of an array is given by its name, in quotes or
        not, by its number from 1, or is left out where there is only one.

    Returns
    -------
    source, changes, problems
        The file with the values in place, what that changes, and every option that cannot be understood.
        A value of the wrong kind is no problem here: the checks of the file report it.
    """
    settings, problems = understood(source, options)
    return (source, (), problems) if problems else (*_in_place(source, settings), [])


def understood(source: SourceText, options: Sequence[str]) -> tuple[list[Setting], list[Problem]]:
    """Return each ``KEY=VALUE`` understood, and a problem for each that is not."""
    settings: list[Setting] = []
    problems = []
    for text in options:
        option = f"--set {shorten(text)}"
        try:
            setting = _parse_setting(source, text, option)
            if any(setting.path == other.path for other in settings):
                raise UnclearError(f"{source.name(setting.path)} twice", "each key once")
            settings.append(setting)
        except UnclearError as unclear:
            problems.append(Problem(Where(option), "", unclear.found, unclear.expected, unclear.hint))
    return settings, problems


def blame(problems: Sequence[Problem], source: SourceText, options: Sequence[str]) -> list[Problem]:
    """Return the problems, those at other places of the file marked as caused by the tried values."""
    if not options:
        return [*problems]
    tried = f"with --set {shorten(options[0])}" if len(options) == 1 else "with the values that are tried"
    blamed = []
    for problem in problems:
        hint = problem.hint
        if problem.where.path == source.path:
            hint = f"{hint}, {tried}" if hint else tried
        elif not {*problem.found} & {*"\"'"}:  # no quotes were typed, so a hint about them is of no use
            hint = (
                hint.replace("a number, without quotes", "")
                .replace(", without quotes", "")
                .replace(" and no quotes", "")
            )
        blamed.append(replace(problem, hint=hint))
    return blamed


def _parse_setting(source: SourceText, text: str, option: str) -> Setting:
    path, key, value_text = split_option(source, text)
    kind = fields(TABLES[table_name(path)]).get(key)
    try:
        value, toml = read_value(value_text, kind)
    except NoValueError:
        hint = "close every bracket, and put single quotes around all of it"
        raise UnclearError(shorten(value_text), "a value as in the file", hint) from None
    if kind is not None and kind.sort == "list" and isinstance(value, str) and "," in value:
        raise UnclearError(shorten(value), "a list in brackets", f"write [{shorten(value)}]")
    setting = Setting(option, (*path, key), value_text.strip(), value, toml)
    if value is None and source.get(setting.path) is None:
        there = source.get(path)
        hint = did_you_mean(key, list(there) if isinstance(there, dict) else [])
        raise UnclearError(f"no {source.name(setting.path)} to take out", "a key that the file has", hint)
    return setting


def _in_place(source: SourceText, settings: Sequence[Setting]) -> tuple[SourceText, tuple[Change, ...]]:
    """Return the data with every setting in it, and what that changes."""
    data, spots = copy.deepcopy(dict(source.data)), dict(source.spots)
    tried_paths = {setting.path for setting in settings}
    changes = []
    for setting in settings:
        *table_path, key = setting.path
        line = source.where(setting.path).line or 1
        table = _opened(data, table_path, spots, Location(line, "", setting.option))
        if not isinstance(table, dict):
            continue  # no table at all, which the checks of the file report
        for other in _excluded(setting, str(key)):
            path = (*table_path, other)
            if other in table and path not in tried_paths:
                del table[other]
                changes.append(_change(source, path, None, str(key)))
                _forget(spots, path)
        _forget(spots, setting.path)
        if setting.value is None:
            del table[str(key)]
            changes.append(_change(source, setting.path, None))
            continue
        table[str(key)] = setting.value
        changes.append(_change(source, setting.path, setting.text))
        spots |= _spots(setting, line)
    return SourceText(source.path, spots, data), tuple(changes)


def _excluded(setting: Setting, key: str) -> list[str]:
    """Return the keys that a tried key excludes."""
    if setting.value is None:
        return []
    return sorted(
        other
        for ways in EXCLUSIVE_KEYS.get(table_name(setting.path[:-1]), ())
        if any(key in way for way in ways)
        for way in ways
        if key not in way
        for other in way
    )


def _opened(data: Any, path: Sequence[str | int], spots: dict[KeyPath, Location], at: Location) -> Any:
    """Return the table at a path; one that occurs once, and is left out of the file, is put there."""
    table = data
    for depth, part in enumerate(path, 1):
        if not isinstance(table, dict | list):
            return None
        if isinstance(table, dict) and part not in table:
            table[part] = {}
            spots[tuple(path[:depth])] = at
        table = table[part]  # type: ignore[index]
    return table


def _forget(spots: dict[KeyPath, Location], path: KeyPath) -> None:
    for known in [known for known in spots if known[: len(path)] == path]:
        del spots[known]


def _change(source: SourceText, path: KeyPath, now: str | None, because: str = "") -> Change:
    before = " ".join(source.spots[path].text.split()) if path in source.spots else None
    return Change(key=source.name(path), before=before, now=now, because=because)


def _spots(setting: Setting, line: int) -> dict[KeyPath, Location]:
    """Return the places of a value and of all inside it: the option itself."""
    inside = find_locations(f"value = {setting.toml}\n")
    return {
        (*setting.path, *path[1:]): Location(line, spot.text if path[1:] else setting.text, setting.option)
        for path, spot in inside.items()
    }
