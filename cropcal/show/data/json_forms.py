"""The ``--json`` forms and plan.json. Dates are ISO 8601, keys name the units, the order is stable."""

import json
from collections.abc import Iterable
from datetime import date
from typing import Any

from cropcal.letters import escaped
from cropcal.problems import Problem
from cropcal.records.chances import Searched
from cropcal.records.fit import Crowding, Cures, Fit, Rise
from cropcal.records.forecast import Days80, Forecast, Range80
from cropcal.records.learned import LearnedReport
from cropcal.records.plan import Batch, BedLight, Job, Outcome, SeasonPlan, Supply
from cropcal.records.replan import Replan
from cropcal.records.space import Assumption
from cropcal.records.values import Change
from cropcal.records.written_plan import FORMAT
from cropcal.show.data.bill_json import bill_range, noted_bill
from cropcal.show.text import hundredths

Json = dict[str, Any]
_DIGITS = 6


def dumps(value: Json) -> str:
    """Return JSON text that ends with a newline.

    Raises
    ------
    ValueError
        If a number is not finite: JSON has no word for it.
    """
    return escaped(json.dumps(tidy(value), ensure_ascii=False, allow_nan=False, indent=2)) + "\n"


def tidy(value: Any) -> Any:
    """Return a value with every number rounded, to drop binary noise: nothing is known to six decimals."""
    if isinstance(value, float):
        return round(value, _DIGITS) + 0.0
    if isinstance(value, dict):
        return {key: tidy(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [tidy(item) for item in value]
    return value


def check(problems: Iterable[Problem]) -> Json:
    """Return ``problems[]``."""
    return {"problems": [problem.as_dict() for problem in problems]}


def tried(given: Iterable[Change], changes: Iterable[Json], before: Json) -> Json:
    """Return ``set{}``: the keys that are tried, the figures that differ, and the form without them."""
    return {
        "set": {
            "given": [change.model_dump() for change in given],
            "changes": list(changes),
            "before": before,
        }
    }


def when(forecast: Forecast) -> Json:
    """Return the forecast of one sowing.

    ``harvest.first`` is the early end of the range, ``middle`` the most likely day, ``last`` the last
    day on which it is still good.
    """
    ready = forecast.ready
    return {
        "emergence": _days(forecast.emergence),
        "transplant": _iso(forecast.transplant),
        "harvest": {
            "first": _iso(ready.low),
            "middle": _iso(ready.middle),
            "last": _iso(forecast.ready_until),
            "range_80": _days(ready)["range_80"],
        },
        "yield_g_per_plant": _numbers(forecast.g_per_plant),
        "cuts": [
            {"cut": cut.cut, "ready": _days(cut.ready), "g_per_plant": _numbers(cut.g_per_plant)}
            for cut in forecast.cuts
        ],
        "assumptions": _assumptions(forecast.assumptions),
    }


def _days(days: Days80) -> Json:
    return {"middle": _iso(days.middle), "range_80": [_iso(days.low), _iso(days.high)]}


def _numbers(value: Range80) -> Json:
    return {"middle": value.middle, "range_80": [value.low, value.high]}


def _iso(when: date | None) -> str | None:
    return None if when is None else when.isoformat()


def _assumptions(items: Iterable[Assumption]) -> list[Json]:
    return [item.model_dump() for item in items]


def job_form(job: Job) -> Json:
    """Return one job."""
    return {
        "date": _iso(job.on),
        "job": job.job,
        "batch": job.batch,
        "crop": job.crop,
        "bed": job.bed,
        "sites": job.sites,
        "amount": job.amount,
        "unit": job.unit,
        "note": job.note,
        "eat_by": _iso(job.eat_by),
        "date_range_80": _span(job.likely),
        "any_site": job.any_site,
    }


def plan(result: SeasonPlan) -> Json:
    """Return all of a plan."""
    return {
        "format": FORMAT,
        "place": result.place,
        "start": _iso(result.start),
        "weeks": result.weeks,
        "first_day": _iso(result.first_day or result.start),
        "outcome": _outcome(result.outcome),
        "batches": [_batch(batch) for batch in result.batches],
        "jobs": [job_form(job) for job in result.jobs],
        "supply": [_supply(row) for row in result.supply],
        "expected": result.expected.model_dump(mode="json") if result.expected else None,
        "habits": [habit.model_dump(mode="json") for habit in result.habits],
        "choices": [
            {**choice.model_dump(mode="json"), "least_sure": hundredths(choice.least_sure)}
            for choice in result.choices
        ],
        "searched": _searched(result.searched) if result.searched else None,
        "sow_more": [row.model_dump(mode="json") for row in result.sow_more],
        "sites": [
            {
                "bed": use.bed,
                "site": use.site,
                "batch": use.batch,
                "crop": use.crop,
                "from": _iso(use.held_from),
                "until": _iso(use.held_until),
                "empty_for": use.empty_for,
            }
            for use in result.sites
        ],
        "currency": result.currency,
        "bill": [line.model_dump() for line in result.bill],
        **({"bill_range": bill_range(result.bill_range)} if result.bill_range else {}),
        **({"noted_bills": [noted_bill(bill) for bill in result.noted_bills]} if result.noted_bills else {}),
        **({"water": [zone.model_dump(mode="json") for zone in result.water]} if result.water else {}),
        **(
            {"stopped_pumps": [stop.model_dump(mode="json") for stop in result.stopped_pumps]}
            if result.stopped_pumps
            else {}
        ),
        "unit_costs": [cost.model_dump() for cost in result.unit_costs],
        **light(result.lights, result.fits, cures=result.cures),
        "work_days": [_iso(when) for when in result.work_days],
        "warnings": list(result.warnings),
        "cautions": list(result.cautions),
        "assumptions": _assumptions(result.assumptions),
        **({"again": _again(result.again)} if result.again is not None else {}),
    }


def _searched(searched: Searched) -> Json:
    """Return the search; its time stands in ``outcome``, the only part in which two runs differ."""
    return searched.model_dump(mode="json", exclude={"seconds"})


def _again(again: Replan) -> Json:
    """Return the differences from the previous plan."""
    return {
        "date": _iso(again.on),
        "compared": again.compared,
        "changes": [
            {
                "batch": row.batch,
                "crop": row.crop,
                "what": row.what,
                "before": _iso(row.before),
                "now": _iso(row.now),
                "sites": row.sites,
                "why": row.why,
            }
            for row in again.revisions
        ],
        "taken_as_done": [
            {"date": _iso(row.on), "job": row.job, "batch": row.batch, "crop": row.crop}
            for row in again.taken_done
        ],
    }


def _outcome(outcome: Outcome) -> Json:
    return {
        "status": outcome.status,
        "seconds": outcome.seconds,
        "value": outcome.value,
        "bound": outcome.bound,
        "gap": outcome.gap,
        "short_want_weeks": outcome.short_want_weeks,
        "bound_want_weeks": outcome.bound_want_weeks,
        "steady": [want.model_dump(mode="json") for want in outcome.steady],
        "terms": dict(sorted(outcome.terms.items())),
        "power_cost": outcome.power_cost,
        "cost_unit": outcome.cost_unit,
        "site_day_cost": outcome.site_day_cost,
    }


def _span(days: tuple[date, date] | None) -> list[str | None] | None:
    return None if days is None else [_iso(day) for day in days]


def _batch(batch: Batch) -> Json:
    return {
        "batch": batch.id,
        "want": batch.want,
        "crop": batch.crop,
        "bed": batch.bed,
        "nursery": batch.nursery,
        "sow_on": _iso(batch.sow_on),
        "emerge_on": _iso(batch.emerge_on),
        "transplant_on": _iso(batch.transplant_on),
        "transplant_range_80": _span(batch.moved_80),
        "ready_from": _iso(batch.ready_from),
        "ready_from_range_80": [_iso(batch.ready_from_low_80), _iso(batch.ready_from_high_80)],
        "ready_until": _iso(batch.ready_until),
        "clear_on": _iso(batch.clear_on),
        "sites": batch.sites,
        "sites_each": batch.sites_each,
        "held_sites": batch.held_sites,
        "cells": batch.cells,
        "seeds": batch.seeds,
        "plug_age_d": batch.plug_age_d,
        "cut_at_g": batch.cut_at_g,
        "amount": batch.amount,
        "unit": batch.unit,
        "harvests": [
            {
                "date": _iso(harvest.on),
                "cut": harvest.cut,
                "sites": harvest.sites,
                "amount": harvest.amount,
                "amount_range_80": [harvest.amount_low_80, harvest.amount_high_80],
                "date_range_80": _span(harvest.on_80),
            }
            for harvest in batch.harvests
        ],
    }


def _supply(row: Supply) -> Json:
    values = row.model_dump(exclude={"want", "label", "week", "on", "chance"})
    names = {"week": _iso(row.week), "want": row.label, "want_number": row.want}
    return {**names, **values, "on": _iso(row.on), "chance": hundredths(row.chance)}


def learned(report: LearnedReport) -> Json:
    """Return what the journal shows: speeds are shares of the book's, ``sd`` is that of ln speed."""
    return {
        "crops": [
            {
                "slug": crop.slug,
                "bed": crop.bed,
                "speed": crop.speed.middle,
                "speed_range_80": [crop.speed.low, crop.speed.high],
                "sd": crop.sd,
                "harvests": crop.harvests,
                "emergence": _numbers(crop.emergence),
                "days_before": None if crop.days_before is None else _numbers(crop.days_before),
                "days_now": None if crop.days_now is None else _numbers(crop.days_now),
            }
            for crop in report.crops
        ],
        "light": {zone: _numbers(factor) for zone, factor in report.light.items()},
        "lessons": [lesson.model_dump(mode="json") for lesson in report.lessons],
    }


def light(
    lights: Iterable[BedLight],
    fits: Iterable[Fit],
    rises: Iterable[Rise] = (),
    crowding: Iterable[Crowding] | None = None,
    cures: Cures | None = None,
) -> Json:
    """Return ``beds[]`` with every site's PPFD, ``fits[]``, ``grown[]``: light when planted and grown.

    And ``room[]``: how densely each crop stands, days to its first cut, and the choices where it is crowded.
    ``cures[]``: what would let crops do better, with its ``--set``; ``too_weak[]``: lamps that no hours help.
    """
    mending = {} if cures is None else cures.model_dump(mode="json")
    room = {} if crowding is None else {"room": [row.model_dump() for row in crowding]}
    return {
        "beds": [_bed(bed) for bed in lights],
        "fits": [fit.model_dump() for fit in fits],
        "grown": [rise.model_dump() for rise in rises],
        **room,
        **mending,
    }


def _bed(bed: BedLight) -> Json:
    sites = bed.site_ppfd_umol_m2_s
    ppfd = {"min": min(sites), "mean": bed.ppfd_umol_m2_s, "max": max(sites)}
    return {
        "bed": bed.bed,
        "zone": bed.zone,
        "source": bed.source,
        "sd_ln": bed.sd_ln,
        "how": bed.how,
        "photoperiod_h": bed.photoperiod_h,
        "ppfd_umol_m2_s": ppfd,
        "range_80_umol_m2_s": list(bed.range_80_umol_m2_s),
        "dli_mol_m2_d": {key: bed.dli_mol_m2_d(value) for key, value in ppfd.items()},
        **(
            {"dli_with_sun_mol_m2_d": list(bed.months_with_sun_mol_m2_d), "sd_ln_sun": bed.sd_ln_sun}
            if bed.halves
            else {}
        ),
        "uniformity_min_over_mean": bed.uniformity_min_over_mean,
        "narrower": [way.model_dump() for way in bed.narrower],
        "check": None if bed.check is None else bed.check.model_dump(),
        "warnings": list(bed.warnings),
        "slips": list(bed.slips),
        "lamp_factor": bed.lamp_factor,
        "sites": [{"site": number, "ppfd_umol_m2_s": value} for number, value in enumerate(sites, 1)],
    }
