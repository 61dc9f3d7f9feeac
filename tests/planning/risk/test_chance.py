"""Chance per week: closed forms against SciPy, drawings against plants drawn one by one, laws and limits."""

from dataclasses import replace
from datetime import date
from math import exp, log

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from cropcal.planning.growth.crop_constants import eps, home_ln_speed
from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.growth.pace import Pace
from cropcal.planning.planner import plan
from cropcal.planning.risk.lots import Cut, Lot
from cropcal.planning.risk.simulation import DRAWS, RandomStreams, chance_met
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.science import chance, growth
from cropcal.show.data import json_forms as as_json
from cropcal.show.data.csv_sheets import sheets
from cropcal.show.terminal.plan import plan as screen
from cropcal.show.text import odds

SURE = Pace(sd_ln_speed=0.0, sd_ln_emergence=0.0, sd_ln_light=0.0, shared_ln_speed=0.0)
SITE = GrowingConditions(
    bed="crate", dli_mol_m2_d=15.0, sd_ln_light=0.25, photoperiod_h=16.0, air_c=21.0, air_moving=True,
    co2_enriched=False, site_area_m2=0.03,
)  # fmt: skip
NURSERY = replace(SITE, bed="cradle", site_area_m2=0.004)
shares = st.floats(0.0, 1.0)


def three_errors(p, draws):
    """Return three standard errors of a share estimated from a number of drawings."""
    return 3 * np.sqrt(max(p * (1 - p), 1e-4) / draws)


@pytest.mark.parametrize(
    ("count", "of", "share"), [(8, 8, 0.96), (8, 9, 0.96), (1, 3, 0.5), (40, 60, 0.7), (0, 5, 0.2)]
)
def test_enough_of_so_many_come_as_often_as_the_binomial_says(count, of, share):
    """The upper tail of the binomial distribution, against SciPy's."""
    assert chance.at_least(count, of, share) == pytest.approx(stats.binom.sf(count - 1, of, share), rel=1e-9)


def test_a_share_outside_its_bounds_is_refused():
    """A chance is no more than 1, and seeds that never come up cannot be sown more of."""
    with pytest.raises(ValueError, match="between 0 and 1"):
        chance.at_least(1, 2, 1.5)
    with pytest.raises(ValueError, match="more than 0"):
        chance.to_sow(3, 0.0, 0.9)


@pytest.mark.parametrize(("needed", "stands", "sure"), [(1, 0.96, 0.95), (8, 0.96, 0.95), (20, 0.8, 0.9)])
def test_as_few_are_sown_as_stand_surely_enough(needed, stands, sure):
    """One fewer would not do, by SciPy's binomial."""
    sown = chance.to_sow(needed, stands, sure)
    assert stats.binom.sf(needed - 1, sown, stands) >= sure
    assert sown == needed or stats.binom.sf(needed - 1, sown - 1, stands) < sure


def test_no_more_than_ten_times_as_many_are_sown():
    """Seed that hardly ever comes up ends the counting."""
    assert chance.to_sow(2, 0.01, 0.99) == 20


def test_the_normal_distribution_is_known_to_a_millionth():
    """Against SciPy's, also far out."""
    x = np.linspace(-9, 9, 4001)
    assert chance.normal_below(x) == pytest.approx(stats.norm.cdf(x), abs=1e-6)


def test_nine_of_ten_heads_pass_at_three_quarters_of_their_median():
    """The 10th percentile of a 20 % spread is 0.78 of the median (lettuces: 0.68 to 0.76, Hemming 2021)."""
    passing = chance.share_passing(-log(chance.MINIMUM_SHARE), 0.20)
    assert passing == pytest.approx(stats.norm.cdf(-log(0.75) / np.sqrt(np.log(1.04))), abs=1e-6)
    assert 0.90 < passing < 0.95


