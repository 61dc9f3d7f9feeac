"""Forecast of one sowing: when it is ready, and its yield (``cropcal when``)."""

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil, floor

import numpy as np
import numpy.typing as npt

from cropcal.planning.growth.cautions import (
    GRANTED,
    crop_assumptions,
    seed_warning,
    speed_assumption,
)
from cropcal.planning.growth.crop_growth import (
    LAST_DAY,
    Array,
    GrowthTable,
    grow,
    growth_table,
    plants_per_site,
)
from cropcal.planning.growth.crop_in_bed import suits_bed
from cropcal.planning.growth.pace import UNLEARNED, Pace, Paces
from cropcal.planning.growth.seasonal_growth import grow_sowings
from cropcal.planning.growth.suitability import suitability_over
from cropcal.planning.history.calibration import stages_of
from cropcal.planning.history.observed_conditions import Conditions, observed_conditions
from cropcal.planning.history.past_settings import past_conditions
from cropcal.planning.site.air import room_notes
from cropcal.planning.site.growing_conditions import GrowingConditions, conditions_in
from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop, CropTables
from cropcal.records.daylight import HALVES, half_of
from cropcal.records.fit import Fit
from cropcal.records.forecast import CutForecast, Days80, Forecast, Range80
from cropcal.records.plan import BedLight
from cropcal.records.space import Assumption, Bed, Space


@dataclass(frozen=True)
class Unanswered:
    """Why there is no forecast, and what would help."""

    why: str


def beds_for(crop: Crop, space: Space) -> tuple[Bed, ...]:
    """Return the beds in which a crop can grow."""
    return tuple(bed for bed in space.beds if suits_bed(crop, bed))


def forecast(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    crop: Crop,
    bed: Bed,
    sown: date,
    paces: Paces | None = None,
) -> Forecast | Unanswered:
    """Return the forecast of a sowing in a bed, by way of a nursery if needed and there is one."""
    by_bed = {light.bed: light for light in lights}
    place = conditions_in(bed, space, by_bed[bed.name])
    nursery = next((bed for bed in space.beds if bed.kind == "nursery" and crop.nursery_d > 0), None)
    nursery_conditions = conditions_in(nursery, space, by_bed[nursery.name]) if nursery else None
    pace = (paces or {}).get((crop.slug, bed.name), UNLEARNED)
    conditions = _as_recorded(space, tables, lights, sown)
    grown = _from_day(crop, tables, place, nursery_conditions, pace, sown, conditions)
    if grown is None:
        air = (nursery_conditions or place).air_c
        return Unanswered(
            f"{crop.name} in {bed.name} is not ready within {LAST_DAY} days at "
            f"{_light_from(place, sown):.1f} mol a day and {air:.0f} °C"
        )
    ready = grown.ready_d[:, 0]
    verdict = suitability_over(space, crop, bed, by_bed[bed.name], _halves_from(sown, ready[1]))
    if verdict.verdict == "no" and not place.seasons:
        return Unanswered(f"{crop.name} will not grow in {bed.name}: {verdict.why}{_cure(verdict)}")
    cautions = [] if verdict.verdict == "ok" else [f"{verdict.why}{_cure(verdict)}"]
    seedbed = nursery or bed
    cold = seed_warning(crop, tables, (nursery_conditions or place).air_c, seedbed.zone)
    last = min(ceil(ready[1]) + crop.window_d, LAST_DAY)
    plant = _grams(grown, ready[1])
    sites = plants_per_site(crop, place)
    return Forecast(
        crop=crop.slug,
        bed=bed.name,
        nursery=grown.nursery,
        sown=sown,
        emergence=_days(sown, np.array(grown.emergence_d)),
        transplant=sown + timedelta(days=crop.nursery_d) if nursery else None,
        ready=_days(sown, ready),
        ready_until=sown + timedelta(days=last),
        g_per_plant=plant,
        g_per_site=Range80(low=plant.low * sites, middle=plant.middle * sites, high=plant.high * sites),
        cuts=_cuts(grown, sown),
        assumptions=(*_recorded(conditions, bed), *_assumptions(space, by_bed[bed.name], crop, pace)),
        warnings=tuple(cautions) + ((cold,) if cold else ()),
    )


def _cure(verdict: Fit) -> str:
    """Return the cure of a verdict as a sentence of its own, "" if it has none."""
    return f". {verdict.cure[:1].upper()}{verdict.cure[1:]}" if verdict.cure else ""


def _as_recorded(
    space: Space, tables: CropTables, lights: tuple[BedLight, ...], sown: date
) -> Conditions | None:
    """Return the observed conditions if a plan recorded a change of settings since a sowing, else None.

    A change that no plan has recorded is taken to hold all along: it may only be a trial.
    """
    seen_by_plans = {stretch.since for stretch in space.history.held} if space.history else set()
    before = tuple(
        stretch
        for stretch in past_conditions(space, tables)
        if stretch.until in seen_by_plans and stretch.until > sown
    )
    return observed_conditions(space, lights, (), before=before) if before else None


