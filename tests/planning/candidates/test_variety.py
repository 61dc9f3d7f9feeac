"""Not the same crop every week: the row as text, cases one can follow, and exhaustive search."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.optimize.assemble import build
from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import Columns, Task, usual_cost
from cropcal.optimize.solve import solve
from cropcal.planning.planner import plan

GOLDEN = Path(__file__).resolve().parents[2] / "golden"
PLAIN = Weights(staleness=0.0)


def task(rows, demand, sites):
    """Return a task of columns (kind, sown, freed, cost, week), each a head of the one want."""
    kind, sown, freed, cost, week = (np.array(column) for column in zip(*rows, strict=True))
    count = len(rows)
    none = np.zeros(count, dtype=np.int64)
    made = Task(
        columns=Columns(
            want=none, place=none, nursery=none - 1, sown=sown, planted=sown, freed=freed,
            cost=cost.astype(float), staleness=np.zeros(count), supply_column=np.arange(count),
            supply_week=week, supply_amount=np.ones(count),
        ),
        demand=np.array([demand], dtype=float),
        sites=np.array([sites]),
        cells=np.zeros(0, dtype=np.int64),
        kind=kind,
    )  # fmt: skip
    return replace(made, cost_unit=usual_cost(made))


def weekly(weeks, costs):
    """Return a column a week for each kind: sown three weeks before."""
    return [
        (kind, 7 * (week - 3), 7 * week, cost, week)
        for week in range(3, weeks)
        for kind, cost in enumerate(costs)
    ]


def row_text(programme):
    """Return the rows of variety as text."""
    name_of = {}
    for stretch, first, count in programme.names:
        name_of |= {first + at: f"{stretch}_{at}" for at in range(count)}
    (rows,) = (rows for rows in programme.rows if rows.name == "alike")
    lines = []
    for number, high in enumerate(rows.high):
        pairs = sorted(zip(rows.variable[rows.row == number], rows.value[rows.row == number], strict=True))
        terms = " ".join(f"{'+' if value >= 0 else '-'} {abs(value):g} {name_of[at]}" for at, value in pairs)
        lines.append(f"alike_{number}: {terms} <= {high:g}")
    return "\n".join([*lines, ""])


def test_the_rows_read_as_they_should():
    """Two crops, wanted in weeks 3, 4 and 6 (none in 5): two rows for each, over weeks 3+4 and 4+6."""
    it = task(weekly(7, [1.0, 2.0]), [0, 0, 0, 1, 2, 0, 1], 9)
    assert row_text(build(it)) == (GOLDEN / "variety.lp").read_text(encoding="utf-8")


def test_a_cheap_and_a_dear_crop_take_turns():
    """One head a week: without variety the cheap one always, with it the two by turns."""
    rows = weekly(9, [1.0, 3.0])
    it = task(rows, [0, 0, 0, 1, 1, 1, 1, 1, 1], 9)
    kind = np.array([row[0] for row in rows])
    same = solve(replace(it, kind=None), gap=0.0)
    assert set(kind[same.n > 0]) == {0}
    turns = solve(it, gap=0.0)
    by_week = [int(kind[at]) for at in np.flatnonzero(turns.n)]
    assert len(by_week) == 6
    assert all(one != next_one for one, next_one in pairwise(by_week))
    assert turns.terms["alike"] == 0.0


def test_rather_the_same_again_than_nothing():
    """Where no other crop can be had, the same comes every week and nothing is short."""
    found = solve(task(weekly(7, [1.0]), [0, 0, 0, 1, 1, 1, 1], 9), gap=0.0)
    assert found.short_want_weeks == 0
    assert found.terms["alike"] == pytest.approx(3 * 0.5 * Weights().alike)


def weigh(it, n):
    """Return the objective of whole sites, straight from its description."""
    c, demand = it.columns, it.demand[0]
    counted = [week for week, asked in enumerate(demand) if asked > 0]
    usual = sum(demand) / len(counted) if counted else 1.0
    total = PLAIN.cost * sum(n * c.cost) / it.cost_unit
    got = {(kind, week): 0.0 for kind in range(2) for week in range(len(demand))}
    for column, many in enumerate(n):
        got[(int(it.kind[column]), int(c.supply_week[column]))] += float(many)
    for week, asked in enumerate(demand):
        share = sum(got[(kind, week)] for kind in range(2)) / (asked or usual)
        total += PLAIN.surplus * (max(share - 1, 0) if asked else share)
        missing = max(1 - share, 0) if asked else 0
        for width, slope in PLAIN.segments:
            total += PLAIN.short * slope * min(missing, width)
            missing -= min(missing, width)
    for one, after in pairwise(counted):
        for kind in range(2):
            shares = got[(kind, one)] / demand[one] + got[(kind, after)] / demand[after]
            total += PLAIN.alike * max(shares - 1.5, 0)
    return total


@settings(max_examples=examples(40))
@given(st.lists(st.sampled_from([0, 1, 2]), min_size=3, max_size=3), st.integers(1, 3), st.data())
def test_the_optimum_is_that_of_exhaustive_search(wanted, sites, data):
    """Every plan of a tiny task is tried by code of its own: none is better than what the solver found."""
    rows = [
        (data.draw(st.integers(0, 1)), 7 * week, 7 * week + data.draw(st.integers(7, 15)), 1.0 + week, week)
        for week in range(3)
        for _ in range(2)
    ]
    it = task(rows, wanted, sites)
    c = it.columns

    def fits(n):
        return all(
            sum(n[(c.planted <= day) & (day < c.freed)]) <= sites for day in range(int(c.freed.max()) + 1)
        )

    every = (np.array(n) for n in product(range(sites + 1), repeat=len(rows)))
    best = min(weigh(it, n) for n in every if fits(n))
    found = solve(it, weights=PLAIN, gap=0.0)
    if found.status != "empty":
        assert found.value == pytest.approx(weigh(it, found.n), abs=1e-6)
        assert found.value == pytest.approx(best, abs=1e-6)


PASSAGE = """
[[zone]]
name = "passage"
length_m = 1.2
width_m = 0.5
photoperiod_h = 16
air_c = 20
[[bed]]
name = "gutter"
zone = "passage"
sites = 12
[[fixture]]
zone = "passage"
watts = 100
ppf_umol_s = 230
[plan]
start = 2027-01-04
weeks = 20
work_days = ["tue", "fri"]
[[want]]
crops = ["lettuce-looseleaf", "lettuce-romaine"]
per_week = 1
variety = {}
"""

TWO_LETTUCES = {"lettuce-looseleaf", "lettuce-romaine"}


@pytest.mark.deep
@pytest.mark.searched(screening=16, screens=2, deciding=32, sweeps=2, rule=False)
def test_a_plan_brings_both_lettuces(read_text, tables):
    """With variety no lettuce comes three times running, once both can be ready, and no week is short.

    Each of the two brings four heads in ten or more; without variety one of them brings nearly all.
    """
    alike, varied = (plan(read_text(PASSAGE.format(word)), tables) for word in ("false", "true"))
    assert varied.outcome.short_want_weeks == alike.outcome.short_want_weeks == 0
    days = {}
    for batch in varied.batches:
        for cut in batch.harvests:
            days.setdefault(cut.on, set()).add(batch.crop)
    both = max(min(on for on, crops in days.items() if slug in crops) for slug in TWO_LETTUCES)
    brought = [days[on] for on in sorted(days) if on >= both]
    assert len(brought) > 6
    assert all(set().union(*brought[at : at + 3]) == TWO_LETTUCES for at in range(len(brought) - 2))
    heads = [Counter(), Counter()]
    for made, count in zip((alike, varied), heads, strict=True):
        for batch in made.batches:
            count[batch.crop] += batch.amount
    shares = [min(count[slug] for slug in TWO_LETTUCES) / sum(count.values()) for count in heads]
    assert shares[0] < 0.25
    assert shares[1] >= 0.4