@pytest.mark.parametrize(("sites", "cells", "wanted"), [(6, 6, 5), (6, 8, 6), (3, 3, 1)])
def test_with_nothing_shared_heads_are_exactly_binomial(sites, cells, wanted):
    """Without luck in common the chance is a sum over two binomials, worked out with SciPy."""
    stands, passes, kept = 0.9, 0.85, 0.98
    stood = np.minimum(np.arange(cells + 1), sites)
    exact = stats.binom.pmf(np.arange(cells + 1), cells, stands) @ stats.binom.sf(
        wanted - 1, stood, passes * kept
    )
    draws = 10_000
    (cut,) = chance.heads_ready(
        chance.random_stream(1, "x"), [sites], [np.full((1, draws), passes)], cells, stands, lost=1 - kept
    )
    assert float(chance.share_met(cut[0], wanted)) == pytest.approx(exact, abs=three_errors(exact, draws))


def lettuce(tables, pace):
    grown = grow(tables.crops["lettuce-butterhead"], tables, SITE, NURSERY, pace)
    assert grown is not None
    return grown


def lot(grown, days, sites, cells, week=0, want=0, name="a", seeds=1, age=0):
    cut = Cut(week=week, days=days, sites=sites, amount=float(sites))
    return Lot(name, want, "lamp", grown, age, cells, seeds, (cut,))


def test_a_week_whose_growth_is_sure_is_exactly_binomial(tables):
    """Only seeds, plants and losses vary: the chance of 4 of 5 heads is that of SciPy's binomial."""
    grown = lettuce(tables, SURE)
    day = int(np.ceil(grown.ready_d[1][0])) + 1
    crop = grown.crop
    over = log(grown.g_per_plant[1][0][day] / (0.75 * crop.anchor_g_per_plant))
    each = grown.stand * 0.98 * stats.norm.cdf(over / np.sqrt(np.log(1.04)))
    exact = stats.binom.sf(3, 5, each)
    found = chance_met([lot(grown, (day,), 5, 5)], np.array([[4.0]]), luck=RandomStreams(batch_ln_sd=0.0))
    assert found[0, 0] == pytest.approx(exact, abs=three_errors(exact, DRAWS))


def grown_step_by_step(grown, day, speed, light, emergence):
    """Return fresh g of the median plant: dW/dt = C (1 - exp(-kW)), by Runge and Kutta's fourth-order steps.

    C and k of the model at 21 degrees and 16 h; first in the nursery, then on the site.
    """
    crop, age = grown.crop, float(grown.ages_d[0])
    beta = growth.temperature_factor(21.0, crop.air_base_c, crop.air_optimum_c, crop.air_max_c)
    dli = np.minimum(15.0 * np.exp(light), 20.0)
    c = eps_of(grown) * np.exp(speed + home_ln_speed(crop)) * 17 * (dli / 17) ** 0.70 * beta**0.3
    k = 0.028 * (dli / 17) ** -0.35 * beta**0.7
    start = grown.emergence_d[1] * np.exp(emergence) + crop.young_lag_d / beta
    mass = np.full(len(speed), crop.seed_g_per_1000 / 1000 * 0.7)
    for first, last, per_m2 in ((start, age, 1 / 0.004), (np.maximum(start, age), day, 1 / 0.03)):
        steps = 30
        dt = np.maximum(last - first, 0.0) / steps
        w = mass * per_m2
        for _ in range(steps):
            one = c * -np.expm1(-k * w)
            two = c * -np.expm1(-k * (w + dt / 2 * one))
            three = c * -np.expm1(-k * (w + dt / 2 * two))
            four = c * -np.expm1(-k * (w + dt * three))
            w = w + dt / 6 * (one + 2 * two + 2 * three + four)
        mass = w / per_m2
    return np.where(start < day, mass, 1e-9) / crop.dry_matter


def eps_of(grown):
    return eps(grown.crop, grown.stages.tables)


