"""Weeks fed from what is ready: by hand, against a plain loop, and against heads followed one by one."""

from dataclasses import replace
from math import log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.growth.pace import Pace
from cropcal.planning.risk.lots import Cut, Lot
from cropcal.planning.risk.simulation import DRAWS, RandomStreams, met
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.science.pantry import Ready, fed

SITE = GrowingConditions(
    bed="crate", dli_mol_m2_d=15.0, sd_ln_light=0.25, photoperiod_h=16.0, air_c=21.0, air_moving=True,
    co2_enriched=False, site_area_m2=0.03,
)  # fmt: skip
NURSERY = replace(SITE, bed="cradle", site_area_m2=0.004)
REFERENCE = 100_000


def three_errors(p, draws):
    """Return three standard errors of a share estimated from a number of drawings."""
    return 3 * np.sqrt(max(p * (1 - p), 1e-4) / draws)


def eaten_by_hand(rows, wanted):
    """Return which weeks are met, amounts (order, week, last, amount) eaten one after another."""
    left = [row[3] for row in rows]
    found = []
    for week, much in enumerate(wanted):
        lacks = much
        for at in sorted(range(len(rows)), key=lambda at: rows[at][0]):
            if rows[at][1] <= week <= rows[at][2]:
                taken = min(left[at], lacks)
                left[at], lacks = left[at] - taken, lacks - taken
        found.append(lacks <= 1e-9)
    return found


@given(
    st.lists(st.tuples(st.integers(0, 4), st.integers(0, 3), st.integers(1, 5)), max_size=6),
    st.lists(st.integers(0, 4), min_size=1, max_size=6),
)
@settings(deadline=None)
def test_each_week_eats_the_oldest_first(rows, wanted):
    """Against one drawing eaten by a plain loop: same weeks met, nothing eaten twice or when it is bad."""
    listed = [
        ((week, f"{at}"), week, week + keeps, float(much)) for at, (week, keeps, much) in enumerate(rows)
    ]
    ready = [Ready(order, week, last, np.array([much])) for order, week, last, much in listed]
    assert fed(ready, np.array(wanted, float), 1)[:, 0].tolist() == eaten_by_hand(listed, wanted)


def test_what_is_left_standing_grows():
    """A tray of 100 g: 40 g are eaten, the other 60 g weigh 90 g a week later, when 90 g are wanted."""
    tray = Ready((0, "a"), 0, 1, np.array([100.0]), {1: np.array([1.5])})
    assert fed([tray], np.array([40.0, 90.0]), 1)[:, 0].tolist() == [True, True]
    assert fed([tray], np.array([40.0, 90.1]), 1)[:, 0].tolist() == [True, False]
    assert fed([tray], np.array([0.0, 0.0, 1.0]), 1)[:, 0].tolist() == [True, True, False]


def head_lot(grown, name, first, *, sites, cells, looks, stays=0, keeps=0):
    """Return a batch planned for a day and week, cut once, that may be cut on other days."""
    week, day = first
    return Lot(
        name, 0, "lamp", grown, 0, cells, 1, (Cut(week, (day,), sites, float(sites), looks, stays, keeps),)
    )


def test_what_one_week_cuts_another_eats(tables):
    """Five heads cut at once for two weeks: the second is met by those left, binomially, if they keep."""
    sure = Pace(sd_ln_speed=0.0, sd_ln_emergence=0.0, sd_ln_light=0.0, shared_ln_speed=0.0)
    grown = grow(tables.crops["lettuce-butterhead"], tables, SITE, NURSERY, sure)
    day = int(np.ceil(grown.ready_d[1][0])) + 1
    over = log(grown.g_per_plant[1][0][day] / (0.75 * grown.crop.anchor_g_per_plant))
    each = grown.stand * 0.98 * stats.norm.cdf(over / np.sqrt(np.log(1.04)))
    wanted, luck = np.array([[2.0, 2.0]]), RandomStreams(batch_ln_sd=0.0)
    for keeps, exact in ((1, stats.binom.sf(3, 5, each)), (0, 0.0)):
        lot = head_lot(grown, f"a{keeps}", (0, day), sites=5, cells=5, looks=((0, day),), keeps=keeps)
        found = met([lot], wanted, luck=luck)[0]
        assert found[0] == pytest.approx(
            stats.binom.sf(1, 5, each), abs=three_errors(stats.binom.sf(1, 5, each), DRAWS)
        )
        assert found[1] == pytest.approx(exact, abs=three_errors(exact, DRAWS))


