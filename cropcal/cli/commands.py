"""What each command does: read, plan, show."""

import shlex
import sys
from collections.abc import Sequence
from datetime import date, timedelta
from functools import cache
from pathlib import Path

import typer

from cropcal.cli.respond import Answer, respond
from cropcal.problems import Exit, Problem
from cropcal.reading.crops.read import crop_columns, read_crop_tables
from cropcal.records.crop import CropTables
from cropcal.records.hours import HoursAdvice
from cropcal.records.plan import UnitCost
from cropcal.records.space import Space
from cropcal.season.beside import (
    Noted,
    as_measured,
    noted,
    readings_in_doubt,
    series_problems,
)
from cropcal.season.care import dangers_of
from cropcal.season.files import (
    LIGHT_FILES,
    hours_files,
    keep_files,
    light_files,
    names,
)
from cropcal.season.load import (
    crop_named,
    day,
    load,
    read,
    read_with,
    refuse,
    refuse_one,
)
from cropcal.season.log_words import command
from cropcal.show.data import json_forms as forms
from cropcal.show.data import key_figures as figures
from cropcal.show.data.bill_json import bill as bill_form
from cropcal.show.data.crop_json import crop_sources as crop_sources_form
from cropcal.show.data.crop_json import crops as crops_form
from cropcal.show.data.hours_json import photoperiod as hours_form
from cropcal.show.data.json_forms import Json
from cropcal.show.data.measured_form import against_meter
from cropcal.show.glance import crops as basics_glance
from cropcal.show.glance.bill import bill_glance
from cropcal.show.glance.fitting import ScreenPart, fitted
from cropcal.show.glance.light import light_glance
from cropcal.show.terminal import (
    basics as screens,
)
from cropcal.show.terminal import (
    before_and_after as changes,
)
from cropcal.show.terminal import (
    bill as bill_screen,
)
from cropcal.show.terminal import (
    crop_sources as sources_screen,
)
from cropcal.show.terminal import (
    light as light_screen,
)
from cropcal.show.text import LINES, as_typed


def check(path: Path, *, as_json: bool, sets: Sequence[str] = (), whole: bool = False) -> None:
    """Print every problem of a space."""
    space, tables, problems = read(path)
    journal = noted(path, day(None, ""))
    today = day(None, "")
    beside = [
        *journal.problems,
        *journal.torn(),
        *series_problems(path, space, today),
        *journal.plan_problems,
    ]
    problems += beside
    form, above = _checked(path, space, tables, journal, problems, today)
    if sets:
        space, tables, tried, changed = read_with(path, sets)
        tried += beside
        apart = [{"key": "mistakes", "before": len(problems), "after": len(tried)}]
        now, above = _checked(path, space, tables, journal, tried, today)
        form = now | forms.tried(changed, apart if tried != problems else [], form)
        above += f"{changes.given(changed)}\n\n" if changed else ""
        problems = tried
    typer.echo(
        forms.dumps(form)
        if as_json
        else above + screens.check(problems, str(path), tried=bool(sets), whole=whole),
        nl=False,
        err=bool(problems) and not as_json,
    )
    raise typer.Exit(Exit.BAD_INPUT if problems else Exit.DONE)


def _checked(
    path: Path,
    space: Space | None,
    tables: CropTables | None,
    journal: Noted,
    problems: list[Problem],
    today: date,
) -> tuple[Json, str]:
    """Return the form of ``check --json``, and the first lines of the screen: dangers, doubts."""
    form = forms.check(problems)
    if problems or space is None or tables is None:
        return form, ""
    space = as_measured(path, space, today)
    dangers = dangers_of(space, tables, journal.journal.events)
    doubts = (*space.doubts, *readings_in_doubt(path, space, tables, today))
    asked = {"doubts": [doubt.as_dict() for doubt in doubts]}
    return dangers.form | form | asked, dangers.first_lines + screens.doubts(doubts)


