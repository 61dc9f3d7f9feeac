"""Seventh part of the page: the source of every number, and how well it is supported."""

from collections.abc import Iterable
from dataclasses import dataclass

from cropcal.records.crop import IN_PRINT, KNOWN_WORDS, Crop, CropTables
from cropcal.records.space import OWN_UNIT, Assumption
from cropcal.records.value_words import VALUE_WORDS, amount


@dataclass(frozen=True)
class ValueRow:
    """One value of a crop: what it is, how it is known (in words and by a sign), its sources, a note."""

    name: str
    amount: str
    known: str
    sign: str
    sources: str
    note: str


@dataclass(frozen=True)
class CropSources:
    """All values of one crop that have a source; ``weak`` is how many nobody printed."""

    name: str
    latin: str
    rows: tuple[ValueRow, ...]
    weak: int


@dataclass(frozen=True)
class Citation:
    """A source: its key, its citation, and how it was consulted."""

    key: str
    citation: str
    seen: str


def crop_sources(crops: Iterable[Crop]) -> tuple[CropSources, ...]:
    """Return whose the values of each crop are, value by value."""
    return tuple(
        CropSources(
            crop.name,
            crop.latin,
            tuple(_row(crop, column) for column in crop.sources if getattr(crop, column) is not None),
            sum(source.is_weak for source in crop.sources.values()),
        )
        for crop in crops
    )


def _row(crop: Crop, column: str) -> ValueRow:
    words, source = VALUE_WORDS[column], crop.sources[column]
    sign = "○" if source.is_weak else "●" if source.known in IN_PRINT else "◐"
    name = f"{words.group}: {words.name}" if words.name != words.group else words.name
    known = KNOWN_WORDS[source.known]
    return ValueRow(name, amount(crop, column), known, sign, " + ".join(source.keys), source.note)


def citations(crops: Iterable[Crop], tables: CropTables) -> tuple[Citation, ...]:
    """Return every source that any of the crops' values names, by its name."""
    keys = {key for crop in crops for source in crop.sources.values() for key in source.keys}
    known = [tables.sources[key] for key in sorted(keys, key=str.casefold) if key in tables.sources]
    return tuple(Citation(source.key, source.citation, source.seen) for source in known)


def assumption_rows(*groups: Iterable[Assumption]) -> tuple[Assumption, ...]:
    """Return every assumption once; a crop's own unit is not listed."""
    return tuple(dict.fromkeys(item for group in groups for item in group if item.why != OWN_UNIT))
