"""Mistakes inside one table, in our own words: which value is to blame, and what it should have been."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Final

from pydantic import BaseModel

from cropcal.problems import Problem
from cropcal.reading.text.key_types import KeyType, fields
from cropcal.reading.text.likely_slips import slip
from cropcal.reading.text.source import SourceText, shorten
from cropcal.reading.text.suggestions import (
    A_REAL_STRETCH,
    SEEN,
    nearest,
    phrase,
)
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.records.base import Record
from cropcal.records.crop import SeedOnHand
from cropcal.records.hazard import Care
from cropcal.records.space import (
    Bed,
    Chore,
    Fixture,
    Growing,
    Load,
    Place,
    Prices,
    Reading,
    Settings,
    Want,
    Zone,
)
from cropcal.records.tariff import Rate, Tariff

SINGLE: Final[Mapping[str, type[Record]]] = {
    "place": Place,
    "tariff": Tariff,
    "plan": Settings,
    "care": Care,
}
"""Tables that occur at most once, and their records."""

MANY: Final[Mapping[str, type[Record]]] = {
    "zone": Zone,
    "bed": Bed,
    "fixture": Fixture,
    "reading": Reading,
    "load": Load,
    "want": Want,
    "chore": Chore,
    "growing": Growing,
    "seed": SeedOnHand,
}
"""Tables that may occur any number of times, and their records."""

INNER: Final[Mapping[str, type[Record]]] = {"plan.prices": Prices, "tariff.rate": Rate}
"""Tables inside others that have a header of their own, and their records."""


def mistakes(
    source: SourceText, table: KeyPath, record: type[Record], errors: Sequence[tuple[KeyPath, str]]
) -> list[Problem]:
    """Return the mistakes in one table.

    Parameters
    ----------
    source
        The file's text and data.
    table
        Path of the table.
    record
        The record it should fill.
    errors
        For each thing that does not fit: its path inside the table, and the validator's word for it.

    Returns
    -------
    list
        A problem for each value to blame; equal ones in one list are reported once, with their number.
    """
    blamed: dict[KeyPath, str] = {}
    for loc, sort in errors:
        blamed.setdefault(_culprit(source, (*table, *loc), sort), sort)
    problems = [
        (at[: len(table) + 1], _mistake(source, table, at, record, sort)) for at, sort in blamed.items()
    ]
    counted = []
    for _, same in groupby(problems, key=lambda pair: (pair[0], pair[1].expected, pair[1].hint)):
        (_, problem), *more = same
        if more:
            also = f"and {len(more)} more like it"
            problem = replace(problem, hint=f"{problem.hint}, {also}" if problem.hint else also)
        counted.append(problem)
    return counted


def _culprit(source: SourceText, at: KeyPath, sort: str) -> KeyPath:
    """Return the path of the value to blame: a whole list where its brackets are what is wrong."""
    if at[-1] == "" and not isinstance(source.get(at[:-1]), dict):
        return at[:-1]  # one value given for all names
    if isinstance(at[-1], int) and not isinstance(source.get(at[:-1]), list):
        return at[:-1]  # one value given for all of a list
    if sort == "missing" and isinstance(at[-1], int):
        return at[:-1]
    if sort == "tuple_type" and isinstance(at[-1], int):
        around = source.get(at[:-1])
        if isinstance(around, list) and not any(isinstance(item, list) for item in around):
            return at[:-1]
    return at


def _mistake(source: SourceText, table: KeyPath, at: KeyPath, record: type[Record], sort: str) -> Problem:
    whole = KeyType("table", record=record)
    kind = whole.inside(at[len(table) :])
    if sort == "extra_forbidden" or kind is None:
        inner = whole.inside(at[len(table) : -1])
        return unknown_key(source, at, inner.record if inner and inner.record else record)
    key = next((part for part in reversed(at) if isinstance(part, str)), "")
    around = whole.inside(at[len(table) : -1])
    if around is not None and around.sort == "one for all or by name":
        key = str(at[-2])
    if sort == "missing" and isinstance(at[-1], str):
        return source.problem(at, phrase(kind, key), f"add it: {key} = ...", found="nothing")
    if sort == "value_error" and kind.sort == "stretch":
        return source.problem(at, A_REAL_STRETCH)
    if sort == "value_error" and kind.sort == "text":
        return source.problem(at, SEEN)
    return source.problem(at, phrase(kind, key), slip(kind, key, source.get(at)))


def unknown_key(source: SourceText, path: KeyPath, record: type[BaseModel]) -> Problem:
    """Return the problem of a key that no table of this kind has."""
    key = str(path[-1])
    opened = header(".".join(part for part in path[:-1] if isinstance(part, str)))
    meant, home = meant_key(key, record), home_of(key)
    expected, hint = f"a key of {opened}", ""
    if home:
        hint = f"it belongs under {header(home)}"
    elif meant:
        hint = f'did you mean "{meant}"?'
    else:
        expected += f": {', '.join(fields(record))}"
    return source.problem(path, expected, hint, found=f"the unknown key {shorten(key)}")


def meant_key(key: str, record: type[BaseModel]) -> str | None:
    """Return the key of a table that an unknown one was meant to be, None if none is like it."""
    return None if home_of(key) else nearest(key, [*fields(record)])


def home_of(key: str) -> str | None:
    """Return the first table that has a key of this very name."""
    tables = (*SINGLE.items(), *MANY.items(), *INNER.items())
    return next((name for name, record in tables if key in fields(record)), None)


def header(table: str) -> str:
    """Return how a table is opened: in double brackets, single ones, or (inside another) just its name."""
    if table in SINGLE or table == "plan.prices":
        return f"[{table}]"
    return f"[[{table}]]" if table in MANY or table == "tariff.rate" else table.rpartition(".")[2]
