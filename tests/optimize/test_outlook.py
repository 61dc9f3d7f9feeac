"""Why a plan is as good as it is: the plain rule, the repeating plan, what is full, what one more brings."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest
from in_process import cropcal

from cropcal.optimize.fixed_interval import best_rule, short_and_surplus
from cropcal.optimize.programme import Columns, Task
from cropcal.planning.planner import SolveOptions
from cropcal.planning.what_if import what_if
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space
from cropcal.show.terminal.why import why

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


def test_the_plain_rule_by_hand():
    """A head holds its site for 15 days, so two sites take one every 7.5 days and one a week is too many.

    One head is wanted in each of six weeks: the best rule misses one of them at most, and never holds more.
    """
    weekly = task(range(50), 14, [0, 0, 1, 1, 1, 1, 1, 1], 2)
    rule = best_rule(weekly, np.zeros(50, np.int64), np.arange(50))
    held = np.zeros(80, np.int64)
    for n, start, end in zip(rule.n, weekly.columns.planted, weekly.columns.freed, strict=True):
        held[start:end] += n
    assert held.max() <= 2
    gaps = np.diff(np.flatnonzero(rule.n))
    assert len(rule.habits) == 1
    assert set(gaps.tolist()) <= {rule.habits[0].every_d, 2 * rule.habits[0].every_d}
    assert short_and_surplus(weekly, rule.n)[0] <= 1.0


@pytest.mark.parametrize(("keeps", "short", "over"), [(0, 1.0, 1.0), (1, 0.0, 0.0), (2, 0.0, 0.0)])
def test_what_keeps_is_eaten_later(keeps, short, over):
    """Two heads in week 2 and none in week 3, one wanted in each: short only if nothing keeps."""
    two = task([0], 14, [0, 0, 1, 1], 2, keeps=keeps)
    assert short_and_surplus(two, np.array([2])) == (short, over)


def test_what_keeps_a_week_is_not_eaten_after_two():
    """Three heads in week 2, one wanted in each of weeks 2 to 4: the third is gone by then."""
    three = task([0], 14, [0, 0, 1, 1, 1], 3, keeps=1)
    assert short_and_surplus(three, np.array([3])) == (1.0, 1.0)


def test_nothing_wanted_needs_no_rule():
    """Without a demand nobody sows."""
    rule = best_rule(task([0, 7], 14, [0, 0, 0, 0], 2), np.zeros(2, np.int64), np.array([0, 7]))
    assert rule.habits == ()
    assert rule.n.sum() == 0


@pytest.fixture(scope="module")
def eight():
    space, problems = read_space(PLANS / "eight-sites-nursery.toml", TABLES, today=date(2027, 1, 1))
    assert problems == []
    return what_if(space, TABLES, SolveOptions(time_limit_s=8))


@pytest.mark.deep
def test_the_plan_misses_at_most_a_sixth_of_what_the_best_plain_rule_misses(eight):
    """What no plan can help is left out of both."""
    short = {one.name: one.short_want_weeks - eight.bound_want_weeks for one in eight.courses}
    assert short["plain rule"] > 1  # else there is nothing to be better at
    assert short["plan"] <= short["plain rule"] / 6
    assert short["plan"] <= short["repeating"] + 1e-6


@pytest.mark.deep
def test_what_is_full_is_a_share_of_days_and_mondays_of_the_plan(eight):
    """Each bed and nursery is listed; full weeks are weeks of the plan in order."""
    assert {row.what for row in eight.full} >= {"seedlings, cells"} or len(eight.full) >= 2
    for row in eight.full:
        assert 0 <= row.held_share <= 1
        assert list(row.weeks) == sorted(set(row.weeks))
        assert all((week - eight.start).days % 7 == 0 for week in row.weeks)


def test_one_more_site_helps_where_sites_are_short():
    """Five pots that cannot meet a head every other week: a sixth cures something, and it is said."""
    space, _ = read_space(PLANS / "five-sites-in-place.toml", TABLES, today=date(2027, 1, 1))
    found = what_if(space, TABLES, SolveOptions(time_limit_s=5))
    more = {row.what: row for row in found.more}
    assert more["a site in row"].even_shares > 0
    assert found.bound_want_weeks >= 0
    text = why(found, {slug: crop.name for slug, crop in TABLES.crops.items()})
    assert "a site in row" in text
    assert max(map(len, text.splitlines())) <= 80


def test_the_command_prints_json():
    """``cropcal why --json`` has the same, with weeks as dates."""
    done = cropcal("why", str(PLANS / "five-sites-in-place.toml"), "--json")
    assert done.returncode == 0, done.stderr
    form = json.loads(done.stdout)
    assert [one["name"] for one in form["courses"]] == ["plan", "repeating", "plain rule"]
    assert form["want_weeks"] == 11
    assert all(0 <= one["same_share"] <= 1 for one in form["courses"])


def test_a_rule_is_no_worse_for_more_room():
    """The best plain rule on two sites misses no more than that on one."""
    one, two = (task(range(0, 50, 7), 14, [0, 0, 1, 1, 1, 1, 1, 1], sites) for sites in (1, 2))
    rules = [best_rule(each, np.zeros(8, np.int64), np.arange(0, 50, 7)) for each in (one, two)]
    assert short_and_surplus(two, rules[1].n)[0] <= short_and_surplus(one, rules[0].n)[0]
    assert short_and_surplus(replace(two, demand=two.demand * 0), rules[1].n)[0] == 0
