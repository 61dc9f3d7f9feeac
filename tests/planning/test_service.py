"""A chance asked for: spare cells and seeds, more sowings and surer days, and what they never do."""

import json
from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from depth import examples, few_of
from hypothesis import given, settings
from hypothesis import strategies as st
from in_process import cropcal
from scipy import stats

from cropcal.planning.candidates.columns import Option, candidate_columns
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.planner import SolveOptions, plan
from cropcal.planning.risk.quantiles import dependable_shares
from cropcal.planning.risk.spares import SURE, Oversown
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.reading.space.read import read_space_text
from cropcal.records.past import Past
from cropcal.records.plan import Batch
from cropcal.show.terminal.service_level import service_section

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
    """Return the plan for a chance of 70 %."""
    return plan(loft(read_text, service=0.7), tables)


def test_no_week_is_less_sure_for_it(plain, surer):
    """Weeks below the chance asked for come no lower, weeks above it never fall below it."""
    before, now = chances(plain), chances(surer)
    assert len(before) > 3
    assert np.all(now >= np.minimum(before, 0.7) - 0.02)
    assert now.mean() > before.mean() + 0.03


def test_where_there_is_room_weeks_reach_what_is_asked_or_say_why_not(surer):
    """Every week that counts is in the one list or the other, and most reach it here."""
    told = surer.service
    now = chances(surer).round(2)
    assert told.asked == 0.7
    assert told.weeks == len(now)
    assert told.reached == int((now >= 0.7).sum())
    assert {row.chance for row in told.unsure} == set(now[now < 0.7])
    assert all(row.why for row in told.unsure)
    assert told.reached > told.before
    assert told.reached >= 0.7 * told.weeks


def test_what_it_takes_is_told(plain, surer):
    """Sites, cells and sowings on top of the plan for the middle, counted from both plans."""
    told = surer.service
    for name, more in (("sites", told.sites_more), ("cells", told.cells_more), ("seeds", told.seeds_more)):
        assert more == sum(getattr(one, name) for one in surer.batches) - sum(
            getattr(one, name) for one in plain.batches
        )
    assert told.sowings_more == len(surer.batches) - len(plain.batches)
    assert plain.service is None


def test_no_site_and_no_cell_is_used_twice(surer, read_text):
    """Sites and nursery cells, spare ones too, day by day."""
    space = loft(read_text)
    for day in range(space.settings.weeks * 7):
        on = START + timedelta(days=day)
        held = [(use.bed, use.site) for use in surer.sites if use.held_from <= on < use.held_until]
        assert len(held) == len(set(held))
        assert sum(one.cells for one in surer.batches if one.sow_on <= on < one.transplant_on) <= 12


def test_the_same_twice(surer, read_text, tables):
    """Asked again it is the same, to the last chance."""
    again = plan(loft(read_text, service=0.7), tables)
    assert again.batches == surer.batches
    assert again.supply == surer.supply


@pytest.mark.parametrize("after", few_of([9, 61, 1, 30], 2))
def test_planned_again_with_all_as_planned_nothing_changes(after, surer, read_text, tables):
    """Sowings that were made to be surer stay, for they are planned."""
    past = Past(on=START + timedelta(days=after), batches=surer.batches, sites=surer.sites, events=())
    again = plan(loft(read_text, service=0.7), tables, past=past)
    assert again.again.revisions == ()
    assert again.batches == surer.batches


def test_without_room_nothing_is_worse_and_it_is_said(read_text, tables):
    """Ten sites and four cells for two heads a week: no room, and no week comes out less sure."""
    before = chances(plan(loft(read_text, sites=10, cells=4), tables))
    made = plan(loft(read_text, sites=10, cells=4, service=0.95), tables)
    assert np.all(chances(made) >= np.minimum(before, 0.95) - 0.02)
    assert made.service.unsure
    assert {row.why for row in made.service.unsure} <= {
        "no room for more",
        "its pace is not known yet",
        "more sowings did not do",
        "nothing can be ready then",
    }


def test_it_says_when_it_was_stopped(read_text, tables):
    """Without time for steps the plan is that of the middle with spare seed, and it says so."""
    made = plan(loft(read_text, service=0.7), tables, SolveOptions(time_limit_s=5.0, stop=lambda: True))
    assert made.service.stopped
    assert "before every week was tried" in service_section(made.service, {}, None)


def test_a_chance_of_nothing_asks_for_nothing(plain, read_text, tables):
    """At 0 the sowings are those of the middle, but for spare seed."""
    made = plan(loft(read_text, service=0), tables)
    assert [one.sow_on for one in made.batches] == [one.sow_on for one in plain.batches]
    assert made.service.sites_more == 0
    assert made.service.reached == made.service.weeks


