"""Why a plan is as good as it is: the steady rule beside it, what is full, what is left over."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from cropcal.optimize.left_over import short_and_surplus
from cropcal.optimize.programme import Columns, Task
from cropcal.planning.planner import SolveOptions
from cropcal.planning.what_if import what_if
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space

PLANS = Path(__file__).resolve().parents[1] / "spaces" / "plans"
TABLES = read_crop_tables(None)[0]


def task(sown, grows_d, demand, sites, keeps=0, amount=1.0):
    """Return a task of one want in one bed: a way for each sowing day, cut when it has grown."""
    sown = np.array(sown)
    size, cut = len(sown), np.array(sown) + grows_d
    return Task(
        columns=Columns(
            want=np.zeros(size, np.int64),
            place=np.zeros(size, np.int64),
            nursery=np.full(size, -1),
            sown=sown,
            planted=sown,
            freed=cut + 1,
            cost=np.ones(size),
            staleness=np.zeros(size),
            supply_column=np.arange(size),
            supply_week=cut // 7,
            supply_amount=np.full(size, amount),
            supply_keeps=np.full(size, keeps),
        ),
        demand=np.array([demand], dtype=float),
        sites=np.array([sites]),
        cells=np.zeros(0, np.int64),
    )


@pytest.mark.parametrize(("keeps", "short", "over"), [(0, 1.0, 1.0), (1, 0.0, 0.0), (2, 0.0, 0.0)])
def test_what_keeps_is_eaten_later(keeps, short, over):
    """Two heads in week 2 and none in week 3, one wanted in each: short only if nothing keeps."""
    two = task([0], 14, [0, 0, 1, 1], 2, keeps=keeps)
    assert short_and_surplus(two, np.array([2])) == (short, over)


def test_what_keeps_a_week_is_not_eaten_after_two():
    """Three heads in week 2, one wanted in each of weeks 2 to 4: the third is gone by then."""
    three = task([0], 14, [0, 0, 1, 1, 1], 3, keeps=1)
    assert short_and_surplus(three, np.array([3])) == (1.0, 1.0)


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
