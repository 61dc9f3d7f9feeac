"""Search for a plan at the terminal: show progress, and let Ctrl-C keep the best plan so far."""

import math
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from cropcal.cli.gate import overwrite_line
from cropcal.cli.interrupt import asking_to_stop
from cropcal.records.plan import POINTS_A_WEEK

if TYPE_CHECKING:  # it loads numpy, which not every command needs
    from cropcal.planning.planner import SolveOptions

SLOW_S = 1.0


@contextmanager
def effort(time_limit_s: float, gap: float = 1e-3) -> Iterator["SolveOptions"]:
    """Show progress on a terminal; Ctrl-C ends the search and keeps the best plan so far."""
    from cropcal.planning.planner import SolveOptions

    stop, on_screen = threading.Event(), sys.stderr.isatty()
    trying = SolveOptions(time_limit_s=time_limit_s, gap=gap, stop=stop.is_set)
    if on_screen:
        trying = replace(trying, progress=_progress(time.monotonic()))
    with asking_to_stop(stop):
        yield trying
    if on_screen:
        overwrite_line("")


def _progress(began: float) -> Callable[[float, float], None]:
    def tell(value: float, bound: float) -> None:
        spent = time.monotonic() - began
        if spent > SLOW_S and math.isfinite(value) and math.isfinite(bound):
            gap = max(value - bound, 0.0) / POINTS_A_WEEK
            off = f"{gap:.2f}" if gap < 10 else f"{gap:.0f}"
            text = f"improving for {spent:.0f} s, at most {off} short weeks from the best; Ctrl-C stops"
            overwrite_line(text)

    return tell


@contextmanager
def preload_drawing() -> Iterator[None]:
    """Import the drawing library in a thread of its own while the plan is made."""
    thread = threading.Thread(target=lambda: __import__("cropcal.show.pictures.render"), daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()
