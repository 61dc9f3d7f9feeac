"""Problems of an input as data, and the exit codes of every command."""

from dataclasses import dataclass
from enum import IntEnum


class Exit(IntEnum):
    """Exit codes of every command."""

    DONE = 0
    SHORT = 1
    BAD_INPUT = 2
    NO_PLAN = 3


@dataclass(frozen=True, order=True)
class Where:
    """A place in a user's file: its path as typed, and the line (None: the file as a whole)."""

    path: str
    line: int | None = None

    def __str__(self) -> str:
        return self.path if self.line is None else f"{self.path}:{self.line}"


@dataclass(frozen=True, order=True)
class Problem:
    """One mistake: where it is, what was found, what was expected, and what to do about it.

    ``key`` is the dotted path of the value, empty for the file as a whole. In space.toml a table of an
    array is called by its name where that is unique, else by its place, and places count from 1:
    ``plan.weeks``, ``zone."rack, left".photoperiod_h``, ``fixture[2].watts``, ``bed.box.zone``,
    ``zone.shelf.lit[1][2]``. The part with the name is what TOML itself would take as a dotted key.
    ``found`` and ``expected`` are short phrases without a full stop; ``hint`` may be empty. Where they are
    ``plain``, they are whole: what is wrong, and what to do about it.
    """

    where: Where
    key: str
    found: str
    expected: str
    hint: str = ""
    plain: bool = False

    @property
    def file(self) -> str:
        """Return the file, argument or option it is in."""
        return self.where.path

    @property
    def line(self) -> int | None:
        """Return the line, counted from 1; None for the file as a whole."""
        return self.where.line

    def __str__(self) -> str:
        key = f" {self.key}:" if self.key else ""
        if self.plain:
            return f"{self.where}:{key} {self.found}; {self.expected}"
        hint = f", {self.hint}" if self.hint else ""
        return f"{self.where}:{key} found {self.found}, expected {self.expected}{hint}"

    def as_dict(self) -> dict[str, str | int | None]:
        """Return the fields as ``cropcal check --json`` prints them."""
        return {
            "file": self.where.path,
            "line": self.where.line,
            "key": self.key,
            "found": self.found,
            "expected": self.expected,
            "hint": self.hint,
        }
