"""The tables of a plan: the columns and rows of its CSV files, and of the DataFrames made of them.

Each column is named here, once, with its kind. Units stand in the names, or in a column ``unit`` beside.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from cropcal.records.base import clock
from cropcal.records.daylight import DaylightYear
from cropcal.records.hours import SetPoint, TimerLine
from cropcal.records.plan import BillLine, SeasonPlan, SeedOrder
from cropcal.records.scene import LitZone
from cropcal.show.text import hundredths, plain
from cropcal.show.wording import power_a_month

Cell = str | int | float | bool | date | None
Kind = Literal["text", "day", "month", "whole", "number", "yes"]
"""Of a column: text; a date; a month as "2027-03"; an integer; a number, None if unknown; true or false."""
Columns = Mapping[str, Kind]


@dataclass(frozen=True)
class Table:
    """Rows under named columns; every row is as long as there are columns."""

    columns: Columns
    rows: tuple[tuple[Cell, ...], ...]


def table(columns: Columns, rows: Iterable[Sequence[Cell]]) -> Table:
    """Return columns and rows as a table."""
    return Table(columns, tuple(map(tuple, rows)))


SOWINGS: Columns = {
    "batch": "text",
    "crop": "text",
    "bed": "text",
    "sow_on": "day",
    "seeds": "whole",
    "cells": "whole",
    "sites": "whole",
    "held_sites": "whole",
    "emerge_on": "day",
    "transplant_on": "day",
    "ready_from": "day",
    "ready_until": "day",
    "clear_on": "day",
    "amount": "number",
    "amount_low_80": "number",
    "amount_high_80": "number",
    "unit": "text",
}


def sowings(result: SeasonPlan) -> Table:
    """Return one row per batch; amounts are those of all its cuts together."""
    return table(
        SOWINGS,
        (
            (
                batch.id,
                batch.crop,
                batch.bed,
                batch.sow_on,
                batch.seeds,
                batch.cells,
                batch.sites,
                batch.held_sites,
                batch.emerge_on,
                batch.transplant_on,
                batch.ready_from,
                batch.ready_until,
                batch.clear_on,
                batch.amount,
                sum(harvest.amount_low_80 for harvest in batch.harvests),
                sum(harvest.amount_high_80 for harvest in batch.harvests),
                batch.unit,
            )
            for batch in result.batches
        ),
    )


CHOICES: Columns = {
    "sow": "text",
    "chosen": "yes",
    "cells": "whole",
    "short_want_weeks": "number",
    "short_low_80": "number",
    "short_high_80": "number",
    "surplus_want_weeks": "number",
    "least_sure": "number",
    "least_sure_week": "day",
    "least_sure_want": "text",
    "power": "number",
    "power_low": "number",
    "power_high": "number",
    "power_unit": "text",
}


def choices(result: SeasonPlan) -> Table:
    """Return one row per choice of how much is sown; ``least_sure`` is a chance."""
    labels = {row.want: row.label for row in result.supply}
    unit = power_a_month(result)
    return table(
        CHOICES,
        (
            (
                choice.name,
                choice.chosen,
                choice.cells,
                choice.short_want_weeks,
                choice.short_low_80,
                choice.short_high_80,
                choice.surplus_want_weeks,
                hundredths(choice.least_sure),
                choice.least_sure_week,
                None if choice.least_sure_want is None else labels.get(choice.least_sure_want),
                choice.power,
                choice.power_low,
                choice.power_high,
                unit,
            )
            for choice in result.choices
        ),
    )


HARVESTS: Columns = {
    "batch": "text",
    "crop": "text",
    "bed": "text",
    "date": "day",
    "cut": "whole",
    "sites": "whole",
    "amount": "number",
    "amount_low_80": "number",
    "amount_high_80": "number",
    "unit": "text",
}


def harvests(result: SeasonPlan) -> Table:
    """Return one row per cut of some sites of a batch, by day."""
    cuttings = [(harvest, batch) for batch in result.batches for harvest in batch.harvests]
    return table(
        HARVESTS,
        (
            (
                batch.id,
                batch.crop,
                batch.bed,
                harvest.on,
                harvest.cut,
                harvest.sites,
                harvest.amount,
                harvest.amount_low_80,
                harvest.amount_high_80,
                batch.unit,
            )
            for harvest, batch in sorted(cuttings, key=lambda pair: pair[0].on)
        ),
    )


JOBS: Columns = {
    "date": "day",
    "job": "text",
    "batch": "text",
    "crop": "text",
    "bed": "text",
    "sites": "text",
    "amount": "number",
    "unit": "text",
    "note": "text",
    "eat_by": "day",
    "likely_from": "day",
    "likely_until": "day",
}


def jobs(result: SeasonPlan) -> Table:
    """Return one row per job."""
    return table(
        JOBS,
        (
            (
                *(job.on, job.job, job.batch, job.crop, job.bed, job.sites, job.amount, job.unit, job.note),
                job.eat_by,
                *(job.likely or (None, None)),
            )
            for job in result.jobs
        ),
    )


SUPPLY: Columns = {
    "week": "day",
    "want": "text",
    "wanted": "number",
    "ready": "number",
    "short": "number",
    "over": "number",
    "unit": "text",
    "chance": "number",
}


def supply(result: SeasonPlan) -> Table:
    """Return one row per want and week; the chance, in hundredths, is empty where nothing is wanted."""
    return table(
        SUPPLY,
        (
            (
                row.week,
                row.label,
                row.wanted,
                row.ready,
                row.short,
                row.over,
                row.unit,
                hundredths(row.chance),
            )
            for row in result.supply
        ),
    )


SITES: Columns = {
    "bed": "text",
    "site": "whole",
    "batch": "text",
    "crop": "text",
    "from": "day",
    "until": "day",
    "empty_for": "whole",
}


def sites(result: SeasonPlan) -> Table:
    """Return one row per stretch of time in which a batch holds a site.

    ``empty_for`` is the site of the plant for which this one is left empty, 0 where a plant stands.
    """
    return table(
        SITES,
        (
            (use.bed, use.site, use.batch, use.crop, use.held_from, use.held_until, use.empty_for)
            for use in result.sites
        ),
    )


BILL: Columns = {
    "month": "month",
    "what": "text",
    "zone": "text",
    "rate": "text",
    "kwh": "number",
    "cost": "number",
}


def bill(lines: Iterable[BillLine]) -> Table:
    """Return one row per month, user of power and rate; the cost in the currency of the tariff."""
    return table(
        BILL,
        ((line.month, line.what, line.zone, line.rate, line.kwh, line.cost) for line in lines),
    )


LIGHT: Columns = {
    "bed": "text",
    "site": "whole",
    "x_m": "number",
    "y_m": "number",
    "ppfd_umol_m2_s": "number",
    "dli_mol_m2_d": "number",
}


def light(zones: Iterable[LitZone]) -> Table:
    """Return one row per site; x and y from the front left corner of the zone, empty if they are not known.

    No DLI where the sun comes in: it has no one value.
    """
    return table(
        LIGHT,
        (
            (
                bed.name,
                site.site,
                site.x_m,
                site.y_m,
                site.ppfd_umol_m2_s,
                None if bed.by_month else site.dli_mol_m2_d,
            )
            for zone in zones
            for bed in zone.beds
            for site in bed.sites
        ),
    )


SEEDS: Columns = {
    "crop": "text", "order_by": "day", "seeds": "whole", "plugs": "whole", "on_hand": "whole", "note": "text",
}  # fmt: skip


def seeds(orders: Iterable[SeedOrder]) -> Table:
    """Return one row per order of seed."""
    return table(
        SEEDS,
        (
            (order.crop, order.order_by, order.seeds, order.plugs, order.on_hand, order.note)
            for order in orders
        ),
    )


TIMERS: Columns = {"zone": "text", "from": "day", "on": "text", "off": "text", "output": "number"}


def timers(lines: Sequence[TimerLine]) -> Table:
    """Return one row per stretch of light: the zone's timer, from which day on."""
    return table(
        TIMERS,
        ((line.zone, line.start, clock(line.on), clock(line.off), line.output) for line in lines),
    )


