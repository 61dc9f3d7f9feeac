"""The planning programme: its rows as text, hand-solved cases, exhaustive search, and plain recomputation."""

from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st

from cropcal.planning.build import build
from cropcal.planning.dive import dived
from cropcal.planning.dominance import undominated
from cropcal.planning.greedy import greedy
from cropcal.planning.programme import Before, Columns, Task, usual_cost
from cropcal.planning.search import FIRST_NODES, Patience, Search
from cropcal.planning.shortage import Weights
from cropcal.planning.solve import solve
from cropcal.planning.solver import Relaxed, run
from cropcal.planning.why import binds, shortage

GOLDEN = Path(__file__).with_name("golden")


def columns(rows):
    """Return columns from rows (want, place, nursery, sown, planted, freed, cost, {week: amount})."""
    names = ("want", "place", "nursery", "sown", "planted", "freed")
    fields = {name: np.array([row[at] for row in rows], dtype=np.int64) for at, name in enumerate(names)}
    supply = [(at, week, amount) for at, row in enumerate(rows) for week, amount in row[7].items()]
    return Columns(
        **fields,
        cost=np.array([row[6] for row in rows], dtype=float),
        staleness=np.zeros(len(rows)),
        supply_column=np.array([entry[0] for entry in supply], dtype=np.int64),
        supply_week=np.array([entry[1] for entry in supply], dtype=np.int64),
        supply_amount=np.array([entry[2] for entry in supply], dtype=float),
    )


def task(rows, demand, sites, cells=(), keeps=()):
    made = Task(
        columns=replace(columns(rows), keeps=np.array(keeps, dtype=np.int64)),
        demand=np.array(demand, dtype=float),
        sites=np.array(sites, dtype=np.int64),
        cells=np.array(cells, dtype=np.int64),
    )
    return replace(made, cost_unit=usual_cost(made))


FOUR_WAYS = [
    (0, 0, 0, 0, 14, 36, 2.0, {5: 1}),
    (0, 0, 0, 14, 28, 43, 2.0, {6: 1}),
    (1, 0, -1, 0, 0, 28, 1.0, {3: 90, 5: 20}),
    (1, 0, -1, 7, 7, 27, 1.0, {3: 40}),
]


def test_every_kind_of_row_reads_as_it_should(lp_text):
    """One small programme with every kind of row, as text that was read and found right, row by row.

    The third way frees its site on day 28, on which the second is planted; the first leaves the nursery on
    day 14, on which the second is sown. Where every way brings half a want, shortage is counted in halves:
    the first at 25 + 31.25 per half, the second at 80. Where a site brings 90 g or 40 g of 60 wanted, whole
    sites imply more than the want row says: one of the greater, two of the lesser, or a third is short.
    """
    made = build(task(FOUR_WAYS, [[0, 0, 0, 0, 0, 2, 2], [0, 0, 0, 60, 0, 40, 0]], [3], [2]))
    kinds = {rows.name for rows in made.rows}
    text = lp_text.as_text(made)
    assert kinds == {"site", "cell", "want", "whole"}
    assert text == (GOLDEN / "all_rows.lp").read_text(encoding="utf-8")


def test_the_rows_of_what_keeps_read_as_they_should(lp_text):
    """Both ways bring 150 g in week 0 of a want of 60 g; one keeps two weeks, the other one.

    Kept for week 1 (a line of one week) and for week 2 (of two) leaves week 0 and enters 1 and 2; all that
    is kept is at most what was cut, what is kept two weeks at most what keeps so long. Week 3 does not count,
    but what is cut then, 30 g of the usual 60, may be kept for week 4.
    """
    rows = [(0, 0, -1, 0, 0, 6, 1.0, {0: 150, 3: 30}), (0, 0, -1, 0, 0, 6, 1.0, {0: 150})]
    made = build(task(rows, [[60, 60, 60, 0, 60]], [2], keeps=[2, 1]))
    assert lp_text.as_text(made) == (GOLDEN / "keep_rows.lp").read_text(encoding="utf-8")