def crops(path: Path | None, *, as_json: bool, sets: Sequence[str] = (), whole: bool = False) -> None:
    """Print the crop table; with a space, also which crop suits which bed."""

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.growth.suitability import suitabilities
        from cropcal.planning.site.bed_light import bed_lights

        verdicts = suitabilities(space, bed_lights(space, tables), tuple(tables.crops.values()))
        return Answer(
            crops_form(tables.crops.values()),
            lambda: screens.crops(tables.crops, verdicts),
            lambda: figures.crops(verdicts),
            following=as_typed("light", path or Path()),
            glance=lambda: basics_glance.crops_glance(tables.crops, verdicts),
            everything=as_typed("crops", path or Path()),
            care_on="crops",
        )

    if path is not None or sets:
        respond(path or Path(), sets, answer, as_json=as_json, whole=whole)
        return
    tables, problems = read_crop_tables(None)
    if tables is None:
        refuse(problems)
    if as_json:
        typer.echo(forms.dumps(crops_form(tables.crops.values())), nl=False)
    elif whole:
        typer.echo(screens.crops(tables.crops))
    else:
        typer.echo(fitted(basics_glance.crops_glance(tables.crops), LINES - 3))
        typer.echo("All of it: cropcal crops --all\nNext, type: cropcal new my-shelf")


def crop_sources(name: str, path: Path | None, *, as_json: bool, sets: Sequence[str] = ()) -> None:
    """Print every value of one crop and its source; with a space, its crops.csv is laid over them."""
    if sets:
        refuse_one("--set", f'"{sets[0]}"', "no --set beside --sources", "it changes no crop")
    tables, problems = (None, []) if path else read_crop_tables(None)
    if path is not None:
        _, tables = load(path)
    if tables is None:
        refuse(problems)
    crop = tables.crops[crop_named(name, "--sources", tables)]
    units = {column.name: column.unit for column in crop_columns().values()}
    if as_json:
        typer.echo(forms.dumps(crop_sources_form(crop, tables.sources, units)), nl=False)
    else:
        typer.echo(sources_screen.crop_sources(crop, tables.sources, units), nl=False)


