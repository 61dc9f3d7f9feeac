"""The KEY of ``--set KEY=VALUE``: which table and key of a space file it means."""

import json
import re
import tomllib
from collections.abc import Mapping
from typing import Final

from cropcal.reading.text.key_types import fields
from cropcal.reading.text.source import SourceText, quote, shorten
from cropcal.reading.text.suggestions import did_you_mean, nearest
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.reading.text.toml_mistakes import INNER, MANY, SINGLE
from cropcal.records.base import Record

TABLES: Final[Mapping[str, type[Record]]] = {**SINGLE, **MANY, **INNER}
EXAMPLE: Final = "KEY=VALUE like plan.weeks=10"
KNOWN_BY: Final[Mapping[str, str]] = {"fixture": "zone", "reading": "bed", "want": "crops"}
"""Key whose value identifies a table without a name on the command line, where it is unique."""

_QUOTED = re.compile(r"""\s*("(?:[^"\\]|\\.)*"|'[^']*')\s*""")
_KEY = re.compile(r"\s*([\w-]+)\s*=")
_NUMBERED = re.compile(r"\s*(?:\[\s*(\d+)\s*\]|\.\s*(\d+)(?=\s*[.=]))\s*")


class UnclearError(Exception):
    """What is wrong with a ``--set``: found, expected, hint."""

    def __init__(self, found: str, expected: str, hint: str = "") -> None:
        super().__init__(found)
        self.found, self.expected, self.hint = found, expected, hint


def split_option(source: SourceText, text: str) -> tuple[KeyPath, str, str]:
    """Return the path of the table that is meant, the key in it, and the text of the value.

    Parameters
    ----------
    source
        The file as it stands: its tables are identified by their names.
    text
        ``KEY=VALUE`` as typed.

    Raises
    ------
    UnclearError
        If it means no table of the file, or more than one.
    """
    if "=" not in text:
        hint = "no spaces around =; quotes around all of it if a name has spaces"
        raise UnclearError("no =", EXAMPLE, hint)
    path, rest = _table(source, text)
    return path, *_key(rest, text[: len(text) - len(rest)], table_name(path))


def table_name(path: KeyPath) -> str:
    """Return the name of the table at a path: "zone", "tariff.rate"."""
    return ".".join(part for part in path if isinstance(part, str))


def _key(rest: str, so_far: str, table: str) -> tuple[str, str]:
    """Return the key that stands before the = and the text behind it."""
    match = _KEY.match(rest)
    if match:
        return match[1], rest[match.end() :]
    quoted = _QUOTED.match(rest)
    if quoted and rest[quoted.end() : quoted.end() + 1] == "=":
        return _unquoted(quoted[1]), rest[quoted.end() + 1 :]
    written = rest.partition("=")[0].strip()
    whole = re.split(r"[.\[]", written)[0].strip()
    if whole != written and whole in fields(TABLES[table]):
        raise UnclearError(
            f"a part of {shorten(whole)}", "the whole value", f"as in {so_far}{shorten(whole)}=[...]"
        )
    expected = f"a key of {table}: {', '.join(fields(TABLES[table]))}"
    raise UnclearError(shorten(written) if written else "no key", expected)


def _table(source: SourceText, text: str) -> tuple[KeyPath, str]:
    """Return the path of the table that is meant, and what follows its dot."""
    head = re.match(r"\s*([\w-]+)\s*", text)
    name = head[1] if head else ""
    rest = text[head.end() :] if head else text
    if name not in SINGLE and name not in MANY:
        raise _no_table(source, text)
    if name == "tariff":
        rate = re.match(r"\.\s*rate\s*(?=[.\[])", rest)
        if rate:
            return _row(source, ("tariff", "rate"), rest[rate.end() :])
        name_text = rest.partition("=")[0].rpartition(".")[0].strip(" .\"'")
        if any(name_text in known for known in _handles(source, ("tariff", "rate"))):
            hint = f"did you mean tariff.rate.{quote(name_text)}?"
            raise UnclearError(f"no key {shorten(name_text)} of tariff", "a key or a rate of tariff", hint)
    if name in MANY:
        return _row(source, (name,), rest)
    inner = re.match(r"\.\s*prices\s*(?=\.)", rest) if name == "plan" else None
    if inner:
        return ("plan", "prices"), rest[inner.end() + 1 :]
    if not rest.startswith("."):
        raise UnclearError(
            f"no key of {name}", f"one of {', '.join(fields(TABLES[name]))}", f"{name}.KEY=VALUE"
        )
    return (name,), rest[1:]


def _no_table(source: SourceText, text: str) -> UnclearError:
    """Return the error for a key that does not begin with a table."""
    before, _, _ = text.partition("=")
    inside, _, key = before.rpartition(".")
    inside, key = inside.strip().strip("\"'"), key.strip()
    expected = f"a table first: {', '.join(TABLES)}"
    if not before.strip():
        return UnclearError("no key", EXAMPLE)
    if not inside:
        homes = [f"{table}.{key}" for table, record in TABLES.items() if key in fields(record)]
        hint = f"did you mean {' or '.join(homes)}?" if homes else EXAMPLE
        return UnclearError(f"the key {shorten(key)} without a table", expected, hint)
    for table in MANY:
        if key in fields(TABLES[table]) and any(inside in known for known in _handles(source, (table,))):
            hint = f"did you mean {table}.{quote(inside)}.{key}?"
            return UnclearError(f"{shorten(inside)} without its table", expected, hint)
    first = before.partition(".")[0].strip()
    meant = nearest(first, list(TABLES))
    return UnclearError(f"no table {shorten(first)}", expected, f'did you mean "{meant}"?' if meant else "")