GOING_ON = [
    (0, 0, 0, 3, 10, 36, 1.0, {5: 1}),
    (0, 0, 0, 3, 14, 36, 1.0, {5: 1}),
    (0, 0, -1, 3, 3, 29, 1.0, {4: 1}),
    (0, 0, -1, 7, 7, 43, 1.0, {6: 1}),
]


def stood(planned):
    """Return what stands on day 3: two seedlings with two ways to go on, and one plant with one."""
    return Before(
        group=np.array([0, 0, 1, -1]),
        planned=np.array(planned),
        calm=np.array([2.0, 2.0, 20.0, 0.05]),
        stands=np.array([2, 1]),
    )


def test_rows_of_planning_again_read_as_they_should(lp_text):
    """What stands is gone on with or given up; what was planned is done or gone; read and found right.

    Two seedlings wait in the nursery, both planned for the first of their ways; the plant in the bed has one
    way; of a sowing that is still to come the plan before had one site.
    """
    made = build(replace(task(GOING_ON, [[0, 0, 0, 0, 1, 2, 1]], [3], [2]), before=stood([2, 0, 1, 1])))
    assert {"standing", "calm"} <= {rows.name for rows in made.rows}
    assert lp_text.as_text(made) == (GOLDEN / "standing_and_calm.lp").read_text(encoding="utf-8")


def test_calm_breaks_ties_and_no_more():
    """Of two ways as good, the one planned before is kept; where another saves a head, it is left."""
    wanted = [[0, 0, 0, 0, 1, 2, 1]]
    for planned in ([2, 0, 1, 1], [0, 2, 1, 1], [1, 1, 1, 1]):
        found = solve(replace(task(GOING_ON, wanted, [4], [2]), before=stood(planned)))
        assert found.n.tolist() == planned
    late = [*GOING_ON[:1], (0, 0, 0, 3, 14, 43, 1.0, {6: 1}), *GOING_ON[2:3]]
    before = Before(np.array([0, 0, 1]), np.array([0, 2, 1]), np.array([2.0, 2.0, 20.0]), np.array([2, 1]))
    found = solve(replace(task(late, [[0, 0, 0, 0, 1, 2, 0]], [3], [2]), before=before))
    assert found.n.tolist() == [2, 0, 1]


def test_what_stands_is_given_up_where_there_is_no_room():
    """Two plants stand where one site is left: one goes on, one is given up, and nothing breaks."""
    ways = [(0, 0, -1, 3, 3, 29, 1.0, {4: 1})]
    before = Before(np.array([0]), np.array([2]), np.array([2.0]), np.array([2]))
    it = replace(task(ways, [[0, 0, 0, 0, 2]], [1]), before=before)
    found = solve(it)
    assert found.n.tolist() == [1]
    assert before.given_up(found.n).tolist() == [1]


# --- cases solved by hand -------------------------------------------------------------------------------


def test_one_crop_one_site():
    """One site, a head that holds it two weeks, one head wanted each week: every second week is met.

    Weeks 2 to 5 are wanted; heads cut in weeks 2 and 4 fit, and 3 and 5; never more than two of four.
    """
    rows = [(0, 0, -1, 7 * s, 7 * s, 7 * s + 14, 1.0, {s + 2: 1}) for s in range(4)]
    found = solve(task(rows, [[0, 0, 1, 1, 1, 1]], [1]))
    assert found.status == "proven"
    assert found.n.sum() == 2
    assert found.short_want_weeks == pytest.approx(2.0)


def test_two_crops_that_fit_only_interleaved():
    """One site; crop A on days 0-14 and 21-35, crop B on days 14-21: all three fit, one after another."""
    rows = [
        (0, 0, -1, 0, 0, 14, 1.0, {2: 1}),
        (0, 0, -1, 21, 21, 35, 1.0, {5: 1}),
        (1, 0, -1, 14, 14, 21, 1.0, {3: 1}),
        (1, 0, -1, 7, 7, 14, 0.5, {3: 1}),  # cheaper, but in the way of the first
    ]
    found = solve(task(rows, [[0, 0, 1, 0, 0, 1], [0, 0, 0, 1, 0, 0]], [1]))
    assert found.n.tolist() == [1, 1, 1, 0]
    assert found.short_want_weeks == 0


