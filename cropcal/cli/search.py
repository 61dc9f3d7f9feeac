"""Search for a plan at the terminal: show progress, and let Ctrl-C keep the best plan so far."""

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from cropcal.cli.gate import overwrite_line
from cropcal.cli.interrupt import asking_to_stop

if TYPE_CHECKING:  # it loads numpy, which not every command needs
    from cropcal.planning.planner import SolveOptions

SLOW_S = 1.0


@contextmanager
def effort(time_limit_s: float) -> Iterator["SolveOptions"]:
    """Show progress on a terminal; Ctrl-C ends the search and keeps the best plan so far."""
    from cropcal.planning.planner import SolveOptions

    stop, on_screen = threading.Event(), sys.stderr.isatty()
    trying = SolveOptions(time_limit_s=time_limit_s, stop=stop.is_set)
    if on_screen:
        trying = replace(trying, progress=_progress(time.monotonic()))
    with asking_to_stop(stop):
        yield trying
    if on_screen:
        overwrite_line("")


def _progress(began: float) -> Callable[[float, int], None]:
    def show(score: float, trials: int) -> None:
        spent = time.monotonic() - began
        if spent > SLOW_S:
            overwrite_line(f"improving for {spent:.0f} s, {trials} changes tried; Ctrl-C stops")

    return show


@contextmanager
def preload_drawing() -> Iterator[None]:
    """Import the drawing library in a thread of its own while the plan is made."""
    thread = threading.Thread(target=lambda: __import__("cropcal.show.pictures.render"), daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()
