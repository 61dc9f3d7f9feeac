"""The page of the space: every table of space.toml as a form, made from its record; ``space_form``."""

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any, Final

from cropcal.problems import Problem
from cropcal.reading.space.read import read_space_text
from cropcal.reading.space.setting_key import TABLES as RECORDS
from cropcal.reading.text.key_types import KeyType, fields
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.reading.text.toml_value import toml_value
from cropcal.records.crop import CropTables
from cropcal.serve.space_cards import (
    INNER,
    NEW,
    ROWS,
    Card,
    FormChoice,
    FormField,
    Section,
    SpaceForm,
    Tried,
    along,
    card_id,
    field_id,
    path_of,
    source_of,
    table_of,
)
from cropcal.serve.space_titles import called, facts_of, title_of
from cropcal.serve.space_values import YES_NO, How, how_of, shown, text_of
from cropcal.serve.space_words import CHOICES, FIELDS, TABLES, unit_of, words_of

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
        self.doubts = space.doubts if space else ()
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
            title=f"Add a {TABLES[table].row}" if is_new else title_of(table, row, self.tables),
            facts="" if is_new else facts_of(table, row),
            usual=tuple(part for part in made if part not in folded),
            folded=tuple(folded),
            mistakes=tuple(sentence(problem) for problem in whole),
            can_go=not is_new and table in ROWS,
            along=tuple(called(self.source, self.tables, *one) for one in along(self.source.data, path))
            if row
            else (),
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
        is_needed = _default_of(table, key) is ... and (table, key) != ("plan", "start")
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
            doubt=" ".join(sentence(doubt) for doubt in self.doubts if _is_inside(doubt.key, name)),
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
        of_size = known.get(self.source.name(path)) if (table, key) == ("bed", "length_m") else None
        if of_size:
            return " ".join([of_size[0], f"({of_size[1]})"])
        default = _default_of(table, key)
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


@cache
def _default_of(table: str, key: str) -> Any:
    """Return what the record has where a key is left out, ``...`` where it must not be."""
    known = RECORDS[table].model_fields
    info = next(info for name, info in known.items() if (info.alias or name) == key)
    return ... if info.is_required() else info.default


def sentence(problem: Problem, *, with_key: bool = False) -> str:
    """Return a problem as a sentence beside its field, or with the name of the key before it."""
    key = f"{problem.key}: " if with_key and problem.key else ""
    if problem.plain:
        return f"{key}{problem.found}; {problem.expected}."
    hint = f" ({problem.hint})" if problem.hint else ""
    return f"{key}Found {problem.found}, expected {problem.expected}{hint}."


def _choices(known: Sequence[tuple[str, str]], value: str, how: How) -> tuple[FormChoice, ...]:
    if how not in ("pick", "tick"):
        return ()
    values = _ticked(value) if how == "tick" else [value] if value else []
    strange = [(item, item) for item in values if item not in dict(known)]
    chosen = [(item, label) for item, label in known if item in values]
    others = [(item, label) for item, label in known if item not in values]
    in_order: Iterable[tuple[str, str]] = known if len(known) <= 7 else [*chosen, *others]
    return tuple(FormChoice(item, label, item in values) for item, label in [*strange, *in_order])


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
