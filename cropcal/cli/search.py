"""Search for a plan as a person sees it: progress on a terminal, and Ctrl-C that keeps the best so far."""

import math
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING

from cropcal.cli.gate import over_the_line
from cropcal.cli.interrupt import asking_to_stop
from cropcal.cli.load import refuse_one
from cropcal.records.crop import CropTables
from cropcal.records.past import Past
from cropcal.records.plan import POINTS_A_WEEK, Plan
from cropcal.records.space import Space

if TYPE_CHECKING:  # it loads numpy, which not every command needs
    from cropcal.planning.pace import Paces

SLOW_S = 1.0


def planned(
    space: Space,
    tables: CropTables,
    time_limit_s: float,
    gap: float,
    paces: "Paces",
    past: Past | None,
    cycles: Sequence[int] = (),
) -> Plan:
    """Plan with progress on a terminal; Ctrl-C ends the search and keeps the best plan so far."""
    from cropcal.planning.planner import Effort
    from cropcal.planning.planner import plan as make

    stop, seen = threading.Event(), sys.stderr.isatty()
    effort = Effort(time_limit_s=time_limit_s, gap=gap, stop=stop.is_set)
    if seen:
        effort = replace(effort, progress=_progress(time.monotonic()))
    with asking_to_stop(stop):
        made = make(space, tables, effort, paces, past, cycles)
    if seen:
        over_the_line("")
    return made


def cycles_of(space: Space, steady: bool | None, before: int, *, goes_on: bool) -> tuple[int, ...]:
    """Return the weeks of the cycles that a plan may repeat itself in; none: it is free.

    Parameters
    ----------
    space
        Where the sun comes in no two weeks are alike, and a steady plan is refused.
    steady
        What is asked for; None: as in the plan before.
    before
        The weeks of the cycle of the plan before; 0 if it is free or there is none.
    goes_on
        Whether that one is gone on with, in its very cycle.
    """
    weeks = 0 if steady is False else before
    sunny = next((zone.name for zone in space.zones if zone.has_daylight), None)
    if steady and sunny is not None:
        refuse_one(
            "--steady",
            f'daylight_share in zone "{sunny}"',
            "lamp light alone",
            "with the sun no two weeks have the same light, so nothing repeats; plan without --steady",
        )
    if not (steady or weeks) or sunny is not None:
        return ()
    from cropcal.planning.repeating import PERIODS

    return (weeks,) if weeks and goes_on else PERIODS


def cycle_of(made: Plan) -> int:
    """Return the weeks of a steady plan's cycle, 0 if it is free."""
    return made.rhythm.cycle_weeks if made.rhythm and made.is_steady else 0


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
    thread = threading.Thread(target=lambda: __import__("cropcal.show.picture"), daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()