def test_variety_is_kept(read_text, tables):
    """Two lettuces by turns: no crop brings more beyond three quarters of two weeks running than it did."""

    def beyond(made):
        weeks = sorted({row.week for row in made.supply if row.counted and row.wanted > 0})
        of_crop = {}
        for one in made.batches:
            for cut in one.harvests:
                week = max(day for day in weeks if day <= cut.on)
                of_crop[one.crop, week] = of_crop.get((one.crop, week), 0) + cut.amount
        return sum(
            max(of_crop.get((crop, a), 0) + of_crop.get((crop, b), 0) - 1.5 * 2, 0)
            for a, b in pairwise(weeks)
            for crop in ("lettuce-butterhead", "lettuce-romaine")
        )

    two = LOFT.replace(
        'crops = ["lettuce-butterhead"]', 'crops = ["lettuce-butterhead", "lettuce-romaine"]\nvariety = true'
    )
    plain, surer = (
        plan(read_text(two.format(sites=24, cells=12, service=asked)), tables)
        for asked in ("", "service = 0.8")
    )
    assert surer.service.sites_more > 0
    assert beyond(surer) <= beyond(plain) + 1e-9


MIXED = (
    LOFT.replace(
        "sites = {sites}\n",
        'sites = {sites}\ncrops = ["lettuce-butterhead", "pak-choi"]\n'
        'out_of_use = [{{ sites = "{shut}", from = {shut_from}, until = {shut_until} }}]\n',
        1,
    )
    + """
[[bed]]
name = "side box"
zone = "bench"
sites = {side}
length_m = 0.4
width_m = 0.3
[[reading]]
bed = "side box"
umol_m2_s = [[200]]
read_with = "meter"
[[want]]
crops = [{crops}]
per_week = {much}
unit = "{unit}"
"""
)


@pytest.mark.parametrize("seed", few_of(range(4), 1))
def test_whatever_is_closed_bound_or_kept_it_does_no_harm(seed, read_text, tables):
    """Random spaces: sites out of use, a bed for two crops only, heads that keep a week, leaves that do not.

    No week is less sure than the middle's plan makes it or than is asked; closed sites stay empty; crops stay
    in their beds; what is kept is kept once; the count of weeks and of what it takes is that of the plan.
    """
    rng = np.random.default_rng(seed)
    first = START + timedelta(days=int(rng.integers(20, 60)))
    last = first + timedelta(days=int(rng.integers(3, 30)))
    shut = int(rng.integers(1, 6))
    asked = float(rng.choice([0.5, 0.7, 0.9]))
    of = {
        "sites": int(rng.integers(10, 22)), "cells": int(rng.integers(6, 20)),
        "side": int(rng.integers(2, 6)), "shut": f"1-{shut}", "shut_from": first, "shut_until": last,
    }  # fmt: skip
    of |= (
        {"crops": '"pak-choi", "tatsoi"', "much": 1, "unit": "heads"}
        if seed % 2
        else {"crops": '"basil"', "much": 40, "unit": "g"}
    )
    plain, surer = (
        plan(read_text(MIXED.format(service=service, **of)), tables) for service in ("", f"service = {asked}")
    )
    told = surer.service
    before, now = chances(plain), chances(surer)
    assert np.all(
        now >= np.minimum(before, asked) - 0.03
    )  # two drawings of 10,000, and rougher ones in between
    assert (told.weeks, told.reached) == (len(now), int((now.round(2) >= asked).sum()))
    assert len(told.unsure) == told.weeks - told.reached
    held = set()
    for use in surer.sites:
        bound = use.bed == "long tub"
        assert not bound or use.crop in ("lettuce-butterhead", "pak-choi")
        closed = bound and use.site <= shut
        assert not (closed and use.held_from <= last and use.held_until >= first)
        for day in range((use.held_until - use.held_from).days):
            held.add((use.bed, use.site, use.held_from + timedelta(days=day)))
    assert len(held) == sum((use.held_until - use.held_from).days for use in surer.sites)
    for on in {one.sow_on for one in surer.batches}:
        cells = sum(
            one.cells for one in surer.batches if one.nursery and one.sow_on <= on < one.transplant_on
        )
        assert cells <= of["cells"]
    for want in {row.want for row in surer.supply}:
        rows = [row for row in surer.supply if row.want == want]
        assert sum(row.from_before for row in rows) == pytest.approx(sum(row.for_later for row in rows))
        assert sum(row.ready for row in rows) == pytest.approx(
            sum(cut.amount for one in surer.batches if one.want == want for cut in one.harvests)
        )


