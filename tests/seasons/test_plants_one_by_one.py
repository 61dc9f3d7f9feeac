"""Drawn seasons against one season at a time in plain Python, ``plain_season``, with numbers of its own."""

from dataclasses import replace
from math import log1p, sqrt
from random import Random

import numpy as np
import pytest
from plain_season import Facts, Season, Space

from cropcal.seasons.simulate import simulate
from cropcal.seasons.world import NEVER, Kind, Rates, Sowing, World

WEEKS = 15
VISITS = frozenset(day for day in range(7 * WEEKS) if day % 7 in (0, 3))
BREAK = frozenset(range(63, 70))
"""A week in which nobody is there."""

HEADS = Facts(
    want=0, places=(0, 1), heads=True, full=1.0, plants=1, stand=0.93, window_d=8, keeps_d=9, cuts=1,
    leaves=0.0, lag_d=0, young_d=12, old_d=34, emerges_d=4.0, start_g=0.004, full_g=6.5,
    young=(0.9, 0.33), growth=((0.30, 0.30), (0.33, 0.26)), site_d=24.0,
)  # fmt: skip
AGAIN = Facts(
    want=0, places=(0,), heads=False, full=48.0, plants=4, stand=0.88, window_d=9, keeps_d=6, cuts=3,
    leaves=0.35, lag_d=3, young_d=14, old_d=40, emerges_d=6.0, start_g=0.003, full_g=1.8,
    young=(2.1, 0.30), growth=((1.3, 0.27),), site_d=25.0,
)  # fmt: skip
IN_PLACE = replace(AGAIN, want=1, nursery=False, young_d=0, old_d=10**6, emerges_d=4.5, site_d=40.0, cuts=2)


def a_week(number, crop, until, first=0):
    return tuple((day, crop, number) for day in range(first, until, 7))


def wants(amount, first):
    return tuple(amount if week >= first else 0.0 for week in range(WEEKS))


FEW_SITES = Space(
    days=7 * WEEKS, work=VISITS, harvest=VISITS, wanted=(wants(2.0, 6),), sites=(4, 3), cells=6, clean_days=1,
    crops=(HEADS,), sowings=a_week(3, 0, 84), closed={1: (60, 66)},
)  # fmt: skip
CUT_AGAIN = Space(
    days=7 * WEEKS, work=VISITS - BREAK, harvest=VISITS - BREAK, wanted=(wants(105.0, 6),), sites=(7,),
    cells=9, clean_days=0, crops=(AGAIN,), sowings=a_week(2, 0, 90),
)  # fmt: skip
TWO_WANTS = Space(
    days=7 * WEEKS, work=VISITS, harvest=VISITS | {day + 2 for day in VISITS},
    wanted=(wants(2.0, 6), wants(40.0, 7)), sites=(7, 3), cells=8, clean_days=2, crops=(HEADS, IN_PLACE),
    sowings=(*a_week(3, 0, 84), *a_week(1, 1, 80, first=3)),
)  # fmt: skip
SPACES = {"few sites": FEW_SITES, "cut again": CUT_AGAIN, "two wants": TWO_WANTS}


