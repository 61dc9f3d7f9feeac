"""A chance asked for: spare seedlings, and what they never do."""

from datetime import date, timedelta

import numpy as np
import pytest
from depth import few_of

from cropcal.planning.planner import SolveOptions, plan
from cropcal.records.past import Past

pytestmark = pytest.mark.usefixtures("no_pictures")

START = date(2027, 2, 1)
LOFT = """
[place]
name = "Sailmakers' loft"
timezone = "Europe/Lisbon"
[[zone]]
name = "bench"
length_m = 1.4
width_m = 0.6
photoperiod_h = 16
air_c = 21
air_moving = true
[[bed]]
name = "long tub"
zone = "bench"
sites = {sites}
length_m = 1.0
width_m = 0.55
[[bed]]
name = "plug box"
zone = "bench"
kind = "nursery"
sites = {cells}
length_m = 0.3
width_m = 0.3
[[fixture]]
zone = "bench"
watts = 150
watts_from = "meter"
lamp_to_canopy_m = 0.3
[[reading]]
bed = "long tub"
umol_m2_s = [[230, 240, 235]]
read_with = "meter"
[[reading]]
bed = "plug box"
umol_m2_s = [[200]]
read_with = "meter"
[plan]
start = 2027-02-01
weeks = 14
{service}
[[want]]
crops = ["lettuce-butterhead"]
per_week = 2
"""


def loft(read_text, sites=24, cells=12, service=None):
    asked = "" if service is None else f"service = {service}"
    return read_text(LOFT.format(sites=sites, cells=cells, service=asked))


def chances(made):
    return np.array([row.chance for row in made.supply if row.counted and row.wanted > 0])


@pytest.fixture(scope="module")
def plain(read_text, tables):
    """Return the plan for the middle."""
    return plan(loft(read_text), tables)


@pytest.fixture(scope="module")
def surer(read_text, tables):
    """Return the plan for a chance of 80 %."""
    return plan(loft(read_text, service=0.8), tables)


def test_weeks_are_surer_and_fewer_are_missed(plain, surer):
    """Where there is room, spare seedlings fill the gaps of those that die."""
    assert len(chances(plain)) == len(chances(surer)) > 3
    assert chances(surer).mean() > chances(plain).mean() + 0.03
    assert surer.expected.short_want_weeks < plain.expected.short_want_weeks


def test_it_says_which_weeks_reach_what_is_asked(surer):
    """Every week that counts is in the one list or the other."""
    told, now = surer.service, chances(surer).round(2)
    assert (told.asked, told.weeks, told.reached) == (0.8, len(now), int((now >= 0.8).sum()))
    assert {row.chance for row in told.unsure} == set(now[now < 0.8])
    assert all(row.why for row in told.unsure)
    assert told.reached > told.before


def test_only_cells_and_seed_are_added(plain, surer):
    """Sowings stay on their days and sites; what it takes is counted from both plans."""
    told = surer.service
    for name, more in (("cells", told.cells_more), ("seeds", told.seeds_more)):
        added = [getattr(made, name) - getattr(was, name)
                 for made, was in zip(surer.batches, plain.batches, strict=True)]  # fmt: skip
        assert min(added) >= 0
        assert more == sum(added) > 0
    assert [one.sow_on for one in surer.batches] == [one.sow_on for one in plain.batches]
    assert surer.sites == plain.sites
    assert plain.service is None


def test_no_cell_is_used_twice(surer):
    """Nursery cells, spare ones too, day by day."""
    for day in range(14 * 7):
        on = START + timedelta(days=day)
        assert sum(one.cells for one in surer.batches if one.sow_on <= on < one.transplant_on) <= 12


def test_the_same_twice(surer, read_text, tables):
    """Asked again it is the same, to the last chance."""
    again = plan(loft(read_text, service=0.8), tables)
    assert again.batches == surer.batches
    assert again.supply == surer.supply


@pytest.mark.parametrize("after", few_of([9, 61, 1, 30], 2))
def test_planned_again_with_all_as_planned_no_sowing_changes(after, surer, read_text, tables):
    """Sowings that were planned stay on their days, as many as they were."""
    past = Past(on=START + timedelta(days=after), batches=surer.batches, sites=surer.sites, events=())
    again = plan(loft(read_text, service=0.8), tables, past=past)
    assert again.again.revisions == ()


def test_without_room_it_is_said(read_text, tables):
    """Four cells for two heads a week: nothing can be spared, and it says so."""
    made = plan(loft(read_text, sites=10, cells=4, service=0.95), tables)
    assert made.service.unsure
    assert {row.why for row in made.service.unsure} == {"more seedlings would not do"}


def test_it_says_when_it_was_stopped(read_text, tables):
    """Without time the plan is that of the middle, and it says so."""
    made = plan(loft(read_text, service=0.8), tables, SolveOptions(time_limit_s=5.0, stop=lambda: True))
    assert made.service.stopped


def test_a_chance_of_nothing_asks_for_nothing(plain, read_text, tables):
    """At 0 the plan is that of the middle."""
    made = plan(loft(read_text, service=0), tables)
    assert made.batches == plain.batches
    assert (made.service.cells_more, made.service.reached) == (0, made.service.weeks)
