"""One line on the terminal that says what long work is doing, and for how long already."""

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

from cropcal.cli.gate import overwrite_line

SLOW_S = 1.0
"""Seconds of work after which the line is shown."""
EVERY_S = 0.5


class Line:
    """The line, redrawn by a thread of its own; ``words`` may be changed at any time."""

    def __init__(self, words: str) -> None:
        self.words = words
        self._began = time.monotonic()
        self._done = threading.Event()
        self.is_hidden = False
        self._thread = threading.Thread(target=self._redraw, daemon=True)
        self._thread.start()

    def _redraw(self) -> None:
        while not self._done.wait(EVERY_S):
            spent = time.monotonic() - self._began
            if spent > SLOW_S and not self.is_hidden:
                overwrite_line(f"{spent:.0f} s: {self.words}")

    def clear(self) -> None:
        """End the thread and wipe the line."""
        self._done.set()
        self._thread.join()
        overwrite_line("")


_shown: list[Line] = []


@contextmanager
def working(words: str) -> Iterator[None]:
    """Show what is being done while it takes long, on a terminal only; nothing may be printed meanwhile."""
    if _shown:
        before, _shown[-1].words = _shown[-1].words, words
        try:
            yield
        finally:
            _shown[-1].words = before
        return
    if not sys.stderr.isatty():
        yield
        return
    _shown.append(Line(words))
    try:
        yield
    finally:
        _shown.pop().clear()


@contextmanager
def hidden() -> Iterator[None]:
    """Hide the line while the grower is asked something."""
    for line in _shown:
        line.is_hidden = True
        overwrite_line("")
    try:
        yield
    finally:
        for line in _shown:
            line.is_hidden = False


def say(words: str) -> None:
    """Change the words of the line that is shown, if any is."""
    if _shown:
        _shown[-1].words = words