def _row(source: SourceText, array: KeyPath, rest: str) -> tuple[KeyPath, str]:
    """Return the path of one table of an array, and what follows its dot."""
    table = ".".join(map(str, array))
    handles = _handles(source, array)
    if not handles:
        opened = f"[[{table}]]"
        raise UnclearError(f"no {opened} in the file", "a table in the file", f"write a {opened} first")
    place, after = _chosen(handles, rest, table)
    if place is None:
        if not rest.startswith("."):
            raise UnclearError(f"no key of {table}", f"one of {', '.join(fields(TABLES[table]))}")
        if len(handles) > 1:
            raise _which(handles, table, rest)
        return (*array, 0), rest[1:]
    if not after.startswith("."):
        keys = ", ".join(fields(TABLES[table]))
        raise UnclearError(f"no key behind the name of the {table}", f"a dot and one of {keys}")
    return (*array, place), after[1:]


def _handles(source: SourceText, array: KeyPath) -> list[list[str]]:
    """Return, for each table of an array, the names that identify it."""
    rows = source.get(array)
    known_by = KNOWN_BY.get(str(array[0]), "name")
    handles = []
    for row in rows if isinstance(rows, list) else []:
        value = row.get(known_by) if isinstance(row, dict) else None
        handles.append(
            [handle for handle in (value if isinstance(value, list) else [value]) if isinstance(handle, str)]
        )
    return handles


def _chosen(handles: list[list[str]], rest: str, table: str) -> tuple[int | None, str]:
    """Return the place of the table that a name or number selects, and the rest; None without either."""
    names = {name for row in handles for name in row}
    inside = rest[1:] if rest.startswith(".") else ""
    bare = inside.lstrip()
    fitting = [name for name in names if bare.startswith(name) and bare[len(name) :].lstrip().startswith(".")]
    if fitting:
        name = max(fitting, key=len)
        after = bare[len(name) :].lstrip()
        return _named(name, handles, table, after), after
    quoted = _QUOTED.match(inside)
    if quoted and (inside[quoted.end() : quoted.end() + 1] != "=" or _unquoted(quoted[1]) in names):
        after = inside[quoted.end() :]
        return _named(_unquoted(quoted[1]), handles, table, after), after
    numbered = _NUMBERED.match(rest)
    if numbered:
        number = int(numbered[1] or numbered[2])
        if not 1 <= number <= len(handles):
            count = f"{len(handles)}" if len(handles) > 1 else "only one"
            raise UnclearError(f"{table} {number}", "a number from 1 on", f"the file has {count}")
        return number - 1, rest[numbered.end() :]
    before, equals, _ = inside.partition("=")
    name, dot, key = before.rpartition(".")
    if dot and equals:
        return _named(name.strip().strip("\"'"), handles, table, f".{key}="), ""
    if before.strip() in names:
        return _named(before.strip(), handles, table), ""
    return None, rest


def _named(name: str, handles: list[list[str]], table: str, after: str = "") -> int:
    """Return the place of the table with a name; ``after`` is the text that follows the name."""
    places = [place for place, row in enumerate(handles) if name in row]
    if len(places) == 1:
        return places[0]
    if not places:
        known = sorted({handle for row in handles for handle in row})
        expected = (
            f"the name of a {table}"
            if table not in KNOWN_BY
            else f"a {KNOWN_BY[table].removesuffix('s')} that a {table} has"
        )
        if not known:
            known = [str(place + 1) for place in range(len(handles))]
        raise UnclearError(
            f"no {table} {json.dumps(shorten(name), ensure_ascii=False)}", expected, did_you_mean(name, known)
        )
    key = _key_after(after)
    choices = " or ".join(f"{table}.{place + 1}.{key}" for place in places)
    raise UnclearError(f"{len(places)} {table}s of {quote(name)}", "one of them", f"write {choices}")


def _which(handles: list[list[str]], table: str, rest: str) -> UnclearError:
    """Return the error for a key that may mean several tables."""
    key = _key_after(rest)
    names = [row[0] if row else "" for row in handles]
    ways = [
        f"{table}.{quote(name) if name and names.count(name) == 1 else place}.{key}"
        for place, name in enumerate(names, 1)
    ]
    more = f" and {len(ways) - 4} more" if len(ways) > 4 else ""
    return UnclearError(
        f"{table} without a name", f"which of {len(handles)}, by name or number", ", ".join(ways[:4]) + more
    )


def _key_after(rest: str) -> str:
    """Return the key that follows a dot, or the placeholder KEY."""
    match = _KEY.match(rest[1:])
    return match[1] if match else "KEY"


def _unquoted(text: str) -> str:
    """Return what a quoted part of a key stands for."""
    try:
        return str(tomllib.loads(f"key = {text}")["key"])
    except ValueError:
        pass
    try:
        return str(json.loads(text, strict=False))
    except ValueError:
        return text[1:-1]
