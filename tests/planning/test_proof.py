"""The programme calls a plan proven only if the plan's own cost confirms it."""

from pathlib import Path

import pytest

from cropcal.optimize import highs as solver
from cropcal.optimize import window_search
from cropcal.optimize.solve import Solution, solve
from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.planner import plan

SPACE = Path(__file__).resolve().parents[1] / "spaces" / "start_plan_misleads.toml"


@pytest.fixture
def solved(tables):
    """Return a function from a space to the programme's best plan for the middle of all seasons."""

    def solve_exactly(space) -> Solution:
        return solve(prepare(space, tables).task, gap=0.0)

    return solve_exactly


@pytest.mark.parametrize("pots", [3, 5])
def test_a_start_plan_does_not_cut_off_the_optimum(pots, read_text, solved, monkeypatch):
    """Proven from a start plan, the value is that of a search without one, which no start can mislead.

    Three pots leave a week short, in five each head costs what it takes to stand.
    """
    text = SPACE.read_text(encoding="utf-8")
    if pots == 5:
        text = text.replace("sites = 3\nlength_m = 0.25", "sites = 5\nlength_m = 0.5")
    space, run, starts = read_text(text), window_search.run, []

    def without_start(programme, *, start=None, **more):
        starts.append(start)
        return run(programme, **more)

    usual = solved(space)
    monkeypatch.setattr(window_search, "run", without_start)
    alone = solved(space)
    assert any(start is not None for start in starts)
    assert (usual.status, alone.status) == ("proven", "proven")
    assert usual.gap <= 1e-6
    assert usual.value == pytest.approx(alone.value, abs=1e-5)


def test_an_answer_that_is_not_its_own_cost_is_searched_again_without_the_start(
    read_text, solved, monkeypatch
):
    """A solver that reports less than its solution costs is asked once more, from nothing."""
    starts, load = [], solver._load

    def loaded(programme, **more):
        starts.append(more)
        return load(programme, **more)

    space = read_text(SPACE.read_text(encoding="utf-8"))
    usual = solved(space)
    monkeypatch.setattr(solver, "_load", loaded)
    solved(space)
    once = len(starts)
    monkeypatch.setattr(solver, "_agrees", lambda *_: False)
    doubted = solved(space)
    assert len(starts) - once > once
    assert doubted.value == pytest.approx(usual.value, abs=1e-5)


def test_the_case_still_needs_the_check(read_text, solved, monkeypatch):
    """Without the check the same plan is not called proven: the gap gives it away."""
    monkeypatch.setattr(solver, "_agrees", lambda *_: True)
    found = solved(read_text(SPACE.read_text(encoding="utf-8")))
    assert found.status != "proven" or found.gap <= 1e-6


def test_a_searched_plan_claims_no_proof(read_text, tables):
    """A plan that was chosen in drawn seasons is not called proven, and no bound is given for it."""
    made = plan(read_text(SPACE.read_text(encoding="utf-8")), tables)
    assert (made.outcome.status, made.outcome.bound) == ("searched", 0.0)


def test_shoots_are_not_cut_before_they_are_ready(read_text, tables):
    """Their weight is known for the day they are ready, not for three days before."""
    text = SPACE.read_text(encoding="utf-8").replace('"pak-choi"', '"pea-shoots"').replace("per_week = 1", "")
    made = plan(read_text(text), tables).batches
    assert made
    for batch in made:
        assert (batch.harvests[0].on - batch.sow_on).days >= tables.crops["pea-shoots"].anchor_days


def test_shoots_that_do_not_come_up_are_not_planned(read_text, tables):
    """Sunflower at 14 C lies outside its emergence table: nothing is sown, and nothing breaks."""
    text = SPACE.read_text(encoding="utf-8").replace("air_c = 21", "air_c = 14")
    space = read_text(text.replace('"pak-choi"', '"sunflower-shoots"'))
    assert plan(space, tables).batches == ()
