"""The other world of the studies itself: whether its plants, sites and meals are what it says they are."""

from dataclasses import replace
from importlib import import_module
from math import ceil, exp

import numpy as np
import pytest
from depth import few_of

from cropcal.planning.candidates.prepare import prepare
from cropcal.reading.crops.read import read_crop_tables

BUTTERHEAD = "lettuce-butterhead"


@pytest.fixture(scope="module")
def world():
    return import_module("other_world")


@pytest.fixture(scope="module")
def tables():
    return read_crop_tables(None)[0]


@pytest.fixture(scope="module")
def grounds(world, tables):
    """Return the four spaces."""
    return {name: world.ground(world.luck_space(name, tables), tables) for name in world.WEEKS}


@pytest.fixture(scope="module")
def roomy_middle(grounds, tables):
    """Return the plan of the programme of the middle season, as it is placed on sites."""
    choices = import_module("other_choices")
    return choices.middle_of(choices.maker_of(grounds["roomy"].space, tables))


def ruled(world, here, cells):
    return import_module("other_sowings").rule_here(here, dict.fromkeys(range(len(here.per_week)), cells))


@pytest.mark.parametrize("habit", few_of(["calendar", "queue"], 1))
def test_without_luck_a_plan_comes_as_planned(habit, world, grounds, roomy_middle):
    """Nothing short, nothing thrown away, each head cut in the week for which it is planned."""
    here = grounds["roomy"]
    lived = world.live_here(here, roomy_middle, 2, noise=0, habit=habit, losses=False)
    assert lived.short(range(here.weeks)) == (0, 0)
    assert np.all(lived.surplus == 0)
    assert roomy_middle.ready.sum() > 30
    assert np.all(lived.eaten == roomy_middle.ready)


def test_plants_are_ready_on_the_median_days_of_the_project(world, tables, grounds):
    """Whenever a seedling is moved, and wherever, without luck; and they count well before."""
    here = grounds["roomy"]
    for option in prepare(here.space, tables).assessment.options:
        way = here.ways[0, BUTTERHEAD, option.place, "plugs", 1]
        for age, ready in zip(option.grown.ages_d.tolist(), option.grown.ready_d[1].tolist(), strict=True):
            sowings = [world.Sowing(0, BUTTERHEAD, "raft", "plugs", 0, 1, move_d=age)]
            luck = world.Luck(1, 2, 0.0, 0.0, False)
            grower = world.GROWERS["queue"](here, sowings, luck, world.Habit())
            grower.sow(0, np.array([0]), 0)
            grower.plant(0, option.place, np.array([0]), age)
            assert grower.full[0, 0] == pytest.approx(ready, abs=1e-4)
            days = ready - way.up_d
            assert 0.05 * days < grower.full[0, 0] - grower.enough[0, 0] < 0.15 * days
            assert grower.over[0, 0] == ceil(ready - 1e-5) + 7
            assert exp(grower.ln_weight((0, 0), 0, grower.full[0, 0])) == pytest.approx(1.0, abs=1e-3)


def test_pace_shortens_growth_and_nothing_else(world, grounds):
    """A tray sown in place: days of growth after emergence are divided by the pace."""
    here = grounds["cut_again"]
    place = next(key[2] for key in here.ways if key[1] == "lettuce-baby")
    way = here.ways[2, "lettuce-baby", place, None, 1]
    for pace in (-0.3, 0.0, 0.2):
        luck = world.Luck(1, 2, 0.0, pace, False)
        sowings = [world.Sowing(2, "lettuce-baby", "trays", None, 3, 1)]
        grower = world.GROWERS["queue"](here, sowings, luck, world.Habit())
        grower.plant(0, place, np.array([0]), 3)
        ready = 3 + way.up_d + (way.left_d[0] - way.up_d) / exp(pace)
        assert grower.full[0, 0] == pytest.approx(ready, abs=1e-4)
        # a cut leaves the crop's share, which is whole again after the project's days
        day = ceil(ready)
        brought = grower.cut(0, np.array([0]), day)[0]
        weight = exp(1 - way.b ** (1 - (day - 3 - way.up_d) * exp(pace) / (way.left_d[0] - way.up_d)))
        assert brought == pytest.approx(way.amount * weight * (1 - way.leaves))
        assert exp(grower.ln_weight((0, 0), 0, day)) == pytest.approx(weight * way.leaves)
        again = grower.full[0, 0] - day
        assert again <= way.lag_d + (way.gap_d - way.lag_d) / exp(pace) + 1e-6


