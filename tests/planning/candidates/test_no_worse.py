"""One more work day, site or cell never makes a plan worse, from the file to the proven value.

What is wanted is held as it was: with another work day a want may be had a week sooner, and then that week
counts. The rule for days: up to four work days a week, and three where something is cut again (see ``ways``).
"""

from dataclasses import replace

import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.optimize.solve import solve
from cropcal.planning.candidates.columns import NO_DAY
from cropcal.planning.candidates.prepare import prepare

SPACE = """
[place]
name = "Attic"

[[zone]]
name = "eaves"
length_m = 1.0
width_m = 0.6
photoperiod_h = 14
air_c = 21
air_moving = true

[[bed]]
name = "pots"
zone = "eaves"
sites = {sites}
length_m = 0.9
width_m = 0.5

[[bed]]
name = "cups"
zone = "eaves"
kind = "nursery"
sites = {cells}
length_m = 0.2
width_m = 0.2

[[reading]]
bed = "pots"
umol_m2_s = [[{light}]]

[[reading]]
bed = "cups"
umol_m2_s = [[{light}]]

[plan]
start = 2027-01-04
weeks = {weeks}
work_days = [{days}]
breaks = [{breaks}]
"""
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
HEADS = (("lettuce-butterhead", 2), ("lettuce-looseleaf", 1), ("pak-choi", 1), ("radish", 5))
CUT_AGAIN = (("basil", 40), ("parsley", 15))


def text(days, wants, **more):
    quoted = ", ".join(f'"{day}"' for day in sorted(days, key=WEEKDAYS.index))
    asked = "".join(f'\n[[want]]\ncrops = ["{crop}"]\nper_week = {much}\n' for crop, much in wants)
    return SPACE.format(days=quoted, **more) + asked


@st.composite
def spaces(draw, crops, most_days):
    days = draw(st.permutations(WEEKDAYS))
    return {
        "days": days[: draw(st.integers(1, most_days))],
        "extra": days[6],
        "wants": draw(st.lists(st.sampled_from(crops), min_size=1, max_size=3, unique=True)),
        "sites": draw(st.integers(2, 5)),
        "cells": draw(st.integers(1, 4)),
        "light": draw(st.sampled_from([200, 250])),
        "weeks": draw(st.integers(11, 13)),
        "breaks": draw(st.sampled_from(["", '["2027-02-22", "2027-02-28"]'])),
    }


def keys(ready):
    """Return what each way does, by names and days."""
    found = ready.candidates
    return {
        (
            found.options[found.option[j]].grown.crop.slug,
            found.options[found.option[j]].want,
            int(found.sown[j]),
            int(found.planted[j]),
            tuple(int(day) for day in found.cuts[j] if day != NO_DAY),
        )
        for j in range(found.count)
    }


GAP, SLACK = 1e-4, 0.01
"""How near each search comes to its bound: a part of the value or points, of which a week without is 100."""


def best(task):
    found = solve(task, gap=GAP, near=SLACK / GAP / max(int((task.demand > 0).sum()), 1), time_limit_s=30)
    assert found.value - found.bound <= max(GAP * found.value, SLACK) + 1e-6
    return found


def no_worse(more, than):
    """Return whether one plan is as good as another, by its bound surely and by its value but for the gap."""
    return more.bound <= than.value + 1e-6 and more.value <= than.value + max(GAP * than.value, SLACK)


@pytest.mark.hypothesis  # so that the deep tier draws them all
@pytest.mark.parametrize(
    ("crops", "most_days"), [(HEADS, 3), (HEADS + CUT_AGAIN, 2)], ids=["cut once", "cut again"]
)
def test_another_work_day_never_makes_a_plan_worse(crops, most_days, read_text, tables):
    """Every way there was is still there, and on the same wants the proven value is no higher."""

    @settings(max_examples=examples(8, 2))
    @given(spaces(crops, most_days))
    def check(space):
        days, extra, wants = (space.pop(name) for name in ("days", "extra", "wants"))
        now = prepare(read_text(text(days, wants, **space)), tables)
        then = prepare(read_text(text([*days, extra], wants, **space)), tables)
        assert keys(now) <= keys(then)
        task = replace(then.task, demand=now.task.demand, cost_unit=now.task.cost_unit)
        assert no_worse(best(task), best(now.task))

    check()


@pytest.mark.hypothesis
def test_another_site_or_cell_never_makes_a_plan_worse(read_text, tables):
    """One more of either in the same light, on the same wants: the proven value is no higher."""

    @settings(max_examples=examples(8, 2))
    @given(spaces(HEADS + CUT_AGAIN, 2))
    def check(space):
        days, _, wants = (space.pop(name) for name in ("days", "extra", "wants"))
        task = prepare(read_text(text(days, wants, **space)), tables).task
        before = best(task)
        assert no_worse(best(replace(task, sites=task.sites + 1)), before)
        assert no_worse(best(replace(task, cells=task.cells + 1)), before)

    check()


@pytest.mark.parametrize("days", [["mon", "fri"], ["mon", "wed", "fri"]], ids=["two days", "three days"])
def test_a_late_day_to_transplant_saves_a_short_week(days, read_text, tables):
    """Four pots, one pak choi a week: met if a seedling may wait until a pot is free.

    With the first two days only to transplant on, one week was short.
    """
    space = {"sites": 4, "cells": 5, "light": 200, "weeks": 13, "breaks": ""}
    ready = prepare(read_text(text(days, [("pak-choi", 1)], **space)), tables)
    assert best(ready.task).short_want_weeks == 0
