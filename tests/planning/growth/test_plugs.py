"""Bought young plants: no nursery, no seed, sooner ready; planted on a work day and continued."""

from dataclasses import replace
from datetime import date, timedelta
from typing import get_args

import numpy as np
import pytest

from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.growth.plugs import grow_plug
from cropcal.planning.planner import plan
from cropcal.planning.schedule.seed_orders import seed_orders
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.base import WEEKDAYS
from cropcal.records.journal import Entry
from cropcal.records.plan import JobName
from cropcal.records.written_plan import Past
from cropcal.show.data import csv_sheets as sheets
from cropcal.show.data import json_forms as as_json
from cropcal.show.terminal.week import HEADINGS

LEDGE = """
[[zone]]
name = "ledge"
length_m = 1.2
width_m = 0.5
photoperiod_h = 16
air_c = 21
[[bed]]
name = "gutter"
zone = "ledge"
sites = 10
{bed}
[[fixture]]
zone = "ledge"
watts = 110
ppf_umol_s = 260
[plan]
start = 2027-01-04
weeks = 14
work_days = ["tue", "fri"]
[[want]]
crops = ["lettuce-looseleaf"]
per_week = 1
{want}
"""
NURSERY = '[[bed]]\nname = "cradle"\nzone = "ledge"\nkind = "nursery"\nsites = 20\n'


@pytest.fixture
def bought(read_text, tables):
    """Return a space that buys its plants, although it has a nursery, and its plan."""
    space = read_text(LEDGE.format(bed=NURSERY, want="plugs = true\nplug_age_d = 20"))
    return space, plan(space, tables)


def test_an_own_plug_is_ready_when_its_seedling_would_be(tables):
    """Where own seedlings have the light of the reference harvest, buying them only shifts the days."""
    crop = tables.crops["lettuce-romaine"]
    site = GrowingConditions(
        "b", 13.0, 0.2, 16.0, 21.0, air_moving=True, co2_enriched=False, site_area_m2=0.03
    )
    raised = replace(
        site,
        bed="n",
        dli_mol_m2_d=crop.anchor_dli_mol_m2_d,
        photoperiod_h=crop.anchor_photoperiod_h,
        air_c=crop.anchor_air_c,
        site_area_m2=1 / crop.nursery_plants_m2,
    )
    own, plug = grow(crop, tables, site, raised), grow_plug(crop, tables, site, crop.nursery_d + 3)
    age = crop.nursery_d + 3
    assert plug.ready_d[:, 0] == pytest.approx(own.ready_d[:, 3] - age)
    assert plug.g_per_plant[1, 0, :150] == pytest.approx(own.g_per_plant[1, 3, age : age + 150])
    assert plug.g_per_plant.shape == own.g_per_plant[:, :1].shape


def test_older_plants_are_ready_sooner(tables):
    """A week older when bought is some days sooner to the table."""
    site = GrowingConditions(
        "b", 13.0, 0.2, 16.0, 21.0, air_moving=True, co2_enriched=False, site_area_m2=0.03
    )
    days = [grow_plug(tables.crops["basil"], tables, site, age).ready_d[1, 0] for age in (14, 21, 28)]
    assert np.all(np.diff(days) < -1)


def test_bought_plants_skip_the_nursery_and_come_on_work_days(bought):
    """No cell, no seed; every job before the cut is to plant, on a work day, at the age given."""
    _, result = bought
    assert result.batches
    for batch in result.batches:
        assert (batch.nursery, batch.transplant_on, batch.cells, batch.seeds) == (None, None, 0, 0)
        assert batch.plug_age_d == 20
        assert WEEKDAYS[batch.sow_on.weekday()] in ("tue", "fri")
    jobs = [job for job in result.jobs if job.job != "cut"]
    assert {job.job for job in jobs} == {"plant"}
    assert jobs[0].note == "bought young plants, about 20 days old"
    assert jobs[0].sites


def test_every_job_has_its_heading_in_the_week():
    """No kind of job is left out of the checklist."""
    assert {*HEADINGS, "check"} == {*get_args(JobName)}  # checks stand in a section of their own


def test_they_are_ready_sooner_than_from_seed(bought, read_text, tables):
    """The first week that can be met is some weeks sooner, and said so."""
    own = plan(read_text(LEDGE.format(bed=NURSERY, want="")), tables)
    first, sown = (result.outcome.steady[0].first_week for result in (bought[1], own))
    assert timedelta(weeks=1) < sown - first < timedelta(weeks=4)


def test_the_sheet_of_seeds_counts_them_as_plugs(bought, tables):
    """One plug a site, no seed; each planting is an order of its own, two weeks before."""
    _, result = bought
    _, *rows = sheets.seeds(seed_orders(result.batches, tables)).splitlines()
    days: dict[date, int] = {}
    for batch in result.batches:
        days[batch.sow_on] = days.get(batch.sow_on, 0) + batch.sites
    assert rows == [
        f"lettuce-looseleaf,{on - timedelta(days=14)},0,{many},0," for on, many in sorted(days.items())
    ]
    assert as_json.plan(result)["batches"][0]["plug_age_d"] == 20


@pytest.mark.parametrize("event", ["sown", "transplanted"])
def test_a_planting_that_is_late_is_gone_on_with(bought, tables, event):
    """Planted three days late, whichever word was used: cut on the days from there, not as own seed."""
    space, result = bought
    first = result.batches[0]
    planted = first.sow_on + timedelta(days=3)
    entry = Entry(on=planted, event=event, batch=first.id, crop=first.crop)
    past = Past(on=planted + timedelta(days=1), batches=result.batches, sites=result.sites, events=(entry,))
    again = plan(space, tables, past=past)
    batch = next(batch for batch in again.batches if batch.id == first.id)
    assert batch.sow_on == planted
    assert batch.ready_from_low_80 == first.ready_from_low_80 + timedelta(days=3)
    assert batch.plug_age_d == 20
    assert again.again.taken_done == ()


def test_plugs_as_planned_change_nothing(bought, tables):
    """A month on without a note: the plan is the same."""
    space, result = bought
    past = Past(on=date(2027, 2, 1), batches=result.batches, sites=result.sites)
    again = plan(space, tables, past=past)
    assert again.again.revisions == ()