def followed(lots, wanted, draws, seed, mass_g):
    """Return the share of drawings that meet each week: every head of every drawing on its own.

    A head has the week of its first visit at which it is heavy enough. From then it stays ``stays`` weeks, at
    least to its planned week, at most to its last visit, and ``keeps`` weeks more. Weeks take the heads of
    the batch planned first.
    """
    luck = np.random.default_rng(seed)
    grower, crop = luck.normal(0, 0.20, draws), luck.normal(0, 0.20, draws)
    emerges, light = luck.normal(0, 0.25, draws), luck.normal(0, SITE.sd_ln_light, draws)
    left, first, last = [], [], []
    for one in lots:
        (cut,) = one.cuts
        batch = luck.normal(0, 0.20, draws)
        sown = luck.random((draws, one.cells)) < one.grown.stand
        stood = np.minimum(sown.sum(axis=1), cut.sites)
        alive = (np.arange(cut.sites) < stood[:, None]) & (luck.random((draws, cut.sites)) >= 0.02)
        own = luck.normal(0, np.sqrt(np.log(1.04)), (draws, cut.sites))
        week = np.full((draws, cut.sites), 99)
        for visit, day in reversed(cut.looks):
            mass = mass_g(one.grown, day, grower + crop, light, emerges)
            heavy = mass[:, None] * np.exp(batch[:, None] + own) >= 0.75 * one.grown.crop.anchor_g_per_plant
            week = np.where(heavy, visit, week)
        left.append(alive & (week < 99))
        first.append(week)
        end = np.maximum(np.minimum(week + cut.stays, cut.looks[-1][0]), cut.week)
        last.append(end + cut.keeps)
    found = []
    for number, much in enumerate(wanted):
        lacks = np.full(draws, much)
        for at in np.argsort([one.cuts[0].week for one in lots], kind="stable"):
            for head in range(left[at].shape[1]):
                good = left[at][:, head] & (first[at][:, head] <= number) & (last[at][:, head] >= number)
                take = good & (lacks > 0)
                left[at][take, head] = False
                lacks = lacks - take
        found.append(np.mean(lacks <= 0))
    return np.array(found)


def mass_g(grown, day, speed, light, emergence):
    """Return the median plant's mass [g]: the planner's growth curve, itself checked elsewhere."""
    shifted = grown.stages.one_for_each(0, speed, light, emergence)
    return grown.stages.fresh_g_at(0, (day,), shifted)


@pytest.mark.parametrize(
    ("stays", "keeps", "wanted"), [(1, 0, [2, 3, 2]), (1, 1, [3, 2, 3]), (0, 0, [3, 2, 2])]
)
def test_weeks_agree_with_a_hundred_thousand_seasons_of_single_heads(tables, stays, keeps, wanted):
    """Three batches a week apart, late, early, kept: within three standard errors in every week."""
    grown = grow(tables.crops["lettuce-butterhead"], tables, SITE, NURSERY)
    day = int(np.ceil(grown.ready_d[1][0])) + 2
    lots = []
    for week in range(3):
        looks = tuple(
            (at, day + 7 * (at - week) + 3) for at in range(max(week - 2, 0), week + 2)
        )  # the last visit of each week
        lots.append(
            head_lot(grown, f"{week}", (week, day), sites=3, cells=4, looks=looks, stays=stays, keeps=keeps)
        )
    reference = followed(lots, wanted, REFERENCE, 11, mass_g)
    found = met(lots, np.array([wanted], float))[0]
    assert np.all((reference > 0.1) & (reference < 0.99))
    for mine, other in zip(found, reference, strict=True):
        error = np.hypot(three_errors(other, DRAWS), three_errors(other, REFERENCE))
        assert mine == pytest.approx(other, abs=error)


def test_a_late_batch_feeds_the_next_week(tables):
    """Where late heads may stand on, the week after is surer, and no week less sure."""
    grown = grow(tables.crops["lettuce-butterhead"], tables, SITE, NURSERY)
    day = int(np.ceil(grown.ready_d[1][0]))
    wanted = np.array([[2.0, 2.0]])
    rigid, free = (
        met(
            [
                head_lot(grown, "a", (0, day), sites=2, cells=3, looks=looks, stays=1),
                head_lot(grown, "b", (1, day), sites=2, cells=3, looks=((1, day),)),
            ],
            wanted,
        )[0]
        for looks in (((0, day),), ((0, day), (1, day + 7)))
    )
    assert free[1] > rigid[1] + 0.02
    assert free[0] == pytest.approx(rigid[0], abs=0.01)
