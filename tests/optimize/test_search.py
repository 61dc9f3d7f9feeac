"""The search for a plan against every plan there is, and by properties on random tiny tasks."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from depth import FULL, examples
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from tiny_tasks import HALVES, calendar_tasks, fits, task, tiny_tasks, weigh

from cropcal.optimize.assemble import build
from cropcal.optimize.bottleneck import TimeLimits as TimeToLook
from cropcal.optimize.bottleneck import least_shortage
from cropcal.optimize.greedy import greedy
from cropcal.optimize.highs import Relaxed, run
from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import PreviousPlan
from cropcal.optimize.solve import solve, undominated
from cropcal.optimize.window_search import FIRST_NODES, Search, StoppingRule, dive


def features(it):
    """Return the features of a task, derived from its columns alone."""
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
        "keeping": bool((c.supply_keeps > 0).any()),
    }


@pytest.mark.hypothesis  # so that the deep tier tries them all
def test_the_optimum_with_calendars_is_that_of_exhaustive_search():
    """Two hundred tiny calendars, every plan tried: none is better than what is found.

    Breaks, harvest windows, two days to transplant, cuts against sowing anew, sites out of use, feasts and
    keeping are all among them, each at least twenty times.
    """
    seen = dict.fromkeys(
        ("break", "out of use", "feast", "window", "two transplant days", "cuts or sown anew", "keeping"), 0
    )
    tried = 0

    @settings(max_examples=examples(200), phases=[Phase.generate])
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
    assert tried >= examples(200)
    assert min(seen.values()) >= (10 if FULL else 1), seen


@pytest.mark.hypothesis
@pytest.mark.parametrize("keeping", [False, True], ids=["eaten at once", "some keeps"])
def test_the_optimum_is_that_of_exhaustive_search(keeping):
    """Every plan of a hundred tiny tasks is tried by code of its own: none is better than what is found.

    Beds, a nursery, in place or not, one cut or two, weeks that do not count, and, in the second hundred,
    what keeps a week or two.
    """
    weights = HALVES if keeping else Weights(staleness=0.0)

    @settings(max_examples=examples(100), phases=[Phase.generate])
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


@settings(max_examples=examples(120))
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


@settings(max_examples=examples(60))
@given(tiny_tasks())
def test_the_plain_rule_fits(it):
    """The plan to fall back on holds no more sites and cells than there are, and beats no proof."""
    weights = Weights(staleness=0.0)
    n = greedy(it, weights)
    assert fits(it, n)
    assert weigh(it, n, weights) >= solve(it, weights=weights, gap=0.0).value - 1e-6


@settings(max_examples=examples(40))
@given(tiny_tasks())
def test_a_sweep_only_improves(it):
    """Stretch by stretch a plan gets better or stays, says its true value, and still fits."""
    weights = Weights(staleness=0.0)
    plain = greedy(it, weights)
    before = weigh(it, plain, weights)
    search = Search(build(it, weights), it.columns.planted, StoppingRule(0.0, 1e-9), lambda n: n)
    plan, value = search.sweep(plain, before, 0.0, 20)
    assert fits(it, plan)
    assert value <= before
    assert value == pytest.approx(weigh(it, plan, weights), abs=1e-5)  # the solver takes rows for met at 1e-6


@settings(max_examples=examples(60))
@given(tiny_tasks(keeping=True), st.sampled_from([0.5, 0.75, 0.9]), st.sampled_from([0.0, 0.05, 1.0]))
def test_the_relaxed_programme_made_whole_fits(it, near, share):
    """It holds no more sites and cells than there are, also where all split sites are rounded up at once."""
    programme = build(it, HALVES)
    assume(programme.rows)
    n = dive(programme, Relaxed(programme), near=near, share=share)
    assert fits(it, n)
    assert weigh(it, n, HALVES) >= solve(it, weights=HALVES, gap=0.0).value - 1e-6


def test_the_relaxed_programme_made_whole_by_hand():
    """Five sites bring three heads in one of two weeks, two in the other; out of time, nothing is held."""
    rows = [(0, 0, -1, 0, 0, 21, 1.0, {2: 1}), (0, 0, -1, 0, 0, 28, 1.0, {3: 1})]
    programme = build(task(rows, [[0, 0, 3, 3]], [5]))
    n = dive(programme, Relaxed(programme), near=0.75, share=0.05)
    assert n.tolist() in ([3, 2], [2, 3])
    over = Relaxed(programme, until=0.0)
    assert dive(programme, over, near=0.75, share=0.05).tolist() == [0, 0]


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

    monkeypatch.setattr("cropcal.optimize.window_search.run", cut_short)
    again = solve(it, gap=0.0)
    assert len(runs) > 3
    assert runs[-1] is None
    assert again.status == "proven"
    assert again.value == pytest.approx(whole.value, abs=1e-6)


@settings(max_examples=examples(25))
@given(tiny_tasks(), st.integers(0, 1))
def test_another_site_never_makes_a_plan_worse(it, place):
    """More room can be left empty."""
    more = it.sites.copy()
    more[place] += 1
    weights = Weights(staleness=0.0)
    bigger = replace(it, sites=more)
    now, then = solve(it, weights=weights, gap=0.0), solve(bigger, weights=weights, gap=0.0)
    assert then.value <= now.value + 1e-6
    assert least_shortage(it, [0, 1]) <= now.short_want_weeks + 1e-6


@settings(max_examples=examples(40))
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


def test_no_plan_is_never_near_its_bound():
    """Without a plan the value is infinite, and a part of infinity is no distance."""
    assert not StoppingRule(1e-3, 1.0).near(np.inf, -5.0)
    assert StoppingRule(1e-3, 1.0).near(4.5, 4.0)


def test_without_time_nothing_is_known_of_a_cure():
    """A shortage below the bound is reported as 0, or as the caller's value for unknown."""
    it = task([(0, 0, -1, 0, 0, 21, 1.0, {3: 1})], [[0, 0, 0, 6]], [4])
    assert least_shortage(it, [0]) == pytest.approx(2 / 6)
    late = TimeToLook(time_limit_s=0.0)
    assert least_shortage(it, [0], late) == 0.0
    assert least_shortage(it, [0], late, unknown=1.5) == 1.5


def test_what_a_change_of_plan_weighs():
    """By hand: one site of two given up at a tenth of 200, and one of two planned no longer grown at 12."""
    before = PreviousPlan(
        np.array([0, -1]), np.array([0, 2]), np.array([0.0, 12.0]), np.array([2]), np.array([0.1])
    )
    terms = before.terms(np.array([1, 1]), Weights(given_up=200.0, calm=1.0))
    assert terms == pytest.approx({"given up": 20.0, "calm": 12.0})
