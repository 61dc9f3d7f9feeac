"""Keys of a space file that are known but not served yet: refused with a message of their own.

To serve one, delete its row here and add the field to its record.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from cropcal.problems import Problem
from cropcal.reading.kinds import Kind
from cropcal.reading.lines import KeyPath
from cropcal.reading.slips import slip
from cropcal.reading.source import Source
from cropcal.reading.words import phrase

LEFT_OUT: Final = "this key left out for now"
SHARE: Final = Kind("number", ge=0, le=1)


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


@dataclass(frozen=True)
class Unserved:
    """One key not served yet, and why; what it may be, so that its own mistakes are told first."""

    table: tuple[str, ...]
    key: str
    why: str
    kind: Kind | None = None
    """The kind of each of its numbers; None: not looked at."""
    alone: bool = True
    """Whether it may be one number."""
    length: int = 0
    """How many numbers it may be; 0: no list of them."""
    zero_passes: bool = False
    """Whether nothing but zeros is taken, since it changes nothing."""
    instead_of: str = ""
    """The key that may be missing where this one stands."""


UNSERVED: Final[tuple[Unserved, ...]] = ()


def tables_at(source: Source, names: tuple[str, ...]) -> Iterator[tuple[KeyPath, dict[str, Any]]]:
    """Yield every table of a name, whether it stands once or in an array, with its path."""
    found: list[KeyPath] = [()]
    for name in names:
        inside = [((*path, name), source.get((*path, name))) for path in found]
        found = []
        for path, value in inside:
            found += [(*path, place) for place in range(len(value))] if isinstance(value, list) else [path]
    for path in found:
        table = source.get(path)
        if isinstance(table, dict):
            yield path, table


def refuse(source: Source) -> tuple[list[Problem], set[KeyPath], set[KeyPath]]:
    """Find the keys that are not served yet.

    Returns
    -------
    problems
        One for each refused key: its own mistake if it has one, else that it is not served.
    handled
        Paths of keys to be read no further: the refused, and those whose value changes nothing.
    excused
        Paths of keys that may be missing because a refused one stands in their place.
    """
    problems: list[Problem] = []
    handled: set[KeyPath] = set()
    excused: set[KeyPath] = set()
    for row in UNSERVED:
        for table_path, table in tables_at(source, row.table):
            if row.key not in table:
                continue
            path = (*table_path, row.key)
            handled.add(path)
            mistakes = list(_mistakes(source, path, row, table[row.key]))
            problems += mistakes
            if not mistakes and (any(_listed(table[row.key])) or not row.zero_passes):
                problems.append(source.problem(path, LEFT_OUT, row.why))
            if row.instead_of:
                excused.add((*table_path, row.instead_of))
    return problems, handled, excused


def _mistakes(source: Source, path: KeyPath, row: Unserved, value: Any) -> Iterator[Problem]:
    """Yield what is wrong with the value itself."""
    if row.kind is None:
        return
    numbers = f"{row.length} numbers in brackets, each " if row.length and not row.alone else ""
    expected = numbers + phrase(row.kind, row.key)
    if not isinstance(value, list):
        if not row.alone or not _fits(row.kind, value):
            yield source.problem(path, expected, slip(row.kind, row.key, value))
    elif not row.length:
        yield source.problem(path, expected, slip(row.kind, row.key, value))
    elif len(value) != row.length:
        yield source.problem(path, f"{row.length} numbers", f"there are {len(value)}")
    else:
        for place, number in enumerate(value):
            if not _fits(row.kind, number):
                yield source.problem(
                    (*path, place), phrase(row.kind, row.key), slip(row.kind, row.key, number)
                )


def _fits(kind: Kind, value: Any) -> bool:
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and float("-inf") < value < float("inf") and kind.allows(value)
