"""The bytes of a user's file; a pipe or a device of that name would have us wait for ever."""

import errno
import stat
from pathlib import Path
from typing import Final

SORTS: Final = (
    (stat.S_ISDIR, errno.EISDIR, "a folder"),
    (stat.S_ISFIFO, errno.EINVAL, "a pipe"),
    (stat.S_ISSOCK, errno.EINVAL, "a socket"),
    (stat.S_ISCHR, errno.EINVAL, "a device"),
    (stat.S_ISBLK, errno.EINVAL, "a device"),
)


def require_plain_file(path: Path) -> None:
    """Do nothing if a name is that of a plain file, or a link to one.

    Raises
    ------
    OSError
        If there is no such file, or it is no plain one; ``strerror`` says what it is.
    """
    mode = path.stat().st_mode
    for is_it, number, what in SORTS:
        if is_it(mode):
            raise OSError(number, what, str(path))


def read_bytes(path: Path) -> bytes:
    """Return what a plain file holds.

    Raises
    ------
    OSError
        If it cannot be read, as for ``require_plain_file``.
    """
    require_plain_file(path)
    return path.read_bytes()
