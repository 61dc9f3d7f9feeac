"""Read a space for a command, or say what is wrong with it and stop."""

import hashlib
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import NoReturn

import typer

from cropcal.problems import Exit, Problem, Where
from cropcal.reading.crops import read_crop_tables
from cropcal.reading.journal_cells import OTHER_AGE
from cropcal.reading.measured import AIR_FILE, METER_FILE
from cropcal.reading.space import read_space_with
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.records.trial import Change
from cropcal.units import YEARS

PLAN_FOLDER, PLAN, PREVIOUS = "plan", "plan.json", "previous.json"
"""Where the plan of a space is kept, under which name, and what it was before."""


def folder_of(path: Path) -> Path:
    """Return the folder of a space, which may be named itself or by its space.toml."""
    return path if path.is_dir() else path.parent


def plan_json(path: Path) -> Path:
    """Return where the plan of a space is kept."""
    return folder_of(path) / PLAN_FOLDER / PLAN


def read(path: Path) -> tuple[Space | None, CropTables | None, list[Problem]]:
    """Return the space with its crop tables, and every problem of both."""
    space, tables, problems, _ = read_with(path, ())
    return space, tables, problems


def read_with(
    path: Path, sets: Sequence[str]
) -> tuple[Space | None, CropTables | None, list[Problem], tuple[Change, ...]]:
    """Return the same as if the values of ``--set`` stood in the file, and what they change."""
    folder = folder_of(path)
    tables, problems = read_crop_tables(folder)
    known = tables or read_crop_tables(None)[0]
    if known is None:
        return None, None, problems, ()
    space, given, more = read_space_with(path, known, sets, today=today())
    return space if tables else None, tables, [*problems, *more], given


def load(path: Path) -> tuple[Space, CropTables]:
    """Return the space with its crop tables, or print its problems and stop with exit code 2."""
    space, tables, problems = read(path)
    if problems or space is None or tables is None:
        refuse(problems)
    return space, tables


def load_with(path: Path, sets: Sequence[str]) -> tuple[Space, tuple[Change, ...]]:
    """Return the space as if the values of ``--set`` stood in its file and what they change, or stop."""
    space, _, problems, given = read_with(path, sets)
    if problems or space is None:
        refuse(problems)
    return space, given


def refuse(problems: list[Problem]) -> NoReturn:
    """Print problems to stderr, one a line, and stop with exit code 2."""
    for problem in problems:
        typer.echo(str(problem), err=True)
    raise typer.Exit(Exit.BAD_INPUT)


def refuse_one(where: str, found: str, expected: str, hint: str = "") -> NoReturn:
    """Print one problem of the command line itself and stop with exit code 2."""
    refuse([Problem(Where(where), "", found, expected, hint)])


def today() -> date:
    """Return the user's own calendar day."""
    return date.today()  # noqa: DTZ011


def day(text: str | None, option: str) -> date:
    """Return a date given on the command line; today if none is."""
    if text is None:
        return today()
    try:
        said = date.fromisoformat(text)
    except ValueError:
        refuse_one(option, f'"{text}"', "a date like 2027-01-06")
    if said.year not in YEARS:
        refuse_one(option, f'"{text}"', "a date like 2027-01-06", OTHER_AGE)
    return said


def fingerprint(path: Path, sets: Sequence[str] = (), *, told_only: bool = False) -> str:
    """Return a hash of what a plan depends on, so that a written plan is known to be of today's files.

    ``told_only``: of the space and its crops alone, not of what happened and was measured since.
    """
    folder = folder_of(path)
    digest = hashlib.sha256()
    beside = ("crops.csv",) if told_only else ("crops.csv", "journal.csv", AIR_FILE, METER_FILE)
    files = (folder / "space.toml" if path.is_dir() else path, *(folder / name for name in beside))
    for name in files:
        digest.update(name.read_bytes() if name.is_file() else b"-")
    for text in sets:
        digest.update(b"\0" + text.encode("utf-8", "surrogatepass"))
    return digest.hexdigest()
