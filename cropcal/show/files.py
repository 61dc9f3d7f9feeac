"""Write all files of a plan, or none."""

import contextlib
import os
import secrets
from collections.abc import Mapping
from pathlib import Path


class CannotWriteError(OSError):
    """The files could not be written; its text is one line for the user."""


def write_all(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Write every file into the folder, or leave everything as it was.

    All files are first written beside their places and then put there one by one. If that fails half
    way (a spreadsheet may hold one open), those already in place are put back.

    Parameters
    ----------
    folder
        Where to; made if it is missing.
    files
        Plain file name -> what it holds; text is written as UTF-8, line ends as they are.

    Raises
    ------
    CannotWriteError
        If the folder or a file cannot be written.
    """
    if any(Path(name).name != name for name in files):
        message = f"not plain file names: {sorted(files)}"
        raise ValueError(message)
    made: list[Path] = []
    try:
        _make_folder(folder, made)
        _replace_all(folder, {name: _bytes(content) for name, content in files.items()})
    except BaseException as error:
        for path in made:
            with contextlib.suppress(OSError):
                path.rmdir()
        if isinstance(error, OSError) and not isinstance(error, CannotWriteError):
            raise _explained(folder, error) from error
        raise


def _bytes(content: str | bytes) -> bytes:
    return content.encode() if isinstance(content, str) else content


def _make_folder(folder: Path, made: list[Path]) -> None:
    """Make the folder and its parents, noting new ones in ``made``, innermost first."""
    if folder.is_dir():
        return
    if folder.exists() or folder.is_symlink():
        message = f"{folder}: cannot write here, it is a file, not a folder; choose another name with --out"
        raise CannotWriteError(message)
    if folder.parent != folder:
        _make_folder(folder.parent, made)
    folder.mkdir()
    made.insert(0, folder)


def _replace_all(folder: Path, files: Mapping[str, bytes]) -> None:
    tag = secrets.token_hex(4)
    waiting = {name: folder / f".{name}.{tag}.part" for name in files}
    placed: dict[str, bytes | None] = {}
    try:
        for name, part in waiting.items():
            if (folder / name).is_dir():
                message = f"{folder / name}: cannot write this file, a folder has its name"
                raise CannotWriteError(message)
            _write(part, files[name])
        for name, part in waiting.items():
            target = folder / name
            before = target.read_bytes() if target.exists() else None
            part.replace(target)
            placed[name] = before
        _sync_folder(folder)
    except BaseException:
        _put_back(folder, placed, tag)
        raise
    finally:
        for part in waiting.values():
            with contextlib.suppress(OSError):
                part.unlink(missing_ok=True)


def _put_back(folder: Path, placed: Mapping[str, bytes | None], tag: str) -> None:
    for name, before in placed.items():
        with contextlib.suppress(OSError):
            if before is None:
                (folder / name).unlink()
            else:
                part = folder / f".{name}.{tag}.back"
                try:
                    _write(part, before)
                    part.replace(folder / name)
                finally:
                    part.unlink(missing_ok=True)


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Make the new names last; not every system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _explained(folder: Path, error: OSError) -> CannotWriteError:
    if isinstance(error, PermissionError):
        why = "no permission, or a file in it is open in another program"
    elif isinstance(error, NotADirectoryError):
        why = "a part of this path is a file, not a folder"
    else:
        why = (error.strerror or str(error)).lower()
    return CannotWriteError(f"{folder}: cannot write here, {why}; nothing was changed")
