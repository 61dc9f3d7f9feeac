"""The page of the space: every table of space.toml as a form, made from the fields of its record."""

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from typing import Any, Final

from pydantic.fields import FieldInfo

from cropcal.problems import Problem
from cropcal.reading.space.read import read_space_text
from cropcal.reading.space.setting_key import TABLES as RECORDS
from cropcal.reading.text.key_types import KeyType, fields
from cropcal.reading.text.source import SourceText
from cropcal.reading.text.toml_locations import KeyPath, find_locations
from cropcal.reading.text.toml_mistakes import MANY
from cropcal.reading.text.toml_value import toml_value
from cropcal.records.crop import CropTables
from cropcal.serve.space_values import YES_NO, How, how_of, shown
from cropcal.serve.space_words import CHOICES, FIELDS, TABLES, TableWords, unit_of, words_of

NEW: Final = "new"
ROWS: Final = (*MANY, "tariff.rate")
"""Tables of which there may be several."""
INNER: Final = {("tariff", "rate"), ("plan", "prices")}
"""Keys that are tables with a form of their own."""
_NEEDED: Final[Mapping[str, tuple[str, ...]]] = {
    "zone": ("name", "length_m", "width_m"),
    "bed": ("name", "zone", "kind"),
    "fixture": ("zone", "watts"),
    "tariff": ("rate",),
    "place": (),
    "plan": (),
}
"""What is left of a table when it is asked what would be assumed for the rest."""
_OF_WANTS: Final = ("unit", "bowl_g", "plug_age_d")


