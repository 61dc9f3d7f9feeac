"""What a table says of one crop, whichever form the table has."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal

from cropcal.reading.text.csv_cells import Column
from cropcal.records.crop import KNOWN_WORDS, Known, ValueSource, source_keys

YOURS: Final = "your crops.csv"
"""Source key of values that the user gave without saying where from."""
LIKE: Final = Column("like", "text", 1, 40, required=False)

KNOWN_OF_WORD: Final[Mapping[str, Known]] = {
    "same species": "kin",
    "close kin": "kin",
    "common practice": "practice",
    "from memory": "memory",
    "not found": "memory",
    "assumed": "assumed",
}
"""Words of a source cell that say how a value is known and are no source."""

Values = dict[str, Any]


@dataclass(frozen=True)
class GivenCrop:
    """The values that a table gives of one crop, and whose they are, by column.

    ``line`` is the first line about the crop; ``lines`` those of single columns where each has its own.
    ``values`` has the cells that are right only. ``sources`` has only what the table says.
    ``is_whole`` is false where a row has too many cells, so that none can be trusted.
    """

    slug: str
    line: int
    values: Values
    sources: dict[str, ValueSource] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    is_whole: bool = True

    def line_of(self, column: str) -> int:
        """Return the line on which a column of the crop stands, else the first line of the crop."""
        return self.lines.get(column, self.line)


def named_source(source: str, known: Known | None = None, note: str = "") -> ValueSource:
    """Return whose a value of the user is, from a source cell.

    Words like "from memory" in it say how the value is known, the weakest of them and of ``known``
    counts; what is left are keys. Without either the value is the user's own.
    """
    keys = source_keys(source)
    said = [known] if known else []
    said += [KNOWN_OF_WORD[key] for key in keys if key in KNOWN_OF_WORD]
    weakest: Known | Literal["yours"] = weaker(said) if said else "yours"
    named = tuple(dict.fromkeys(key for key in keys if key not in KNOWN_OF_WORD))
    needs_key = weakest in ("printed", "derived", "kin", "yours")
    return ValueSource(known=weakest, keys=named or ((YOURS,) if needs_key else ()), note=note)


def weaker(known: Iterable[Known]) -> Known:
    """Return the weakest of several ways in which values are known."""
    order = list(KNOWN_WORDS)
    return max(known, key=order.index)
