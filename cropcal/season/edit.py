"""Changing space.toml for good: the values that ``--set`` tries, checked first, written all or not at all."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from cropcal.problems import Problem
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.files.plain_file import read_bytes
from cropcal.reading.space.read import read_space_text
from cropcal.reading.space.rewrite import Rewritten, rewritten
from cropcal.records.values import Change
from cropcal.season import clock
from cropcal.season.errors import SpaceError
from cropcal.season.files import keep_files
from cropcal.season.load import folder_of, load, load_with, refuse, refuse_one

BEFORE = "space.before.toml"
"""The file as it was before its last change: with the comments of lines that were taken out."""


@dataclass(frozen=True)
class Kept:
    """What was changed in a file, and ``KEY=VALUE`` that bring back what stood there before."""

    file: Path
    changes: tuple[Change, ...]
    undo: tuple[str, ...]


def space_file(path: Path) -> Path:
    """Return the path of a space's file; ``path`` is the folder or the file."""
    return path / "space.toml" if path.is_dir() else path


def keep_settings(path: Path, options: Sequence[str]) -> Kept:
    """Write values into a space's file, if the file is right with them.

    Raises
    ------
    SpaceError
        If the file, a value, or the file with the values has mistakes, or it cannot be written.
    """
    load(path)  # a file with mistakes is mended by hand first
    try:
        load_with(path, options)
    except SpaceError as error:
        refuse([_as_typed(problem) for problem in error.problems])
    file = space_file(path)
    before = read_bytes(file)
    made, problems = rewritten(before.decode("utf-8"), options, str(file))
    if made is None:
        refuse(problems)
    write_if_same(file, before, made)
    return Kept(file, made.changes, made.undo)


def write_if_same(file: Path, before: bytes, made: Rewritten) -> None:
    """Write a space's file, if it still holds what it held when the change was made.

    Raises
    ------
    SpaceError
        If somebody changed it meanwhile, the new text has mistakes, or it cannot be written.
    """
    tables, problems = read_crop_tables(folder_of(file))
    if tables is not None:
        _, more = read_space_text(made.text, tables, str(file), today=clock.today())
        problems = [*problems, *more]
    if problems:
        refuse(problems)
    if read_bytes(file) != before:
        refuse_one(str(file), "a file that was changed meanwhile", "the file as it was", "try once more")
    if made.text.encode("utf-8") != before:
        keep_files(file.parent, {file.name: made.text.encode("utf-8"), BEFORE: before})


def _as_typed(problem: Problem) -> Problem:
    """Return a problem of a value at the place where it was typed: without the option that tries values."""
    return replace(problem, where=replace(problem.where, path=problem.where.path.removeprefix("--set ")))
