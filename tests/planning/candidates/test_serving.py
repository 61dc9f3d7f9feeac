"""Which week of a want a cut serves, by the day; feasts; sites out of use; beds kept for some crops."""

from datetime import date, timedelta

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.candidates.eligible import calendar_limits, capacity, eligible_options
from cropcal.planning.candidates.service_weeks import NEVER, weeks_served
from cropcal.planning.candidates.work_calendar import work_calendar
from cropcal.planning.planner import plan
from cropcal.records.space import Settings, Want

MONDAY = date(2027, 1, 4)
EIGHT_WEEKS = work_calendar(Settings(start=MONDAY, weeks=8, work_days=("tue", "fri")))


def served(want, keeping_d=7, time=EIGHT_WEEKS):
    """Return {day of the year: week} of the harvest days that serve a want."""
    week = weeks_served(want, keeping_d, time)
    return {
        (time.date_of(day)).isoformat()[5:]: int(week[day]) for day in time.harvest_days if week[day] != NEVER
    }


def test_from_and_until_hold_by_the_day():
    """From Wednesday 13 January to Tuesday the 26th: Friday the 15th is the first cut, Tuesday the last."""
    want = Want(crops=("basil",), per_week=10, **{"from": date(2027, 1, 13)}, until=date(2027, 1, 26))
    assert served(want) == {"01-15": 1, "01-19": 2, "01-22": 2, "01-26": 3}


def test_a_feast_is_cut_within_what_keeps():
    """Saturday the 30th; basil keeps four days: Tuesday the 26th is the fourth day before it."""
    want = Want(crops=("basil",), on=(date(2027, 1, 30),), amount=10)
    assert served(want, keeping_d=4) == {"01-26": 3, "01-29": 3}
    assert served(want, keeping_d=3) == {"01-29": 3}


def test_the_nearest_harvest_day_serves_a_feast_if_nobody_knows_what_keeps():
    """The Friday before, or the day itself."""
    want = Want(crops=("basil",), on=(date(2027, 1, 31), date(2027, 2, 16)), amount=10)
    assert served(want, keeping_d=None) == {"01-29": 3, "02-16": 6}


def test_no_harvest_day_serves_a_feast_for_which_it_does_not_keep():
    """Friday 29 January for Sunday the 31st: two days, so what keeps one day is no help."""
    want = Want(crops=("basil",), on=(date(2027, 1, 31),), amount=10)
    assert served(want, keeping_d=2) == {"01-29": 3}
    assert served(want, keeping_d=1) == {}


def test_each_feast_has_its_own_days():
    """Two Saturdays running: what is cut after the first is for the second, however long it keeps."""
    want = Want(crops=("parsley",), on=(date(2027, 1, 30), date(2027, 2, 6)), amount=10)
    assert served(want, keeping_d=14) == {
        "01-19": 3, "01-22": 3, "01-26": 3, "01-29": 3, "02-02": 4, "02-05": 4,
    }  # fmt: skip


BENCH = """
[[zone]]
name = "bench"
length_m = 1.2
width_m = 0.5
photoperiod_h = 16
air_c = 21
[[bed]]
name = "gutter"
zone = "bench"
sites = {sites}
{bed}
[[fixture]]
zone = "bench"
watts = 110
ppf_umol_s = 260
[plan]
start = 2027-01-04
weeks = {weeks}
work_days = ["tue", "fri"]
{more}
{wants}
"""
ONE_A_WEEK = '[[want]]\ncrops = ["lettuce-looseleaf"]\nper_week = 1\n'


@pytest.fixture
def made(read_text, tables):
    """Return a maker of plans on the bench."""

    def make(wants=ONE_A_WEEK, *, bed="", more="", sites=10, weeks=16):
        space = read_text(BENCH.format(bed=bed, more=more, wants=wants, sites=sites, weeks=weeks))
        return plan(space, tables)

    return make


def cuts(result, want=0):
    return [cut.on for batch in result.batches if batch.want == want for cut in batch.harvests]


def test_nothing_is_cut_for_a_want_outside_its_days(made):
    """Wanted from a Wednesday to a Thursday five weeks on: cut between them only, and aimed at in each week.

    In the first of them few growers have any yet, so it is not promised.
    """
    first, last = date(2027, 3, 10), date(2027, 4, 15)
    result = made(f"{ONE_A_WEEK}from = {first}\nuntil = {last}\n")
    assert result.outcome.short_want_weeks == 0
    assert sum(row.aimed_at > 0 for row in result.supply) == 6
    assert sum(row.counted and row.wanted > 0 for row in result.supply) == 5
    assert all(first <= on <= last for on in cuts(result))


def test_a_feast_is_ready_on_its_day(made):
    """Six heads for Saturday 10 April: all cut in the seven days that they keep, and nothing else is."""
    result = made('[[want]]\ncrops = ["lettuce-looseleaf"]\non = [2027-04-10]\namount = 6\n')
    rows = [row for row in result.supply if row.counted]
    assert [(row.wanted, row.ready, row.short) for row in rows] == [(6, 6, 0)]
    assert all(date(2027, 4, 3) <= on <= date(2027, 4, 10) for on in cuts(result))
    assert result.outcome.steady == ()


def test_a_feast_that_is_too_large_is_short(made):
    """Twelve heads at once from ten sites: two are missing, a sixth of the feast."""
    result = made('[[want]]\ncrops = ["lettuce-looseleaf"]\non = [2027-04-10]\namount = 12\n')
    assert result.outcome.short_want_weeks == pytest.approx(2 / 12)


