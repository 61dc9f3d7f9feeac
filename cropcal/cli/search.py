"""Search for a plan at the terminal: show progress, and let Ctrl-C keep the best plan so far."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from cropcal.cli.interrupt import asking_to_stop
from cropcal.cli.working import say, working

if TYPE_CHECKING:  # it loads numpy, which not every command needs
    from cropcal.planning.planner import SolveOptions


@contextmanager
def effort(time_limit_s: float) -> Iterator["SolveOptions"]:
    """Show progress on a terminal; Ctrl-C ends the search and keeps the best plan so far."""
    from cropcal.planning.planner import SolveOptions

    stop = threading.Event()
    with asking_to_stop(stop), working("planning; Ctrl-C stops"):
        yield SolveOptions(time_limit_s=time_limit_s, stop=stop.is_set, progress=_show_progress)


def _show_progress(_score: float, trials: int) -> None:
    say(f"improving the plan, {trials} changes tried; Ctrl-C stops")


@contextmanager
def preload_drawing() -> Iterator[None]:
    """Import the drawing library in a thread of its own while the plan is made."""
    thread = threading.Thread(target=lambda: __import__("cropcal.show.pictures.render"), daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()
