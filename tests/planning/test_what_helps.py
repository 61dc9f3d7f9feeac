"""What would help: the plan's sowings in changed spaces, paired season by season."""

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from depth import examples, few_of
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.one_more import changes
from cropcal.planning.planner import SolveOptions, plan
from cropcal.planning.power.lamp_hours import quiet_overlap_h
from cropcal.planning.same_sowings import SEASONS, Comparison, Grown, SownCells, sowings_of
from cropcal.planning.what_helps import what_helps
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.space.read import read_space
from cropcal.records.space import photoperiod_h

PLANS = Path(__file__).resolve().parents[1] / "spaces" / "plans"
EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "millbrook"
TABLES = read_crop_tables(None)[0]


def space_of(path, weeks=None):
    space, problems = read_space(path, TABLES, today=date(2026, 12, 1))
    assert problems == []
    if weeks is None:
        return space
    return space.model_copy(update={"settings": space.settings.model_copy(update={"weeks": weeks})})


def compared(space, sown):
    return Comparison(prepare(space, TABLES), TABLES, {}, sown)


@cache
def eight_sites():
    return space_of(PLANS / "eight-sites-nursery.toml", weeks=16)


@pytest.fixture
def eight():
    return eight_sites()


def test_the_plan_carried_over_to_its_own_space_is_the_plan():
    """The same sowings, names of luck and seasons: what ``plan`` tells comes out to the digit."""
    space = space_of(EXAMPLE, weeks=12)
    made = plan(space, TABLES, SolveOptions(time_limit_s=4))
    ready = prepare(space, TABLES)
    sown = sowings_of(Grown(made.batches, made.sites), ready.assessment.land)
    base = compared(space, sown)
    short = base.short(base.scene(base.ready.space, made.expected.seasons), sown)
    assert short.mean() == pytest.approx(made.expected.short_want_weeks, abs=0.005)
    assert sum(len(row.cuts) for row in sown) == made.expected.cells


def sowings_in(space, rows):
    """Return sowings of the first want: (weeks from the start, cells) each, in its first bed."""
    ready = prepare(space, TABLES)
    option = ready.assessment.options[0]
    start = space.settings.start
    work = [day for day in range(7) if (start + timedelta(days=day)).strftime("%a").lower() in
            space.settings.work_days]  # fmt: skip
    grown, bed = option.grown, ready.assessment.land.places[option.place].bed.name
    return tuple(
        SownCells(
            name=f"sowing {week}",
            first_cell=0,
            batch=f"{week}",
            want=option.want,
            crop=grown.crop.slug,
            bed=bed,
            site=1,
            nursery=grown.nursery or None,
            sites_each=option.sites_each,
            plug_age_d=None,
            day=start + timedelta(days=7 * week + work[0]),
            cuts=(1,) * cells,
        )
        for week, cells in rows
    )


@cache
def worlds():
    """Return the space as it is, and each changed one, as worlds: they do not depend on what is sown."""
    comparison = compared(eight_sites(), ())
    base = comparison.scene(comparison.ready.space, SEASONS)
    changed = [
        (change, comparison.scene(change.space, SEASONS, change.like))
        for change in changes(comparison.ready.space)
    ]
    return comparison, base, changed


def gains_of(rows, kinds):
    """Return what each change of some kinds brings to sowings: a list of (gain, its error) in want-weeks."""
    comparison, base, changed = worlds()
    sown = sowings_in(eight_sites(), rows)
    before = comparison.short(base, sown)
    gains = [before - comparison.short(scene, sown) for change, scene in changed if change.kind in kinds]
    return [(float(row.mean()), float(row.std(ddof=1) / np.sqrt(len(row)))) for row in gains]


def losses(found):
    """Return the gains that are losses beyond what chance explains (three errors)."""
    return [gain for gain, error in found if gain < -max(3 * error, 0.05)]


def random_rows(random):
    """Return some weeks to sow in, with the cells of each."""
    weeks = random.choice(13, size=random.integers(2, 10), replace=False)
    return [(int(week), int(random.integers(1, 7))) for week in sorted(weeks)]


@pytest.mark.parametrize("kind", few_of(["site", "work day"], 1))
def test_more_room_or_time_helps_nearly_always(kind):
    """A site, or a work day: it helps on average, and hardly ever harms, whatever is sown.

    It may harm: more room can make a fixed list of work worse (R. L. Graham, Bounds on multiprocessing timing
    anomalies, SIAM J. Appl. Math. 17, 1969), here by heads that come before the week that wants them.
    Then ``what_helps`` leaves the site empty.
    """
    random = np.random.default_rng(1)
    found = [row for _ in range(examples(20)) for row in gains_of(random_rows(random), (kind,))]
    assert np.mean([gain for gain, _ in found]) > 0.03
    assert len(losses(found)) <= 0.1 * len(found)
    assert min(gain for gain, _ in found) > -0.5