@dataclass(frozen=True)
class Choice:
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
    mistake
        What is wrong with it.
    """

    key: str
    name: str
    how: How
    label: str
    unit: str = ""
    hint: str = ""
    value: str = ""
    choices: tuple[Choice, ...] = ()
    empty: str = ""
    is_usual: bool = False
    is_needed: bool = False
    mistake: str = ""


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


def space_form(text: str, tables: CropTables, today: date, tried: Tried | None = None) -> SpaceForm:
    """Return the form of a space file.

    Parameters
    ----------
    text
        The file: valid TOML.
    tables
        Crops and lamps, which are choices.
    today
        Day of the reader's calendar.
    tried
        What was typed and not taken.
    """
    return _Maker(text, tables, today, tried).form()


class _Maker:
    """Makes the form of one text."""

    def __init__(self, text: str, tables: CropTables, today: date, tried: Tried | None) -> None:
        self.source = source_of(text, "")
        self.tables, self.tried = tables, tried
        space, problems = read_space_text(text, tables, "space.toml", today=today)
        self.problems = list(problems)
        if tried and tried.problems:
            self.problems += [problem for problem in tried.problems if problem not in problems]
        self.assumed = {row.key: (row.value, row.why) for row in space.assumed} if space else {}
        self.if_emptied = self._if_emptied(today)
        self.links: dict[str, str] = {}

    def form(self) -> SpaceForm:
        sections = tuple(self._section(table) for table in TABLES if table in RECORDS)
        mistakes = ((self._target(problem), sentence(problem, with_key=True)) for problem in self.problems)
        return SpaceForm(sections, tuple(dict.fromkeys(mistakes)))

    def _target(self, problem: Problem) -> str:
        """Return the id of the field or form that a problem is about."""
        fitting = [name for name in self.links if _is_inside(problem.key, name)]
        return self.links[max(fitting, key=len)] if fitting else ""

    def _section(self, table: str) -> Section:
        words = TABLES[table]
        if table not in ROWS:
            return Section(table, words, (self._card(table),))
        rows = self.source.get(path_of(table))
        count = len(rows) if isinstance(rows, list) else 0
        cards = tuple(self._card(f"{table}.{place}") for place in range(1, count + 1))
        return Section(table, words, cards, self._card(f"{table}.{NEW}"))

    def _card(self, at: str) -> Card:
        table, is_new = table_of(at), at.endswith(f".{NEW}")
        rows = self.source.get(path_of(table)) if is_new else None
        count = len(rows) if isinstance(rows, list) else 0
        path = (*path_of(table), count) if is_new else path_of(at)
        row = {} if is_new else self.source.get(path)
        row = row if isinstance(row, dict) else {}
        its = self.tried if self.tried and self.tried.at == at else None
        name = self._name(path, its)
        self.links[name] = card_id(at)
        keys = [key for key in FIELDS.get(table, {}) if key in fields(RECORDS[table])]
        keys += [key for key in fields(RECORDS[table]) if key not in keys]
        made = [
            self._field(at, table, path, key, row, its)
            for key in keys
            if tuple(f"{table}.{key}".split(".")) not in INNER
        ]
        whole = [problem for problem in self.problems if problem.key == name and (its or not is_new)]
        folded = [part for part in made if not (part.is_usual or part.value or part.mistake)]
        return Card(
            at=at,
            title=f"Add a {TABLES[table].row}" if is_new else self._title(table, row),
            facts="" if is_new else self._facts(table, row),
            usual=tuple(part for part in made if part not in folded),
            folded=tuple(folded),
            mistakes=tuple(sentence(problem) for problem in whole),
            can_go=not is_new and table in ROWS,
            along=tuple(self.called(*one) for one in along(self.source.data, path)) if row else (),
            base=its.base if its else "",
            is_open=bool(its) or bool(whole) or any(part.mistake for part in made),
        )

    def _name(self, path: KeyPath, its: Tried | None) -> str:
        """Return the name by which problems call a table, with the name that was typed for it."""
        typed = its.typed.get("name", "") if its else ""
        if not typed or not isinstance(path[-1], int):
            return self.source.name(path)
        data = dict(self.source.data)
        rows = [*(self.source.get(path[:-1]) or ())]
        row = {**(rows[path[-1]] if path[-1] < len(rows) else {}), "name": typed}
        data[str(path[0])] = [*rows[: path[-1]], row, *rows[path[-1] + 1 :]]
        return replace(self.source, data=data).name(path) if len(path) == 2 else self.source.name(path)

    def _field(
        self, at: str, table: str, path: KeyPath, key: str, row: Mapping[str, Any], its: Tried | None
    ) -> FormField:
        kind, words = fields(RECORDS[table])[key], words_of(table, key)
        name = f"{self._name(path, its)}.{key}"
        self.links[name] = field_id(at, key)
        known = self._known(table, key, kind)
        how = how_of(table, key, kind)
        value = text_of(row.get(key), kind, key, how)
        if its and key in its.typed:
            value = its.typed[key]
        is_needed = info_of(table, key).is_required() and (table, key) != ("plan", "start")
        mistakes = [sentence(problem) for problem in self.problems if _is_inside(problem.key, name)]
        mistakes = [] if its is None and at.endswith(NEW) else mistakes
        if its and key in its.asked:
            mistakes.insert(0, its.asked[key])
        if not row and its is None and is_needed and len(known) == 1 and how == "pick":
            value = known[0][0]
        return FormField(
            key=key,
            name=name,
            how=how,
            label=words.label,
            unit=unit_of(key),
            hint=words.hint,
            value=value,
            choices=_choices(known, value, how),
            empty="" if is_needed else self._empty(table, path, key, row, kind),
            is_usual=words.usual,
            is_needed=is_needed,
            mistake=" ".join(dict.fromkeys(mistakes)),
        )

    def _known(self, table: str, key: str, kind: KeyType) -> list[tuple[str, str]]:
        """Return the choices of a key, as (value, label)."""
        if key in ("zone", "zones", "bed", "beds"):
            rows = self.source.get((key.rstrip("s"),))
            rows = rows if isinstance(rows, list) else []
            return [
                (row["name"], row["name"])
                for row in rows
                if isinstance(row, dict) and isinstance(row.get("name"), str)
            ]
        if key in ("crop", "crops"):
            return sorted(((crop.slug, crop.name) for crop in self.tables.crops.values()), key=lambda c: c[1])
        if (table, key) == ("fixture", "lamp"):
            return [(lamp, lamp) for lamp in self.tables.lamps]
        if kind.sort == "yes or no":
            return [*YES_NO.items()]
        inner = kind.item if kind.sort == "list" and kind.item else kind
        return [(choice, CHOICES.get(choice, choice)) for choice in inner.choices]

    def _empty(self, table: str, path: KeyPath, key: str, row: Mapping[str, Any], kind: KeyType) -> str:
        """Return what is assumed where a key is left empty."""
        name = self.source.name((*path, key))
        known = self.assumed if key not in row else self.if_emptied
        if not row and table in ("zone", "fixture"):  # a new one: as for another
            alike = (filling for other, filling in self.if_emptied.items() if _is_alike(other, table, key))
            known = dict.fromkeys([name], next(alike, ("", "")))
            known = known if known[name][0] else {}
        if name in known:
            value, why = known[name]
            return f"{_valued(value, key, kind)} ({why})"
        of_size = (
            known.get(self.source.name(path)) if table == "bed" and key in ("length_m", "width_m") else None
        )
        if of_size:
            return " ".join([of_size[0], f"({of_size[1]})"])
        default = info_of(table, key).default
        if isinstance(default, bool | int | float | str):
            return _valued(shown(default, kind), key, kind)
        if isinstance(default, tuple) and default and all(isinstance(item, str) for item in default):
            return ", ".join(CHOICES.get(item, item) for item in default)
        if isinstance(default, tuple) and default and not any(default):
            return "0"
        return ""

    def _if_emptied(self, today: date) -> dict[str, tuple[str, str]]:
        """Return what would be assumed if all that can be left out were."""
        data = {key: value for key, value in self.source.data.items() if key not in ("reading", "growing")}
        for table, value in data.items():
            rows = value if isinstance(value, list) else [value]
            if not all(isinstance(row, dict) for row in rows):
                return {}
            rows = [{key: row[key] for key in row if _stays(table, key)} for row in rows]
            data[table] = rows if isinstance(value, list) else rows[0]
        text = "".join(f"{key} = {toml_value(value)}\n" for key, value in data.items())
        space, _ = read_space_text(text, self.tables, today=today)
        return {row.key: (row.value, row.why) for row in space.assumed} if space else {}

    def called(self, table: str, place: int) -> str:
        """Return what a row is called, with what it is."""
        row = self.source.get((table, place))
        return f"{TABLES[table].row} {self._title(table, row if isinstance(row, dict) else {})}"

    def _title(self, table: str, row: Mapping[str, Any]) -> str:
        if table in ("fixture", "reading"):
            zone = str(row.get("zone" if table == "fixture" else "bed", ""))
            return f"over {zone}" if zone else TABLES[table].row
        if table == "want":
            crops = row.get("crops")
            names = [self._crop(slug) for slug in crops] if isinstance(crops, list) else []
            return " or ".join(names) or TABLES[table].row
        if table in ("growing", "seed"):
            return self._crop(row.get("crop", ""))
        if table in ROWS:
            return str(row.get("name") or ("base" if table == "tariff.rate" else TABLES[table].row))
        return TABLES[table].title

    def _crop(self, slug: Any) -> str:
        crop = self.tables.crops.get(slug) if isinstance(slug, str) else None
        return crop.name if crop else str(slug)

    def _facts(self, table: str, row: Mapping[str, Any]) -> str:
        """Return the first values of a row in a few words."""
        parts = []
        for key in _FACTS.get(table, ()):
            value = row.get(key)
            if value is None or key not in fields(RECORDS[table]):
                continue
            kind = fields(RECORDS[table])[key]
            unit = unit_of(key)
            text = shown(value, kind, key).split("\n")[0]
            text = ", ".join(CHOICES.get(part, part) for part in text.split(", "))
            before = _FACT_WORDS.get(key, "")
            after = f" {unit}" if unit else "" if key != "per_week" else f" {row.get('unit', '')}".rstrip()
            parts.append(f"{before}{text}{after}{' a week' if key == 'per_week' else ''}")
        return ", ".join(parts)


_FACTS: Final[Mapping[str, tuple[str, ...]]] = {
    "place": ("name", "timezone"),
    "zone": ("length_m", "width_m", "lit", "photoperiod_h"),
    "fixture": ("count", "lamp", "watts"),
    "bed": ("zone", "sites", "rows", "columns"),
    "reading": ("on",),
    "want": ("per_week", "from", "until"),
    "plan": ("start", "weeks", "work_days", "sow"),
    "tariff": ("currency",),
    "tariff.rate": ("per_kwh", "hours"),
    "load": ("watts", "on", "hours_per_day"),
    "chore": ("every_days",),
    "growing": ("bed", "sites"),
    "seed": ("seeds", "g"),
}
_FACT_WORDS: Final[Mapping[str, str]] = {
    "rows": "rows ", "columns": "columns ", "sites": "places ", "from": "from ", "until": "until ",
    "every_days": "every ", "zone": "in ", "count": "", "on": "on ", "sow": "sown ",
}  # fmt: skip


@cache
def info_of(table: str, key: str) -> FieldInfo:
    """Return the field of a record that a key of a table fills."""
    known = RECORDS[table].model_fields
    return next(info for name, info in known.items() if (info.alias or name) == key)


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


def sentence(problem: Problem, *, with_key: bool = False) -> str:
    """Return a problem as a sentence beside its field, or with the name of the key before it."""
    key = f"{problem.key}: " if with_key and problem.key else ""
    if problem.plain:
        return f"{key}{problem.found}; {problem.expected}."
    hint = f" ({problem.hint})" if problem.hint else ""
    return f"{key}Found {problem.found}, expected {problem.expected}{hint}."


def card_id(at: str) -> str:
    """Return the id of a form in the page."""
    return at.replace(".", "-")


def field_id(at: str, key: str) -> str:
    """Return the id of a field in the page."""
    return f"{card_id(at)}-{key}"


def text_of(value: Any, kind: KeyType, key: str, how: How) -> str:
    """Return a value of the file as a field sends it; of several ticks a list as in the file."""
    if how == "tick":
        return toml_value(value) if value is not None else ""
    return shown(value, kind, key)


def _choices(known: Sequence[tuple[str, str]], value: str, how: How) -> tuple[Choice, ...]:
    if how not in ("pick", "tick"):
        return ()
    values = _ticked(value) if how == "tick" else [value] if value else []
    strange = [(item, item) for item in values if item not in dict(known)]
    chosen = [(item, label) for item, label in known if item in values]
    others = [(item, label) for item, label in known if item not in values]
    in_order: Iterable[tuple[str, str]] = known if len(known) <= 7 else [*chosen, *others]
    return tuple(Choice(item, label, item in values) for item, label in [*strange, *in_order])


def _ticked(value: str) -> list[str]:
    """Return the values of a list as ``text_of`` has it."""
    if not value:
        return []
    read = tomllib.loads(f"value = {value}")["value"]
    return [str(item) for item in (read if isinstance(read, list) else [read])]


def _valued(value: str, key: str, kind: KeyType) -> str:
    """Return an assumed value with its unit, as people read it."""
    unit = unit_of(key)
    value = YES_NO.get(value, value) if kind.sort == "yes or no" else CHOICES.get(value, value)
    value = " ".join(CHOICES.get(part, part) for part in value.split()) if kind.sort == "list" else value
    has_unit = value.replace(".", "", 1).removeprefix("-").isdecimal() and unit
    return f"{value} {unit}" if has_unit else value


def _stays(table: str, key: str) -> bool:
    if table == "want":
        return key not in _OF_WANTS
    return table not in _NEEDED or key in _NEEDED[table]


def _is_alike(name: str, table: str, key: str) -> bool:
    """Return whether a dotted name is that of a key in any row of a table."""
    return name.startswith((f"{table}.", f"{table}[")) and name.endswith(f".{key}")


def _is_inside(key: str, name: str) -> bool:
    """Return whether a problem's key is the one of that name, or a value inside it."""
    return key == name or key.startswith((f"{name}.", f"{name}["))
