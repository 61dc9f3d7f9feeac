"""A file that one program at a time may hold open, and names that last."""

import contextlib
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

WAIT_S = 10.0
_PAUSE_S = 0.01


class HeldError(Exception):
    """Another program held the file for as long as we were ready to wait."""


@contextmanager
def locked(path: Path, wait_s: float = WAIT_S, *, passing: bool = False) -> Iterator[int]:
    """Open a file for appending, made if it is missing, and hold its lock.

    If the file was replaced or removed while we waited, the file that has its name now is opened.

    Parameters
    ----------
    path
        The file.
    wait_s
        How long to wait for another program [s].
    passing
        Whether the file exists only for its lock; then it is removed with the lock.

    Raises
    ------
    HeldError
        If another program has the lock all that time.
    OSError
        If the file cannot be opened.
    """
    until = time.monotonic() + wait_s
    flags = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_BINARY", 0)
    while True:
        handle = os.open(path, flags, 0o666)
        ours = False
        try:
            while not _lock(handle):
                if time.monotonic() > until:
                    raise HeldError
                time.sleep(_PAUSE_S)
            ours = is_same_file(path, handle)
            if ours:
                yield handle
                return
        finally:
            _close(path, handle, unlink=ours and passing)


if sys.platform == "win32":
    import msvcrt

    _FAR_BEHIND_THE_END = 0x7FFFFFF0

    def _lock(handle: int) -> bool:
        os.lseek(handle, _FAR_BEHIND_THE_END, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _close(path: Path, handle: int, *, unlink: bool) -> None:
        """Close the file, then remove it: that fails as long as another program has it open."""
        os.close(handle)
        if unlink:
            with contextlib.suppress(OSError):
                path.unlink()

else:
    import fcntl

    def _lock(handle: int) -> bool:
        """Return whether the lock is ours now; closing the file, or dying, gives it back."""
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _close(path: Path, handle: int, *, unlink: bool) -> None:
        """Remove the file while the lock is ours, then close it: a waiting program sees that it is gone."""
        try:
            if unlink:
                with contextlib.suppress(OSError):
                    path.unlink()
        finally:
            os.close(handle)


def is_same_file(path: Path, handle: int) -> bool:
    """Return whether the open file is the one of that name; a spreadsheet saves by replacing it."""
    try:
        return os.path.samestat(path.stat(), os.fstat(handle))
    except FileNotFoundError:
        return False


def sync_folder(folder: Path) -> None:
    """Flush a folder's file names to disk (fsync); does nothing where the system cannot."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
