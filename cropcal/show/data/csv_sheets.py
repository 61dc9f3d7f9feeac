"""The CSV files of a plan: a header, then one line per row; UTF-8, dates ISO 8601, numbers plain.

A text that a spreadsheet would take for a formula gets an apostrophe in front (``cropcal.spreadsheets``);
tabs, line breaks and other control signs become blanks. Names come from the user's file, and files get
passed on.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import date

from cropcal.records.daylight import DaylightYear
from cropcal.records.hours import SetPoint, TimerLine
from cropcal.records.plan import SeasonPlan, SeedOrder
from cropcal.records.scene import LitZone
from cropcal.show.data import tables
from cropcal.show.data.tables import Cell, Table
from cropcal.show.text import clean, plain
from cropcal.spreadsheets import harmless


def sheets(
    result: SeasonPlan,
    timers: Sequence[TimerLine] = (),
    orders: Sequence[SeedOrder] = (),
    points: Sequence[SetPoint] = (),
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
    points
        What each zone's controllers are set to.
    """
    return {
        "sowings.csv": sowings(result),
        "jobs.csv": jobs(result),
        "supply.csv": supply(result),
        "sites.csv": sites(result),
        "bill.csv": bill(result),
        "seeds.csv": seeds(orders),
        "timers.csv": timer_sheet(timers),
        "setpoints.csv": set_points(points),
    }


def sowings(result: SeasonPlan) -> str:
    """Return one row per batch."""
    return sheet(tables.sowings(result))


def jobs(result: SeasonPlan) -> str:
    """Return one row per job."""
    return sheet(tables.jobs(result))


def supply(result: SeasonPlan) -> str:
    """Return one row per want and week."""
    return sheet(tables.supply(result))


def sites(result: SeasonPlan) -> str:
    """Return one row per stretch of time in which a batch holds a site."""
    return sheet(tables.sites(result))


def bill(result: SeasonPlan) -> str:
    """Return one row per month, user of power and rate."""
    return sheet(tables.bill(result.bill))


def light(zones: Iterable[LitZone]) -> str:
    """Return one row per site."""
    return sheet(tables.light(zones))


def seeds(orders: Iterable[SeedOrder]) -> str:
    """Return one row per order of seed."""
    return sheet(tables.seeds(orders))


def timer_sheet(timers: Sequence[TimerLine]) -> str:
    """Return one row per stretch of light."""
    return sheet(tables.timers(timers))


def set_points(points: Iterable[SetPoint]) -> str:
    """Return one row per set point."""
    return sheet(tables.set_points(points))


def daylight(daylight_year: DaylightYear) -> str:
    """Return one row per month and zone."""
    return sheet(tables.daylight(daylight_year))


def sheet(table: Table) -> str:
    """Return a table as CSV text."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table.columns)
    writer.writerows([_cell(cell) for cell in row] for row in table.rows)
    return out.getvalue()


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return harmless(clean(value))
    return value.isoformat() if isinstance(value, date) else plain(value)
