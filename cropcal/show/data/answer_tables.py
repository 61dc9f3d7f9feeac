"""Tables that are not written as CSV files: crops, light by bed, suitability, lamp hours, one forecast."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from cropcal.records.base import clock
from cropcal.records.crop import Crop
from cropcal.records.fit import Fit
from cropcal.records.forecast import Forecast
from cropcal.records.hours import HoursAdvice, HoursChoice
from cropcal.records.plan import BedLight
from cropcal.records.scene import LightRange
from cropcal.records.value_words import bare
from cropcal.show.data.tables import (
    Cell,
    Columns,
    Kind,
    Table,
    table,
)


def crops(rows: Iterable[Crop]) -> Table:
    """Return one row per crop, with the columns of the crop table."""
    kinds: dict[Any, Kind] = {
        int: "whole",
        int | None: "number",
        float: "number",
        float | None: "number",
    }
    columns: Columns = {
        name: kinds.get(field.annotation, "text")
        for name, field in Crop.model_fields.items()
        if name != "sources"
    }
    return table(columns, ([getattr(crop, name) for name in columns] for crop in rows))


CROP_SOURCES: Columns = {
    "crop": "text",
    "column": "text",
    "value": "text",
    "known": "text",
    "source": "text",
    "note": "text",
}


def crop_sources(rows: Iterable[Crop]) -> Table:
    """Return one row per value of a crop: the value, how it is known, its sources, a note."""
    return table(
        CROP_SOURCES,
        (
            (crop.slug, column, bare(crop, column), source.known, " + ".join(source.keys), source.note)
            for crop in rows
            for column, source in crop.sources.items()
            if getattr(crop, column) is not None
        ),
    )


BED_LIGHT: Columns = {
    "bed": "text",
    "zone": "text",
    "known_from": "text",
    "photoperiod_h": "number",
    "ppfd_low_80_umol_m2_s": "number",
    "ppfd_umol_m2_s": "number",
    "ppfd_high_80_umol_m2_s": "number",
    "dli_low_80_mol_m2_d": "number",
    "dli_mol_m2_d": "number",
    "dli_high_80_mol_m2_d": "number",
    "uniformity_min_over_mean": "number",
    "sd_ln": "number",
}


def bed_light(lights: Iterable[BedLight]) -> Table:
    """Return one row per bed: the mean light of its lamp with its 80 % range, and how that is known."""
    rows = []
    for bed in lights:
        low, high = bed.range_80_umol_m2_s
        ppfd = (low, bed.ppfd_umol_m2_s, high)
        rows.append(
            (
                bed.bed,
                bed.zone,
                bed.source,
                bed.photoperiod_h,
                *ppfd,
                *map(bed.dli_mol_m2_d, ppfd),
                bed.uniformity_min_over_mean,
                bed.sd_ln,
            )
        )
    return table(BED_LIGHT, rows)


SUITABILITY: Columns = {
    "crop": "text",
    "bed": "text",
    "verdict": "text",
    "why": "text",
    "cure": "text",
    "plants_m2": "number",
    "usual_plants_m2": "number",
}


def suitability(fits: Iterable[Fit]) -> Table:
    """Return one row per crop and bed: ok, slow, risk or no, why, and what would cure it."""
    return table(SUITABILITY, (tuple(getattr(fit, column) for column in SUITABILITY) for fit in fits))


RANGES: Columns = {
    "crop": "text",
    "bed": "text",
    "dli_low_80_mol_m2_d": "number",
    "dli_mol_m2_d": "number",
    "dli_high_80_mol_m2_d": "number",
    "least_dli_mol_m2_d": "number",
    "target_dli_mol_m2_d": "number",
    "most_dli_mol_m2_d": "number",
}


def ranges(rows: Iterable[LightRange]) -> Table:
    """Return one row per crop and bed: the daily light there and the crop's requirement."""
    return table(
        RANGES,
        (
            (row.crop, row.bed, row.dli.low, row.dli.middle, row.dli.high, row.least, row.target, row.ceiling)
            for row in rows
        ),
    )


