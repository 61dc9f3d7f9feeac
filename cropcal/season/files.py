"""The content of every file that is written, by name, and writing them into a folder."""

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from cropcal.reading.files.file_set import CannotWriteError, write_set
from cropcal.reading.past_settings import FILE_NAME as SETTINGS_FILE
from cropcal.reading.plan_json import read_plan
from cropcal.records.crop import CropTables
from cropcal.records.hours import HoursAdvice
from cropcal.records.learned import LearnedReport
from cropcal.records.plan import BedLight, SeasonPlan, SeedOrder
from cropcal.records.space import Held, Space
from cropcal.records.written_plan import CalendarEvent
from cropcal.season.load import PLAN, PREVIOUS, refuse
from cropcal.show.data import json_forms as forms
from cropcal.show.data import settings_json as held_json
from cropcal.show.data.hours_json import photoperiod as hours_form
from cropcal.show.data.json_forms import Json

if TYPE_CHECKING:  # it loads numpy, which not every command needs
    from cropcal.planning.growth.pace import Paces

CALENDAR = "calendar.ics"
LIGHT_FILES = ("light.csv", "light.png")
LEARNED_FILES = ("learned.png",)


def names(tables: CropTables) -> dict[str, str]:
    """Return the name of each crop by its slug."""
    return {slug: crop.name for slug, crop in tables.crops.items()}


def keep_files(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Write files into a folder, all or none, or raise the problem."""
    try:
        write_set(folder, files)
    except CannotWriteError as error:
        refuse([error.problem])


def kept_before(folder: Path) -> dict[str, str | bytes]:
    """Return the plan.json that a new one replaces, under the previous plan's name; empty if unreadable."""
    before = folder / PLAN
    return {PREVIOUS: before.read_bytes()} if read_plan(before)[0] else {}


def hours_files(hours: HoursAdvice) -> dict[str, str | bytes]:
    """Return every file about the hours by its name."""
    from cropcal.show.data import csv_sheets as sheets
    from cropcal.show.pictures import render as picture

    return {
        "timers.csv": sheets.timer_sheet(hours.timers),
        "photoperiod.json": forms.dumps(hours_form(hours)),
        "photoperiod.png": picture.hours_png(hours),
    }


def learned_files(learned: LearnedReport, space: Space, tables: CropTables) -> dict[str, str | bytes]:
    """Return the picture of forecasts and outcomes."""
    from cropcal.show.pictures import render as picture

    return {LEARNED_FILES[0]: picture.learned_png(learned, names(tables), space.place.name)}


def light_files(space: Space, lights: tuple[BedLight, ...]) -> dict[str, str | bytes]:
    """Return the light of each site as a sheet and as a map."""
    from cropcal.planning.site.floor_map import lit_zones
    from cropcal.show.data import csv_sheets as sheets
    from cropcal.show.pictures import render as picture

    zones = lit_zones(space, lights)
    return {"light.csv": sheets.light(zones), "light.png": picture.light_png(zones, space.place.name)}


def plan_files(
    space: Space,
    tables: CropTables,
    result: SeasonPlan,
    form: Json,
    earlier: tuple[CalendarEvent, ...],
    orders: tuple[SeedOrder, ...],
    paces: "Paces",
    held: tuple[Held, ...] = (),
) -> dict[str, str | bytes]:
    """Return every file of a plan by its name; ``form`` is the content of its plan.json.

    ``held``: the past settings, for the space's own plan; empty where they are not kept.
    """
    from cropcal.planning.growth.light_ranges import light_ranges
    from cropcal.planning.photoperiod.advice import advice
    from cropcal.planning.photoperiod.fill_hours import timer_lines
    from cropcal.planning.schedule.empty_beds import dark_days
    from cropcal.planning.set_points import set_points
    from cropcal.planning.site.floor_map import lit_zones
    from cropcal.show.data import csv_sheets as sheets
    from cropcal.show.data import ics
    from cropcal.show.page.report import PageFacts, report_html
    from cropcal.show.pictures import render as picture

    timers = timer_lines(space, dark_days(space, result.sites, result.batches))
    points = set_points(space, tables, result, timers)
    dangers = tuple(danger["words"] for danger in form["hazards"])
    facts = PageFacts(
        plan=result,
        hours=advice(space, tables, paces),
        timers=timers,
        zones=lit_zones(space, result.lights),
        ranges=light_ranges(space, tables, result.lights),
        tables=tables,
        breaks=space.settings.breaks,
        orders=orders,
        dangers=dangers,
        points=points,
    )
    stamp = datetime.combine(
        result.again.on if result.again else result.start, datetime.min.time(), tzinfo=UTC
    )
    return {
        **sheets.sheets(result, timers, orders, points),
        PLAN: forms.dumps(form),
        CALENDAR: ics.calendar(result, names(tables), stamp, earlier),
        **(
            {SETTINGS_FILE: forms.dumps(held_json.form(held, space.history.begun if space.history else None))}
            if held
            else {}
        ),
        "calendar.png": picture.calendar_png(result, names(tables), space.settings.breaks),
        "bill.png": picture.bill_png(result),
        "report.html": report_html(facts),
        "wall-sheet.pdf": picture.wall_sheet_pdf(result, names(tables), timers, dangers, points),
        **light_files(space, result.lights),
    }