def batch(sites, nursery="plug box", crop="lettuce-butterhead", seeds=0, day=START):
    moved = day + timedelta(days=14) if nursery else None
    return Batch(
        id="0201a", want=0, crop=crop, bed="long tub", nursery=nursery, sow_on=day, emerge_on=day,
        transplant_on=moved, ready_from=day, ready_from_low_80=day, ready_from_high_80=day, ready_until=day,
        clear_on=day, sites=sites, cells=sites if nursery else 0, seeds=seeds, unit="heads", harvests=(),
    )  # fmt: skip


SITE = GrowingConditions(
    bed="long tub", dli_mol_m2_d=15.0, sd_ln_light=0.1, photoperiod_h=16.0, air_c=21.0, air_moving=True,
    co2_enriched=False, site_area_m2=0.03,
)  # fmt: skip


@given(st.integers(1, 12), st.integers(0, 6))
@settings(deadline=None, max_examples=examples(25))
def test_spare_cells_make_enough_stand_as_far_as_there_is_room(tables, sites, room):
    """As many as SciPy's binomial asks for, never more than the nursery holds, never fewer than sites."""
    crop = tables.crops["lettuce-butterhead"]
    cradle = GrowingConditions(**{**SITE.__dict__, "bed": "plug box", "site_area_m2": 0.004})
    grown = grow(crop, tables, SITE, cradle)
    over = Oversown({(crop.slug, "long tub", "plug box"): grown}, {"plug box": sites + room})
    (more,) = over([batch(sites)], ())
    stands = 1 - (1 - grown.stand) ** crop.seeds_per_plant
    assert sites <= more.cells <= sites + room
    assert more.seeds == more.cells * crop.seeds_per_plant
    if more.cells < sites + room:
        assert stats.binom.sf(sites - 1, more.cells, stands) >= SURE
    assert more.cells == sites or stats.binom.sf(sites - 1, more.cells - 1, stands) < SURE


def test_what_is_sown_in_place_gets_spare_seeds(tables):
    """Eight sites with one plant each: seeds a site until all eight stand nineteen times of twenty."""
    crop = tables.crops["lettuce-butterhead"]
    grown = grow(crop, tables, SITE, None)
    (more,) = Oversown({(crop.slug, "long tub", None): grown}, {})([batch(8, nursery=None)], ())
    each = more.seeds // 8
    assert (1 - (1 - grown.stand) ** each) ** 8 >= SURE > (1 - (1 - grown.stand) ** (each - 1)) ** 8


def test_a_surer_chance_relies_on_less_and_a_later_cut_on_more(tables):
    """The share of heads that is relied on falls with the chance asked for and rises day by day."""
    grown = grow(tables.crops["lettuce-butterhead"], tables, SITE, None)
    time = WorkCalendar(START, 12, (), ("mon",), ("mon", "tue", "wed", "thu", "fri", "sat", "sun"))
    found = candidate_columns((Option(0, 0, -1, grown, 0.0, 0.0),), time, 1)
    one = found.sown == found.sown[0]
    by_chance = [dependable_shares(found, chance)[one] for chance in (0.5, 0.7, 0.8, 0.9)]
    assert np.all(np.diff(by_chance, axis=0) < 0)
    assert np.all(np.diff(by_chance[2][np.argsort(found.cuts[one, 0])]) > 0)
    assert 0 < by_chance[3].min() < by_chance[0].max() <= 0.98


def test_the_file_takes_a_chance_and_no_percentage(tables):
    """80 is taken for a percentage and refused with what it should be."""
    text = LOFT.format(sites=10, cells=4, service="service = 80")
    _, problems = read_space_text(text, tables, today=date(2026, 12, 30))
    (problem,) = problems
    assert problem.key == "plan.service"
    assert "percent" in str(problem)


def test_the_whole_command_says_what_it_takes(tmp_path):
    """On the screen, in supply.csv and in plan.json, on a small invented space."""
    (tmp_path / "space.toml").write_text(LOFT.format(sites=13, cells=8, service="service = 0.75"), "utf-8")
    done = cropcal("plan", str(tmp_path))
    assert done.returncode in (0, 1), done.stderr
    assert "What it takes to be surer" in done.stdout
    assert "You ask for 75 %." in done.stdout
    told = json.loads((tmp_path / "plan" / "plan.json").read_text("utf-8"))
    assert told["service"]["asked"] == 0.75
    assert "You ask for 75 %." in (tmp_path / "plan" / "report.html").read_text("utf-8")
    rows = (tmp_path / "plan" / "supply.csv").read_text("utf-8").strip().split("\n")
    assert [row.rsplit(",", 1)[1] for row in rows[1:]] == [
        "" if row["chance"] is None else f"{row['chance']:g}" for row in told["supply"]
    ]
