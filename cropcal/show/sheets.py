"""The CSV files of a plan: a header, then one line a row; UTF-8, dates ISO 8601, numbers plain.

A text that a spreadsheet would take for a formula gets an apostrophe in front (``cropcal.spreadsheets``);
tabs, line breaks and other control signs become blanks. Names come from the user's file, and files get
passed on.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date

from cropcal.records.base import clock
from cropcal.records.daylight import DaylightYear
from cropcal.records.hours import TimerLine
from cropcal.records.plan import Plan, SeedOrder
from cropcal.records.scene import LitZone
from cropcal.show.text import clean, hundredths, plain
from cropcal.spreadsheets import harmless

Cell = str | int | float | date | None


def sheets(
    result: Plan, timers: Sequence[TimerLine] = (), orders: Sequence[SeedOrder] = ()
) -> dict[str, str]:
    """Return the text of each file by its name.

    Parameters
    ----------
    result
        The plan.
    timers
        When each zone's lamp is on, one row a change.
    orders
        The seed to buy.
    """
    return {
        "sowings.csv": sowings(result),
        "jobs.csv": jobs(result),
        "supply.csv": supply(result),
        "sites.csv": sites(result),
        "bill.csv": bill(result),
        "seeds.csv": seeds(orders),
        "timers.csv": timer_sheet(timers),
    }


def sowings(result: Plan) -> str:
    """Return one row a batch; amounts are those of all its cuts together."""
    return _sheet(
        "batch,crop,bed,sow_on,seeds,cells,sites,emerge_on,transplant_on,ready_from,ready_until,clear_on,"
        "amount,amount_low_80,amount_high_80,unit",
        (
            (
                batch.id,
                batch.crop,
                batch.bed,
                batch.sow_on,
                batch.seeds,
                batch.cells,
                batch.sites,
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


def jobs(result: Plan) -> str:
    """Return one row a job."""
    return _sheet(
        "date,job,batch,crop,bed,sites,amount,unit,note",
        (
            (job.on, job.job, job.batch, job.crop, job.bed, job.sites, job.amount, job.unit, job.note)
            for job in result.jobs
        ),
    )


def supply(result: Plan) -> str:
    """Return one row a want and week; the chance, in hundredths, is empty where nothing is wanted."""
    return _sheet(
        "week,want,wanted,ready,short,over,unit,chance",
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


def sites(result: Plan) -> str:
    """Return one row a stretch of time in which a batch holds a site."""
    return _sheet(
        "bed,site,batch,crop,from,until",
        ((use.bed, use.site, use.batch, use.crop, use.held_from, use.held_until) for use in result.sites),
    )


def bill(result: Plan) -> str:
    """Return one row a month, user of power and rate."""
    return _sheet(
        "month,what,zone,rate,kwh,cost",
        ((line.month, line.what, line.zone, line.rate, line.kwh, line.cost) for line in result.bill),
    )


def light(zones: Iterable[LitZone]) -> str:
    """Return one row a site; x and y from the front left corner of the zone, empty if they are not known.

    No DLI where the sun comes in: it has no one value.
    """
    return _sheet(
        "bed,site,x_m,y_m,ppfd_umol_m2_s,dli_mol_m2_d",
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


def seeds(orders: Iterable[SeedOrder]) -> str:
    """Return one row an order of seed."""
    return _sheet(
        "crop,order_by,seeds,plugs",
        ((order.crop, order.order_by, order.seeds, order.plugs) for order in orders),
    )


def timer_sheet(timers: Sequence[TimerLine]) -> str:
    """Return one row a stretch of light: the zone's timer, from which day on."""
    return _sheet(
        "zone,from,on,off,output",
        ((line.zone, line.start, clock(line.on), clock(line.off), line.output) for line in timers),
    )


def daylight(found: DaylightYear) -> str:
    """Return one row a month and zone: the sun outdoors and at the leaves, the lamp, and the hours needed."""
    return _sheet(
        "month,zone,day_length_h,outdoor_dli_mol_m2_d,sun_dli_mol_m2_d,lamp_dli_mol_m2_d,lamp_h,day_seen_h,"
        "lamp_hours_enough,lamp_hours_needed",
        (
            (
                f"{found.year}-{number + 1:02d}",
                zone.zone,
                *(
                    round(value, 3) if value is not None else None
                    for value in (
                        found.day_length_h[number],
                        found.outdoor_mol_m2_d[number],
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
            for zone in found.zones
        ),
    )


def _sheet(header: str, rows: Iterable[Sequence[Cell]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header.split(","))
    writer.writerows([_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return harmless(clean(value))
    return value.isoformat() if isinstance(value, date) else plain(value)
