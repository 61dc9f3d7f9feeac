"""A TOML text with other values in it: every comment, blank line and order that the user wrote stays.

Libraries that keep the style of a TOML text were tried: a key that is put into a table before a comment of
the next one ended behind that comment, or on the line of the next header. So values are replaced in place,
where ``toml_locations`` found them, and what comes of it is read again before anybody writes it.
"""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from cropcal.reading.text.toml_locations import KeyPath, Location, find_locations
from cropcal.reading.text.toml_value import toml_value

_BARE = re.compile(r"[A-Za-z0-9_-]+")


class CannotEditError(Exception):
    """A text is written in a way in which a change cannot be put."""


@dataclass(frozen=True)
class _Edit:
    """Characters from ``start`` to before ``end`` become ``text``."""

    start: int
    end: int
    text: str


def edited(text: str, after: Mapping[str, Any]) -> str:
    """Return a TOML text that holds other data, changed only where the data differ.

    Parameters
    ----------
    text
        A document that ``tomllib.loads`` accepts, with the line breaks of any system.
    after
        The data it is to hold.

    Raises
    ------
    CannotEditError
        If a change has no place in the text as it is written: a new key among dotted ones.
    """
    mark, crlf = text.startswith("\ufeff"), "\r\n" in text
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n")
    editor = _Editor(plain, find_locations(plain))
    new = _applied(plain, [*editor.table((), tomllib.loads(plain), after)])
    if tomllib.loads(new) != after:
        raise CannotEditError
    new = new.replace("\n", "\r\n") if crlf else new
    return "\ufeff" + new if mark else new


def _applied(text: str, edits: Sequence[_Edit]) -> str:
    """Return a text with all edits made; those of one place in the order in which they were given."""
    in_order = sorted(enumerate(edits), key=lambda pair: (pair[1].start, pair[1].end, pair[0]))
    parts, at = [], 0
    for _, edit in in_order:
        if edit.start < at:
            raise CannotEditError
        parts += [text[at : edit.start], edit.text]
        at = edit.end
    return "".join([*parts, text[at:]])


