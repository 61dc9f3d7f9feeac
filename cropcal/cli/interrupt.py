"""Ctrl-C during work that should not be cut short."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def asking_to_stop(stop: threading.Event) -> Iterator[None]:
    """Let the first Ctrl-C set ``stop``, and the second end the program at once."""

    def ask(_signal: int, _frame: object) -> None:
        stop.set()
        signal.signal(signal.SIGINT, before)

    before = signal.signal(signal.SIGINT, ask)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
