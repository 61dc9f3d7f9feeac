"""The best plan that does the same in every cycle: cases by hand, every pattern tried, and real spaces."""

from itertools import product
from pathlib import Path

import numpy as np
import pytest
from depth import examples, few_of
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import Columns, Task
from cropcal.planning.candidates.columns import CandidateColumns
from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.cyclic import best_cyclic_plan, ordinary_week_columns

PLANS = Path(__file__).resolve().parents[1] / "spaces" / "plans"


def season(kinds, demand, sites, *, missing=()):
    """Return a task and its ways: ``kinds`` are (days to the cut, heads), sown in place each Monday.

    ``missing`` are days on which nothing is sown or cut. A site is free on the day after the cut.
    """
    rows = [
        (kind, sown, sown + days, heads)
        for kind, (days, heads) in enumerate(kinds)
        for sown in range(0, 7 * len(demand), 7)
        if sown + days < 7 * len(demand) and not {sown, sown + days} & set(missing)
    ]
    kind, sown, cut = (np.array([row[at] for row in rows], dtype=np.int64) for at in range(3))
    size, zero = len(rows), np.zeros(len(rows), dtype=np.int64)
    columns = Columns(
        want=zero,
        place=zero,
        nursery=zero - 1,
        sown=sown,
        planted=sown,
        freed=cut + 1,
        cost=np.ones(size),
        staleness=np.zeros(size),
        supply_column=np.arange(size),
        supply_week=cut // 7,
        supply_amount=np.array([row[3] for row in rows], dtype=float),
    )
    none = np.zeros((size, 1))
    ways = CandidateColumns(
        (), kind, zero, sown, sown, cut[:, None], none, none, none, cut + 1, np.zeros(size)
    )
    return Task(columns, np.array([demand], dtype=float), np.array([sites]), np.zeros(0, np.int64)), ways


def repeating(task, ways, **options):
    """Return the best repeating plan of a season whose ways are all ways of an ordinary week."""
    return best_cyclic_plan(task, ways, ways, np.array([False]), **options)


def test_one_head_a_week_on_two_sites_by_hand():
    """A head takes 13 days, one a week is wanted: one sown every Monday fills two sites and meets all."""
    task, ways = season([(13, 1)], [0, *[1] * 7], 2)
    found = repeating(task, ways)
    assert found.period_weeks == 1
    assert found.proven
    assert found.solution.n.tolist() == [1] * 7
    assert found.solution.short_want_weeks == 0


def test_one_site_is_sown_every_other_week_by_hand():
    """On one site a weekly rhythm is impossible: every other Monday, four of seven weeks are met."""
    task, ways = season([(13, 1)], [0, *[1] * 7], 1)
    found = repeating(task, ways)
    assert found.period_weeks == 2
    assert found.solution.n.tolist() == [1, 0, 1, 0, 1, 0, 1]
    assert found.solution.short_want_weeks == 3
    weekly = repeating(task, ways, periods=(1,))
    assert weekly.solution.n.sum() == 0


def test_what_falls_in_a_break_is_left_out_by_hand():
    """Nobody cuts in week 4: the head sown for it is not sown, all other weeks have theirs."""
    task, ways = season([(13, 1)], [0, 1, 1, 1, 0, 1, 1, 1], 2, missing=range(28, 35))
    found = repeating(task, ways)
    assert found.period_weeks == 1
    assert dict(zip(ways.sown.tolist(), found.solution.n.tolist(), strict=True)) == {
        0: 1,
        7: 1,
        14: 1,
        # 21 would be cut in week 4, and nobody sows on 28
        35: 1,
        42: 1,
    }
    assert found.solution.short[0].nonzero()[0].tolist() == [5]


def test_quick_heads_until_the_rhythm_begins_by_hand():
    """The big head takes four weeks; small ones of one week fill the start, but only before its first."""
    task, ways = season([(27, 5), (6, 1)], [1, 1, 1, 5, 5, 5, 5, 5], 4)
    found = repeating(task, ways, periods=(1,))
    big = found.solution.n[ways.option == 0]
    assert big.tolist() == [1] * 5
    quick = dict(zip(ways.sown[ways.option == 1].tolist(), found.solution.n[ways.option == 1], strict=True))
    assert quick == {0: 1, 7: 1, 14: 1, 21: 0, 28: 0, 35: 0, 42: 0, 49: 0}
    assert found.solution.short_want_weeks == 0


