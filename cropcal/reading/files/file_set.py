"""Write files that belong together: all of them or none, even if the power, the disk or the user gives up.

The new files are written into a hidden folder beside their places. Giving that folder its second name is the
one step that counts: before it nothing has changed, after it every file in it is to be moved to its place,
by the writer or, if that one died, by whoever opens the folder next. A hidden file is locked meanwhile, so
that two writers take turns. Only hidden names of our own are ever swept.
"""

import os
import re
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from cropcal.problems import Problem, Where
from cropcal.reading.files.locked import (
    WAIT_S,
    HeldError,
    locked,
    sync_folder,
)

BEING_WRITTEN, TO_BE_PLACED, LOCK = ".cropcal-writing", ".cropcal-placing", ".cropcal-lock"
_OLD_PART = re.compile(r"\.(.+)\.[0-9a-f]{8}\.(?:part|back)")
"""What versions up to 0.1.0 left behind when they were killed while they wrote."""

FOLDER, NOTHING = "a folder to write into", "nothing was changed"
HELD = "no permission, or open in another program"


class CannotWriteError(Exception):
    """Not all files are in their places; ``problem`` says why, and what the folder holds now."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(str(problem))
        self.problem = problem


def write_set(folder: Path, files: Mapping[str, str | bytes], wait_s: float = WAIT_S) -> None:
    """Write every file into the folder, or leave everything as it was.

    Parameters
    ----------
    folder
        Where to; made if it is missing.
    files
        Plain file name -> what it holds; text is written as UTF-8, line ends as they are.
    wait_s
        How long to wait for another writer [s].

    Raises
    ------
    CannotWriteError
        If the folder or a file cannot be written, or another program keeps writing there.
    """
    if any(Path(name).name != name for name in files):
        message = f"not plain file names: {sorted(files)}"
        raise ValueError(message)
    new_folders: list[Path] = []
    try:
        _make_folder(folder, new_folders)
        with _exclusive(folder, wait_s):
            _finish(folder)
            _sweep_old_parts(folder, files)
            _prepare(folder, files)
            try:
                _place_all(folder)
            except KeyboardInterrupt:
                _place_all(folder)
                raise
    except BaseException as error:
        for path in new_folders:
            with suppress(OSError):
                path.rmdir()
        if isinstance(error, OSError):
            raise _cannot(folder, _reason(error)) from error
        raise


def finish_interrupted(folder: Path, wait_s: float = WAIT_S) -> None:
    """Place the finished files that a crashed writer left, and delete its unfinished ones.

    Every reader of a file of a set calls this first. It changes nothing where no writer crashed.

    Raises
    ------
    CannotWriteError
        If files are left to be placed and cannot be.
    """
    if not any(_exists(folder / name) for name in (TO_BE_PLACED, BEING_WRITTEN, LOCK)):
        return
    placing = folder / TO_BE_PLACED
    try:
        try:
            with _exclusive(folder, 0.0):
                _finish(folder)
        except CannotWriteError:  # another writer is at work: until it is done, the old files are valid
            if _exists(placing):
                with _exclusive(folder, wait_s):
                    _finish(folder)
    except OSError as error:
        if _exists(placing):
            raise _not_placed(folder, error) from error


@contextmanager
def _exclusive(folder: Path, wait_s: float) -> Iterator[None]:
    """Keep other writers out."""
    try:
        with locked(folder / LOCK, wait_s, passing=True):
            yield
    except HeldError as error:
        raise _cannot(folder, f"a folder that another program has been writing for {wait_s:g} s") from error


def _exists(path: Path) -> bool:
    """Return whether the file exists; False too where permissions hide it."""
    with suppress(OSError):
        return path.exists()
    return False


def _finish(folder: Path) -> None:
    if (folder / TO_BE_PLACED).exists():
        _place_all(folder)
    if (folder / BEING_WRITTEN).exists():
        shutil.rmtree(folder / BEING_WRITTEN)


def _prepare(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Write the new files into the hidden folder, check that they can be placed, and rename it."""
    parts = folder / BEING_WRITTEN
    try:
        parts.mkdir()
        for name, content in files.items():
            _write(parts / name, content.encode() if isinstance(content, str) else content)
        sync_folder(parts)
        for name in files:
            _try_place(folder / name)
        parts.rename(folder / TO_BE_PLACED)
    except BaseException:
        shutil.rmtree(parts, ignore_errors=True)
        raise
    sync_folder(folder)


def _place_all(folder: Path) -> None:
    """Move all finished files to their places; run again after a crash, it does the rest."""
    parts = folder / TO_BE_PLACED
    try:
        for part in sorted(parts.iterdir()):
            part.replace(folder / part.name)
        sync_folder(folder)
        parts.rmdir()
    except OSError as error:
        raise _not_placed(folder, error) from error


def _try_place(target: Path) -> None:
    """Raise an error now if the file could not be placed."""
    if target.is_dir():
        raise CannotWriteError(Problem(Where(str(target)), "", "a folder of that name", "a file", NOTHING))
    if target.exists():
        try:
            target.rename(target)  # changes nothing; where an open file stays in its place, it fails
        except OSError as error:
            raise _cannot(target, _reason(error), "a file to replace") from error


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sweep_old_parts(folder: Path, files: Mapping[str, str | bytes]) -> None:
    for path in folder.iterdir():
        part = _OLD_PART.fullmatch(path.name)
        if part and part[1] in files:
            with suppress(OSError):
                path.unlink()


def _make_folder(folder: Path, new_folders: list[Path]) -> None:
    """Make the folder and its parents, noting new ones in ``new_folders``, innermost first."""
    if folder.is_dir():
        return
    if folder.exists() or folder.is_symlink():
        raise _cannot(folder, "a file, not a folder", hint=f"{NOTHING}, choose another name with --out")
    if folder.parent != folder:
        _make_folder(folder.parent, new_folders)
    folder.mkdir(exist_ok=True)
    new_folders.insert(0, folder)


def _reason(error: OSError) -> str:
    if isinstance(error, PermissionError):
        return HELD
    if isinstance(error, NotADirectoryError):
        return "a part of this path that is a file, not a folder"
    return (error.strerror or str(error)).lower()


def _cannot(path: Path, found: str, expected: str = FOLDER, hint: str = NOTHING) -> CannotWriteError:
    return CannotWriteError(Problem(Where(str(path)), "", found, expected, hint))


def _not_placed(folder: Path, error: OSError) -> CannotWriteError:
    found = f"new files that cannot all take their places ({_reason(error)})"
    hint = "once they can, the next command puts them there; until then some files here are new, some old"
    return _cannot(folder, found, "files that can be replaced", hint)