def test_luck_has_the_spreads_that_are_said(world, grounds):
    """Of ln pace and ln weight over many seasons: the sds written down, to a tenth of themselves."""
    here = grounds["roomy"]
    plants = import_module("other_plants")
    luck = world.Luck(5, 4000, 1.0, 0.1, True)
    sowings = [world.Sowing(0, BUTTERHEAD, "raft", "plugs", day, 8) for day in (0, 7)]
    grower = world.GROWERS["queue"](here, sowings, luck, world.Habit())
    shared = np.hypot(plants.GROWERS, plants.CROPS)
    assert grower.ln_pace[0].mean() == pytest.approx(0.1, abs=4 * 0.28 / 4000**0.5)
    assert grower.ln_pace[0].std() == pytest.approx(np.hypot(shared, plants.BATCHES), rel=0.1)
    assert np.array_equal(grower.ln_pace[0], grower.ln_pace[7])
    between = grower.ln_pace[0] - grower.ln_pace[8]
    assert between.std() == pytest.approx(plants.BATCHES * 2**0.5, rel=0.1)
    assert grower.ln_plant.std() == pytest.approx(plants.PLANTS, rel=0.1)
    assert np.exp(grower.ln_plant).mean() == pytest.approx(1.0, abs=0.01)
    up = 1 - (1 - 0.8) ** 2
    assert grower.alive.mean() == pytest.approx(up, abs=0.02)
    assert np.isfinite(grower.doomed).mean() == pytest.approx(plants.LOST, abs=0.01)


@pytest.mark.deep
def test_more_noise_never_shortens_the_mean_shortage(world, grounds, roomy_middle):
    here = grounds["roomy"]
    for habit in ("queue", "calendar"):
        short = [
            world.live_here(here, roomy_middle, 150, noise, habit=habit).short(range(6, 26))
            for noise in (0.0, 0.5, 1.0, 2.0)
        ]
        means = [mean for mean, _ in short]
        assert means == sorted(means)
        assert means[-1] > means[0] + 2 * short[-1][1]


@pytest.mark.parametrize("name", few_of(["mixed", "cut_again", "full"], 1))
def test_what_is_eaten_is_within_its_days(name, world, tables, grounds):
    """Never more than its crop keeps from the cut, or in the week of the cut; never more than is wanted."""
    here = grounds[name]
    lived = world.live_here(here, ruled(world, here, 4 if name == "full" else 1.5), 40)
    assert {meal.eaten_on - meal.cut_on for meal in lived.meals} > {0}
    for meal in lived.meals:
        keeps = tables.crops[meal.crop].keeping_d or 0
        assert meal.eaten_on >= meal.cut_on
        assert meal.eaten_on - meal.cut_on <= keeps or meal.eaten_on // 7 == meal.cut_on // 7
    total = sum(meal.amount for meal in lived.meals)
    assert total == pytest.approx(lived.eaten.sum())
    assert np.all(lived.eaten <= here.eaten_at_most + 1e-9)
    assert np.all(lived.eaten[:, here.eaten_at_most == 0] == 0)


@pytest.mark.parametrize("name", few_of(["mixed", "cut_again", "full"], 1))
def test_no_site_and_no_cell_is_used_twice(name, world, grounds):
    """Twice as much is sown as there is room for; sites stay empty for the days of cleaning."""
    here = grounds[name]
    lived = world.live_here(here, ruled(world, here, 4), 30)
    sites = [len(place.sites) for place in here.places]
    most = lived.most_held
    assert all(held <= of for held, of in zip(most, sites, strict=True))
    assert most == sites
    assert lived.most_nursed <= max(here.cells.values())
    assert np.all(lived.cells <= sum(sowing.cells for sowing in ruled(world, here, 4)))


