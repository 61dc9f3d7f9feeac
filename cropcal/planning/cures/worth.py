"""What a cure is worth: its power, how much sooner the crop is ready; and lamps too weak at any hours."""

from collections.abc import Mapping, Sequence

from cropcal.planning.cures.light_steps import HOURS_STEP, Step
from cropcal.planning.cures.settings import zone_setting
from cropcal.planning.cures.trial import Trial
from cropcal.planning.growth.pace import UNLEARNED
from cropcal.planning.growth.plugs import grow_plug, plug_age_d
from cropcal.planning.growth.seasonal_growth import grow_mean_or_best
from cropcal.planning.growth.suitability import LONGEST_DAY_H
from cropcal.planning.photoperiod.tradeoff import first_nursery
from cropcal.planning.power.bill import zone_day
from cropcal.planning.site.growing_conditions import conditions_in
from cropcal.records.crop import Crop
from cropcal.records.cure import Cure, CureStep, TooWeak
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, Zone, photoperiod_h

PRICED_D = 364
"""Days over which power is compared."""


def weighed(doing: Trial, zone: Zone, cure: Cure) -> Cure:
    """Return the cure with the power that it takes, and how much sooner the crop is ready."""
    outcome = doing.known.get(cure.settings)
    if outcome is None:
        return cure
    start = doing.space.settings.start
    before, after = (zone_day(space, start, PRICED_D)[zone.name] for space in (doing.space, outcome.space))
    cost = None if before.cost is None or after.cost is None else 7 * (after.cost - before.cost)
    days = [
        _days(doing, space, lights, cure)
        for space, lights in ((doing.space, doing.lights), (outcome.space, outcome.lights))
    ]
    sooner = None if days[0] is None or days[1] is None else days[0] - days[1]
    update = {"kwh_per_week": 7 * (after.kwh - before.kwh), "cost_per_week": cost, "days_sooner": sooner}
    return cure.model_copy(update=update)


def _days(doing: Trial, space: Space, lights: Mapping[str, BedLight], cure: Cure) -> float | None:
    """Return days from seed (bought plants: from planting) to the first cut of a crop, None if never."""
    crop, bed = doing.crops[cure.crop], space.bed(cure.bed)
    pace = doing.paces.get((crop.slug, bed.name), UNLEARNED)
    site = conditions_in(bed, space, lights[bed.name])
    wants = [want for want in space.wants if crop.slug in want.crops]
    if all(want.plugs for want in wants):
        grown = grow_plug(crop, doing.tables, site, plug_age_d(wants[0], crop), pace)
    else:
        nursery = first_nursery(space) if crop.nursery_d else None
        raised = None if nursery is None else conditions_in(nursery, space, lights[nursery.name])
        grown = grow_mean_or_best(crop, doing.tables, site, raised, pace)
    return None if grown is None else float(grown.ready_d[1, 0])


def too_weak(doing: Trial, kept: Sequence[Cure]) -> tuple[TooWeak, ...]:
    """Return the zones in which some crops lack watts at any lamp hours they may have."""
    by_zone: dict[str, list[Cure]] = {}
    for cure in kept:
        zone = doing.space.zone(doing.space.bed(cure.bed).zone)
        more_watts = any(step.kind == "watts" for step in cure.steps) and cure.verdict_after == "ok"
        if more_watts and not zone.has_daylight and not _hours_do(doing, cure, zone):
            by_zone.setdefault(zone.name, []).append(cure)
    weak = []
    for name, lacking in by_zone.items():
        most = max(lacking, key=_watts_more)
        limits = [_longest_h(doing.crops[cure.crop]) for cure in lacking]
        after = [step.after for step in most.steps if step.kind == "hours"]
        weak.append(
            TooWeak(
                zone=name,
                crops=tuple(dict.fromkeys(cure.crop for cure in lacking)),
                longest_h=max(limits),
                hours=after[0] if after else photoperiod_h(doing.space.zone(name)),
                watts_more=_watts_more(most),
            )
        )
    return tuple(weak)


def _watts_more(cure: Cure) -> float:
    return sum(step.after - step.before for step in cure.steps if step.kind == "watts")


def _longest_h(crop: Crop) -> float:
    return min(crop.photoperiod_max_h or LONGEST_DAY_H, LONGEST_DAY_H)


def _hours_do(doing: Trial, cure: Cure, zone: Zone) -> bool:
    """Return whether a crop does well at any length of the lamp's day that it may have."""
    quarters = range(1, round(_longest_h(doing.crops[cure.crop]) / HOURS_STEP) + 1)
    for quarter in quarters:
        hours = quarter * HOURS_STEP
        setting = zone_setting(doing.space, zone, "photoperiod_h", hours)
        said = CureStep(kind="hours", subject=zone.name, after=hours, unit="h")
        if doing.outcome(zone, (Step(said, (setting,)),)).rank(cure.crop, cure.bed) == 0:
            return True
    return False
