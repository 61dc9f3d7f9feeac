"""The keys that outlive the server, in a private file beside the plan.

A calendar that was subscribed to, a bookmark and a phone that was let in go on working after a restart. The
file holds the two keys that only read as they are, for they are printed at each start. Of a phone's key,
which writes, it holds a digest: whoever gets a copy of the folder can read with it, but not write.
"""

import hashlib
import json
import os
import re
import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cropcal.reading.files.locked import HeldError, locked, sync_folder
from cropcal.reading.files.plain_file import read_bytes
from cropcal.serve.security import new_key

FILE, LOCK = ".home-keys.json", ".home-keys.lock"
MOST_PHONES = 20
"""Phones that are remembered; one more ends the right of the one that was let in first."""
_KEY = re.compile(r"[A-Za-z0-9_-]{43}")
_DIGEST = re.compile(r"[0-9a-f]{64}")
_OTHERS = 0o077
_WAIT_S = 5.0


@dataclass(frozen=True)
class _Kept:
    read: str
    calendar: str
    phones: tuple[str, ...] = ()
    port: int = 0
    address: str = ""

    @classmethod
    def new(cls) -> "_Kept":
        return cls(new_key(), new_key())


class HomeKeys:
    """The keys of one space, as kept in a folder.

    Attributes
    ----------
    notes
        What went wrong with the file, in sentences; empty if nothing did.
    """

    def __init__(self, folder: Path, *, new: bool = False) -> None:
        """Read the keys; make new ones where there are none, or where ``new`` ones are wanted.

        Nothing is written before ``settle``.
        """
        self._file = folder / FILE
        self.notes: list[str] = []
        kept = self._read()
        self._is_new = new or kept is None
        self._kept = kept or _Kept.new()
        if new:  # the port stays: it is no secret
            self._kept = replace(_Kept.new(), port=self._kept.port, address=self._kept.address)

    @property
    def read(self) -> str:
        """The key of the link that only reads."""
        return self._kept.read

    @property
    def calendar(self) -> str:
        """The key of the calendar."""
        return self._kept.calendar

    @property
    def place(self) -> tuple[str, int]:
        """Address and port of the last time; "" and 0 if there was none."""
        return self._kept.address, self._kept.port

    @property
    def phones(self) -> int:
        """How many phones were let in."""
        return len(self._kept.phones)

    def is_phone(self, key: str) -> bool:
        """Return whether a key is that of a phone which was let in."""
        return _digest(key) in self._kept.phones

    def let_in(self) -> str:
        """Return the key of one more phone."""
        key = new_key()
        digest = _digest(key)
        self._kept = self._with(self._kept, digest)
        self._write(lambda before: self._with(before, digest))
        return key

    def settle(self, address: str, port: int) -> None:
        """Remember where the space is served, for the next time, and new keys if there are any."""
        settled = replace(self._kept, address=address, port=port)
        if self._is_new or settled != self._kept:
            is_new, self._is_new, self._kept = self._is_new, False, settled
            self._write(lambda before: settled if is_new else replace(before, address=address, port=port))

    @staticmethod
    def _with(kept: _Kept, digest: str) -> _Kept:
        others = [known for known in kept.phones if known != digest]
        return replace(kept, phones=(*others, digest)[-MOST_PHONES:])

    def _read(self) -> _Kept | None:
        try:
            text = read_bytes(self._file)
            self._keep_private()
        except FileNotFoundError:
            return None
        except OSError as error:
            why = error.strerror or str(error)
            self.notes.append(f"{self._file} cannot be read ({why.lower()}), so the links are new ones.")
            return None
        try:
            return _checked(json.loads(text))
        except (ValueError, TypeError, KeyError, RecursionError):
            self.notes.append(f"{self._file} held no keys that could be read, so the links are new ones.")
            return None

    def _keep_private(self) -> None:
        """Take the file from other users of this computer, and say so if they could read it."""
        if os.name == "posix" and self._file.stat().st_mode & _OTHERS:
            with suppress(OSError):
                self._file.chmod(0o600)
            self.notes.append(
                f"Other users of this computer could read {self._file}. If that matters, "
                "start once with --new-keys."
            )

    def _write(self, change: Callable[[_Kept], _Kept]) -> None:
        """Write the file anew, with what another server of the same space wrote meanwhile."""
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            with locked(self._file.with_name(LOCK), _WAIT_S, passing=True):
                try:
                    before = _checked(json.loads(read_bytes(self._file)))
                except (OSError, ValueError, TypeError, KeyError, RecursionError):
                    before = self._kept
                after = change(before)
                form = {**after.__dict__, "phones": list(after.phones)}
                _write_private(self._file, json.dumps(form, indent=1) + "\n")
                self._kept = after
        except (OSError, HeldError) as error:
            why = getattr(error, "strerror", None) or "another program has it"
            self.notes.append(
                f"{self._file} cannot be written ({why.lower()}), so links, phones and calendars hold "
                "until this ends."
            )


def _checked(form: Any) -> _Kept:
    """Return what a file holds; raise an error if that is no set of keys."""
    read, calendar, phones, port, address = (
        form[name] for name in ("read", "calendar", "phones", "port", "address")
    )
    fits = (
        _KEY.fullmatch(read)
        and _KEY.fullmatch(calendar)
        and read != calendar
        and all(_DIGEST.fullmatch(phone) for phone in phones)
        and type(port) is int
        and 0 <= port <= 65535
        and isinstance(address, str)
    )
    if not fits:
        raise ValueError
    return _Kept(read, calendar, tuple(phones)[-MOST_PHONES:], port, address)


def _digest(key: str) -> str:
    """Return the SHA-256 of a key; a key of 256 random bits needs no salt and no slow function."""
    return hashlib.sha256(key.encode("utf-8", "surrogatepass")).hexdigest()


def _write_private(file: Path, text: str) -> None:
    """Write a file that only its owner may read, at no moment otherwise."""
    part = file.with_name(f"{file.name}.{secrets.token_hex(4)}")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        part.replace(file)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
    sync_folder(file.parent)
