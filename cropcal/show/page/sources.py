"""Seventh part of the page: the source of every number, and how well it is supported."""

from collections.abc import Iterable
from dataclasses import dataclass

from cropcal.records.crop import (
    NEEDS_NO_PRINT,
    Crop,
    CropTables,
    source_keys,
)
from cropcal.records.space import OWN_UNIT, Assumption


@dataclass(frozen=True)
class ValueRow:
    """One group of values of a crop and its sources; ``sure`` is printed, taken over, or not printed."""

    group: str
    sources: str
    sure: str
    sign: str


@dataclass(frozen=True)
class CropSources:
    """All groups of values of one crop."""

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


TAKEN_OVER = ("same species", "close kin")


def crop_sources(crops: Iterable[Crop]) -> tuple[CropSources, ...]:
    """Return the sources of each crop's values, group by group."""
    rows_by_crop = []
    for crop in crops:
        rows = tuple(_row(group, source) for group, source in crop.sources.items())
        weak = sum(row.sure == "not from print" for row in rows)
        rows_by_crop.append(CropSources(crop.name, crop.latin, rows, weak))
    return tuple(rows_by_crop)


def _row(group: str, source: str) -> ValueRow:
    keys = source_keys(source)
    if any(key in NEEDS_NO_PRINT for key in keys):
        sure, sign = "not from print", "○"
    elif any(key in TAKEN_OVER for key in keys):
        sure, sign = "taken over", "◐"
    else:
        sure, sign = "printed", "●"
    return ValueRow(group.replace("_", " "), " + ".join(keys), sure, sign)


def citations(crops: Iterable[Crop], tables: CropTables) -> tuple[Citation, ...]:
    """Return every source that any of the crops' values names, by its name."""
    keys = {key for crop in crops for source in crop.sources.values() for key in source_keys(source)}
    known = [tables.sources[key] for key in sorted(keys, key=str.casefold) if key in tables.sources]
    return tuple(Citation(source.key, source.citation, source.seen) for source in known)


def assumption_rows(*groups: Iterable[Assumption]) -> tuple[Assumption, ...]:
    """Return every assumption once; a crop's own unit is not listed."""
    return tuple(dict.fromkeys(item for group in groups for item in group if item.why != OWN_UNIT))