def one_by_one(lots, wanted, draws, seed):
    """Return the share of drawings that bring enough heads: every plant of every drawing on its own."""
    luck = np.random.default_rng(seed)
    grower = luck.normal(0, 0.20, draws)
    crops = {one.grown.crop.slug: luck.normal(0, 0.20, draws) for one in lots}
    emerges = {one.grown.crop.slug: luck.normal(0, 0.25, draws) for one in lots}
    light = luck.normal(0, SITE.sd_ln_light, draws)
    heads = np.zeros(draws, dtype=int)
    for one in lots:
        crop, (cut,) = one.grown.crop, one.cuts
        mass_g = grown_step_by_step(
            one.grown, cut.days[-1], grower + crops[crop.slug], light, emerges[crop.slug]
        ) * np.exp(luck.normal(0, 0.20, draws))  # the batch's own: reference noise of pooled plants
        sown = luck.random((draws, one.cells, one.seeds)) < one.grown.stand
        stood = np.minimum(sown.any(axis=2).sum(axis=1), cut.sites)
        plants = np.arange(cut.sites)[None, :] < stood[:, None]
        kept = luck.random((draws, cut.sites)) >= 0.02
        mass = mass_g[:, None] * np.exp(luck.normal(0, np.sqrt(np.log(1.04)), (draws, cut.sites)))
        heads += (plants & kept & (mass >= 0.75 * crop.anchor_g_per_plant)).sum(axis=1)
    return np.mean(heads >= wanted)


@pytest.mark.parametrize(("late", "spare", "wanted"), [(0, 0, 5), (5, 1, 5), (7, 2, 4)])
def test_a_week_agrees_with_a_hundred_thousand_drawings_of_single_plants(tables, late, spare, wanted):
    """Two batches of two crops, luck shared as the grower shares it; within three standard errors."""
    lots = []
    for slug, sites in (("lettuce-butterhead", 4), ("lettuce-romaine", 2)):
        grown = grow(tables.crops[slug], tables, SITE, NURSERY)
        assert grown is not None
        day = int(np.ceil(grown.ready_d[1][0])) + late
        lots.append(lot(grown, (day,), sites, sites + spare, name=slug, seeds=2))
    reference = one_by_one(lots, wanted, 100_000, 7)
    found = chance_met(lots, np.array([[float(wanted)]]))[0, 0]
    assert 0.2 < reference < 0.98
    error = np.hypot(three_errors(reference, DRAWS), three_errors(reference, 100_000))
    assert found == pytest.approx(reference, abs=error)


def test_grams_agree_with_plants_weighed_one_by_one():
    """Three plants, each log-normal around the mean, seeds and losses binomial: 100,000 of them."""
    luck, draws = np.random.default_rng(3), 100_000
    shared = luck.normal(0, 0.3, draws)
    sd = np.sqrt(np.log(1.04))
    mass = 20 * np.exp(luck.normal(-(sd**2) / 2, sd, (draws, 3))) * (luck.random((draws, 3)) < 0.9 * 0.98)
    reference = np.mean((mass.sum(axis=1) * np.exp(shared)) >= 50)
    own = np.random.default_rng(4).normal(0, 0.3, 10_000)
    cut = chance.grams_cut(chance.random_stream(5, "y"), 60.0, own, 3, 3, 0.9, 0.20)
    error = np.hypot(three_errors(reference, 10_000), three_errors(reference, draws))
    assert float(chance.share_met(cut, 50.0)) == pytest.approx(reference, abs=error)


@given(shares, st.integers(1, 12), st.integers(0, 6), st.integers(0, 12))
@settings(deadline=None, max_examples=examples(60))
def test_spare_cells_never_lower_a_chance_and_more_wanted_never_raises_it(passes, sites, spare, wanted):
    """Monotone in the cells sown and in what is wanted, by the closed binomial and by drawing."""
    passing = [np.full((1, 4000), passes)]
    few = chance.heads_ready(chance.random_stream(2, "few"), [sites], passing, sites, 0.8)[0][0]
    more = chance.heads_ready(chance.random_stream(2, "few"), [sites], passing, sites + spare, 0.8)[0][0]
    slack = 4 * np.sqrt(0.25 / 4000) * 2
    assert chance.share_met(more, wanted) >= chance.share_met(few, wanted) - slack
    assert chance.share_met(few, wanted + 1) <= chance.share_met(few, wanted)
    assert chance.at_least(wanted, sites + spare, passes) >= chance.at_least(wanted, sites, passes) - 1e-12


