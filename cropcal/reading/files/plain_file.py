"""The bytes of a user's file. Pipes and devices are refused: reading one would never end."""

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
    """Raise an error unless a path is a plain file, or a link to one.

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
    """Return the bytes of a plain file.

    Raises
    ------
    OSError
        If it cannot be read, as for ``require_plain_file``.
    """
    require_plain_file(path)
    return path.read_bytes()
