"""Every key a space file may have: what it may be, its default, and whether it is served."""

from collections.abc import Iterator
from dataclasses import dataclass

from pydantic import BaseModel

from cropcal.reading.kinds import fields
from cropcal.reading.mistakes import MANY, SINGLE
from cropcal.reading.unserved import UNSERVED
from cropcal.reading.words import phrase
from cropcal.records.space import Block, Quiet, Rate


@dataclass(frozen=True)
class KnownKey:
    """One key: its table ("zone", "tariff.rate"), what it may be in words, and what happens without it.

    ``needed`` is whether it has to be there; ``default`` is what stands in for it otherwise, "" for
    nothing or for what only the rest of the file can tell.
    """

    table: str
    key: str
    expected: str
    needed: bool
    default: str
    served: bool


def known_keys() -> tuple[KnownKey, ...]:
    """Return every key of the contract, table by table, in the order of the records."""
    tables: dict[str, type[BaseModel]] = {
        **SINGLE,
        **MANY,
        "zone.quiet": Quiet,
        "tariff.rate": Rate,
        "tariff.rate.blocks": Block,
    }
    served = [key for table, record in tables.items() for key in _keys_of(table, record)]
    have = {(key.table, key.key) for key in served}
    later = [
        KnownKey(table, row.key, phrase(row.kind, row.key) if row.kind else "", False, "", False)
        for row in UNSERVED
        if ((table := ".".join(row.table)), row.key) not in have
    ]
    return (*served, *later)


def _keys_of(table: str, record: type[BaseModel]) -> Iterator[KnownKey]:
    for (key, kind), field in zip(fields(record).items(), record.model_fields.values(), strict=True):
        needed = field.is_required() and (table, key) != ("plan", "start")
        default = "" if needed else _written(field.default)
        yield KnownKey(table, key, phrase(kind, key), needed, default, True)


def _written(value: object) -> str:
    """Return a default as it would stand in a file; "" if there is none."""
    match value:
        case bool():
            return str(value).lower()
        case int() | float():
            return f"{value:g}"
        case str():
            return f'"{value}"'
        case tuple() if value:
            return f"[{', '.join(map(_written, value))}]"
        case _:
            return ""
