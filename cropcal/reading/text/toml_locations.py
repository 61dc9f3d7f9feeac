"""The line of each key and each element in a TOML text, and the value as written.

``tomllib`` gives lines only in its syntax errors. This walks once over a text that ``tomllib`` has
already accepted, so it need not look for mistakes, only for where each value ends.
"""

import re
import tomllib
from bisect import bisect_right
from dataclasses import dataclass

KeyPath = tuple[str | int, ...]
"""Keys and places in arrays, counted from 0: ``("zone", 1, "lit", 0, 1)``."""

_SPACE = re.compile(r"[ \t]*")
_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}\n#]+")
_STRINGS = (
    re.compile(r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}', re.DOTALL),
    re.compile(r"'''(?:[^']|'(?!''))*'{3,5}"),
    re.compile(r'"(?:[^"\\]|\\.)*"'),
    re.compile(r"'[^']*'"),
)


@dataclass(frozen=True)
class Location:
    """One place in a text: the line (from 1) where it begins, and its value as the user wrote it.

    ``option`` is the option of the command line that stands in for it, "" if it is the file's own. ``start``,
    ``value`` and ``end`` are where key (or header), value and what was written end, in characters from 0,
    each line break being one; -1 where nothing of its own is written. ``header``: of a table, not a value.
    """

    line: int
    text: str
    option: str = ""
    start: int = -1
    value: int = -1
    end: int = -1
    header: bool = False


class _Walk:
    """A position in the text, and what was found up to there."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.starts = [0, *(match.end() for match in re.finditer("\n", text))]
        self.spots: dict[KeyPath, Location] = {}
        self.lengths: dict[KeyPath, int] = {}

    def line(self, at: int) -> int:
        return bisect_right(self.starts, at)

    def skip(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            return ""
        self.at = match.end()
        return match.group()

    def note(self, path: KeyPath, start: int, text: str) -> None:
        spot = Location(self.line(start), text)
        if text:
            spot = Location(spot.line, text, start=start, value=start, end=start + len(text), header=True)
        self.spots.setdefault(path, spot)

    def string(self) -> str:
        return next(filter(None, map(self.skip, _STRINGS)), "")

    def key(self) -> tuple[str, ...]:
        """Read a key, dotted or not, up to what follows it."""
        parts: list[str] = []
        while True:
            self.skip(_SPACE)
            quoted = self.string()
            parts.append(tomllib.loads(f"key = {quoted}")["key"] if quoted else self.skip(_BARE))
            self.skip(_SPACE)
            if self.text[self.at : self.at + 1] != ".":
                return tuple(parts)
            self.at += 1

    def pair(self, table: KeyPath) -> None:
        """Read ``key = value``; the path is known from the line where the key begins."""
        start = self.at
        path = table
        for part in self.key():
            path = (*path, part)
            self.note(path, start, "")
        self.at += 1
        self.skip(_SPACE)
        begins = self.at
        text = self.value(path)
        spot = Location(self.line(start), text, start=start, value=begins, end=begins + len(text))
        self.spots[path] = spot

    def value(self, path: KeyPath) -> str:
        """Read a value and everything inside it; return it as written."""
        start = self.at
        opening = self.text[start : start + 1]
        if opening == "[":
            self.array(path)
        elif opening == "{":
            self.inline_table(path)
        elif not self.string():
            return self.skip(_SCALAR).rstrip()
        return self.text[start : self.at]

    def array(self, path: KeyPath) -> None:
        self.at += 1
        count = 0
        while self.closing() != "]":
            start = self.at
            element = (*path, count)
            text = self.value(element)
            spot = Location(self.line(start), text, start=start, value=start, end=start + len(text))
            self.spots[element] = spot
            count += 1
        self.at += 1

    def inline_table(self, path: KeyPath) -> None:
        self.at += 1
        while self.closing() != "}":
            self.pair(path)
        self.at += 1

    def closing(self) -> str:
        """Skip blanks, comments and a comma; return the character after them."""
        self.skip(_BLANK)
        if self.text[self.at : self.at + 1] == ",":
            self.at += 1
            self.skip(_BLANK)
        return self.text[self.at : self.at + 1]

    def header(self) -> KeyPath:
        """Read ``[table]`` or ``[[table]]``; return the path of what follows it."""
        start = self.at
        many = self.text.startswith("[[", start)
        self.at += 1 + many
        parts = self.key()
        self.at += 1 + many
        written = self.text[start : self.at]
        path: KeyPath = ()
        for place, part in enumerate(parts):
            path = (*path, part)
            self.note(path, start, written)
            if many and place == len(parts) - 1:
                self.lengths[path] = self.lengths.get(path, 0) + 1
            if path in self.lengths:
                path = (*path, self.lengths[path] - 1)
                self.note(path, start, written)
        return path

    def document(self) -> None:
        table: KeyPath = ()
        while True:
            self.skip(_BLANK)
            if self.at >= len(self.text):
                return
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)


def find_locations(text: str) -> dict[KeyPath, Location]:
    """Map every key, table and array element of a valid TOML text to its place.

    Parameters
    ----------
    text
        A document that ``tomllib.loads`` accepts.

    Returns
    -------
    dict
        For each path the line (from 1) where its key, header or element begins, and the value as
        written (for a table or an array of tables its first header, for a parent of dotted keys "").
    """
    walk = _Walk(text.replace("\r\n", "\n"))
    walk.document()
    return walk.spots
