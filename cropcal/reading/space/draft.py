"""The tables of a space file as records, with the mistakes inside each, before they are checked together."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Generic, TypeVar

from pydantic import ValidationError

from cropcal.problems import Problem
from cropcal.reading.text.key_types import fields
from cropcal.reading.text.source import SourceText, shorten
from cropcal.reading.text.suggestions import nearest
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.reading.text.toml_mistakes import (
    INNER,
    MANY,
    SINGLE,
    header,
    home_of,
    meant_key,
    mistakes,
    unknown_key,
)
from cropcal.records.base import Record
from cropcal.records.crop import CropTables, SeedOnHand
from cropcal.records.hazard import Care
from cropcal.records.space import (
    Bed,
    Chore,
    Fixture,
    Growing,
    Load,
    Place,
    Reading,
    Settings,
    Want,
    Zone,
)
from cropcal.records.tariff import Rate, Tariff

R = TypeVar("R", bound=Record)


@dataclass(frozen=True)
class Part(Generic[R]):
    """One table as a record. A key in ``bad`` could not be read: its value in the record means nothing."""

    path: KeyPath
    record: R
    bad: frozenset[str]


@dataclass(frozen=True)
class Draft:
    """All tables of a space file. ``unsure`` names tables of which some could not be read at all."""

    source: SourceText
    tables: CropTables
    unsure: frozenset[str]
    place: Part[Place]
    settings: Part[Settings]
    tariff: Part[Tariff] | None
    zones: tuple[Part[Zone], ...]
    beds: tuple[Part[Bed], ...]
    fixtures: tuple[Part[Fixture], ...]
    readings: tuple[Part[Reading], ...]
    loads: tuple[Part[Load], ...]
    rates: tuple[Part[Rate], ...]
    wants: tuple[Part[Want], ...]
    chores: tuple[Part[Chore], ...]
    growing: tuple[Part[Growing], ...]
    seed: tuple[Part[SeedOnHand], ...]
    care: Part[Care]

    def known(self, table: str, parts: tuple[Part[Zone], ...] | tuple[Part[Bed], ...]) -> list[str] | None:
        """Return the names of zones or beds; None if the list is not complete because some are unreadable."""
        if table in self.unsure or not parts or any("name" in part.bad for part in parts):
            return None
        return [part.record.name for part in parts]

    @property
    def zone_names(self) -> list[str] | None:
        """Return the names of all zones, None if not all are known."""
        return self.known("zone", self.zones)

    @property
    def bed_names(self) -> list[str] | None:
        """Return the names of all beds, None if not all are known."""
        return self.known("bed", self.beds)


def readable_parts(parts: tuple[Part[R], ...], *keys: str) -> Iterator[Part[R]]:
    """Yield the parts in which all of these keys could be read."""
    return (part for part in parts if part.bad.isdisjoint(keys))


class _Reader:
    """Turns tables into parts and gathers the problems on the way."""

    def __init__(self, source: SourceText) -> None:
        self.source = source
        self.problems: list[Problem] = []
        self.unsure: set[str] = set()

    def top(self) -> None:
        """Look for tables that do not exist, and for one table where an array is meant or the reverse."""
        for key, value in self.source.data.items():
            path = (key,)
            if key in SINGLE or key in MANY:
                self.shape(path, value, many=key in MANY)
                continue
            meant = nearest(key, [*SINGLE, *MANY])
            hint = f'did you mean "{meant}"?' if meant else ""
            home = home_of(key)
            if f"{home}.{key}" in INNER:
                meant, hint = None, f"write {header(f'{home}.{key}')}"
            elif home and not isinstance(value, dict | list):
                meant, hint = None, f"it belongs under {header(home)}"
            self.unsure |= {meant} if meant else set()
            expected = f"a table: {', '.join(map(header, [*SINGLE, *MANY]))}"
            found = f"the unknown key {shorten(key)}"
            self.problems.append(self.source.problem(path, expected, hint, found=found))

    def shape(self, path: KeyPath, value: Any, *, many: bool) -> bool:
        """Return whether a key holds a table, or an array of tables; if not, report it."""
        if isinstance(value, list if many else dict):
            return True
        name = ".".join(map(str, path))
        self.unsure.add(name)
        expected = f"[[{name}]], in double brackets" if many else f"[{name}], in single brackets, once"
        self.problems.append(self.source.problem(path, expected))
        return False

    def single(self, name: str, record: type[R], fallback: Mapping[str, Any]) -> Part[R]:
        """Read a table that occurs once; ``fallback`` holds values for keys that it leaves out."""
        table = self.source.get((name,))
        return self.part(
            (name,), {**fallback, **(table if isinstance(table, dict) else {})}, record, fallback
        )

    def many(self, path: KeyPath, record: type[R], fallback: Mapping[str, Any]) -> tuple[Part[R], ...]:
        rows = self.source.get(path)
        parts = []
        for place, row in enumerate(rows if isinstance(rows, list) else []):
            if isinstance(row, dict):
                parts.append(self.part((*path, place), row, record, fallback))
            else:
                self.unsure.add(".".join(map(str, path)))
                self.problems.append(self.source.problem((*path, place), "a table of keys"))
        return tuple(parts)

    def part(
        self, path: KeyPath, table: dict[str, Any], record: type[R], fallback: Mapping[str, Any]
    ) -> Part[R]:
        """Read one table; ``fallback`` holds values for required keys that could not be read."""
        if record is Tariff:
            table = {**table, "rate": []}  # each rate is read as a part of its own
        unknown = [key for key in table if key not in fields(record)]
        meant = {name for key in unknown if (name := meant_key(key, record))}
        self.problems += [unknown_key(self.source, (*path, key), record) for key in unknown]
        table = {key: value for key, value in table.items() if key not in unknown}
        try:
            return Part(path, record.model_validate(table), frozenset(meant))
        except ValidationError as error:
            errors = [(detail["loc"], detail["type"]) for detail in error.errors(include_url=False)]
        excused = [(key,) for key in fields(record) if key in meant]
        reported = [(loc, sort) for loc, sort in errors if sort != "missing" or loc not in excused]
        self.problems += mistakes(self.source, path, record, reported)
        bad = {str(loc[0]) for loc, _ in errors}
        good = {key: value for key, value in table.items() if key not in bad}
        return Part(path, record.model_validate({**fallback, **good}), frozenset(bad | meant))


def read_draft(source: SourceText, tables: CropTables, start: date) -> tuple[Draft, list[Problem]]:
    """Turn the tables of a space file into records, and report the mistakes inside each.

    Parameters
    ----------
    source
        The file's text and data.
    tables
        Crop and lamp tables, kept for later checks.
    start
        First day of the plan if the file gives none.

    Returns
    -------
    draft, problems
        Every table that could be read at least in part; the mistakes inside single tables.
    """
    reader = _Reader(source)
    reader.top()
    a_name: dict[str, Any] = {"name": "?"}
    if isinstance(tariff := source.get(("tariff",)), dict) and "rate" in tariff:
        reader.shape(("tariff", "rate"), tariff["rate"], many=True)
    draft = Draft(
        source=source,
        tables=tables,
        place=reader.single("place", Place, {}),
        settings=reader.single("plan", Settings, {"start": start}),
        tariff=reader.single("tariff", Tariff, {}) if "tariff" in source.data else None,
        zones=reader.many(("zone",), Zone, {**a_name, "length_m": 1.0, "width_m": 1.0}),
        beds=reader.many(("bed",), Bed, {**a_name, "zone": "?"}),
        fixtures=reader.many(("fixture",), Fixture, {"zone": "?", "watts": 1.0}),
        readings=reader.many(("reading",), Reading, {"bed": "?"}),
        loads=reader.many(("load",), Load, {**a_name, "watts": 1.0}),
        rates=reader.many(("tariff", "rate"), Rate, {"per_kwh": 0.0}),
        wants=reader.many(("want",), Want, {"crops": ()}),
        chores=reader.many(("chore",), Chore, {**a_name, "every_days": 1}),
        growing=reader.many(("growing",), Growing, {"crop": "?", "bed": "?", "sites": 1}),
        seed=reader.many(("seed",), SeedOnHand, {"crop": "?"}),
        care=reader.single("care", Care, {}),
        unsure=frozenset(reader.unsure),
    )
    return draft, reader.problems
