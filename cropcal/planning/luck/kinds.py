"""How each option grows in each drawn season: its rates in the nursery and on its site."""

from dataclasses import replace

import numpy as np

from cropcal.planning.candidates.columns import Option
from cropcal.planning.candidates.eligible import Capacity
from cropcal.planning.candidates.service_weeks import ServiceWeeks, eaten_within_d
from cropcal.planning.growth.crop_growth import (
    SHOOTS_LN_SD_DAYS,
    SHOOTS_LN_SD_YIELD,
    GrowthTable,
    Stages,
    plants_per_site,
)
from cropcal.planning.growth.seasonal_growth import season_of
from cropcal.planning.luck.streams import RandomStreams
from cropcal.planning.site.growing_conditions import with_season
from cropcal.seasons.world import NEVER, FloatArray, IntArray, Kind, Rates

WAIT_D = 14
"""Days beyond those of the crop table for which a seedling may wait in its nursery before it is thrown away:
it grows on there, crowded (assumed)."""

Shifts = tuple[FloatArray, FloatArray, FloatArray]


def kinds(
    options: tuple[Option, ...],
    land: Capacity,
    serving: ServiceWeeks,
    halves: IntArray,
    luck: RandomStreams,
) -> tuple[Kind, ...]:
    """Return how each option grows in each season; ``halves`` are the half months of the plan in turn."""
    groups: dict[tuple[int, str, int, int, int], int] = {}
    known: dict[tuple[GrowthTable, int], Kind] = {}
    result = []
    for option in options:
        crop = option.grown.crop
        key = (option.want, crop.slug, option.nursery, option.sites_each, option.grown.plug_age_d or 0)
        group = groups.setdefault(key, len(groups))
        zone = land.places[option.place].bed.zone
        same = (option.grown, option.place)
        if same not in known:
            known[same] = _kind(option, zone, halves, luck, serving)
        result.append(
            replace(
                known[same],
                want=option.want,
                nursery=option.nursery,
                group=group,
                sites_each=option.sites_each,
                serves=_weeks(option, serving),
            )
        )
    return tuple(result)


def _kind(option: Option, zone: str, halves: IntArray, luck: RandomStreams, serving: ServiceWeeks) -> Kind:
    grown, crop = option.grown, option.grown.crop
    stages = grown.stages
    plants = plants_per_site(crop, grown.spot)
    full_amount = 1.0 if crop.unit == "heads" else plants * crop.target_g
    site_d = float(np.min(grown.ready_d[1] - (grown.ages_d if option.nursery >= 0 else 0)))
    fixed_d = fixed_yield = None
    ones = np.ones(luck.seasons)
    starts_d, start_g, in_nursery, on_site = 0 * ones, ones, None, None
    full_g = crop.target_g * crop.dry_matter
    if stages is None:
        fixed_d = crop.anchor_days * np.exp(SHOOTS_LN_SD_DAYS * luck.normal("shoots days", crop.slug))
        fixed_yield = np.exp(SHOOTS_LN_SD_YIELD * luck.normal("shoots", crop.slug))
        full_amount = float(grown.amount[0, int(np.ceil(crop.anchor_days))])
    else:
        shifts = luck.shifts(crop.slug, zone, stages.pace, stages.spots[-1].sd_ln_light)
        turns = any(spot.seasons for spot in stages.spots)
        of_half = [_in_half(stages, half) for half in halves.tolist()] if turns else [stages]
        arrays = [stage.one_for_each(0, *shifts) for stage in of_half]
        starts_d, start_g = arrays[0][0], arrays[0][1]
        on_site = _rates(arrays, -1)
        if grown.plug_age_d is not None:
            fresh_g = stages.fresh_g_at(0, (grown.plug_age_d,), arrays[0])
            start_g = np.where(fresh_g > 0, fresh_g * crop.dry_matter, start_g)
            starts_d = 0 * ones
        elif option.nursery >= 0:
            in_nursery = _rates(arrays, 0)
    return Kind(
        want=option.want,
        place=option.place,
        nursery=option.nursery,
        group=0,
        heads=crop.unit == "heads",
        full_amount=full_amount,
        sites_each=option.sites_each,
        plants=max(round(plants), 1),
        stand=1.0 - (1.0 - grown.stand) ** crop.seeds_per_plant if grown.plug_age_d is None else 1.0,
        thick=crop.kind in ("tray", "shoots"),
        window_d=crop.window_d,
        keeps_d=eaten_within_d(crop, serving.eat_within_d) or 0,
        cuts=crop.cuts_max,
        leaves_share=crop.cut_leaves_share,
        lag_d=crop.cut_lag_d,
        young_d=crop.nursery_d if option.nursery >= 0 else 0,
        old_d=crop.nursery_d + crop.nursery_hold_d + WAIT_D if option.nursery >= 0 else 10**6,
        serves=_weeks(option, serving),
        starts_d=starts_d,
        start_g=start_g,
        full_g=full_g,
        in_nursery=in_nursery,
        on_site=on_site,
        fixed_d=fixed_d,
        fixed_yield=fixed_yield,
        site_d=site_d,
    )


def _weeks(option: Option, serving: ServiceWeeks) -> IntArray:
    """Return the week of its want that a cut on each day serves, none for a want that is not in the file."""
    if option.want >= len(serving.wants):
        return np.full(serving.time.days, NEVER, dtype=np.int64)
    return serving.by_day(option.want, option.grown.crop.slug)


def _in_half(stages: Stages, half: int) -> Stages:
    """Return the stages as they would be if one half month went on for ever."""
    spots = tuple(
        with_season(spot, spot.seasons, season_of(spot, half)) if spot.seasons else spot
        for spot in stages.spots
    )
    ends = np.array([[1.0, np.inf][-len(spots) :]])
    return Stages(stages.crop, stages.tables, spots, ends, stages.emerges_d, stages.pace)


def _rates(arrays: list[tuple[FloatArray, ...]], stage: int) -> Rates:
    """Return the rates of one stage in each half month: columns density, C and k."""
    slope = np.stack([density[:, stage] * k[:, stage] for _, _, _, density, _, k in arrays])
    speed = np.stack([c[:, stage] * k[:, stage] for _, _, _, _, c, k in arrays])
    return Rates(slope, speed)
