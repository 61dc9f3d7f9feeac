"""What Ctrl-C does while a command is at something that it should not just leave."""

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def asking_to_stop(stop: threading.Event) -> Iterator[None]:
    """Let the first Ctrl-C ask for an end, the second end at once."""

    def ask(_signal: int, _frame: object) -> None:
        stop.set()
        signal.signal(signal.SIGINT, before)

    before = signal.signal(signal.SIGINT, ask)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
