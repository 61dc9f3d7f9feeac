"""Search for a plan as a person sees it: progress on a terminal, and Ctrl-C that keeps the best so far."""

import math
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from cropcal.cli.gate import over_the_line
from cropcal.cli.interrupt import asking_to_stop
from cropcal.records.plan import POINTS_A_WEEK

if TYPE_CHECKING:  # it loads numpy, which not every command needs
    from cropcal.planning.planner import SolveOptions

SLOW_S = 1.0


@contextmanager
def effort(time_limit_s: float, gap: float) -> Iterator["SolveOptions"]:
    """Show progress on a terminal; Ctrl-C ends the search and keeps the best plan so far."""
    from cropcal.planning.planner import SolveOptions

    stop, seen = threading.Event(), sys.stderr.isatty()
    trying = SolveOptions(time_limit_s=time_limit_s, gap=gap, stop=stop.is_set)
    if seen:
        trying = replace(trying, progress=_progress(time.monotonic()))
    with asking_to_stop(stop):
        yield trying
    if seen:
        over_the_line("")


def _progress(began: float) -> Callable[[float, float], None]:
    def tell(value: float, bound: float) -> None:
        spent = time.monotonic() - began
        if spent > SLOW_S and math.isfinite(value) and math.isfinite(bound):
            gap = max(value - bound, 0.0) / POINTS_A_WEEK
            off = f"{gap:.2f}" if gap < 10 else f"{gap:.0f}"
            said = f"improving for {spent:.0f} s, at most {off} short weeks from the best; Ctrl-C stops"
            over_the_line(said)

    return tell


@contextmanager
def drawing_ahead() -> Iterator[None]:
    """Load the drawing library in a thread of its own while the plan is made."""
    thread = threading.Thread(target=lambda: __import__("cropcal.show.pictures.render"), daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()
