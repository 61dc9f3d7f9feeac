"""Small spaces of ``plain_season``, and the same as worlds of ``cropcal.seasons``."""

from dataclasses import replace
from math import log1p, sqrt

import numpy as np
from plain_season import Facts, Space

from cropcal.seasons.world import NEVER, Kind, Rates, World

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
