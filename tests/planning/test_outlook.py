"""Why a plan is as good as it is: the steady rule beside it, what is full."""

from datetime import date
from pathlib import Path

import pytest

from cropcal.planning.planner import SolveOptions
from cropcal.planning.what_if import what_if
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space

PLANS = Path(__file__).resolve().parents[1] / "spaces" / "plans"
TABLES = read_crop_tables(None)[0]


@pytest.fixture(scope="module")
def eight():
    space, problems = read_space(PLANS / "eight-sites-nursery.toml", TABLES, today=date(2027, 1, 1))
    assert problems == []
    return what_if(space, TABLES, SolveOptions(time_limit_s=8))


@pytest.mark.deep
def test_the_steady_rule_stands_beside_the_plan_in_the_same_luck(eight):
    """Both are told from as many seasons and weeks, and the rule is in numbers a person can follow."""
    plan, rule = eight.courses
    assert (plan.name, rule.name) == ("plan", "steady rule")
    assert plan.expected.seasons == rule.expected.seasons
    assert plan.expected.weeks == rule.expected.weeks > 0
    assert {habit.want for habit in eight.habits} == {want.want for want in rule.expected.wants}
    assert all(habit.number >= 1 for habit in eight.habits)


@pytest.mark.deep
def test_what_is_full_is_a_share_of_days_and_mondays_of_the_plan(eight):
    """Each bed and nursery is listed; full weeks are weeks of the plan in order."""
    assert {row.what for row in eight.full} >= {"seedlings, cells"} or len(eight.full) >= 2
    for row in eight.full:
        assert 0 <= row.held_share <= 1
        assert list(row.weeks) == sorted(set(row.weeks))
        assert all((week - eight.start).days % 7 == 0 for week in row.weeks)