def test_the_nursery_binds():
    """Ten sites but two cells: of three heads wanted in one week two can be raised."""
    rows = [(0, 0, 0, 0, 14, 35, 1.0, {4: 1})]
    found = solve(task(rows, [[0, 0, 0, 0, 3]], [10], [2]))
    assert found.n.tolist() == [2]
    assert found.short.sum() == pytest.approx(1.0)


def test_cuts_against_sowing_anew():
    """A pot cut three times meets three weeks from one site; three sowings would need one site each."""
    rows = [
        (0, 0, -1, 0, 0, 42, 3.0, {3: 50, 4: 50, 5: 50}),
        *[(0, 0, -1, 0, 0, 7 * week, 1.0, {week: 50}) for week in (3, 4, 5)],
    ]
    found = solve(task(rows, [[0, 0, 0, 50, 50, 50]], [1]))
    assert found.n.tolist() == [1, 0, 0, 0]
    assert found.short_want_weeks == 0
    once = solve(task(rows[1:], [[0, 0, 0, 50, 50, 50]], [1]))
    assert once.n.sum() == 1
    assert once.short_want_weeks == pytest.approx(2.0)


def test_a_window_saves_a_short_week():
    """Two heads ripen in week 3; cut one a week later, within its window, and week 4 has its head too."""
    rows = [
        (0, 0, -1, 0, 0, 22, 1.0, {3: 1}),
        (0, 0, -1, 0, 0, 29, 1.3, {4: 1}),
    ]
    found = solve(task(rows, [[0, 0, 0, 1, 1]], [2]))
    assert found.n.tolist() == [1, 1]
    assert found.short_want_weeks == 0
    without = solve(task(rows[:1], [[0, 0, 0, 1, 1]], [2]))
    assert without.n.tolist() == [1]
    assert without.short_want_weeks == pytest.approx(1.0)


def test_what_keeps_is_eaten_later_and_nothing_is_wasted():
    """One site brings 100 g in week 0 where 50 g a week are wanted: kept a week, it meets both weeks.

    What does not keep leaves 50 g over and the second week short.
    """
    rows = [(0, 0, -1, 0, 0, 6, 1.0, {0: 100})]
    kept = solve(task(rows, [[50, 50]], [1], keeps=[1]))
    assert (kept.n.tolist(), kept.kept.tolist()) == ([1], [50.0])
    assert kept.short.sum() == kept.over.sum() == 0
    fresh = solve(task(rows, [[50, 50]], [1], keeps=[0]))
    assert (fresh.short.sum(), fresh.over.sum()) == (50.0, 50.0)


def test_nothing_is_kept_longer_than_it_keeps():
    """150 g in week 0 that keep a week meet weeks 0 and 1; week 2 goes without, and 50 g are over."""
    rows = [(0, 0, -1, 0, 0, 6, 1.0, {0: 150})]
    found = solve(task(rows, [[50, 50, 50]], [1], keeps=[1]))
    assert found.short.tolist() == [[0.0, 0.0, 50.0]]
    assert found.over.sum() == pytest.approx(50.0)
    longer = solve(task(rows, [[50, 50, 50]], [1], keeps=[2]))
    assert longer.short.sum() == longer.over.sum() == 0


def test_heads_are_kept_whole():
    """Three heads in week 0, two wanted in each of two weeks: one is kept, where grams would be split."""
    it = task([(0, 0, -1, 0, 0, 6, 1.0, {0: 1})], [[2, 2]], [3], keeps=[1])
    found = solve(replace(it, heads=np.array([True])))
    assert (found.n.tolist(), found.kept.tolist()) == ([3], [1.0])
    assert solve(it).kept.tolist() == [1.5]  # a shortage is spread where it can be


def test_a_want_that_fails_by_exactly_two_heads():
    """Four sites, six heads wanted in the only week they can be cut: two are missing, a third of the want."""
    found = solve(task([(0, 0, -1, 0, 0, 21, 1.0, {3: 1})], [[0, 0, 0, 6]], [4]))
    assert found.n.tolist() == [4]
    assert found.short.sum() == pytest.approx(2.0)
    assert found.short_want_weeks == pytest.approx(1 / 3)


