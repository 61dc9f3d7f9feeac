"""A user's text: the line and name of each value, and problems that refer to them."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cropcal.problems import Problem, Where
from cropcal.reading.text.toml_locations import KeyPath, Location

LONGEST_SHOWN = 60
_BARE = re.compile(r"[A-Za-z_][A-Za-z0-9_-]*")


@dataclass(frozen=True)
class SourceText:
    """A space file: its path as typed, the location of each value, and the data that ``tomllib`` read."""

    path: str
    spots: Mapping[KeyPath, Location]
    data: Mapping[str, Any]

    def get(self, path: KeyPath) -> Any:
        """Return the value at a path, None if there is none."""
        value: Any = self.data
        for part in path:
            try:
                value = value[part]
            except (KeyError, IndexError, TypeError):
                return None
        return value

    def where(self, path: KeyPath) -> Where:
        """Return the line of a value, or of the nearest thing that holds it; the option that gave it."""
        spot = self._spot(path)
        if spot is not None and spot.option:
            return Where(spot.option)
        return Where(self.path, None if spot is None else spot.line)

    def line(self, path: KeyPath) -> int | None:
        """Return the line where a value stands, or would stand if an option did not give it."""
        spot = self._spot(path)
        return None if spot is None else spot.line

    def _spot(self, path: KeyPath) -> Location | None:
        while path and path not in self.spots:
            path = path[:-1]
        return self.spots.get(path)

    def written(self, path: KeyPath) -> str:
        """Return a value as the user wrote it, on one line and not too long."""
        spot = self.spots.get(path)
        return shorten(spot.text) if spot and spot.text else "nothing"

    def name(self, path: KeyPath) -> str:
        """Return a path as people find it: ``zone."rack, top".photoperiod_h``, ``fixture[2].watts``.

        A table of an array is called by its own name if that is unique, else by its place, counted from 1.
        """
        text = ""
        for depth, part in enumerate(path):
            if isinstance(part, str):
                text += ("." if text else "") + quote(part)
                continue
            name = self._own_name(path[:depth], part)
            text += f"[{part + 1}]" if name is None else f".{quote(name)}"
        return text

    def _own_name(self, tables: KeyPath, place: int) -> str | None:
        """Return the name of a table of an array, None if it has none or shares it."""
        rows = self.get(tables)
        names = [row.get("name") if isinstance(row, dict) else None for row in rows or ()]
        name = names[place] if place < len(names) else None
        if not isinstance(name, str) or not 0 < len(name) <= LONGEST_SHOWN or names.count(name) > 1:
            return None
        return name

    def problem(self, path: KeyPath, expected: str, hint: str = "", *, found: str | None = None) -> Problem:
        """Return a problem with the value at a path; ``found`` is that value if left out."""
        return Problem(
            self.where(path),
            self.name(path),
            self.written(path) if found is None else found,
            expected,
            hint,
        )

    def fault(self, path: KeyPath, wrong: str, cure: str) -> Problem:
        """Return a problem in plain words: what is wrong with the table or value at a path, what to do."""
        return Problem(self.where(path), self.name(path), wrong, cure, plain=True)


def quote(key: str) -> str:
    """Return one part of a dotted key, in quotes if TOML or a reader would need them."""
    return key if _BARE.fullmatch(key) else json.dumps(key, ensure_ascii=False)


def shorten(text: str) -> str:
    """Return a text on one line, printable, cut where it is too long to read in a message."""
    line = "".join(
        char if char.isprintable() else "\N{REPLACEMENT CHARACTER}" for char in " ".join(text.split())
    )
    return line if len(line) <= LONGEST_SHOWN else line[: LONGEST_SHOWN - 3] + "..."


def in_order(problems: list[Problem]) -> list[Problem]:
    """Return the problems without repeats, by line (those of the file as a whole first)."""
    return sorted(
        dict.fromkeys(problems),
        key=lambda problem: (problem.where.line or 0, problem.key, problem.expected, problem.found),
    )
