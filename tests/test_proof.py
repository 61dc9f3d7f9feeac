"""A plan is called proven only if its own cost bears that out."""

from pathlib import Path

import pytest

from cropcal.planning import solver
from cropcal.planning.batches import heads_80
from cropcal.planning.planner import Effort, plan

SPACE = Path(__file__).parent / "spaces" / "start_plan_misleads.toml"


def test_a_misleading_start_does_not_cut_off_the_optimum(read_text, tables):
    """0.19213 by exhaustive search of an independent program; the start plan misled the solver to 0.2."""
    outcome = plan(read_text(SPACE.read_text(encoding="utf-8")), tables, Effort(gap=0.0)).outcome
    assert outcome.status == "proven"
    assert outcome.gap <= 1e-6
    assert outcome.value == pytest.approx(0.19213, abs=1e-5)


def test_the_case_still_needs_the_check(read_text, tables, monkeypatch):
    """Without the check the same plan is not called proven: the gap gives it away."""
    monkeypatch.setattr(solver, "_agrees", lambda *_: True)
    outcome = plan(read_text(SPACE.read_text(encoding="utf-8")), tables, Effort(gap=0.0)).outcome
    assert outcome.status != "proven" or outcome.gap <= 1e-6


def test_a_thousand_heads_have_a_range():
    """A binomial of 1100 at 0.96 has mean 1056 and standard deviation 6.5: 80 % lie within 1.28 of them."""
    low, high = heads_80(1100, 0.96)
    assert low == pytest.approx(1056 - 1.2816 * 6.5, abs=1.5)
    assert high == pytest.approx(1056 + 1.2816 * 6.5, abs=1.5)


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