def weight(task, n):
    """Return what a plan weighs, from its description: a want of its own, nothing keeps."""
    total, weights, c = 0.0, Weights(), task.columns
    for week, asked in enumerate(task.demand[0]):
        got = sum(
            n[j] * c.supply_amount[e]
            for e, j in enumerate(c.supply_column.tolist())
            if c.supply_week[e] == week
        )
        if asked:
            missing = max(1 - got / asked, 0)
            for width, slope in weights.segments:
                total += weights.short * slope * min(missing, width)
                missing -= min(missing, width)
            total += weights.surplus * max(got / asked - 1, 0)
        else:
            usual = task.demand[0][task.demand[0] > 0].mean()
            total += weights.surplus * got / usual
    return total + weights.cost * float(n @ c.cost) / task.cost_unit


def fits(task, n):
    c = task.columns
    return all(
        n[(c.planted <= day) & (day < c.freed)].sum() <= task.sites[0] for day in range(int(c.freed.max()))
    )


@st.composite
def seasons(draw):
    days = draw(st.sampled_from([6, 9, 13, 20]))
    heads = draw(st.sampled_from([1, 2]))
    demand = [draw(st.sampled_from([0, 1, 2])) for _ in range(7)]
    demand[6] = 1
    away = draw(st.sampled_from([(), range(21, 28), range(28, 35)]))
    kinds = [(days, heads), *([(6, 1)] if draw(st.booleans()) else [])]
    return season(kinds, demand, draw(st.integers(1, 2)), missing=away)


@settings(max_examples=examples(40), deadline=None, derandomize=True)
@given(seasons())
def test_no_pattern_is_better(case):
    """Of every pattern of one or two weeks, tried out by code of its own, none weighs less."""
    task, ways = case
    best = np.inf
    for period in (1, 2):
        shape = list(zip(ways.option.tolist(), (ways.sown % (7 * period)).tolist(), strict=True))
        names = sorted(set(shape))
        useful = {
            j
            for j, week in zip(task.columns.supply_column.tolist(), task.columns.supply_week, strict=True)
            if task.demand[0][week] > 0
        }
        for counts in product(range(int(task.sites[0]) + 1), repeat=len(names)):
            much = dict(zip(names, counts, strict=True))
            n = np.array([much[one] if j in useful else 0 for j, one in enumerate(shape)], dtype=np.int64)
            if fits(task, n):
                best = min(best, weight(task, n))
    found = repeating(task, ways, periods=(1, 2))
    assert fits(task, found.solution.n)
    assert weight(task, found.solution.n) == pytest.approx(found.solution.value, abs=1e-6)
    assert found.solution.value <= best + 0.1 * 7 + 0.005 * best + 1e-6


@pytest.mark.parametrize("name", few_of(["five-sites-in-place", "eight-sites-nursery"], 1))
def test_every_cycle_of_a_real_space_is_the_same(name, read_text, tables):
    """From the first harvest of a want on, a way is grown in all cycles in which it brings something wanted.

    Compared by crop, place, weekday of the cycle and days after the sowing, straight from the ways.
    """
    ready = prepare(read_text((PLANS / f"{name}.toml").read_text(encoding="utf-8")), tables)
    task, ways = ready.task, ready.candidates
    ordinary = ordinary_week_columns(ready)
    found = best_cyclic_plan(task, ways, ordinary, np.zeros(len(task.demand), bool), periods=(2,))
    c, n, days = task.columns, found.solution.n, 7 * found.period_weeks
    useful = {
        j
        for j, week in zip(c.supply_column.tolist(), c.supply_week.tolist(), strict=True)
        if week < task.demand.shape[1] and task.demand[c.want[j]][week] > 0
    }
    last = {j: int(c.supply_week[c.supply_column == j].max()) for j in range(c.count)}
    patterns = {}
    for j in sorted(useful):
        cuts = tuple(int(day - ways.sown[j]) for day in ways.cuts[j] if day >= 0)
        key = (int(ways.option[j]), int(ways.sown[j]) % days, int(ways.planted[j] - ways.sown[j]), cuts)
        patterns.setdefault(key, []).append(j)
    rhythm = {key: mine for key, mine in patterns.items() if n[mine[-1]] > 0 or n[mine].min() > 0}
    assert rhythm
    first = {}
    for mine in rhythm.values():
        for j in mine:
            if n[j]:
                week = int(c.supply_week[c.supply_column == j].min())
                first[int(c.want[j])] = min(week, first.get(int(c.want[j]), week))
    for key, mine in patterns.items():
        if key in rhythm:
            assert len({int(n[j]) for j in mine}) == 1
        else:
            assert all(n[j] == 0 or last[j] < first[int(c.want[j])] for j in mine)
