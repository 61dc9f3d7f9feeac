"""Plants in the space when planning begins: continued, cut as wanted, and recognised in the next plan."""

from datetime import date, timedelta

import pytest
from depth import few_of

from cropcal.planning.planner import plan
from cropcal.planning.replan.initial_stock import initial_sowings
from cropcal.records.journal import Entry
from cropcal.records.written_plan import Past

VERANDA = """
[[zone]]
name = "veranda"
length_m = 1.2
width_m = 0.5
photoperiod_h = 16
air_c = 21
[[bed]]
name = "gutter"
zone = "veranda"
sites = 10
[[bed]]
name = "cradle"
zone = "veranda"
kind = "nursery"
sites = 20
[[fixture]]
zone = "veranda"
watts = 110
ppf_umol_s = 260
[plan]
start = 2027-01-04
weeks = 14
work_days = ["tue", "fri"]
[[want]]
crops = ["lettuce-looseleaf"]
per_week = 2
{}
"""
STANDS = '[[growing]]\ncrop = "lettuce-looseleaf"\nbed = "gutter"\nsites = 4\nage_d = 34\n'
WAITS = '[[growing]]\ncrop = "lettuce-looseleaf"\nbed = "cradle"\nsites = 3\nsown = 2026-12-25\n'


@pytest.fixture
def space_of(read_text):
    """Return a reader of the veranda with plants that stand."""
    return lambda *rows: read_text(VERANDA.format("\n".join(rows)))


def test_a_row_is_a_sowing_that_was_noted(space_of):
    """By day of sowing, each with an id of its own that no new batch has."""
    rows = initial_sowings(space_of(STANDS, STANDS.replace("4", "2", 1).replace("34", "10"), WAITS))
    assert [(row.batch, row.on, row.amount, row.bed) for row in rows] == [
        ("1201s", date(2026, 12, 1), 4.0, "gutter"),
        ("1225s", date(2026, 12, 25), 2.0, "gutter"),
        ("1225s2", date(2026, 12, 25), 3.0, "cradle"),
    ]


def test_what_stands_is_cut_as_it_is_wanted(space_of, tables):
    """Four heads sown five weeks before: two in each of two weeks long before a new sowing can be ready.

    They are ready early in one week and keep a week on their site: that reaches the Tuesday of the next.
    """
    result = plan(space_of(STANDS.replace("34", "33")), tables)
    (batch,) = (batch for batch in result.batches if batch.id == "1202s")
    assert batch.sow_on == date(2026, 12, 2)
    assert batch.ready_from <= date(2027, 1, 15)
    assert batch.ready_until >= date(2027, 1, 19)
    assert [cut.amount for cut in batch.harvests] == [2, 2]
    weeks = {(cut.on - date(2027, 1, 4)).days // 7 for cut in batch.harvests}
    assert len(weeks) == 2
    first = result.outcome.steady[0].first_week
    assert max(cut.on for cut in batch.harvests) < first
    soon = [row for row in result.supply if row.week < first]
    assert sum(row.ready for row in soon) == 4
    assert not any(row.counted or row.short for row in soon)


def test_a_first_plan_with_stock_is_no_plan_made_again(space_of, tables):
    """Nothing is reported as changed; no job of theirs lies before the start."""
    result = plan(space_of(STANDS, WAITS), tables)
    assert result.again is None
    assert min(job.on for job in result.jobs) >= date(2027, 1, 4)


def test_seedlings_that_wait_are_moved_and_grow_on(space_of, tables):
    """Sown ten days before in the nursery: moved when they are old enough, cut before any new one."""
    result = plan(space_of(WAITS), tables)
    (batch,) = (batch for batch in result.batches if batch.id == "1225s")
    crop = tables.crops["lettuce-looseleaf"]
    age = (batch.transplant_on - batch.sow_on).days
    assert crop.nursery_d <= age <= crop.nursery_d + crop.nursery_hold_d
    assert batch.bed == "gutter"
    others = [cut.on for one in result.batches if one.id != "1225s" for cut in one.harvests]
    assert max(cut.on for cut in batch.harvests) < min(others)


def test_no_site_is_used_twice_and_stock_has_its_own(space_of, tables):
    """From the first day four sites are held by standing plants."""
    result = plan(space_of(STANDS, WAITS), tables)
    held = {}
    for use in result.sites:
        for day in range((use.held_until - use.held_from).days + 1):
            at = (use.bed, use.site, use.held_from + timedelta(days=day))
            assert held.setdefault(at, use.batch) == use.batch
    assert sum(batch == "1201s" for (_, _, on), batch in held.items() if on == date(2027, 1, 4)) == 4


@pytest.mark.parametrize("days", few_of([9, 0], 1))
def test_the_next_plan_knows_it_again(space_of, tables, days):
    """Planned again from the written plan, the rows of the file are not counted twice: nothing changes."""
    space = space_of(STANDS, WAITS)
    first = plan(space, tables)
    past = Past(on=date(2027, 1, 4) + timedelta(days=days), batches=first.batches, sites=first.sites)
    again = plan(space, tables, past=past)
    assert [batch.id for batch in again.batches] == [batch.id for batch in first.batches]
    assert again.again.revisions == ()


def test_what_is_noted_of_it_counts(space_of, tables):
    """Two of the four heads died: two are left to cut."""
    space = space_of(STANDS)
    first = plan(space, tables)
    lost = Entry(on=date(2027, 1, 5), event="lost", batch="1201s", amount=2.0, unit="sites")
    past = Past(on=date(2027, 1, 6), batches=first.batches, sites=first.sites, events=(lost,))
    again = plan(space, tables, past=past)
    (batch,) = (batch for batch in again.batches if batch.id == "1201s")
    assert sum(cut.amount for cut in batch.harvests) == 2