SET_POINTS: Columns = {
    "zone": "text", "what": "text", "value": "text", "unit": "text", "from": "day", "note": "text",
}  # fmt: skip


def set_points(points: Iterable[SetPoint]) -> Table:
    """Return one row per set point of a zone, or of all zones where ``zone`` is empty.

    ``value`` is a number of ``unit``, a time of day where the unit is "h:min", or a text such as "always on"
    without a unit; ``from`` is empty where it holds all the time. ``note`` says where it comes from.
    """
    return table(
        SET_POINTS,
        (
            (
                *(point.zone, point.what),
                *(point.value if isinstance(point.value, str) else plain(point.value), point.unit),
                *(point.start, point.note),
            )
            for point in points
        ),
    )


DAYLIGHT: Columns = {
    "month": "month",
    "zone": "text",
    "day_length_h": "number",
    "outdoor_dli_mol_m2_d": "number",
    "sun_dli_mol_m2_d": "number",
    "lamp_dli_mol_m2_d": "number",
    "lamp_h": "number",
    "day_seen_h": "number",
    "lamp_hours_enough": "number",
    "lamp_hours_needed": "number",
}


def daylight(daylight_year: DaylightYear) -> Table:
    """Return one row per month and zone: sun outdoors and at the leaves, lamp, and hours needed."""
    return table(
        DAYLIGHT,
        (
            (
                f"{daylight_year.year}-{number + 1:02d}",
                zone.zone,
                *(
                    round(value, 3) if value is not None else None
                    for value in (
                        daylight_year.day_length_h[number],
                        daylight_year.outdoor_mol_m2_d[number],
                        zone.sun_mol_m2_d[number],
                        zone.lamp_mol_m2_d[number],
                        zone.lamp_h[number],
                        zone.day_seen_h[number],
                        zone.enough_h[number],
                        zone.needed_h[number],
                    )
                ),
            )
            for number in range(12)
            for zone in daylight_year.zones
        ),
    )