HOURS: Columns = {
    "zone": "text",
    "photoperiod_h": "number",
    "lit": "text",
    "output": "number",
    "dli_mol_m2_d": "number",
    "kwh_per_month": "number",
    "cost_per_month": "number",
    "quiet_h_per_week": "number",
    "picked": "yes",
}
HOURS_BY_CROP: Columns = {
    "zone": "text",
    "photoperiod_h": "number",
    "output": "number",
    "picked": "yes",
    "crop": "text",
    "suits": "text",
    "harvest_days": "number",
    "per_week": "number",
    "kwh_per_unit": "number",
    "cost_per_unit": "number",
}


def hours(advised: HoursAdvice) -> Table:
    """Return one row per zone and timer setting: its light, its cost, and which one is picked."""
    return table(
        HOURS,
        (
            (
                zone.zone,
                choice.photoperiod_h,
                _stretches(choice),
                choice.output,
                choice.dli_mol_m2_d,
                choice.kwh_per_month,
                choice.cost_per_month,
                choice.quiet_h_per_week,
                choice == zone.pick,
            )
            for zone in advised.zones
            for choice in zone.choices
        ),
    )


LENGTHS: Columns = {
    "zone": "text",
    "photoperiod_h": "number",
    "lit": "text",
    "short_want_weeks": "number",
    "wanted_want_weeks": "whole",
    "cells": "whole",
    "kwh_per_month": "number",
    "cost_per_month": "number",
    "slowest": "text",
    "times_fewest_days": "number",
    "picked": "yes",
    "chosen": "yes",
}


def lengths(advised: HoursAdvice) -> Table:
    """Return one row per zone and length that was tried in drawn seasons: what it brings and costs."""
    return table(
        LENGTHS,
        (
            (
                zone.zone,
                length.setting.photoperiod_h,
                _stretches(length.setting),
                *(getattr(length, name) for name in list(LENGTHS)[3:]),
            )
            for zone in advised.zones
            for length in zone.lengths
        ),
    )


def hours_by_crop(advised: HoursAdvice) -> Table:
    """Return one row per zone, timer setting and crop: suitability, days to harvest, yield a week."""
    return table(
        HOURS_BY_CROP,
        (
            (
                zone.zone,
                choice.photoperiod_h,
                choice.output,
                choice == zone.pick,
                crop,
                suit,
                choice.harvest_days.get(crop),
                choice.per_week.get(crop),
                choice.kwh_per_unit.get(crop),
                choice.cost_per_unit.get(crop),
            )
            for zone in advised.zones
            for choice in zone.choices
            for crop, suit in choice.suits.items()
        ),
    )


def _stretches(choice: HoursChoice) -> str:
    return ", ".join(f"{clock(start)}-{clock(end)}" for start, end in choice.lit)


FORECAST: Columns = {
    "crop": "text",
    "bed": "text",
    "nursery": "text",
    "sow_on": "day",
    "emerge_on": "day",
    "transplant_on": "day",
    "cut": "whole",
    "ready_low_80": "day",
    "ready": "day",
    "ready_high_80": "day",
    "ready_until": "day",
    "g_per_plant_low_80": "number",
    "g_per_plant": "number",
    "g_per_plant_high_80": "number",
    "warnings": "text",
}


def forecast(sowing: Forecast) -> Table:
    """Return one row per cut of one sowing: when it is ready and what a plant gives, with 80 % ranges.

    ``ready_until`` is that of the first cut, None for later ones.
    """
    return table(
        FORECAST,
        (
            (
                sowing.crop,
                sowing.bed,
                sowing.nursery,
                sowing.sown,
                sowing.emergence.middle,
                sowing.transplant,
                cut.cut,
                cut.ready.low,
                cut.ready.middle,
                cut.ready.high,
                sowing.ready_until if cut.cut == 1 else None,
                cut.g_per_plant.low,
                cut.g_per_plant.middle,
                cut.g_per_plant.high,
                "; ".join(sowing.warnings),
            )
            for cut in sowing.cuts
        ),
    )


def no_forecast(crop: str, bed: str | None, sown: date, why: str) -> Table:
    """Return one row for a sowing that is never ready, and why."""
    row: dict[str, Cell] = {"crop": crop, "bed": bed, "sow_on": sown, "cut": 1, "warnings": why}
    return table(FORECAST, [[row.get(name) for name in FORECAST]])