def world_of(space, seasons, draw):
    """Return the same space for ``cropcal.seasons``, with luck that batches share of its own."""
    pace = np.exp(space.sd_pace * draw.standard_normal(seasons))
    serves = np.array([day // 7 if day in space.harvest else NEVER for day in range(space.days)])
    kinds = []
    for group, crop in enumerate(space.crops):
        starts = crop.emerges_d * np.exp(space.sd_emergence * draw.standard_normal(seasons))
        kinds += [
            Kind(
                want=crop.want, place=place, nursery=0 if crop.nursery else -1, group=group, heads=crop.heads,
                full_amount=crop.full, sites_each=1, plants=crop.plants, stand=crop.stand, thick=False,
                window_d=crop.window_d, keeps_d=crop.keeps_d, cuts=crop.cuts, leaves_share=crop.leaves,
                lag_d=crop.lag_d, young_d=crop.young_d, old_d=crop.old_d, serves=serves, starts_d=starts,
                start_g=np.full(seasons, crop.start_g), full_g=crop.full_g,
                in_nursery=rates(crop.young, pace) if crop.nursery else None, on_site=rates(growth, pace),
                site_d=crop.site_d,
            )
            for place, growth in zip(crop.places, crop.growth, strict=True)
        ]  # fmt: skip
    opens = [
        [count if space.is_open(place, day) else 0 for day in range(space.days)]
        for place, count in enumerate(space.sites)
    ]
    return World(
        days=space.days, work=np.isin(np.arange(space.days), list(space.work)),
        harvest=np.isin(np.arange(space.days), list(space.harvest)), stretch=np.zeros(space.days, int),
        wanted=np.array(space.wanted), sites=np.array(opens), cells=np.full((1, space.days), space.cells),
        clean_days=space.clean_days, kinds=tuple(kinds), seasons=seasons, least_share=space.least,
        plant_sd=sqrt(log1p(space.plant_cv**2)), batch_sd=space.batch_sd, lost=space.lost,
    )  # fmt: skip


def rates(pair, pace):
    return Rates(np.full((1, len(pace)), pair[0]), pair[1] * pace[None, :])


def sowings_of(space, world):
    goes = [
        tuple(number for number, kind in enumerate(world.kinds) if kind.group == group)
        for group in range(len(space.crops))
    ]
    return [
        Sowing(f"sown {day} {crop}", day, goes[crop], (space.crops[crop].cuts,) * cells)
        for day, crop, cells in space.sowings
    ]


def all_at_once(space, seasons, seed):
    """Return whether each wanted week is met, what is eaten and wasted in each season, as rows."""
    world = world_of(space, seasons, np.random.default_rng(seed))
    result = simulate(world, sowings_of(space, world), seed=seed)
    met = result.short(world.wanted) == 0
    return rows(met[world.wanted > 0], result.eaten.sum(axis=1), result.wasted)


def one_by_one(space, plants, seed):
    """Return the same of as many single seasons as it takes to sow that many plants."""
    a_season = sum(cells * space.crops[crop].plants for _, crop, cells in space.sowings)
    draw, wanted = Random(seed), np.array(space.wanted)
    lived = [Season(space, draw).live() for _ in range(-(-plants // a_season))]
    eaten = np.array([season.eaten for season in lived]).transpose(1, 2, 0)
    met = eaten >= 0.99 * wanted[:, :, None]
    return rows(met[wanted > 0], eaten.sum(axis=1), np.array([season.wasted for season in lived]).T)


def rows(*parts):
    return np.concatenate([np.asarray(part, float) for part in parts])


def apart(first, second):
    """Return by how many standard errors of both the means of each row lie apart.

    Their spread is that of both together: the few seasons of one alone may miss what is rare.
    """
    gap = first.mean(axis=1) - second.mean(axis=1)
    spread = np.concatenate([first, second], axis=1).var(axis=1)
    error = np.sqrt(spread * (1 / first.shape[1] + 1 / second.shape[1]))
    return np.where(gap == 0, 0.0, gap / np.maximum(error, 1e-12))


@pytest.mark.parametrize(
    "plants", [20_000, pytest.param(100_000, marks=pytest.mark.deep)], ids=lambda count: f"{count} plants"
)
@pytest.mark.parametrize("space", SPACES.values(), ids=list(SPACES))
def test_chances_eaten_and_wasted_are_those_of_single_plants(space, plants):
    single = one_by_one(space, plants, seed=31)
    together = all_at_once(space, 4 * single.shape[1], seed=32)
    away = apart(together, single)
    assert np.abs(away).max() < 3, away.round(1)
    assert 0.1 < single[: -2 * len(space.wanted)].mean() < 0.95, "luck decides here"
