"""Little's law: sites held = sites begun a day x days on the site, from the batches of plans."""

from collections import defaultdict
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from cropcal.optimize.solve import solve
from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.realise import PlanBuilder
from cropcal.planning.same_sowings import Grown
from cropcal.planning.what_if import area_shares

PLANS = Path(__file__).resolve().parents[1] / "spaces" / "plans"
START, CLEAN_D = date(2027, 2, 1), 1
HEAD_A_WEEK = """
[[zone]]
name = "loft"
length_m = 1.0
width_m = 0.6
photoperiod_h = 16
air_c = 21
air_moving = true

[[bed]]
name = "raft"
zone = "loft"
sites = 8
length_m = 0.9
width_m = 0.5

[[reading]]
bed = "raft"
umol_m2_s = [[220]]

[plan]
start = 2027-02-01
weeks = 30
work_days = ["mon"]
clean_days = 1

[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""


def stays(made):
    """Return (first day, days held, what) of each site's stay, clean days included, from the sites."""
    return [
        (
            (use.held_from - START).days,
            (use.held_until - use.held_from).days + CLEAN_D,
            (use.crop, use.bed),
        )
        for use in made.sites
    ]


def steady_stretches(made, cycle_d, days):
    """Yield the first day of each stretch of one cycle, before which it went on alike as long as any stay.

    Alike: what is begun on a day is what was begun one cycle before, held as long.
    """
    begun = defaultdict(list)
    for first, held, what in stays(made):
        begun[first].append((held, what))
    longest = max(held for _, held, _ in stays(made))
    alike = [sorted(begun[day]) == sorted(begun[day - cycle_d]) for day in range(days)]
    for first in range(longest + cycle_d, days - cycle_d):
        if all(alike[first - longest : first + cycle_d]) and any(
            begun[day] for day in range(first, first + cycle_d)
        ):
            yield first


def test_what_a_want_takes_up_is_what_is_held(read_text, tables):
    """A head a week: the sites that ``why`` gives are those held in the middle of the plan, day by day."""
    ready = prepare(read_text(HEAD_A_WEEK), tables)
    solved = solve(ready.task, time_limit_s=10)
    builder = PlanBuilder(
        ready.space, ready.assessment, ready.candidates, ready.wanted, ready.serving, None, ready.per_week
    )
    realised = builder.realise(solved.n)
    (row,) = area_shares(ready.space, Grown(realised.batches, realised.sites))
    c, n = ready.task.columns, solved.n
    held = [
        sum(int(n[j]) for j in np.flatnonzero(n) if c.planted[j] <= day < c.freed[j])
        for day in range(84, 140)
    ]
    assert row.per_site == 1
    assert row.sites == pytest.approx(row.days / 7)
    assert np.mean(held) == pytest.approx(row.sites, rel=0.05)  # its heads do not all stand as long