def test_a_break_week_wants_nothing():
    """What would ripen while nobody is there is not grown: it would only be surplus."""
    rows = [(0, 0, -1, 0, 0, 7 * week, 1.0, {week: 1}) for week in (2, 3, 4)]
    found = solve(task(rows, [[0, 0, 1, 0, 1]], [3]))
    assert found.n.tolist() == [1, 0, 1]


def test_a_shortage_is_spread():
    """Two of four heads in each of two weeks rather than four and none: the worst week counts more."""
    rows = [(0, 0, -1, 0, 0, 21, 1.0, {2: 1}), (0, 0, -1, 0, 0, 21, 1.0, {1: 1})]
    assert solve(task(rows, [[0, 4, 4]], [4])).n.tolist() == [2, 2]


def test_nothing_wanted_is_an_empty_plan():
    """No want, no plan, no error."""
    assert solve(task(FOUR_WAYS, np.zeros((2, 7)), [3], [2])).status == "empty"


def test_an_interrupted_search_keeps_a_plan_that_fits():
    """Stopped at once, what comes back is still a plan: within its sites, honest about its gap."""
    rows = [(0, 0, -1, s, s, s + 20, 1.0, {(s + 20) // 7: 1}) for s in range(60)]
    it = task(rows, [[0, 0, 0, *[3] * 8]], [5])
    found = solve(it, stop=lambda: True)
    assert peak(it, found.n)[0] <= 5
    assert found.bound <= found.value


def test_without_time_there_is_still_a_plan():
    """No time at all leaves the plain rule: a plan that fits, a finite bound, and no claim of proof."""
    rows = [(0, 0, -1, s, s, s + 20, 1.0, {(s + 20) // 7: 1}) for s in range(60)]
    it = task(rows, [[0, 0, 0, *[3] * 8]], [5])
    found = solve(it, time_limit_s=0.0)
    assert found.status == "time limit"
    assert found.n.sum() > 0
    assert peak(it, found.n)[0] <= 5
    assert 0 <= found.bound <= found.value
    assert 0 <= found.gap <= 1


def test_the_same_task_gives_the_same_plan():
    """Ties are broken the same way every time."""
    rows = [(0, 0, -1, s, s, s + 20, 1.0, {(s + 20) // 7: 1}) for s in range(60)]
    it = task(rows, [[0, 0, 0, *[3] * 8]], [5])
    assert solve(it).n.tolist() == solve(it).n.tolist()


def test_more_sites_cure_what_sites_hold_back():
    """With one site in place of two wanted, sites are what binds, and the nursery is not."""
    it = task([(0, 0, 0, 0, 7, 28, 1.0, {3: 1})], [[0, 0, 0, 2]], [1], [5])
    assert shortage(it, [0]) == pytest.approx(0.5)
    assert binds(it, [0]) == [(0, pytest.approx(0.5)), (1, 0.0)]


# --- against exhaustive search, by other code -----------------------------------------------------------


def peak(it, n):
    """Return the most sites held in any place on any day, and the most cells, counted day by day."""
    c = it.columns
    days = range(int(c.freed.max()) + 1)
    held = [
        sum(int(n[j]) for j in range(len(n)) if c.place[j] == place and c.planted[j] <= day < c.freed[j])
        for place in range(len(it.sites))
        for day in days
    ]
    cells = [
        sum(int(n[j]) for j in range(len(n)) if c.nursery[j] == number and c.sown[j] <= day < c.planted[j])
        for number in range(len(it.cells))
        for day in days
    ]
    return max(held), max(cells, default=0)


def fits(it, n):
    c = it.columns
    for day in range(int(c.freed.max()) + 1):
        for place, most in enumerate(it.sites):
            if (
                sum(n[j] for j in range(len(n)) if c.place[j] == place and c.planted[j] <= day < c.freed[j])
                > most
            ):
                return False
        for nursery, most in enumerate(it.cells):
            if (
                sum(
                    n[j] for j in range(len(n)) if c.nursery[j] == nursery and c.sown[j] <= day < c.planted[j]
                )
                > most
            ):
                return False
    return True


def weigh(it, n, weights):
    """Return the objective of whole sites n, straight from its description."""
    c, total = it.columns, 0.0
    for want in range(len(it.demand)):
        cuts = []
        for keeps in (0, 1, 2):
            cuts.append([0.0] * it.demand.shape[1])
            for e, week in enumerate(c.supply_week):
                j = c.supply_column[e]
                if week < it.demand.shape[1] and c.want[j] == want and c.keeps[j] >= keeps:
                    cuts[-1][week] += float(n[j] * c.supply_amount[e])
        total += meals(tuple(map(tuple, cuts)), tuple(map(float, it.demand[want])), weights)
    return total + weights.cost * sum(n[j] * c.cost[j] for j in range(len(n))) / it.cost_unit


@cache
def meals(cuts, asked, weights):
    """Return what the weeks of a want weigh, whatever is kept in whole amounts being tried out.

    ``cuts``: what is cut each week; what of it keeps a week; what keeps two.
    """
    counted = [d for d in asked if d > 0]
    usual = sum(counted) / len(counted) if counted else 1.0

    @cache
    def best(week, kept, kept_longer):
        """Return the least that the weeks from here on weigh, given what was kept for this and the next."""
        if week == len(asked):
            return 0.0
        totals = []
        most = [int(asked[at]) if at < len(asked) else 0 for at in (week + 1, week + 2)]
        for one in range(int(min(cuts[1][week], most[0])) + 1):
            for two in range(int(min(cuts[2][week], cuts[1][week] - one, most[1])) + 1):
                share = (cuts[0][week] + kept - one - two) / (asked[week] or usual)
                total = weights.kept * (one + 2 * two) / usual
                if asked[week]:
                    missing = max(1 - share, 0)
                    for width, slope in weights.segments:
                        total += weights.short * slope * min(missing, width)
                        missing -= min(missing, width)
                    total += weights.surplus * max(share - 1, 0)
                else:
                    total += weights.surplus * share
                totals.append(total + best(week + 1, kept_longer + one, two))
        return min(totals)

    return best(0, 0, 0)


HALVES = Weights(staleness=0.0, segments=((0.5, 1.0), (0.5, 1.6)))
"""Shortage that bends at half a week's want: with even amounts, what is best kept is a whole number."""


@st.composite
def tiny_tasks(draw, keeping=False):
    """Return tasks small enough to try every plan: up to six columns, three sites, two cells.

    Where things keep, amounts are whole and wants even, so that only whole amounts need be tried.
    """
    rows, keeps = [], []
    heads = [keeping and draw(st.booleans()) for _ in range(2)]
    for _ in range(draw(st.integers(2, 5 if keeping else 6))):
        nursery = draw(st.sampled_from([-1, 0]))
        sown = draw(st.integers(0, 3)) * 7
        planted = sown if nursery < 0 else sown + 7 * draw(st.integers(1, 2))
        freed = planted + 7 * draw(st.integers(1, 3)) + draw(st.integers(0, 1))
        first = min((freed - 1) // 7, 5)
        amount = draw(st.sampled_from([1.0, 2.0, 2.0, 3.0, 5.0] if keeping else [0.7, 1.0, 1.0, 1.6, 3.0]))
        place, want = draw(st.integers(0, 1)), draw(st.integers(0, 1))
        amount = 1.0 if heads[want] else amount
        supply = {first: amount}
        if draw(st.booleans()) and first < 5:
            supply[first + 1] = amount
        rows.append(
            (want, place, nursery, sown, planted, freed, draw(st.sampled_from([0.5, 1.0, 2.0])), supply)
        )
        keeps.append(draw(st.integers(0, 2)) if keeping else 0)
    asked = [0, 2, 4] if keeping else [0, 1, 2, 3]
    demand = [[draw(st.sampled_from(asked)) for _ in range(6)] for _ in range(2)]
    made = task(rows, demand, [draw(st.integers(1, 2)), 1], [draw(st.integers(0, 2))], keeps)
    return replace(made, heads=np.array(heads))


@st.composite
def calendar_tasks(draw):
    """Return a tiny task as a calendar makes it, up to six columns: seven weeks of Mondays and Thursdays.

    Each sowing is one of: a window (cut in either of two weeks), a seedling (planted on either of two days),
    or a pot (cut up to three times, or cleared after the first and sown anew). In a break nothing is sown,
    planted or cut, and nothing is wanted; the second bed may be out of use for a time; the second want may be
    for one week only, a feast.
    """
    away = draw(st.sampled_from([None, 2, 3, 4]))
    shut = draw(st.sampled_from([None, (0, 13), (14, 27), (28, 48)]))
    keeps = [draw(st.integers(0, 2)) for _ in range(2)]
    rows = []
    for _ in range(draw(st.integers(2, 3))):
        want, place, sown = draw(st.integers(0, 1)), draw(st.integers(0, 1)), 7 * draw(st.integers(0, 2))
        amount = draw(st.sampled_from([1.0, 2.0, 3.0]))
        cost = draw(st.sampled_from([0.5, 1.0, 2.0]))
        grown = sown + 7 * draw(st.integers(1, 2)) + draw(st.sampled_from([3, 7]))
        kind = draw(st.sampled_from(["window", "seedling", "pot"]))
        if kind == "window":
            made = [(-1, sown, sown, [cut]) for cut in (grown, grown + 7)]
        elif kind == "seedling":
            made = [(0, sown, planted, [grown + 7]) for planted in (sown + 3, sown + 7)]
        else:
            made = [(-1, sown, sown, [grown + 7 * more for more in range(cuts)]) for cuts in (3, 1)]
            anew = grown + (4 if grown % 7 else 3)  # the next work day
            made.append((-1, anew, anew, [anew + grown - sown]))
        for nursery, start, planted, cuts in made:
            days = [start, planted, *cuts]
            if max(days) >= 49 or (away is not None and any(day // 7 == away for day in days)):
                continue
            if place == 1 and shut is not None and planted <= shut[1] and cuts[-1] >= shut[0]:
                continue
            supply = {}
            for cut in cuts:
                supply[cut // 7] = supply.get(cut // 7, 0.0) + amount
            rows.append((want, place, nursery, start, planted, cuts[-1] + 1, cost, supply))
    rows = rows[:6]
    assume(rows)
    feast = draw(st.sampled_from([None, 3, 5]))
    demand = [[draw(st.sampled_from([0, 2, 4])) for _ in range(7)] for _ in range(2)]
    if feast is not None:
        demand[1] = [4 if week == feast else 0 for week in range(7)]
    if away is not None:
        demand[0][away] = demand[1][away] = 0
    made = task(
        rows,
        demand,
        [draw(st.integers(1, 2)), 1],
        [draw(st.integers(1, 2))],
        [keeps[row[0]] for row in rows],
    )
    return made, {"break": away is not None, "out of use": shut is not None, "feast": feast is not None}


def features(it):
    """Return what a task has, told from its columns alone."""
    c = it.columns
    supply = [
        {
            int(w): a
            for j, w, a in zip(c.supply_column, c.supply_week, c.supply_amount, strict=True)
            if j == at
        }
        for at in range(c.count)
    ]

    def pairs(same, other):
        return any(
            all(getattr(c, name)[i] == getattr(c, name)[j] for name in same) and other(i, j)
            for i in range(c.count)
            for j in range(i)
        )

    place = ("want", "place", "nursery")
    single = [len(weeks) == 1 for weeks in supply]
    return {
        "window": pairs(
            (*place, "sown", "planted"),
            lambda i, j: single[i] and single[j] and supply[i].keys() != supply[j].keys(),
        ),
        "two transplant days": pairs(
            (*place, "sown", "freed"), lambda i, j: c.nursery[i] >= 0 and c.planted[i] != c.planted[j]
        ),
        "cuts or sown anew": pairs(
            place, lambda i, j: len({*map(len, (supply[i], supply[j]))}) == 2 and c.sown[i] != c.sown[j]
        ),
        "keeping": bool((c.keeps > 0).any()),
    }


def test_the_optimum_with_calendars_is_that_of_exhaustive_search():
    """Two hundred tiny calendars, every plan tried: none is better than what is found.

    Breaks, harvest windows, two days to transplant, cuts against sowing anew, sites out of use, feasts and
    keeping are all among them, each at least twenty times.
    """
    seen = dict.fromkeys(
        ("break", "out of use", "feast", "window", "two transplant days", "cuts or sown anew", "keeping"), 0
    )
    tried = 0

    @settings(max_examples=200, deadline=None, derandomize=True, phases=[Phase.generate])
    @given(calendar_tasks())
    def check(case):
        nonlocal tried
        it, told = case
        tried += 1
        for name, there in (told | features(it)).items():
            seen[name] += there
        most = [int(it.sites[place]) for place in it.columns.place]
        best = min(weigh(it, n, HALVES) for n in product(*(range(m + 1) for m in most)) if fits(it, n))
        found = solve(it, weights=HALVES, gap=0.0)
        assert fits(it, found.n)
        assert weigh(it, found.n, HALVES) == pytest.approx(found.value, abs=1e-6) or found.status == "empty"
        assert found.value == pytest.approx(best, abs=1e-6) or found.status == "empty"

    check()
    assert tried >= 200
    assert min(seen.values()) >= 20, seen


@pytest.mark.parametrize("keeping", [False, True], ids=["eaten at once", "some keeps"])
def test_the_optimum_is_that_of_exhaustive_search(keeping):
    """Every plan of a hundred tiny tasks is tried by code of its own: none is better than what is found.

    Beds, a nursery, in place or not, one cut or two, weeks that do not count, and, in the second hundred,
    what keeps a week or two.
    """
    weights = HALVES if keeping else Weights(staleness=0.0)

    @settings(max_examples=100, deadline=None, derandomize=True, phases=[Phase.generate])
    @given(tiny_tasks(keeping))
    def check(it):
        most = [int(it.sites[place]) for place in it.columns.place]
        best = min(
            (weigh(it, n, weights) for n in product(*(range(m + 1) for m in most)) if fits(it, n)),
            default=0.0,
        )
        found = solve(it, weights=weights, gap=0.0)
        assert fits(it, found.n)
        assert weigh(it, found.n, weights) == pytest.approx(found.value, abs=1e-6)
        assert found.value == pytest.approx(best, abs=1e-6) or found.status == "empty"

    check()


@settings(max_examples=120, deadline=None, derandomize=True)
@given(st.booleans().flatmap(lambda keeping: st.tuples(st.just(keeping), tiny_tasks(keeping))), st.data())
def test_no_row_cuts_off_whole_sites(case, data):
    """Any whole sites that fit, with what is then short, over and kept, satisfy every row at their price."""
    keeping, it = case
    n = [data.draw(st.integers(0, int(it.sites[place]))) for place in it.columns.place]
    assume(fits(it, n))
    weights = HALVES if keeping else Weights(staleness=0.0)
    programme = build(it, weights)
    assume(all(most > 0 or not many for many, most in zip(n, programme.upper, strict=False)))
    fixed = np.arange(len(n))
    programme.lower[fixed] = programme.upper[fixed] = n
    answer = run(programme, relaxed=True)
    assert answer.status == "proven"
    assert answer.value == pytest.approx(weigh(it, n, weights), abs=1e-6)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(tiny_tasks())
def test_the_plain_rule_fits(it):
    """The plan to fall back on holds no more sites and cells than there are, and beats no proof."""
    weights = Weights(staleness=0.0)
    n = greedy(it, weights)
    assert fits(it, n)
    assert weigh(it, n, weights) >= solve(it, weights=weights, gap=0.0).value - 1e-6


@settings(max_examples=40, deadline=None, derandomize=True)
@given(tiny_tasks())
def test_a_sweep_only_improves(it):
    """Stretch by stretch a plan gets better or stays, says its true value, and still fits."""
    weights = Weights(staleness=0.0)
    plain = greedy(it, weights)
    before = weigh(it, plain, weights)
    search = Search(build(it, weights), it.columns.planted, Patience(0.0, 1e-9), lambda n: n)
    plan, value = search.sweep(plain, before, 0.0, 20)
    assert fits(it, plan)
    assert value <= before
    assert value == pytest.approx(weigh(it, plan, weights), abs=1e-5)  # the solver takes rows for met at 1e-6


@settings(max_examples=60, deadline=None, derandomize=True)
@given(tiny_tasks(keeping=True), st.sampled_from([0.5, 0.75, 0.9]), st.sampled_from([0.0, 0.05, 1.0]))
def test_the_relaxed_programme_made_whole_fits(it, near, share):
    """It holds no more sites and cells than there are, also where all split sites are rounded up at once."""
    programme = build(it, HALVES)
    assume(programme.rows)
    n = dived(programme, Relaxed(programme), near=near, share=share)
    assert fits(it, n)
    assert weigh(it, n, HALVES) >= solve(it, weights=HALVES, gap=0.0).value - 1e-6


def test_the_relaxed_programme_made_whole_by_hand():
    """Five sites bring three heads in one of two weeks, two in the other; out of time, nothing is held."""
    rows = [(0, 0, -1, 0, 0, 21, 1.0, {2: 1}), (0, 0, -1, 0, 0, 28, 1.0, {3: 1})]
    programme = build(task(rows, [[0, 0, 3, 3]], [5]))
    n = dived(programme, Relaxed(programme), near=0.75, share=0.05)
    assert n.tolist() in ([3, 2], [2, 3])
    over = Relaxed(programme, until=0.0)
    assert dived(programme, over, near=0.75, share=0.05).tolist() == [0, 0]


def test_columns_left_out_are_as_if_never_grown():
    """Without the way of week 3 the programme costs what it costs when that way is held at none."""
    rows = [(0, 0, -1, 0, 0, 21, 1.0, {2: 1}), (0, 0, -1, 0, 0, 28, 1.0, {3: 1})]
    programme = build(task(rows, [[0, 0, 3, 3]], [5]))
    out = np.array([False, True])
    few = run(programme.without(out))
    held = run(programme.held(out, np.array([0, 0])))
    assert few.value == pytest.approx(held.value)
    assert few.values is not None
    assert few.values[0] == pytest.approx(3.0)


def test_what_the_first_search_leaves_is_finished(monkeypatch):
    """When the first search ends early, stretches and a second search still come to the proven optimum."""
    rng = np.random.default_rng(5)
    rows = []
    for start in range(0, 84, 7):
        for want, days in ((0, 24), (1, 31)):
            amount = {(start + days) // 7: float(rng.integers(60, 110))}
            rows.append((want, int(rng.integers(0, 2)), -1, start, start, start + days, 1.0, amount))
    it = task(rows, [[0] * 4 + [90] * 12, [0] * 5 + [130] * 11], [3, 2])
    whole = solve(it, gap=0.0)
    runs = []

    def cut_short(programme, **options):
        runs.append(options["nodes"])
        answer = run(programme, **options)
        if options["relaxed"]:
            return replace(answer, value=answer.value - 50.0)
        return replace(answer, status="unfinished", bound=0.0) if options["nodes"] == FIRST_NODES else answer

    monkeypatch.setattr("cropcal.planning.search.run", cut_short)
    again = solve(it, gap=0.0)
    assert len(runs) > 3
    assert runs[-1] is None
    assert again.status == "proven"
    assert again.value == pytest.approx(whole.value, abs=1e-6)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(tiny_tasks(), st.integers(0, 1))
def test_another_site_never_makes_a_plan_worse(it, place):
    """More room can be left empty."""
    more = it.sites.copy()
    more[place] += 1
    weights = Weights(staleness=0.0)
    bigger = replace(it, sites=more)
    now, then = solve(it, weights=weights, gap=0.0), solve(bigger, weights=weights, gap=0.0)
    assert then.value <= now.value + 1e-6
    assert shortage(it, [0, 1]) <= now.short_want_weeks + 1e-6


@settings(max_examples=40, deadline=None, derandomize=True)
@given(tiny_tasks())
def test_dominated_columns_are_never_missed(it):
    """Leaving out dominated columns does not change the optimum."""
    kept = set(undominated(it, Weights()).tolist())
    weights = Weights(staleness=0.0)
    forbidden = [int(it.sites[p]) if j in kept else 0 for j, p in enumerate(it.columns.place)]
    everything = [int(it.sites[p]) for p in it.columns.place]

    def best(most):
        return min(weigh(it, n, weights) for n in product(*(range(m + 1) for m in most)) if fits(it, n))

    assert best(forbidden) == pytest.approx(best(everything), abs=1e-9)
