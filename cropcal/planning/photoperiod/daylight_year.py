"""A year of daylight: what comes down outdoors and in each zone, and what the lamp has to add."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from cropcal.planning.photoperiod.requirements import LightRequirement, mean_ppfd, requirements
from cropcal.planning.power.lamp_hours import Stretches, lit_by_month
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.sunlight import (
    Array,
    Bools,
    Sun,
    outdoor_assumptions,
    sun_assumptions,
    sun_of,
)
from cropcal.records.crop import CropTables
from cropcal.records.daylight import (
    MONTHS,
    CropNeed,
    DaylightYear,
    HalfMonth,
    ZoneSun,
    month_spans,
)
from cropcal.records.plan import BedLight
from cropcal.records.space import Assumption, Space, Zone
from cropcal.science import daylight
from cropcal.units import HOURS_PER_DAY, MOL_PER_UMOL_H

MORE_THAN_ABOVE = 1.0
"""Share of the light above the air that no month can bring to the ground."""


def daylight_year(space: Space, tables: CropTables) -> DaylightYear | None:
    """Return the year of the sun of a space with hours, month by month; None where its place is not given."""
    sun, place = sun_of(space), space.place
    if sun is None or place.latitude is None or place.longitude is None:
        return None
    lights = bed_lights(space, tables)
    measured = place.outdoor_kwh_m2_d is not None
    zones = tuple(_zone(space, tables, lights, zone) for zone in space.zones)
    return DaylightYear(
        place=place.name,
        year=sun.days[0].year,
        latitude=place.latitude,
        longitude=place.longitude,
        day_length_h=_by_month(sun.day_length_h),
        outdoor_mol_m2_d=tuple(_month_means(sun.days, sun.by_day_mol_m2_d)),
        outdoor_by_day_mol_m2_d=tuple(float(value) for value in sun.by_day_mol_m2_d),
        source="the radiation given for each month"
        if measured
        else f"latitude, and {daylight.CLEARNESS:.0%} of what comes in above the air (assumed)",
        sd_ln_outdoor=sun.sd_ln,
        zones=zones,
        warnings=tuple(too_bright(space)),
        assumptions=_assumptions(space),
    )


def _month_means(days: Sequence[date], values: Array) -> Array:
    month = np.array([day.month - 1 for day in days])
    return np.asarray(np.bincount(month, values) / np.bincount(month))


def _by_month(halves: Array) -> tuple[float, ...]:
    """Return the mean of the two halves of each month."""
    return tuple(float(value) for value in np.asarray(halves).reshape(12, 2).mean(axis=1))


def _zone(space: Space, tables: CropTables, lights: tuple[BedLight, ...], zone: Zone) -> ZoneSun:
    sun = sun_of(space, follows_clock=zone.timer_follows_clock)
    if sun is None:
        message = "a zone's sun needs a place"
        raise ValueError(message)
    here = [light for light in lights if light.zone == zone.name]
    wanted = requirements(space, tables, lights, zone)
    lit = lit_by_month(space, zone)
    halves = _halves(here, sun)
    share = np.array([zone.daylight_share[day.month - 1] for day in sun.days])
    by_day = sun.by_day_mol_m2_d * share
    months = _month_means(sun.days, by_day)
    crops = tuple(_crop(need, months) for need in wanted)
    lamp_h = _by_month(np.array([half.lamp_h for half in halves]))
    ppfd = _mean_ppfd(wanted, here)
    return ZoneSun(
        zone=zone.name,
        has_window=zone.has_daylight,
        has_lamp=any(light.source != "daylight" for light in here),
        sun_mol_m2_d=tuple(float(value) for value in months),
        lamp_mol_m2_d=tuple(hours * ppfd * MOL_PER_UMOL_H for hours in lamp_h),
        lamp_h=lamp_h,
        day_seen_h=_by_month(np.array([half.day_seen_h for half in halves])),
        enough_h=_most([crop.enough_h for crop in crops]),
        needed_h=_most([crop.best_h for crop in crops]),
        sd_ln_sun=here[0].sd_ln_sun if here else 0.0,
        crops=crops,
        lit=tuple(_pairs(lit[number // 2]) for number in range(len(halves))),
        up=tuple(stretches(up) for up in sun.up) if zone.has_daylight else tuple(() for _ in halves),
        sun_by_day_mol_m2_d=tuple(float(value) for value in by_day),
        why=_why(space, zone),
    )


def _why(space: Space, zone: Zone) -> str:
    """Return why the lamp is on when it is, where its hours were picked by month."""
    by_month = next((hours.lit for hours in space.month_hours if hours.zone == zone.name), None)
    if by_month is None:
        return ""
    dark = [number for number, lit in enumerate(by_month) if not lit]
    off = f"; off {month_spans(dark)}, when it would gain nothing" if dark else ""
    return f"The lamp tops up the sun, as long as no day gets too long{off}"


def _pairs(lit: Stretches) -> tuple[tuple[int, int], ...]:
    """Return stretches that do not cross midnight."""
    pairs: list[tuple[int, int]] = []
    for on, off in lit:
        pairs += [(on, off)] if on < off else [(on, 1440), (0, off)]
    return tuple(pair for pair in sorted(pairs) if pair[0] < pair[1])


def stretches(marked: Bools) -> tuple[tuple[int, int], ...]:
    """Return the runs of marked minutes of a day, none across midnight."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], marked, [False]])))
    return tuple((int(first), int(last)) for first, last in edges.reshape(-1, 2))