def _recorded(conditions: Conditions | None, bed: Bed) -> tuple[Assumption, ...]:
    """Return the assumption that past settings were used, if they were."""
    if conditions is None:
        return ()
    until = conditions.before[-1].until
    value = f"until {until.day} {until:%b %Y} as they were then"
    return (Assumption(key=f"hours, light and air of {bed.name}", value=value, why="space.toml changed"),)


def _from_day(
    crop: Crop,
    tables: CropTables,
    place: GrowingConditions,
    nursery_conditions: GrowingConditions | None,
    pace: Pace,
    sown: date,
    conditions: Conditions | None,
) -> GrowthTable | None:
    """Return the growth table of a sowing on that day; through the seasons where the sun comes in."""
    if conditions is not None and crop.kind != "shoots":
        moves = sown + timedelta(days=crop.nursery_d if nursery_conditions else 0)
        history = BatchHistory(
            batch="", crop=crop.slug, bed=place.bed, sown_on=sown,
            nursery=nursery_conditions.bed if nursery_conditions else None,
            moved_on=moves if nursery_conditions else None,
        )  # fmt: skip
        last = max(moves, conditions.before[-1].until) + timedelta(days=LAST_DAY if place.seasons else 1)
        stages = stages_of(crop, tables, history, *conditions.stages(history, last), pace)
        ages = np.array([(moves - sown).days])
        return growth_table(stages, ages, nursery_conditions) if stages is not None else None
    if crop.kind == "shoots" or not (place.seasons or (nursery_conditions and nursery_conditions.seasons)):
        return grow(crop, tables, place, nursery_conditions, pace)
    ages = np.array([crop.nursery_d if nursery_conditions else 0])
    return grow_sowings(crop, tables, place, nursery_conditions, pace, [sown], ages, for_itself=True)[0]


def _light_from(place: GrowingConditions, sown: date) -> float:
    """Return the mean daily light after a sowing, for as long as it is forecast [mol m-2 d-1]."""
    if not place.seasons:
        return place.dli_mol_m2_d
    days = [place.seasons[half_of(sown + timedelta(days=day))].dli_mol_m2_d for day in range(LAST_DAY)]
    return float(np.mean(days))


def _halves_from(sown: date, days: float) -> npt.NDArray[np.bool_]:
    """Return the half months in which the days after a sowing lie, shape (24,)."""
    in_half = np.zeros(HALVES, np.bool_)
    in_half[[half_of(sown + timedelta(days=day)) for day in range(ceil(days) + 1)]] = True
    return in_half


def _grams(grown: GrowthTable, day: float) -> Range80:
    """Return fresh g per plant on a day after sowing."""
    low, middle, high = (
        float(np.interp(day, np.arange(LAST_DAY + 1), grown.g_per_plant[row, 0])) for row in range(3)
    )
    return Range80(low=low, middle=middle, high=high)


def _days(sown: date, days: Array) -> Days80:
    """Return dates for days after sowing: the range rounded outward."""
    low, middle, high = (float(day) if np.isfinite(day) else float(LAST_DAY) for day in days)
    return Days80(
        low=sown + timedelta(days=floor(low)),
        middle=sown + timedelta(days=ceil(middle)),
        high=sown + timedelta(days=ceil(high)),
    )


def _cuts(grown: GrowthTable, sown: date) -> tuple[CutForecast, ...]:
    """Return the forecast of every cut; the share left standing counts only at the last."""
    crop, ready = grown.crop, grown.ready_d[:, 0]
    cuts = []
    days = ready.copy()
    whole = _grams(grown, ready[1])
    for cut in range(1, crop.cuts_max + 1):
        if cut > 1:
            days = days + float(grown.cut_gaps_d[0, cut - 2]) * ready / ready[1]
        share = 1.0 if cut == crop.cuts_max else 1.0 - crop.cut_leaves_share
        cuts.append(
            CutForecast(
                cut=cut,
                ready=_days(sown, days),
                g_per_plant=Range80(
                    low=whole.low * share, middle=whole.middle * share, high=whole.high * share
                ),
            )
        )
    return tuple(cuts)


def _assumptions(space: Space, light: BedLight, crop: Crop, pace: Pace) -> tuple[Assumption, ...]:
    assumptions = [item for item in space.assumed if "price" not in item.value]
    assumptions += light.assumed
    assumptions += room_notes(space)
    if crop.kind != "shoots":
        assumptions.append(speed_assumption(crop, pace))
    return (*assumptions, *crop_assumptions(crop), GRANTED)