def light(
    path: Path, out: Path | None, *, as_json: bool, sets: Sequence[str] = (), whole: bool = False
) -> None:
    """Print the light of each bed and its suitability for wanted crops; write each site's light on demand."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.growth.canopy_rise import rises
        from cropcal.planning.growth.cautions import wanted_crops
        from cropcal.planning.growth.crowding import crowded_warnings, crowdings
        from cropcal.planning.growth.suitability import suitabilities
        from cropcal.planning.site.air import room_notes
        from cropcal.planning.site.bed_light import bed_lights
        from cropcal.planning.site.humidity import humidity_warnings
        from cropcal.season.cured import cured
        from cropcal.season.learned import learned_paces

        lights, crops = bed_lights(space, tables), wanted_crops(space, tables)
        crowding = crowdings(space, tables, lights, crops)
        verdicts, grown = suitabilities(space, lights, crops), rises(space, tables, lights, crops)
        verdicts, mending = cured(space, tables, lights, verdicts, learned_paces(journal, space, tables))
        written = screens.written(str(out), LIGHT_FILES).strip("\n") if out else ""

        crowded, damp = crowded_warnings(crowding, tables), humidity_warnings(space)
        currency = space.tariff.currency if space.tariff else None

        def screen() -> str:
            text = light_screen.light(
                lights,
                verdicts,
                names(tables),
                grown,
                room_notes(space),
                crowded,
                damp,
                mending,
                as_typed("light", path),
                currency,
            )
            return f"{text}\n{written}" if out else text

        return Answer(
            forms.light(lights, verdicts, grown, crowding, mending),
            screen,
            notes=(written,) if out and as_json else (),
            keep=(lambda _: keep_files(out, light_files(space, lights))) if out else None,
            following=as_typed("photoperiod", path),
            glance=lambda: [
                *light_glance(lights, verdicts, names(tables), [*crowded, *damp], mending, currency),
                ScreenPart((), written),
            ],
            everything=as_typed("light", path),
            care_on="light",
        )

    respond(path, sets, answer, as_json=as_json, journal=journal, whole=whole)


def photoperiod(
    path: Path,
    out: Path | None,
    *,
    slow: bool = False,
    as_json: bool,
    sets: Sequence[str] = (),
    whole: bool = False,
) -> None:
    """Print which hours of lamp light suit the wanted crops, what they cost, and which are picked.

    With a folder, also write the timer settings and a picture there.
    """
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.lamp_lengths import with_lengths
        from cropcal.planning.photoperiod.advice import advice
        from cropcal.season.learned import learned_paces
        from cropcal.show.glance import photoperiod as hours_glance
        from cropcal.show.terminal import photoperiod as hours_screen

        paces = learned_paces(journal, space, tables)
        hours = advice(space, tables, paces)
        if any(zone.fitting for zone in hours.zones) and sys.stderr.isatty():
            typer.echo("comparing lengths of the day in simulated seasons ...", err=True)
        hours = with_lengths(hours, space, tables, paces, slow=slow)
        windows = any(zone.window for zone in hours.zones)
        return Answer(
            hours_form(hours),
            lambda: hours_screen.photoperiod(hours, as_typed("plan", path)).removesuffix("\n"),
            keep=(lambda _: keep_files(out, hours_files(hours))) if out else None,
            following=as_typed("daylight" if windows else "plan", path),
            glance=lambda: hours_glance.hours_glance(hours),
            everything=as_typed("photoperiod", path, "--slow" if slow else ""),
            care_on="photoperiod",
            care_in=_lit_as_picked(space, hours),
        )

    respond(path, sets, answer, as_json=as_json, pick_hours=False, journal=journal, whole=whole)


def _lit_as_picked(space: Space, hours: HoursAdvice) -> Space:
    """Return the space with the lamp hours that are picked."""
    lit = {zone.zone: zone.pick.lit for zone in hours.zones}
    zones = tuple(
        zone.model_copy(update={"lit": lit[zone.name]}) if zone.name in lit else zone for zone in space.zones
    )
    return space.model_copy(update={"zones": zones})


def bill(path: Path, *, year: bool, as_json: bool, sets: Sequence[str] = (), whole: bool = False) -> None:
    """Print the power bill of the planned weeks, or of twelve months, and the power of one more unit."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.candidates.assessment import assess, unit_costs
        from cropcal.planning.power.bill import bill as power_bill
        from cropcal.planning.power.bill import year_days
        from cropcal.season.bill import bills_of, dark_of, standing_plan
        from cropcal.season.learned import learned_paces

        first, days = space.settings.start, space.settings.weeks * 7
        plan = standing_plan(path, journal)
        dark = dark_of(space, plan)
        of_year = power_bill(space, first, year_days(first), dark)
        lines = of_year if year else power_bill(space, first, days, dark)
        bills = bills_of(space, journal, plan, lines, year_days(first) if year else days)
        currency = space.tariff.currency if space.tariff else None

        @cache
        def costs() -> tuple[UnitCost, ...]:
            assessment = assess(space, tables, learned_paces(journal, space, tables))
            return tuple(unit_costs(assessment, priced=space.tariff is not None))

        period = (first, first + timedelta(days=(year_days(first) if year else days) - 1))
        rest = () if year else of_year
        example = f"{command(path, 'bill')} {first:%Y-%m} {'41.30' if currency else '--kwh 180'}"
        return Answer(
            bill_form(lines, currency, of_year, costs() if as_json else (), bills),
            lambda: (
                bill_screen.bill(lines, costs(), currency, names(tables), period, rest, bills, example)
                + against_meter(space.metered)
            ),
            lambda: figures.bill(lines, costs(), currency),
            following=as_typed("plan", path),
            glance=lambda: bill_glance(lines, costs(), currency, names(tables), period, of_year, bills),
            everything=as_typed("bill", path, "--year" if year else ""),
        )

    respond(path, sets, answer, as_json=as_json, whole=whole)


def when(
    path: Path,
    name: str,
    sown: str,
    bed_name: str | None,
    *,
    as_json: bool,
    sets: Sequence[str] = (),
    whole: bool = False,
) -> None:
    """Print the forecast of one sowing: when it is ready and its yield."""
    on, journal = day(sown, "--sown"), noted(path)
    in_bed = f"--bed {shlex.quote(bed_name)}" if bed_name else ""

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.forecast import Unanswered
        from cropcal.season.forecast import forecast_of

        forecast = forecast_of(path, journal, space, tables, name, bed_name, on)
        if isinstance(forecast, Unanswered):
            return Answer({}, str, notes=(forecast.why,), code=Exit.SHORT)
        form = forms.when(forecast)
        one_cut = {key: value for key, value in form.items() if key != "cuts"}  # the harvest itself
        return Answer(
            form,
            lambda: screens.when(forecast, names(tables)),
            lambda: form if len(forecast.cuts) > 1 else one_cut,
            notes=forecast.warnings if as_json else (),
            following=as_typed("plan", path),
            glance=lambda: basics_glance.when_glance(forecast, names(tables)),
            everything=as_typed("when", path, forecast.crop, f"--sown {on}", in_bed),
        )

    respond(path, sets, answer, as_json=as_json, journal=journal, whole=whole)
