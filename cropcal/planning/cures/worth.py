"""What a cure is worth: its power, how much sooner the crop is ready; and lamps too weak at any hours."""

from collections.abc import Mapping, Sequence

from cropcal.planning.cures.ladders import best_beds
from cropcal.planning.cures.light_steps import HOURS_STEP, MOST_WATTS_STEPS, WATTS_STEP
from cropcal.planning.cures.trial import CureTrial
from cropcal.planning.growth.crop_in_bed import LONGEST_DAY_H
from cropcal.planning.growth.pace import UNLEARNED
from cropcal.planning.growth.plugs import grow_plug, plug_age_d
from cropcal.planning.growth.seasonal_growth import grow_mean_or_best
from cropcal.planning.growth.suitability import suitabilities
from cropcal.planning.photoperiod.tradeoff import first_nursery
from cropcal.planning.power.bill import zone_day
from cropcal.planning.site.air import zone_air
from cropcal.planning.site.growing_conditions import conditions_in
from cropcal.records.crop import Crop
from cropcal.records.fit import Cure, TooWeak
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, photoperiod_h

PRICED_D = 364
"""Days over which power is compared."""


def weighed(trial: CureTrial, cure: Cure) -> Cure:
    """Return the cure with the power that it takes, and how much sooner the crop is ready."""
    outcome = trial.exact.get(cure.settings)
    if outcome is None:
        return cure
    start, zone = trial.space.settings.start, trial.space.zone(trial.space.bed(cure.bed).zone)
    before, after = (zone_day(space, start, PRICED_D)[zone.name] for space in (trial.space, outcome.space))
    cost = None if before.cost is None or after.cost is None else 7 * (after.cost - before.cost)
    days = [
        _days(trial, space, lights, cure)
        for space, lights in ((trial.space, trial.lights), (outcome.space, outcome.lights))
    ]
    sooner = None if days[0] is None or days[1] is None else days[0] - days[1]
    update = {"kwh_per_week": 7 * (after.kwh - before.kwh), "cost_per_week": cost, "days_sooner": sooner}
    return cure.model_copy(update=update)


def _days(trial: CureTrial, space: Space, lights: Mapping[str, BedLight], cure: Cure) -> float | None:
    """Return days from seed (bought plants: from planting) to the first cut of a crop, None if never."""
    crop, bed = trial.crops[cure.crop], space.bed(cure.bed)
    pace = trial.paces.get((crop.slug, bed.name), UNLEARNED)
    site = conditions_in(bed, space, lights[bed.name])
    wants = [want for want in space.wants if crop.slug in want.crops]
    if all(want.plugs for want in wants):
        grown = grow_plug(crop, trial.tables, site, plug_age_d(wants[0], crop), pace)
    else:
        nursery = first_nursery(space) if crop.nursery_d else None
        raised = None if nursery is None else conditions_in(nursery, space, lights[nursery.name])
        grown = grow_mean_or_best(crop, trial.tables, site, raised, pace)
    return None if grown is None else float(grown.ready_d[1, 0])


def too_weak(trial: CureTrial, kept: Sequence[Cure]) -> tuple[TooWeak, ...]:
    """Return the zones whose lamps are too weak for some crops at any hours, judged by the light alone.

    Left out: crops that a cure lets do well without more watts, and zones beside a window.
    """
    by_zone: dict[str, list[tuple[str, float, float]]] = {}
    for slug, crop in trial.crops.items():
        beds = best_beds(trial, slug)
        if not beds or trial.fits[slug, beds[0]].verdict == "ok":
            continue
        good = [cure for cure in kept if cure.crop == slug and cure.verdict_after == "ok" and not cure.harms]
        priced = [more for cure in good if (more := _watts_more(cure)) > 0]
        if len(priced) < len(good):
            continue
        light = trial.lights[beds[0]]
        zone = trial.space.zone(light.zone)
        lamps_w = zone_air(zone, trial.space.fixtures).watts
        if not lamps_w or zone.has_daylight:
            continue
        hours = min(photoperiod_h(zone), _longest_h(crop))
        lacking = lacking_watts(trial, crop, light, lamps_w, hours)
        if lacking:
            by_zone.setdefault(zone.name, []).append((slug, priced[-1] if priced else lacking, hours))
    return tuple(
        TooWeak(
            zone=name,
            crops=tuple(slug for slug, _, _ in lacking),
            longest_h=max(_longest_h(trial.crops[slug]) for slug, _, _ in lacking),
            hours=max(lacking, key=lambda row: row[1])[2],
            watts_more=max(watts for _, watts, _ in lacking),
        )
        for name, lacking in by_zone.items()
    )


def _watts_more(cure: Cure) -> float:
    return sum(step.after - step.before for step in cure.steps if step.kind == "watts")


def _longest_h(crop: Crop) -> float:
    return min(crop.photoperiod_max_h or LONGEST_DAY_H, LONGEST_DAY_H)


def lacking_watts(trial: CureTrial, crop: Crop, light: BedLight, lamps_w: float, hours: float) -> float:
    """Return the fewest watts, by fives, that a crop lacks at some hours; 0 if other hours would do."""
    quarters = range(1, round(_longest_h(crop) / HOURS_STEP) + 1)
    if any(_light_suits(trial, crop, light, quarter * HOURS_STEP) for quarter in quarters):
        return 0.0
    for more in range(1, MOST_WATTS_STEPS + 1):
        watts = more * WATTS_STEP
        share = (lamps_w + watts) / lamps_w
        brighter = tuple(ppfd * share for ppfd in light.site_ppfd_umol_m2_s)
        if _light_suits(trial, crop, light.model_copy(update={"site_ppfd_umol_m2_s": brighter}), hours):
            return watts
    return 0.0


def _light_suits(trial: CureTrial, crop: Crop, light: BedLight, hours: float) -> bool:
    """Return whether a crop does well in some light, whatever air and height are."""
    bed = trial.space.bed(light.bed).model_copy(update={"headroom_m": None})
    mild = {"air_c": crop.air_optimum_c, "lamp_on_air_c": None, "lamp_off_air_c": None, "room_c": None}
    zones = tuple(zone.model_copy(update=mild) for zone in trial.space.zones if zone.name == light.zone)
    space = trial.space.model_copy(update={"zones": zones, "beds": (bed,), "readings": ()})
    lit = light.model_copy(update={"photoperiod_h": hours, "lamp_to_canopy_m": None})
    return all(fit.verdict == "ok" for fit in suitabilities(space, (lit,), (crop,)))
