"""A code that lets one phone in: short enough to type, so it ends soon, and after a few wrong ones."""

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from cropcal.serve.security import is_same

Answer = Literal["in", "wrong", "locked", "late", "used"]

CODE_DIGITS = 6
MOST_TRIES = 5
"""Wrong codes until the code counts no more: one in 200 000 guesses it."""
VALID_S = 10 * 60
_TOKEN_BYTES = 16


@dataclass(frozen=True)
class Invited:
    """What a phone shows to be let in.

    Attributes
    ----------
    code
        Six digits, typed by hand.
    token
        The same for the link that is scanned; nobody can guess it.
    until_s
        When both end, on the clock of the invitation [s].
    """

    code: str
    token: str
    until_s: float


class Invitation:
    """The one invitation that holds at a time; a new one ends the one before it."""

    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        self._now_s = now_s
        self._turn = threading.Lock()
        self._state: Answer = "in"
        self._wrong = 0
        self._invited = self._drawn()

    def new(self) -> Invited:
        """Return a new invitation."""
        with self._turn:
            self._state, self._wrong, self._invited = "in", 0, self._drawn()
            return self._invited

    def open(self) -> Invited | None:
        """Return the invitation that holds, None if it was used, is late, or locked."""
        with self._turn:
            return self._invited if self._now() == "in" else None

    def left_s(self) -> float:
        """Return how long the invitation still holds [s]."""
        return max(0.0, self._invited.until_s - self._now_s())

    def tries_left(self) -> int:
        """Return how many more wrong codes are answered before it is locked."""
        return MOST_TRIES - self._wrong

    def take(self, *, code: str = "", token: str = "") -> Answer:
        """Let somebody in once; ``code`` as typed, spaces and dashes between its digits or not."""
        with self._turn:
            if self._now() != "in":
                return self._state
            if token:
                fits = is_same(token, self._invited.token)
            else:
                fits = is_same(code.translate(_BETWEEN), self._invited.code)
                self._wrong += not fits
            if fits:
                self._state = "used"
                return "in"
            if self._wrong >= MOST_TRIES:
                self._state = "locked"
            return "locked" if self._state == "locked" else "wrong"

    def _now(self) -> Answer:
        if self._state == "in" and self._now_s() >= self._invited.until_s:
            self._state = "late"
        return self._state

    def _drawn(self) -> Invited:
        code = f"{secrets.randbelow(10**CODE_DIGITS):0{CODE_DIGITS}}"
        return Invited(code, secrets.token_urlsafe(_TOKEN_BYTES), self._now_s() + VALID_S)


_BETWEEN = {ord(sign): None for sign in " -\u2013\u00a0"}
