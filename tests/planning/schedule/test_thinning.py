"""When seedlings are thinned: hand-worked dates around one sowing of lettuce, two seeds a cell."""

from datetime import date, timedelta

import pytest

from cropcal.planning.candidates.work_calendar import work_calendar
from cropcal.planning.schedule.jobs import jobs
from cropcal.records.plan import Batch, SiteUse
from cropcal.records.space import Settings

SOWN, UP, MOVED, CUT = date(2027, 1, 5), date(2027, 1, 9), date(2027, 1, 22), date(2027, 2, 26)
TUE_FRI = work_calendar(Settings(start=date(2027, 1, 4), weeks=10, work_days=("tue", "fri")))


def batch(**changes):
    values = {
        "id": "0105a", "want": 0, "crop": "lettuce-butterhead", "bed": "sill", "nursery": "pan",
        "sow_on": SOWN, "emerge_on": UP, "transplant_on": MOVED, "ready_from": CUT,
        "ready_from_low_80": CUT, "ready_from_high_80": CUT, "ready_until": CUT, "clear_on": CUT,
        "sites": 3, "cells": 3, "seeds": 6, "unit": "heads", "harvests": (),
    }  # fmt: skip
    return Batch(**(values | changes))


def thinned(tables, one, time=TUE_FRI, **air_c):
    held = tuple(
        SiteUse(
            bed=one.bed, site=site, batch=one.id, crop=one.crop,
            held_from=one.planted_on, held_until=one.clear_on, cuts=(),
        )
        for site in (1, 2, 5)
    )  # fmt: skip
    return [job for job in jobs((one,), held, (), tables, time, air_c) if job.job == "thin"]


def test_seedlings_are_thinned_when_true_leaves_show(tables):
    """Up on Saturday the 9th, true leaves a week later on the 16th, so on Tuesday the 19th, in the pan."""
    (job,) = thinned(tables, batch())
    assert (job.on, job.bed, job.sites) == (date(2027, 1, 19), "pan", "")
    assert (job.amount, job.unit) == (3.0, "cells")
    assert "keep the best one of each" in job.note


def test_sown_in_place_the_sites_are_named(tables):
    """Without a nursery it is done where the plants stay."""
    (job,) = thinned(tables, batch(nursery=None, transplant_on=None, cells=0))
    assert (job.bed, job.sites, job.amount, job.unit) == ("sill", "1-2, 5", 3.0, "sites")


def test_planting_out_comes_at_the_same_time_at_the_latest(tables):
    """Moved on the 15th, before any work day after the 16th: thinned while they are moved, and before it."""
    moved = date(2027, 1, 15)
    one = batch(transplant_on=moved)
    (job,) = thinned(tables, one)
    assert job.on == moved
    order = [job.job for job in jobs((one,), (), (), tables, TUE_FRI)]
    assert order.index("thin") < order.index("transplant")


def test_while_nobody_is_there_it_waits(tables):
    """Away from the 16th to the 25th: the next work day is the 26th, so the day of planting out counts."""
    away = work_calendar(
        Settings(
            start=date(2027, 1, 4),
            weeks=10,
            work_days=("tue", "fri"),
            breaks=((date(2027, 1, 16), date(2027, 1, 25)),),
        )
    )
    (job,) = thinned(tables, batch(transplant_on=MOVED + timedelta(days=11)), away)
    assert job.on == date(2027, 1, 26)


@pytest.mark.parametrize(
    ("changes", "air_c"),
    [
        ({"seeds": 3}, {}),  # one seed a cell
        ({"crop": "spinach-baby"}, {}),  # sown all over
        ({"crop": "pea-shoots"}, {}),
        ({"seeds": 0}, {}),  # noted besides the plan: nobody said how many
        ({"nursery": None, "transplant_on": None, "clear_on": date(2027, 1, 18)}, {}),  # cut before
    ],
)
def test_nothing_is_thinned_where_nothing_crowds(tables, changes, air_c):
    """No job is made up where one seedling a place, or a dense stand, is what is meant."""
    assert thinned(tables, batch(**changes), **air_c) == []


def test_where_the_air_lets_few_come_up_there_is_nothing_to_thin(tables):
    """Celery-like: two seeds of which 0.4 come up make 0.8 seedlings; of 0.8 they make 1.6."""
    crop = tables.crops["lettuce-butterhead"]
    curve = tables.emergence[crop.emergence_curve].model_copy(
        update={"air_c": (10.0, 30.0), "days": (9.0, 3.0), "stand": (0.9, 0.4)}
    )
    hot = tables.model_copy(update={"emergence": {**tables.emergence, crop.emergence_curve: curve}})
    assert thinned(hot, batch(), pan=30.0) == []
    assert len(thinned(hot, batch(), pan=10.0)) == 1