@given(st.floats(0.05, 0.99), st.integers(1, 30), st.floats(0.5, 0.99))
@settings(deadline=None)
def test_more_is_sown_for_worse_seed(stands, needed, sure):
    """Never fewer than are needed, and never fewer for a smaller chance that one survives."""
    assert chance.to_sow(needed, stands, sure) >= needed
    assert chance.to_sow(needed, stands * 0.9, sure) >= chance.to_sow(needed, stands, sure)


def test_plenty_is_certain_and_nothing_impossible():
    """Limits: heads far above the minimum without loss always count, far below never; 0 is always met."""
    luck = chance.random_stream(1, "z")
    heavy, light = [np.full((1, 500), 1.0)], [np.full((1, 500), 0.0)]
    assert chance.share_met(chance.heads_ready(luck, [4], heavy, 4, 1.0, lost=0.0)[0][0], 4) == 1
    assert chance.share_met(chance.heads_ready(luck, [4], light, 4, 1.0, lost=0.0)[0][0], 1) == 0
    assert chance.share_passing(np.array([-9.0, 9.0]), 0.2) == pytest.approx([0.0, 1.0])
    assert chance.share_passing(np.array([-0.1, 0.0, 0.1]), 0.0) == pytest.approx([0.0, 1.0, 1.0])


def test_who_cuts_first_takes_what_stands():
    """Of four sites two plants stand: the first day's two heads are there and the last day's are not."""
    passing = [np.ones((1, 50)), np.ones((1, 50))]
    cut = chance.heads_ready(chance.random_stream(1, "q"), [2, 2], passing, 2, 1.0, lost=0.0)
    assert [one[0].tolist() for one in cut] == [[2] * 50, [0] * 50]


def test_what_was_cut_already_counts_and_an_empty_week_has_no_chance(tables):
    """One head in the bowl meets a want of one; a week that wants nothing has no number."""
    found = chance_met([], np.array([[1.0, 1.0, 0.0]]), {(0, 0, 0): 1.0})
    assert found[0, :2].tolist() == [1.0, 0.0]
    assert np.isnan(found[0, 2])
    kept = chance_met([], np.array([[0.0, 1.0, 1.0]]), {(0, 0, 1): 2.0})
    assert kept[0, 1:].tolist() == [1.0, 0.0]


def test_common_luck_does_not_average_out(tables):
    """Two batches of one crop fail together: less sure than two of the same chance on their own would be."""
    grown = lettuce(tables, Pace())
    day = int(np.ceil(grown.ready_d[1][0])) + 3
    alone = chance_met([lot(grown, (day,), 1, 6)], np.array([[1.0]]))[0, 0]
    both = chance_met([lot(grown, (day,), 1, 6, name=name) for name in "ab"], np.array([[1.0]]))[0, 0]
    assert alone < both < 1 - (1 - alone) ** 2 - 0.03


def test_luck_goes_by_name_and_not_by_order(tables):
    """The same lots in another order give the same chance, to the last bit; another seed another one."""
    grown = lettuce(tables, Pace())
    day = int(np.ceil(grown.ready_d[1][0]))
    lots = [lot(grown, (day + late,), 2, 2, name=f"{late}") for late in range(3)]
    wanted = np.array([[4.0]])
    assert chance_met(lots, wanted)[0, 0] == chance_met(lots[::-1], wanted)[0, 0]
    assert chance_met(lots, wanted)[0, 0] != chance_met(lots, wanted, luck=RandomStreams(seed=99))[0, 0]


def test_a_cut_later_in_the_window_is_surer(tables):
    """More heads have reached the minimum, day by day."""
    grown = lettuce(tables, Pace())
    day = int(np.ceil(grown.ready_d[1][0]))
    found = [chance_met([lot(grown, (day + late,), 3, 3)], np.array([[2.0]]))[0, 0] for late in range(-4, 8)]
    assert np.all(np.diff(found) > 0)


