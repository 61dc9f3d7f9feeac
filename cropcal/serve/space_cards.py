"""What the form of the space is made of: its sections, cards and fields, and the names of its forms."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from cropcal.problems import Problem
from cropcal.reading.space.setting_key import TABLES as RECORDS
from cropcal.reading.text.source import SourceText
from cropcal.reading.text.toml_locations import KeyPath, find_locations
from cropcal.reading.text.toml_mistakes import MANY
from cropcal.serve.space_values import How
from cropcal.serve.space_words import TableWords

NEW: Final = "new"
ROWS: Final = (*MANY, "tariff.rate")
"""Tables of which there may be several."""
INNER: Final = {("tariff", "rate"), ("plan", "prices")}
"""Keys that are tables with a form of their own."""


@dataclass(frozen=True)
class FormChoice:
    """A choice of a field: its value in the file, what it is called, and whether it is chosen."""

    value: str
    label: str
    chosen: bool = False


@dataclass(frozen=True)
class FormField:
    """One key as a field.

    Attributes
    ----------
    key, name
        The key in the file, and its dotted name there as problems give it.
    how, value, choices
        What kind of field it is, and what stands in it.
    empty
        What is assumed when it is left empty, and why, "" if nothing is.
    mistake, doubt
        What is wrong with it; what can be meant, but is most often a slip.
    """

    key: str
    name: str
    how: How
    label: str
    unit: str = ""
    hint: str = ""
    value: str = ""
    choices: tuple[FormChoice, ...] = ()
    empty: str = ""
    is_usual: bool = False
    is_needed: bool = False
    mistake: str = ""
    doubt: str = ""


@dataclass(frozen=True)
class Card:
    """One table, or row of one, as a form.

    Attributes
    ----------
    at
        Its name in a form: "zone.1", "plan", "bed.new".
    title, facts
        What it is called, and its values in a few words.
    usual, folded
        Its fields; those that are folded away are the less usual ones without a value.
    mistakes
        What is wrong with it as a whole.
    along
        What has to be taken out along with it; "" if it cannot be taken out.
    is_open
        Whether it is shown unfolded.
    base
        Name of the text that it is shown for, "" for that of the page.
    """

    at: str
    title: str
    facts: str
    usual: tuple[FormField, ...]
    folded: tuple[FormField, ...]
    mistakes: tuple[str, ...] = ()
    can_go: bool = False
    along: tuple[str, ...] = ()
    is_open: bool = False
    base: str = ""


@dataclass(frozen=True)
class Section:
    """The tables of one kind; ``add`` is the empty form of one more."""

    table: str
    words: TableWords
    cards: tuple[Card, ...]
    add: Card | None = None


@dataclass(frozen=True)
class SpaceForm:
    """All of the form; ``mistakes`` are those of all places, each with the id of its field, "" if none."""

    sections: tuple[Section, ...]
    mistakes: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Tried:
    """What was typed into one form and not taken: texts by key, and what is wrong by the name of a key.

    ``at`` names its form; ``problems`` are those of the file with these values; ``base`` names the text that
    the form was then shown for.
    """

    at: str
    typed: Mapping[str, str] = field(default_factory=dict)
    asked: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    base: str = ""


def path_of(at: str) -> KeyPath:
    """Return the path of a form's table: places count from 1 in ``at``, from 0 in the path."""
    return tuple(int(part) - 1 if part.isdecimal() else part for part in at.split("."))


def table_of(at: str) -> str:
    """Return the table that a form is for."""
    return ".".join(part for part in at.split(".") if not part.isdecimal() and part != NEW)


def is_form(at: str) -> bool:
    """Return whether a text can be the name of a form."""
    table = table_of(at)
    if table not in RECORDS:
        return False
    last = at.removeprefix(f"{table}.")
    return (last == NEW or (last.isdecimal() and int(last) > 0)) if table in ROWS else at == table


def source_of(text: str, shown_path: str) -> SourceText:
    """Return a text, which must be TOML, as data with its places."""
    plain = text.removeprefix("\ufeff").replace("\r\n", "\n")
    return SourceText(shown_path, find_locations(plain), tomllib.loads(plain))


def card_id(at: str) -> str:
    """Return the id of a form in the page."""
    return at.replace(".", "-")


def field_id(at: str, key: str) -> str:
    """Return the id of a field in the page."""
    return f"{card_id(at)}-{key}"


def along(data: Mapping[str, Any], path: KeyPath) -> list[tuple[str, int]]:
    """Return the rows that have to go with a zone or bed, as (table, place): what is in it or over it."""
    gone: list[tuple[str, int]] = []
    waiting = [path]
    while waiting:
        table, *_ = at = waiting.pop()
        if len(at) != 2 or table not in ("zone", "bed"):
            continue
        name = data[str(table)][at[1]].get("name")
        tables = ("bed", "fixture", "load") if table == "zone" else ("reading", "growing")
        for other in tables:
            for place, row in enumerate(data.get(other, ())):
                if isinstance(row, dict) and row.get(table) == name and (other, place) not in gone:
                    gone.append((other, place))
                    waiting.append((other, place))
    return gone