@pytest.mark.deep
def test_sites_are_used_again_on_the_day_on_which_they_are_clean(world, grounds):
    """The fewer days it takes to clean a site the more heads are eaten, none at all included."""
    here = grounds["full"]
    sowings = ruled(world, here, 5)
    heads = []
    for days in (0, 1, 7, 14):
        lived = world.live_here(replace(here, clean_days=days), sowings, 30)
        assert lived.most_held == [8, 8]
        heads.append(lived.eaten.sum())
    assert heads == sorted(heads, reverse=True)
    assert heads[0] > 1.2 * heads[-1]


def test_sites_are_not_used_twice_by_calendar(world, grounds, roomy_middle):
    here = grounds["roomy"]
    lived = world.live_here(here, roomy_middle, 60, noise=2, habit="calendar")
    assert all(held <= len(place.sites) for held, place in zip(lived.most_held, here.places, strict=True))
    # each head that is eaten was sown
    assert np.all(lived.eaten.sum(axis=(1, 2)) + lived.surplus * 2 <= lived.cells)


def test_luck_is_the_same_whatever_else_is_sown(world, grounds):
    """A batch has the luck alone that it has among others, in either habit: plans are compared in pairs."""
    here, slot = grounds["roomy"], import_module("other_sowings").Slot((1,), (63,))
    sowing = world.Sowing(0, BUTTERHEAD, "raft", "plugs", 14, 2, slots=(slot, slot))
    alone, among, by_calendar = (
        world.GROWERS[habit](here, sowings, world.Luck(1, 20, 1.0, 0.0, True), world.Habit(habit))
        for habit, sowings in (
            ("queue", [sowing]),
            ("queue", [replace(sowing, day=7), sowing]),
            ("calendar", [sowing]),
        )
    )
    for grower, row in ((among, 2), (by_calendar, 0)):
        assert np.array_equal(alone.ln_pace[0], grower.ln_pace[row])
        assert np.array_equal(alone.ln_plant[:2], grower.ln_plant[row : row + 2])
        assert np.array_equal(alone.alive[:2].sum(axis=0), grower.alive[row : row + 2].sum(axis=0))
    assert not np.array_equal(among.ln_pace[0], among.ln_pace[2])