@dataclass(frozen=True)
class _Editor:
    """A text without carriage returns, and the place of each value."""

    text: str
    spots: Mapping[KeyPath, Location]

    def table(self, path: KeyPath, before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[_Edit]:
        """Yield what changes a table; an inline one that gains or loses a key is written anew."""
        if self._is_inline(path) and before.keys() != after.keys():
            yield self._value(path, after)
            return
        for key in before:
            its = (*path, key)
            if key not in after:
                yield from self._without(its, before[key])
            elif after[key] != before[key]:
                yield from self._changed(its, before[key], after[key])
        for key, value in after.items():
            if key not in before:
                yield self._with(path, key, value)

    def _changed(self, path: KeyPath, before: Any, after: Any) -> Iterator[_Edit]:
        if isinstance(before, dict) and isinstance(after, Mapping):
            yield from self.table(path, before, after)
        elif self._is_header(path) and isinstance(after, list) and _are_tables(after):
            yield from self._tables(path, before, after)
        elif self._is_header(path):
            raise CannotEditError
        else:
            yield self._value(path, after)

    def _tables(self, path: KeyPath, before: Sequence[Any], after: Sequence[Any]) -> Iterator[_Edit]:
        """Yield what changes an array of tables: those that stay alike keep their place."""
        old, new = ([toml_value(row) for row in rows] for rows in (before, after))
        last = len(before)
        for kind, start, end, first, until in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
            if kind == "equal":
                continue
            both = min(end - start, until - first)
            for step in range(both):
                yield from self.table((*path, start + step), before[start + step], after[first + step])
            for row in range(start + both, end):
                yield self._cut(self._block(path, row))
            place = self._block(path, min(start + both, last) - 1)[1] if start + both else 0
            for row in range(first + both, until):
                if not place:
                    raise CannotEditError  # before the first; nobody asks for it
                yield _Edit(place, place, f"\n{_written(f'[[{_key(path)}]]', after[row])}")

    def _value(self, path: KeyPath, value: Any) -> _Edit:
        spot = self.spots.get(path)
        if spot is None or spot.value < 0 or spot.end < 0:
            raise CannotEditError
        return _Edit(spot.value, spot.end, toml_value(value))

    def _without(self, path: KeyPath, value: Any) -> Iterator[_Edit]:
        """Yield what takes a key out, with its line."""
        spot = self.spots[path]
        if self._is_header(path):
            rows = range(len(value)) if isinstance(value, list) else [None]
            yield from (self._cut(self._block(path, row)) for row in rows)
        elif spot.end < 0:
            raise CannotEditError
        else:
            yield self._cut((self._line_start(spot.start), self._line_end(spot.end)))

    def _with(self, path: KeyPath, key: str, value: Any) -> _Edit:
        """Return what puts a new key at the end of a table, or a new table at the end of the text."""
        if not path:
            rows = value if isinstance(value, list) and _are_tables(value) else None
            blocks = (
                [_written(f"[[{_key((key,))}]]", row) for row in rows]
                if rows is not None
                else _blocks(key, value)
            )
            end = len(self.text)
            gap = "" if self.text.endswith("\n") or not self.text else "\n"
            return _Edit(end, end, gap + "".join(f"\n{block}" for block in blocks))
        if not self._is_header(path):
            raise CannotEditError
        place = self._line_end(self._own_end(path))
        gap = "" if self.text[place - 1 : place] == "\n" else "\n"
        return _Edit(place, place, f"{gap}{_pair(key, value)}\n")

    def _is_inline(self, path: KeyPath) -> bool:
        return bool(path) and self.spots[path].text.startswith("{")

    def _is_header(self, path: KeyPath) -> bool:
        """Return whether a table, or an array of tables, is written with a header of its own."""
        spot = self.spots.get(path)
        return spot is not None and spot.header

    def _own_end(self, path: KeyPath) -> int:
        """Return where the last key ends that stands below a header, before the next one."""
        size, header = len(path), self.spots[path]
        after = min(
            (
                spot.start
                for other, spot in self.spots.items()
                if spot.start > header.start and self._is_header(other)
            ),
            default=len(self.text),
        )
        inside = [
            spot.end
            for other, spot in self.spots.items()
            if other[:size] == path and header.start < spot.start < after
        ]
        return max([header.end, *inside])

    def _block(self, path: KeyPath, row: int | None) -> tuple[int, int]:
        """Return where a table begins and ends, from its header's line to that of its last key."""
        whole = path if row is None else (*path, row)
        size = len(whole)
        ends = [spot.end for other, spot in self.spots.items() if other[:size] == whole]
        return self._line_start(self.spots[whole].start), self._line_end(max(ends))

    def _cut(self, place: tuple[int, int]) -> _Edit:
        """Return what takes lines out; of blank lines before and after them one goes too."""
        start, end = place
        is_apart = self.text[max(start - 2, 0) : start] == "\n\n" and self.text[end : end + 1] in ("\n", "")
        return _Edit(start - is_apart, end, "")

    def _line_start(self, at: int) -> int:
        return self.text.rfind("\n", 0, at) + 1

    def _line_end(self, at: int) -> int:
        """Return where the line after a place begins."""
        end = self.text.find("\n", at)
        return len(self.text) if end < 0 else end + 1


def _are_tables(rows: Sequence[Any]) -> bool:
    return bool(rows) and all(isinstance(row, Mapping) for row in rows)


def _key(path: KeyPath) -> str:
    names = (part for part in path if isinstance(part, str))
    return ".".join(name if _BARE.fullmatch(name) else json.dumps(name, ensure_ascii=False) for name in names)


def _pair(key: str, value: Any) -> str:
    return f"{_key((key,))} = {toml_value(value)}"


def _blocks(key: str, table: Mapping[str, Any]) -> list[str]:
    """Return a new table as blocks of lines: arrays of tables inside it get headers of their own."""
    inner = {name: rows for name, rows in table.items() if isinstance(rows, list) and _are_tables(rows)}
    plain = {name: value for name, value in table.items() if name not in inner}
    rows = [_written(f"[[{_key((key, name))}]]", row) for name, rows in inner.items() for row in rows]
    return [_written(f"[{_key((key,))}]", plain), *rows]


def _written(header: str, table: Mapping[str, Any]) -> str:
    """Return a table as lines below its header."""
    return "".join(f"{line}\n" for line in [header, *(_pair(key, value) for key, value in table.items())])
