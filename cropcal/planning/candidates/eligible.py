"""Eligible options (want, crop, place, nursery), and the capacity of places and nurseries."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import ceil

import numpy as np

from cropcal.optimize.programme import IntArray
from cropcal.planning.candidates.columns import Option
from cropcal.planning.candidates.service_weeks import (
    CalendarLimits,
    ServiceWeeks,
    Stretch,
    closed_stretches,
    out_of_use,
)
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.growth.crop_growth import GrowthTable, plants_per_site
from cropcal.planning.growth.crop_in_bed import crop_in_bed, in_half_month, suits_bed
from cropcal.planning.growth.crowding import CROWDED
from cropcal.planning.growth.pace import UNLEARNED, Paces
from cropcal.planning.growth.plugs import grow_plug, plug_age_d
from cropcal.planning.growth.seasonal_growth import grow_mean_or_best
from cropcal.planning.growth.suitability import suitability
from cropcal.planning.power.bill import ZoneDay
from cropcal.planning.site.bed_light import light_of_sites, site_groups
from cropcal.planning.site.growing_conditions import GrowingConditions, conditions_in
from cropcal.planning.site.sunlight import planned_halves
from cropcal.records.crop import Crop, CropTables, cut_at
from cropcal.records.plan import MOST_EACH, BedLight
from cropcal.records.space import (
    Bed,
    OutOfUse,
    Space,
    Want,
)

ROOM_SAVES = 0.25
"""Share of days from seed that empty sites beside a plant must save to be worth planning (assumed): they cost
a plan half of its sites or more, and as many more ways to weigh."""

RATIO_DIGITS = 2
"""Decimals to which densities are compared: a site a hair too small is not too small."""


@dataclass(frozen=True, eq=False)
class SiteGroup:
    """Like sites of one bed (numbers from 1): their light and growing conditions."""

    bed: Bed
    sites: tuple[int, ...]
    light: BedLight
    spot: GrowingConditions

    @property
    def label(self) -> str:
        """Return its name: the bed, and which sites if not all."""
        if len(self.sites) == self.bed.site_count:
            return self.bed.name
        if out_of_use(self.bed, self.sites[0]):
            return f"{self.bed.name}, the sites out of use for a time"
        return f"{self.bed.name} at about {self.light.ppfd_umol_m2_s:.0f} µmol"

    def closed(self, time: WorkCalendar) -> tuple[Stretch, ...]:
        """Return the stretches in which it is out of use, in days of the plan."""
        return closed_stretches(out_of_use(self.bed, self.sites[0]), time)


@dataclass(frozen=True, eq=False)
class Capacity:
    """Places with sites and nurseries with cells, and the power and cost of one of each a day, by bed."""

    places: tuple[SiteGroup, ...]
    nurseries: tuple[Bed, ...]
    nursery_conditions: dict[str, GrowingConditions]
    day_cost: dict[str, float]
    day_kwh: dict[str, float]

    @property
    def sites(self) -> IntArray:
        """Return the sites of each place, (places,)."""
        return np.array([len(place.sites) for place in self.places], dtype=np.int64)

    @property
    def cells(self) -> IntArray:
        """Return the cells of each nursery, (nurseries,)."""
        return np.array([bed.site_count for bed in self.nurseries], dtype=np.int64)


def capacity(space: Space, lights: tuple[BedLight, ...], zone_days: dict[str, ZoneDay]) -> Capacity:
    """Return the capacity: places of like light and nurseries, with the cost of a site in each a day.

    A zone's power is shared by the floor that its beds cover. Without a tariff, kWh stand for cost.
    """
    by_bed = {light.bed: light for light in lights}
    spots = {bed.name: conditions_in(bed, space, by_bed[bed.name]) for bed in space.beds}
    covered = {zone.name: 0.0 for zone in space.zones}
    for bed in space.beds:
        covered[bed.zone] += spots[bed.name].site_area_m2 * bed.site_count
    share = {bed.name: spots[bed.name].site_area_m2 / covered[bed.zone] for bed in space.beds}
    day_kwh = {bed.name: share[bed.name] * zone_days[bed.zone].kwh for bed in space.beds}
    day_cost = {}
    for bed in space.beds:
        cost = zone_days[bed.zone].cost
        day_cost[bed.name] = day_kwh[bed.name] if cost is None else share[bed.name] * cost
    beds = [bed for bed in space.beds if bed.kind != "nursery"]
    nurseries = tuple(bed for bed in space.beds if bed.kind == "nursery")
    return Capacity(
        places=tuple(place for bed in beds for place in _site_groups(bed, space, by_bed[bed.name])),
        nurseries=nurseries,
        nursery_conditions={bed.name: spots[bed.name] for bed in nurseries},
        day_cost=day_cost,
        day_kwh=day_kwh,
    )


def _site_groups(bed: Bed, space: Space, light: BedLight) -> list[SiteGroup]:
    """Return the groups of like sites of a bed."""
    groups = []
    for alike in site_groups(light):
        for sites in _split_by_outage(bed, alike):
            group_light = light_of_sites(light, sites)
            groups.append(SiteGroup(bed, sites, group_light, conditions_in(bed, space, group_light)))
    return groups


def _split_by_outage(bed: Bed, sites: tuple[int, ...]) -> list[tuple[int, ...]]:
    """Return sites grouped by when they are out of use: those always in use first."""
    groups: dict[tuple[OutOfUse, ...], tuple[int, ...]] = {}
    for site in sites:
        key = out_of_use(bed, site)
        groups[key] = (*groups.get(key, ()), site)
    return [groups[key] for key in sorted(groups, key=lambda key: (len(key), groups[key]))]


def calendar_limits(
    options: Sequence[Option], land: Capacity, serving: ServiceWeeks
) -> tuple[CalendarLimits, ...]:
    """Return the calendar limits of each option."""
    closed_nurseries = [closed_stretches(nursery.out_of_use, serving.time) for nursery in land.nurseries]
    return tuple(
        CalendarLimits(
            week=serving.by_day(option.want, option.grown.crop.slug),
            keeps=serving.keeps(option.want, option.grown.crop.slug, np.arange(serving.time.days)),
            closed=land.places[option.place].closed(serving.time),
            nursery_closed=closed_nurseries[option.nursery] if option.nursery >= 0 else (),
        )
        for option in options
    )


def eligible_options(
    space: Space, tables: CropTables, land: Capacity, paces: Paces | None = None
) -> tuple[Option, ...]:
    """Return every eligible option (want, crop, place, nursery, spacing), in the order of the file.

    A crop is not eligible where its verdict is "no", nor where it never gets ready.
    """
    grown: dict[tuple[Crop, int, str, int, int], GrowthTable | None] = {}
    options = []
    for index, want in enumerate(space.wants):
        for slug in dict.fromkeys(want.crops):
            crop = cut_at(tables.crops[slug], want.cut_at(slug))
            for number, place in enumerate(land.places):
                if not _allowed(want, crop, place.bed) or _never_suitable(crop, place, space):
                    continue
                age = plug_age_d(want, crop) if want.plugs else -1
                nurseries = [(-1, "")] if want.plugs else _nurseries(crop, land)
                for (nursery_number, nursery), each in product(nurseries, spacings(crop, place)):
                    key = (crop, number, nursery, age, each)
                    if key not in grown:
                        pace = (paces or {}).get((slug, place.bed.name), UNLEARNED)
                        spot = place.spot.shared_out(each)
                        if want.plugs:
                            grown[key] = grow_plug(crop, tables, spot, age, pace)
                        else:
                            grown[key] = grow_mean_or_best(
                                crop, tables, spot, land.nursery_conditions.get(nursery), pace
                            )
                    growth = grown[key]
                    if growth is not None and worth_its_room(growth, grown.get((*key[:-1], 1))):
                        cell_cost = land.day_cost.get(nursery, 0.0)
                        site_cost = land.day_cost[place.bed.name]
                        options.append(
                            Option(index, number, nursery_number, growth, site_cost, cell_cost, each)
                        )
    return tuple(options)


def worth_its_room(wide: GrowthTable, close: GrowthTable | None) -> bool:
    """Return whether plants with empty sites beside them are so much sooner that they are worth planning."""
    if close is None or wide is close:
        return True
    return float(wide.ready_d[1, 0]) <= (1 - ROOM_SAVES) * float(close.ready_d[1, 0])


def spacings(crop: Crop, place: SiteGroup) -> tuple[int, ...]:
    """Return the choices of sites that one plant holds: 1, and one that gives a crowded plant its room.

    The latter is the smallest at which plants stand no closer than in the reference harvest, ``MOST_EACH`` at
    most, and no more than there are sites.
    """
    if crop.kind in ("tray", "shoots"):
        return (1,)
    crowding = plants_per_site(crop, place.spot) / place.spot.site_area_m2 / crop.anchor_plants_m2
    each = min(ceil(round(crowding, RATIO_DIGITS)), MOST_EACH, len(place.sites))
    return (1, each) if crowding > CROWDED and each > 1 else (1,)


def _never_suitable(crop: Crop, place: SiteGroup, space: Space) -> bool:
    whole = crop_in_bed(space, crop, place.bed, place.light)
    if not place.light.halves:
        return suitability(whole).verdict == "no"
    halves = np.flatnonzero(planned_halves(space))
    return all(suitability(in_half_month(whole, int(half))).verdict == "no" for half in halves)


def _allowed(want: Want, crop: Crop, bed: Bed) -> bool:
    return (
        suits_bed(crop, bed)
        and (want.beds is None or bed.name in want.beds)
        and (want.zones is None or bed.zone in want.zones)
    )


def _nurseries(crop: Crop, land: Capacity) -> list[tuple[int, str]]:
    """Return number and name of the nurseries for a crop; (-1, "") alone if it is sown in place."""
    suitable = [
        (number, bed.name)
        for number, bed in enumerate(land.nurseries)
        if crop.nursery_d > 0 and (bed.crops is None or crop.slug in bed.crops)
    ]
    return suitable or [(-1, "")]