@settings(max_examples=examples(12))
@given(cells=st.integers(1, 4))
def test_more_light_or_cells_are_no_loss_for_steady_sowings(cells):
    """An hour, 30 W, a few cells more, with as much sown each week: what comes early is followed by as much.

    (With a few sowings alone it can be a loss: all may come before the weeks in which they are wanted.)
    """
    rows = [(week, cells) for week in range(eight_sites().settings.weeks)]
    assert losses(gains_of(rows, ("lamp hour", "watts", "cells"))) == []


def test_nothing_sown_is_helped_by_nothing(eight):
    """Without a sowing all is missed, and one more of anything changes that by exactly nothing."""
    comparison = compared(eight, ())
    assert {(row.gain_want_weeks, row.gain_se) for row in what_helps(comparison).rows} == {(0.0, 0.0)}
    base = comparison.short(comparison.scene(comparison.ready.space, 100), ())
    assert np.ptp(base) == 0
    assert base[0] == (comparison.counted > 0).sum()


def test_a_stop_leaves_the_rest_untried(eight):
    """What was not tried is counted, not passed over."""
    comparison = compared(eight, ())
    everything = what_helps(comparison)
    stopped = what_helps(comparison, stop=lambda: True)
    assert stopped.rows == ()
    assert stopped.not_tried == len(everything.rows)


def test_new_plans_are_told_by_their_own_sowings(eight):
    """A new plan that sows nothing misses everything, but of room and time nobody need make use."""
    comparison = compared(eight, sowings_in(eight, [(0, 2), (2, 2), (4, 2)]))
    before = comparison.short(comparison.scene(comparison.ready.space, SEASONS), comparison.sown).mean()
    everything = (comparison.counted > 0).sum()
    asked, told = [], []

    def nothing(space, _):
        asked.append(space)
        return Grown((), ())

    found = what_helps(comparison, nothing, tell=lambda done, of: told.append((done, of)))
    assert [row.anew for row in found.rows] == [True] * len(found.rows)
    assert told == [(at, len(asked)) for at in range(len(asked))]
    for row in found.rows:
        if row.kind in ("site", "cells", "work day"):
            assert row.is_nothing
        else:
            assert row.gain_want_weeks == pytest.approx(before - everything, abs=0.01)
            assert row.harms


def test_hours_are_added_outside_the_quiet_ones():
    """The rack of the example is lit until 09:30 and quiet on Thursdays from 09:00: the hour goes before."""
    space = prepare(space_of(EXAMPLE), TABLES).space
    longer = {change.subject: change for change in changes(space) if change.kind == "lamp hour"}
    before, after = space.zone("salad rack"), longer["salad rack"].space.zone("salad rack")
    assert photoperiod_h(after) == photoperiod_h(before) + 1
    assert quiet_overlap_h(after, after.lit) == quiet_overlap_h(before, before.lit)
    assert after.lit == ((16 * 60 + 30, 9 * 60 + 30),)


def test_a_lamp_that_is_always_on_gets_no_hour():
    """There is none left."""
    space = prepare(space_of(PLANS / "five-sites-in-place.toml"), TABLES).space
    zones = tuple(
        zone.model_copy(update={"lit": ((0, 1440),), "photoperiod_h": None}) for zone in space.zones
    )
    always = space.model_copy(update={"zones": zones})
    assert not [change for change in changes(always) if change.kind == "lamp hour"]


def test_a_site_more_is_like_the_others():
    """Its light is the mean of its bed, its size theirs, and wants kept to that bed may use it."""
    space = prepare(space_of(EXAMPLE), TABLES).space
    kept = space.wants[0].model_copy(update={"beds": ("long box",)})
    space = space.model_copy(update={"wants": (kept, *space.wants[1:])})
    (more,) = [change for change in changes(space) if change.subject == "long box"]
    (name,) = more.like
    comparison = compared(space, ())
    scene = comparison.scene(more.space, 10, more.like)
    lights = {light.bed: light for light in scene.assessment.lights}
    assert lights[name].ppfd_umol_m2_s == pytest.approx(lights["long box"].ppfd_umol_m2_s, rel=0.01)
    assert more.space.bed(name).site_count == 1
    assert more.space.wants[0].beds == ("long box", name)
    areas = {place.bed.name: place.spot.site_area_m2 for place in scene.assessment.land.places}
    assert areas[name] == pytest.approx(areas["long box"])


def test_what_was_learned_of_a_bed_holds_for_a_site_more(eight):
    """The added bed has no notes of its own: it goes by those of the bed that it is like."""
    (site,) = [change for change in changes(prepare(eight, TABLES).space) if change.kind == "site"]
    (name,), (bed,) = site.like.keys(), site.like.values()
    comparison = replace(compared(eight, ()), paces={("lettuce-butterhead", bed): "learned"})
    assert comparison.with_added(site.like)["lettuce-butterhead", name] == "learned"