def _halves(here: Sequence[BedLight], sun: Sun) -> tuple[HalfMonth, ...]:
    """Return each half month of a zone; without a window the lamp's alone."""
    if here and here[0].halves:
        return here[0].halves
    hours = here[0].photoperiod_h if here else 0.0
    same = HalfMonth(sun_mol_m2_d=0.0, sun_h=0.0, lamp_h=hours, light_h=hours, day_seen_h=hours)
    return (same,) * len(sun.outdoor_mol_m2_d)


def _mean_ppfd(wanted: Sequence[LightRequirement], here: Sequence[BedLight]) -> float:
    """Return the mean light of all sites on which anything wanted may grow, else of all sites."""
    if wanted:
        return mean_ppfd(wanted)
    return float(np.mean([light.ppfd_umol_m2_s for light in here])) if here else 0.0


def _crop(need: LightRequirement, sun_mol_m2_d: Array) -> CropNeed:
    limits = need.limits
    best = min(need.crop.dli_target_mol_m2_d if need.crop else limits.enough_dli, float(limits.ceiling_dli))
    return CropNeed(
        crop=need.slug,
        name=need.name,
        least_mol_m2_d=limits.least_dli,
        enough_mol_m2_d=limits.enough_dli,
        best_mol_m2_d=best,
        ceiling_mol_m2_d=limits.ceiling_dli,
        longest_day_h=None if np.isnan(limits.longest_h) else float(limits.longest_h),
        enough_h=_hours_for(limits.enough_dli, need, sun_mol_m2_d),
        best_h=_hours_for(best, need, sun_mol_m2_d),
    )


def _hours_for(dli: float, need: LightRequirement, sun_mol_m2_d: Array) -> tuple[float | None, ...]:
    """Return the lamp hours of each month that fill up what the sun leaves; None beyond 24."""
    per_hour = need.mean_ppfd_umol_m2_s * MOL_PER_UMOL_H
    hours_by_month: list[float | None] = []
    for lacking in np.maximum(dli - sun_mol_m2_d, 0.0):
        hours = float(lacking) / per_hour if per_hour > 0 else np.inf
        reached = hours <= HOURS_PER_DAY or lacking == 0
        hours_by_month.append((0.0 if lacking == 0 else hours) if reached else None)
    return tuple(hours_by_month)


def _most(of_crops: Sequence[tuple[float | None, ...]]) -> tuple[float | None, ...]:
    """Return the most hours that any crop asks for in each month; None where one asks for too many."""
    if not of_crops:
        return (0.0,) * 12
    most: list[float | None] = []
    for month in zip(*of_crops, strict=True):
        known = [hours for hours in month if hours is not None]
        most.append(max(known) if len(known) == len(month) else None)
    return tuple(most)


def too_bright(space: Space) -> list[str]:
    """Return a warning where more radiation is given than comes in above the air."""
    place, year = space.place, space.settings.start.year
    if place.outdoor_kwh_m2_d is None or place.latitude is None:
        return []
    middles = [date(year, month, 15) for month in range(1, 13)]
    above = daylight.clear_share_kwh_m2_d(place.latitude, middles, MORE_THAN_ABOVE)
    wrong = [number for number in range(12) if place.outdoor_kwh_m2_d[number] > above[number] + 0.1]
    if not wrong:
        return []
    months = ", ".join(MONTHS[number] for number in wrong)
    return [
        f"outdoor_kwh_m2_d: in {months} more than comes in above the air at latitude {place.latitude:g}; are "
        "the months January first, the values kWh/m² a day, the latitude negative south of the equator?"
    ]


def _assumptions(space: Space) -> tuple[Assumption, ...]:
    windows = [zone for zone in space.zones if zone.has_daylight]
    items = list(outdoor_assumptions(space.place))
    for zone in windows:
        items += [item for item in sun_assumptions(space.place, zone) if item not in items]
    return tuple(items)
