"""The search against counting through, what it owes to its input alone, and how it spares a good plan."""

from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import season_makers
import small_space
from depth import few_of

from cropcal.planning.choices import CALM, WORTH, SearchEffort
from cropcal.planning.luck.search import TRIED
from cropcal.planning.luck.sowings import changed

SPACES = Path(__file__).resolve().parents[2] / "spaces" / "luck"
EFFORT = SearchEffort()
SEASONS = (EFFORT.screening,) * EFFORT.screens + (EFFORT.deciding,)
NEAR_SHARE, NEAR = 0.01, 0.02
"""What the search may be worse than the best, of the score or in want-weeks."""
SURE = 0.95


def gap(seed, tables, seasons):
    """Return by how much the search misses the best of all sowings of a tiny space, and that best score."""
    random = np.random.default_rng(seed)
    made = season_makers.maker(season_makers.tiny_text(random), tables)
    if not made.slots.days:
        return 0.0, 0.0
    slots = season_makers.tiny_slots(made.slots, random)
    scorer = season_makers.scorer(made, seasons, slots=slots)
    found = season_makers.search(scorer).improved({}, EFFORT.sweeps)
    _, best = season_makers.best_of_all(scorer, found.sown, 2)
    return found.score - best, best


def assert_near(seeds, tables, seasons=SEASONS):
    """Assert that the best is found nearly everywhere, and something near it everywhere."""
    gaps = {seed: gap(seed, tables, seasons) for seed in seeds}
    far = {seed: pair for seed, pair in gaps.items() if pair[0] > max(NEAR_SHARE * pair[1], NEAR)}
    assert not far
    missed = [seed for seed, (by, _) in gaps.items() if by > 1e-9]
    assert len(missed) <= (1 - SURE) * len(gaps) + 0.5, missed


def test_in_tiny_spaces_it_finds_the_best_of_all_sowings(tables):
    assert_near(range(1000, 1005), tables, (8, 24))


@pytest.mark.deep
@pytest.mark.parametrize("seeds", [range(first, first + 50) for first in range(0, 200, 50)], ids=str)
def test_in_many_tiny_spaces_it_finds_the_best_of_all_sowings(seeds, tables):
    assert_near(seeds, tables)


@pytest.fixture(scope="module")
def searching(tables):
    """Return a function to a search of a small space with few seasons: ``more`` as in ``Search``."""
    made = season_makers.maker(small_space.text(weeks=10, sites=3), tables)

    @cache
    def scorer():
        return season_makers.scorer(made, (8, 8, 16))

    return lambda **more: season_makers.search(scorer(), **more)


def test_the_same_input_gives_the_same_sowings_whatever_the_clock(searching, monkeypatch):
    """Twice alike, with a clock that stands still or races, and with a report after each round."""
    first = searching().improved({}, 3)
    scores = []
    ticks = iter(range(0, 10**9, 1000))
    for name in ("perf_counter", "monotonic", "time", "process_time"):
        monkeypatch.setattr(f"time.{name}", lambda: float(next(ticks)))
    again = searching(progress=lambda score, trials: scores.append((score, trials))).improved({}, 3)
    monkeypatch.undo()
    assert first.sown
    assert (again.sown, again.score, again.trials) == (first.sown, first.score, first.trials)
    assert [trials for _, trials in scores] == list(range(TRIED, first.trials + 1, TRIED))
    assert all(later <= earlier + 1e-9 for (earlier, _), (later, _) in pairwise(scores))
    assert scores[-1][0] == pytest.approx(first.score, abs=1e-6), "what is reported is what was found"


@pytest.mark.parametrize("rounds", few_of([1, 0, 3], 2))
def test_stopped_after_some_rounds_it_keeps_the_best_so_far(rounds, searching):
    """As it would have been after so many rounds of a search that is not stopped."""
    calls, seen = iter(range(1000)), []
    free = searching(progress=lambda score, _: seen.append(score)).improved({}, 3)
    found = searching(stop=lambda: next(calls) >= rounds).improved({}, 3)
    assert found.stopped
    assert not free.stopped
    assert found.trials == TRIED * rounds
    assert found.score == pytest.approx([free.start_score, *seen][rounds], abs=1e-6)
    assert free.score <= found.score <= found.start_score
    assert rounds or not found.sown


def test_it_is_never_worse_than_its_start(searching):
    """Neither from nothing, nor from far too much, nor from what it has found itself."""
    usual = searching().improved({}, 2)
    much = {slot: cells + 6 for slot, cells in usual.sown.items()}
    for start in ({}, much, usual.sown):
        found = searching().improved(start, 2)
        assert found.score <= found.start_score
        assert all(cells > 0 for cells in found.sown.values())


@pytest.mark.deep
@pytest.mark.parametrize("name", ["roomy", "full", "cut_again", "mixed"])
def test_in_a_long_season_too_it_is_never_worse_than_its_start(name, tables):
    """Where changes are decided on before their season ends, and a score is reported on the way."""
    made = season_makers.maker((SPACES / f"{name}.toml").read_text(encoding="utf-8"), tables)
    search = season_makers.search(season_makers.scorer(made, (8, 8, 24)))
    plan = search.improved(made.middle, 3)
    assert plan.score < plan.start_score
    again = search.improved(plan.sown, 2)
    assert again.score <= again.start_score + 1e-9
    assert search.best_of([again.sown])[1] == again.score


def test_a_good_plan_is_not_shuffled(searching):
    """From a plan as good as another search finds, no cell moves for less than it costs to move it."""
    plan = searching().improved({}, 5).sown
    calm = searching(kept=plan, calm=CALM).improved(plan, 5)
    free = searching().improved(plan, 5)
    gained = searching().best_of([plan])[1] - free.score
    assert gained < WORTH, "the plan was good"
    cells = changed(plan, calm.sown)
    saved = searching().best_of([plan])[1] - searching().best_of([calm.sown])[1]
    assert saved >= CALM * cells - 1e-9
    assert cells <= changed(plan, free.sown)


def test_a_poor_plan_is_changed_where_that_pays(searching):
    """Calm or not: with nothing sown, or with all on one day, weeks are missed that need not be."""
    plan = searching().improved({}, 5).sown
    poor = {next(iter(sorted(plan))): 2}
    found = searching(kept=poor, calm=CALM).improved(poor, 5)
    assert found.score < found.start_score - WORTH