def test_the_same_seed_gives_the_same_seasons(world, grounds):
    here = grounds["mixed"]
    sowings = ruled(world, here, 1)
    first, again, other = (world.live_here(here, sowings, 20, seed=seed).eaten for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_the_plain_rule_sows_on_the_first_work_day_of_each_week(tables, grounds):
    space = grounds["roomy"].space
    sowings = import_module("other_sowings").steady_rule(space, tables, {0: 2.5}, head_start=3)
    assert [sowing.day for sowing in sowings] == [7 * week for week in range(len(sowings))]
    assert [sowing.cells for sowing in sowings[:6]] == [5, 6, 2, 3, 2, 3]
    assert sowings[-1].day + 47 < 7 * space.settings.weeks


def test_chances_are_counted_by_tenths(world):
    """Two want-weeks of chance 0.31 and 0.39 of which 0.2 and 0.6 came; a certain one."""
    rows = [world.Kept(0.31, 0.2), world.Kept(0.39, 0.6), world.Kept(1.0, 0.9)]
    low, high = world.by_tenths(rows, 50)
    assert (low.low, low.want_weeks, low.seasons) == (0.3, 2, 50)
    assert (low.promised, low.came) == (pytest.approx(0.35), pytest.approx(0.4))
    assert (high.low, high.high, high.came) == (0.9, 1.0, 0.9)


def test_tenths_with_few_weeks_are_judged_with_their_neighbours(world):
    rows = [world.Tenth(low, low + 0.1, weeks, 9, low, 0.5) for low, weeks in ((0.1, 3), (0.4, 1), (0.6, 5))]
    assert world.pooled(rows, 4) == [
        (0.1, 0.5, 4, 9, pytest.approx(0.175), 0.5),
        (0.6, 0.7, 5, 9, 0.6, 0.5),
    ]
    ((low, high, weeks, _, promised, came),) = world.pooled(rows, 6)
    assert (low, high, weeks, came) == (0.1, 0.7, 9, 0.5)
    assert promised == pytest.approx((0.3 + 0.4 + 3.0) / 9)


@pytest.mark.parametrize("habit", few_of(["queue", "calendar"], 1))
def test_seasons_do_not_touch_each_other(habit, world, grounds, roomy_middle):
    """A season lived alone, with its own luck, is the same as among thirty."""
    here = grounds["roomy" if habit == "calendar" else "mixed"]
    sowings = world.sowings_of(roomy_middle, here) if habit == "calendar" else ruled(world, here, 2)
    luck = world.Luck(1, 30, 1.0, 0.0, True)
    together = world.GROWERS[habit](here, sowings, luck, world.Habit(habit))
    eaten = together.live().eaten
    for season in (0, 17):
        own = world.Luck(1, 1, 1.0, 0.0, True, {name: row[[season]] for name, row in luck._drawn.items()})
        alone = world.GROWERS[habit](here, sowings, own, world.Habit(habit))
        for name in ("ln_pace", "ln_plant", "alive", "doomed", "filled"):
            setattr(alone, name, getattr(together, name)[:, [season]])
        assert np.array_equal(alone.live().eaten[0], eaten[season])
        assert not np.array_equal(eaten[season], eaten[season + 1])


def test_a_feast_eats_on_its_day_what_still_keeps(world, tables):
    """Microgreens for five Sundays, with no luck: what is cut after one, or too long before one, is lost."""
    here = world.ground(world.luck_space("hall_cupboard", tables), tables)
    want, days = next(iter(here.feasts.items()))
    days = (*days[:2], *days[3:])  # far enough apart for each to eat only what was sown for it
    here = replace(here, feasts={want: days})
    crop, way = next((key[1], way) for key, way in here.ways.items() if key[0] == want)
    ready = ceil(way.left_d[0])

    def lived(late_d):
        sowings = [world.Sowing(want, crop, "saucers", None, on - ready + late_d, 1) for on in days]
        return world.live_here(here, sowings, 2, noise=0, losses=False)

    # ready on the Sunday; a week before it; four days before that, too long; after it
    for late_d, kept_d in ((0, {0}), (-7, {4}), (-11, set()), (7, set())):
        its = lived(late_d)
        assert {meal.eaten_on - meal.cut_on for meal in its.meals} == kept_d
        assert {meal.eaten_on for meal in its.meals} <= {*days}
        assert its.eaten.sum() == (2 * 5 * 35 if kept_d else 0)
        assert np.all(its.eaten <= here.eaten_at_most)


def test_chances_beside_what_came(world, grounds):
    """Only want-weeks with a chance that are wanted count, each with its share of seasons."""
    here = grounds["roomy"]
    lived = world.live_here(here, ruled(world, here, 3), 40)
    chance = np.full((1, here.weeks + 4), np.nan)
    chance[0, [3, 9, 20, here.weeks + 2]] = (0.0, 0.5, 0.75, 1.0)
    kept = world.reliability(chance, lived)
    met = [float(np.mean(lived.eaten[:, 0, week] == 2)) for week in (3, 9, 20)]
    assert kept == [(0.0, met[0]), (0.5, met[1]), (0.75, met[2])]
    assert met[0] == 0 < met[2]


def test_weeks_count_from_the_first_in_which_a_want_can_be_cut(grounds):
    """Whatever a plan promises: lettuce from the eighth week, microgreens from the third; none in a break."""
    first = {name: [int((row > 0).argmax()) for row in here.wanted] for name, here in grounds.items()}
    assert first == {"roomy": [7], "full": [7], "cut_again": [6, 7, 2], "mixed": [7, 7, 2, 6]}
    mixed = grounds["mixed"]
    assert np.all(mixed.wanted[:, 12] == 0)
    assert np.all(mixed.eaten_at_most[:, 12] == 0)
    assert mixed.eaten_at_most[:, 13].tolist() == [80, 2, 110, 50]
    assert grounds["roomy"].eaten_at_most[0].tolist() == [2] * 30
