"""The planning programme: its rows as text, hand-solved cases, exhaustive search, and plain recomputation."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tiny_tasks import peak, task

from cropcal.optimize.assemble import build
from cropcal.optimize.programme import PreviousPlan
from cropcal.optimize.solve import solve

GOLDEN = Path(__file__).resolve().parents[1] / "golden"


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
    """Return the standing plants on day 3: two seedlings with two continuations, one plant with one."""
    return PreviousPlan(
        group=np.array([0, 0, 1, -1]),
        planned=np.array(planned),
        calm=np.array([2.0, 2.0, 20.0, 0.05]),
        stands=np.array([2, 1]),
    )


def test_rows_of_planning_again_read_as_they_should(lp_text):
    """Standing plants are continued or given up; planned sowings are made or dropped; read and found right.

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
    before = PreviousPlan(
        np.array([0, 0, 1]), np.array([0, 2, 1]), np.array([2.0, 2.0, 20.0]), np.array([2, 1])
    )
    found = solve(replace(task(late, [[0, 0, 0, 0, 1, 2, 0]], [3], [2]), before=before))
    assert found.n.tolist() == [2, 0, 1]


def test_what_stands_is_given_up_where_there_is_no_room():
    """Two plants stand where one site is left: one goes on, one is given up, and nothing breaks."""
    ways = [(0, 0, -1, 3, 3, 29, 1.0, {4: 1})]
    before = PreviousPlan(np.array([0]), np.array([2]), np.array([2.0]), np.array([2]))
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


def test_two_cuts_for_one_week_count_together():
    """A pot cut twice in the days before a feast brings it both: one entry a cut, one week."""
    once = task([(0, 0, -1, 0, 0, 6, 1.0, {0: 1, 1: 1})], [[2, 0]], [1])
    twice = replace(once, columns=replace(once.columns, supply_week=np.zeros(2, dtype=np.int64)))
    found = solve(twice)
    assert found.n.tolist() == [1]
    assert found.short_want_weeks == pytest.approx(0)