def test_a_feast_in_the_week_of_a_break_is_cut_before_it(made):
    """Nobody is there from Wednesday on, and the feast is on Saturday: cut on Tuesday."""
    wants = '[[want]]\ncrops = ["lettuce-looseleaf"]\non = [2027-04-10]\namount = 2\n'
    result = made(wants, more='breaks = [["2027-04-07", "2027-04-18"]]')
    assert result.outcome.short_want_weeks == 0
    assert max(cuts(result)) <= date(2027, 4, 6)


def test_a_break_has_no_jobs_and_the_weeks_beside_it_are_met(made):
    """Ten days away in April: no job falls into them, and all other weeks from the first harvest are met."""
    first, last = date(2027, 4, 2), date(2027, 4, 12)
    result = made(more=f'breaks = [["{first}", "{last}"]]')
    assert result.jobs
    assert not any(first <= job.on <= last for job in result.jobs)
    assert result.outcome.short_want_weeks == 0
    wanted = [row for row in result.supply if row.counted]
    assert {row.week for row in wanted if row.week >= date(2027, 3, 1)} == {
        MONDAY + timedelta(weeks=week) for week in range(8, 16) if week != 13
    }


def test_sites_out_of_use_hold_nothing(made):
    """Sites 3 to 10 are closed for most of the time: two sites cannot bring a head a week, ten can."""
    closed = 'out_of_use = [{ sites = "3-10", from = 2027-01-20, until = 2027-04-10 }]'
    result = made(bed=closed, weeks=24)
    first, last = date(2027, 1, 20), date(2027, 4, 10)
    held = [use for use in result.sites if use.site >= 3]
    assert held
    assert all(use.held_until < first or use.held_from > last for use in held)
    assert result.outcome.short_want_weeks > 1 > made().outcome.short_want_weeks == 0


def test_a_bed_out_of_use_for_good_grows_nothing(made):
    """Without days it is out of use throughout: nothing can be planned."""
    assert made(bed="out_of_use = [{}]").outcome.status == "empty"


def test_a_nursery_out_of_use_raises_nothing(made):
    """Seedlings wait elsewhere or not at all: none is in the nursery while it is closed."""
    nursery = '[[bed]]\nname = "cradle"\nzone = "bench"\nkind = "nursery"\nsites = 20\n'
    first, last = date(2027, 2, 1), date(2027, 2, 21)
    result = made(bed=f"{nursery}out_of_use = [{{ from = {first}, until = {last} }}]")
    assert {batch.nursery for batch in result.batches} == {"cradle"}
    assert all(batch.transplant_on < first or batch.sow_on > last for batch in result.batches)


@settings(max_examples=examples(20))
@given(st.lists(st.tuples(st.integers(1, 6), st.integers(0, 120), st.integers(0, 40)), max_size=3))
def test_no_way_holds_a_site_that_is_out_of_use(read_text, tables, closed):
    """Whatever is closed when: every way of every place leaves it alone, and every site is in one place."""
    from cropcal.planning.candidates.columns import candidate_columns
    from cropcal.planning.candidates.service_weeks import ServiceWeeks
    from cropcal.planning.power.bill import zone_day
    from cropcal.planning.site.bed_light import bed_lights

    days = [
        (site, MONDAY + timedelta(first), MONDAY + timedelta(first + more)) for site, first, more in closed
    ]
    rows = [f'{{ sites = "{site}", from = {first}, until = {last} }}' for site, first, last in days]
    bed = f"out_of_use = [{', '.join(rows)}]"
    space = read_text(BENCH.format(bed=bed, more="", wants=ONE_A_WEEK, sites=6, weeks=16))
    land = capacity(space, bed_lights(space, tables), zone_day(space, MONDAY, 112))
    assert sorted(site for place in land.places for site in place.sites) == list(range(1, 7))
    time = work_calendar(space.settings)
    found = eligible_options(space, tables, land)
    some = candidate_columns(
        found, time, 1, limits=calendar_limits(found, land, ServiceWeeks(space.wants, tables.crops, time))
    )
    for row in range(some.count):
        place = land.places[some.options[some.option[row]].place]
        held = np.arange(some.planted[row], some.cuts[row].max() + 1)
        for site, first, more in closed:
            if site in place.sites:
                assert not np.any((held >= first) & (held <= first + more))


TWO_BEDS = """crops = ["lettuce-romaine"]
[[bed]]
name = "tub"
zone = "bench"
sites = 8
"""


def test_a_bed_kept_for_a_crop_grows_no_other(made):
    """The gutter is for romaine: loose-leaf, also wanted, grows in the tub only."""
    wants = ONE_A_WEEK + '[[want]]\ncrops = ["lettuce-romaine"]\nper_week = 1\n'
    result = made(wants, bed=TWO_BEDS)
    beds = {(batch.crop, batch.bed) for batch in result.batches}
    assert ("lettuce-looseleaf", "tub") in beds
    assert ("lettuce-looseleaf", "gutter") not in beds
    assert ("lettuce-romaine", "gutter") in beds


def test_bowls_are_grams(made, read_text):
    """Two bowls of 25 g a week are 50 g a week; a bowl of unknown size is taken for 60 g, and said so."""
    basil = '[[want]]\ncrops = ["basil"]\nper_week = 2\nunit = "bowls"\n'
    result = made(basil + "bowl_g = 25\n")
    assert {row.wanted for row in result.supply if row.counted} == {50.0}
    assert {row.unit for row in result.supply} == {"g"}
    told = {
        one.key: one.value
        for one in read_text(BENCH.format(bed="", more="", wants=basil, sites=6, weeks=9)).assumed
    }
    assert told["want[1].bowl_g"] == "60"
    assert told["want[1].per_week"] == "120 g"
