"""Read a space, or raise its problems."""

import hashlib
from collections.abc import Collection, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NoReturn

from cropcal.problems import Problem, Where
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.journal.cells import A_DAY, OTHER_AGE
from cropcal.reading.series import AIR_FILE, METER_FILE
from cropcal.reading.space.read import read_space_with
from cropcal.reading.text.crop_names import crops_named, nearest_crop
from cropcal.reading.text.days import Lean, read_day
from cropcal.reading.text.source import shorten
from cropcal.reading.text.toml_value import toml_value
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.records.values import Change
from cropcal.season import clock
from cropcal.season.errors import Meaning, SpaceError, choose
from cropcal.units import YEARS

PLAN_FOLDER, PLAN, PREVIOUS = "plan", "plan.json", "previous.json"
"""The folder of a space's plan, the name of its file, and that of the previous one."""


def folder_of(path: Path) -> Path:
    """Return the folder of a space; ``path`` is the folder or its space.toml."""
    return path if path.is_dir() else path.parent


def plan_json(path: Path) -> Path:
    """Return the path of a space's plan."""
    return folder_of(path) / PLAN_FOLDER / PLAN


def read(path: Path) -> tuple[Space | None, CropTables | None, list[Problem]]:
    """Return the space with its crop tables, and every problem of both."""
    space, tables, problems, _ = read_with(path, ())
    return space, tables, problems


def read_with(
    path: Path, sets: Sequence[str]
) -> tuple[Space | None, CropTables | None, list[Problem], tuple[Change, ...]]:
    """Return the same with the values of ``--set`` in place of the file's, and the changes they make."""
    folder = folder_of(path)
    tables, problems = read_crop_tables(folder)
    known = tables or read_crop_tables(None)[0]
    if known is None:
        return None, None, problems, ()
    space, changes, more = read_space_with(path, known, sets, today=clock.today())
    return space if tables else None, tables, [*problems, *more], changes


def load(path: Path) -> tuple[Space, CropTables]:
    """Return the space with its crop tables, or raise its problems."""
    space, tables, problems = read(path)
    if problems or space is None or tables is None:
        refuse(problems)
    return space, tables


def load_with(path: Path, sets: Sequence[str]) -> tuple[Space, tuple[Change, ...]]:
    """Return the space with the values of ``--set`` in place of the file's, and their changes, or raise."""
    space, _, problems, changes = read_with(path, sets)
    if problems or space is None:
        refuse(problems)
    return space, changes


def refuse(problems: Sequence[Problem]) -> NoReturn:
    """Raise problems; a command prints them to stderr, one a line, and ends with exit code 2."""
    raise SpaceError(problems)


def refuse_one(where: str, found: str, expected: str, hint: str = "") -> NoReturn:
    """Raise one problem of an argument or option."""
    refuse([Problem(Where(where), "", found, expected, hint)])


def day(text: str | None, option: str, lean: Lean = "near", expected: str = A_DAY) -> date:
    """Return a day given as text; today if None.

    ``lean`` is where it lies if the text leaves it open: the last Tuesday, or the next one.
    """
    if text is None:
        return clock.today()
    try:
        days: tuple[date, ...] = (date.fromisoformat(text),)
        why = ""
    except ValueError:
        read = read_day(text, clock.today(), lean)
        days, why = read.days, read.why
    if len(days) > 1:
        choices = [Meaning(day.isoformat(), f"{day:%a} {day.day} {day:%b}") for day in days]
        days = (date.fromisoformat(choose(option, text, choices, "one of these days")),)
    if not days:
        refuse_one(option, f'"{shorten(text)}"', expected, why)
    if days[0].year not in YEARS:
        refuse_one(option, f'"{text}"', expected, OTHER_AGE)
    return days[0]


def crop_named(text: str, where: str, tables: CropTables, here: Collection[str] = ()) -> str:
    """Return the slug of the crop that a name means; ask where it is open, refuse where it is unknown.

    ``here`` are the slugs of the crops that grow here, which are meant before others.
    """
    slugs = crops_named(text, tables, here)
    if not slugs:
        refuse_one(where, f'"{shorten(text)}"', "a crop in the table", nearest_crop(text, tables))
    if len(slugs) == 1:
        return slugs[0]
    choices = [Meaning(slug, tables.crops[slug].name) for slug in slugs]
    return choose(where, text, choices, "one of these crops")


def wanted_slugs(space: Space) -> set[str]:
    """Return the slugs of the crops that a space wants."""
    return {slug for want in space.wants for slug in want.crops}


def fingerprint(path: Path, sets: Sequence[str] = (), *, space_only: bool = False) -> str:
    """Return a hash of all files that a plan depends on, which shows whether they changed since.

    ``space_only``: of space.toml and crops.csv alone, not of the journal and the measured series.
    """
    folder = folder_of(path)
    digest = hashlib.sha256()
    beside = ("crops.csv",) if space_only else ("crops.csv", "journal.csv", AIR_FILE, METER_FILE)
    files = (folder / "space.toml" if path.is_dir() else path, *(folder / name for name in beside))
    for name in files:
        digest.update(name.read_bytes() if name.is_file() else b"-")
    for text in sets:
        digest.update(b"\0" + text.encode("utf-8", "surrogatepass"))
    return digest.hexdigest()


def as_option(key: str, value: Any) -> str:
    """Return ``KEY=VALUE`` as typed on the command line; None takes the key out."""
    return f"{key}={'' if value is None else toml_value(value)}"