def test_a_second_cut_grows_from_what_the_first_left(tables):
    """Without luck, the mass at a second cut is that of the closed form, step by step."""
    crop = tables.crops["basil"]
    grown = grow(crop, tables, SITE, None, SURE)
    first = int(np.ceil(grown.ready_d[1][0]))
    second = first + int(np.ceil(grown.cut_gaps_d[0, 0]))
    none = np.zeros(1)
    shifted = grown.stages.one_for_each(0, none, none, none)
    mass = grown.stages.fresh_g_at(0, (first, second), shifted)[0]
    # cut no sooner than it is ready again, by less than two days: no less than the harvest mass
    assert crop.anchor_g_per_plant <= mass <= crop.anchor_g_per_plant * 1.3


def test_planned_heads_and_grams_lie_within_four_fifths_of_drawings(tables):
    """What a plan promises of a cut lies between the 10th and 90th percentile of what is drawn."""
    grown = lettuce(tables, Pace())
    day = int(np.ceil(grown.ready_d[1][0]))
    luck = RandomStreams()
    drawn, middle = luck.ln_g(lot(grown, (day,), 3, 3), (day,))
    low, high = (grown.g_per_plant[row][0][day] for row in (0, 2))
    assert exp(middle) == pytest.approx(grown.g_per_plant[1][0][day])
    # sources are put together by squares, so the range is not exactly 80 %
    assert 0.75 < np.mean((np.exp(drawn) > low) & (np.exp(drawn) < high)) < 0.85


def test_a_plan_says_in_words_and_in_the_sheet_how_likely_its_weeks_are(small_plan, names):
    """Tenths on the screen, hundredths in the sheet and the JSON, nothing where it is not known."""
    shown = screen(small_plan, names)
    assert "How likely there is enough each week" in shown
    assert "about 9 in 10" in shown
    rows = [line for line in sheets(small_plan)["supply.csv"].split("\n") if line]
    assert {row.rsplit(",", 1)[1] for row in rows[1:]} == {"", "0.86", "0.76"}
    assert {row["chance"] for row in as_json.plan(small_plan)["supply"]} == {None, 0.86, 0.76}


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "hardly any"), (0.04, "hardly any"), (0.46, "about 5 in 10"), (0.94, "about 9 in 10"),
     (0.96, "almost sure"), (1.0, "almost sure")],
)  # fmt: skip
def test_a_chance_in_words_is_no_finer_than_tenths(share, words):
    """Nobody is promised certainty."""
    assert odds(share) == words


SILL = """
[place]
name = "Wheelhouse"
timezone = "Europe/Lisbon"
[[zone]]
name = "shelf"
length_m = 1.0
width_m = 0.5
photoperiod_h = 16
air_c = 21
air_moving = true
[[bed]]
name = "crate"
zone = "shelf"
sites = 12
length_m = 0.9
width_m = 0.45
[[fixture]]
zone = "shelf"
watts = 90
watts_from = "meter"
lamp_to_canopy_m = 0.3
[[reading]]
bed = "crate"
umol_m2_s = [[240, 250, 240]]
read_with = "meter"
[plan]
start = 2027-02-01
weeks = 14
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
[[want]]
crops = ["basil"]
per_week = 20
"""


def test_every_wanted_week_of_a_plan_has_a_chance(read_text, tables):
    """Between 0 and 1 where something is wanted, none where nothing is; the same twice."""
    space = read_text(SILL)
    first, second = (plan(space, tables) for _ in range(2))
    assert [row.chance for row in first.supply] == [row.chance for row in second.supply]
    assert any(row.wanted > 0 for row in first.supply)
    for row in first.supply:
        assert (row.chance is None) == (row.wanted == 0)
        assert row.chance is None or 0.0 <= row.chance <= 1.0
    assert first.start == date(2027, 2, 1)
