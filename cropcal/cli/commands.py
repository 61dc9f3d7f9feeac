"""What each command does: read, plan, show."""

from collections.abc import Sequence
from contextlib import nullcontext
from datetime import date, timedelta
from difflib import get_close_matches
from pathlib import Path

import typer

from cropcal.cli.answer import Answer, hazards_of, respond
from cropcal.cli.begun import Beginning
from cropcal.cli.behind import Noted, as_measured, behind, noted, series_problems
from cropcal.cli.load import PLAN_FOLDER, day, fingerprint, folder_of, read, read_with, refuse, refuse_one
from cropcal.cli.search import cycles_of, drawing_ahead, planned
from cropcal.cli.settings_held import settings_kept
from cropcal.cli.writing import (
    CALENDAR,
    LEARNED_FILES,
    LIGHT_FILES,
    hours_files,
    keep_files,
    kept_before,
    learned_files,
    light_files,
    names,
    plan_files,
)
from cropcal.problems import Exit, Problem
from cropcal.reading.calendar import read_calendar
from cropcal.reading.crops import read_crop_tables
from cropcal.records.crop import CropTables
from cropcal.records.plan import UnitCost
from cropcal.records.space import Space
from cropcal.show import as_json as forms
from cropcal.show import changes, figures, light_screen, plan_screens, screens
from cropcal.show.as_json import Json
from cropcal.show.measured import against_meter
from cropcal.show.text import typed


def check(path: Path, *, as_json: bool, sets: Sequence[str] = ()) -> None:
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
        space, tables, tried, given = read_with(path, sets)
        tried += beside
        apart = [{"key": "mistakes", "before": len(problems), "after": len(tried)}]
        now, above = _checked(path, space, tables, journal, tried, today)
        form = now | forms.tried(given, apart if tried != problems else [], form)
        above += f"{changes.given(given)}\n\n" if given else ""
        problems = tried
    typer.echo(
        forms.dumps(form) if as_json else above + screens.check(problems, str(path), tried=bool(sets)),
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
    """Return what ``check --json`` says of a space, and what comes first on the screen: dangers, doubts."""
    form = forms.check(problems)
    if problems or space is None or tables is None:
        return form, ""
    space = as_measured(path, space, today)
    dangers = hazards_of(space, tables, journal.journal.events)
    doubts = {"doubts": [doubt.as_dict() for doubt in space.doubts]}
    return dangers.form | form | doubts, dangers.first_lines + screens.doubts(space.doubts)


def crops(path: Path | None, *, as_json: bool, sets: Sequence[str] = ()) -> None:
    """Print the crop table, with a space also which crop suits which bed."""

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.fits import fits
        from cropcal.planning.light_budget import bed_lights

        verdicts = fits(space, bed_lights(space, tables), tuple(tables.crops.values()))
        return Answer(
            forms.crops(tables.crops.values()),
            lambda: screens.crops(tables.crops, verdicts),
            lambda: figures.crops(verdicts),
        )

    if path is not None or sets:
        respond(path or Path(), sets, answer, as_json=as_json)
        return
    tables, problems = read_crop_tables(None)
    if tables is None:
        refuse(problems)
    if as_json:
        typer.echo(forms.dumps(forms.crops(tables.crops.values())), nl=False)
    else:
        typer.echo(screens.crops(tables.crops))


def light(path: Path, out: Path | None, *, as_json: bool, sets: Sequence[str] = ()) -> None:
    """Print the light of each bed and how wanted crops like it; write each site's light on demand."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.planning.air import room_notes
        from cropcal.planning.fits import fits
        from cropcal.planning.light_budget import bed_lights
        from cropcal.planning.notes import wanted_crops
        from cropcal.planning.rise import rises

        lights, crops = bed_lights(space, tables), wanted_crops(space, tables)
        verdicts, grown = fits(space, lights, crops), rises(space, tables, lights, crops)
        written = screens.written(str(out), LIGHT_FILES).strip("\n") if out else ""

        def screen() -> str:
            said = light_screen.light(lights, verdicts, names(tables), grown, room_notes(space))
            return f"{said}\n{written}" if out else said

        return Answer(
            forms.light(lights, verdicts, grown),
            screen,
            notes=(written,) if out and as_json else (),
            keep=(lambda _: keep_files(out, light_files(space, lights))) if out else None,
            following=f"cropcal photoperiod {typed(str(path))}",
        )

    respond(path, sets, answer, as_json=as_json, journal=journal)


def photoperiod(path: Path, out: Path | None, *, as_json: bool, sets: Sequence[str] = ()) -> None:
    """Print which hours of lamp light suit the wanted crops, what they cost, and which are picked.

    With a folder, also write the timer settings and a picture there.
    """
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.cli.teaching import learned_paces
        from cropcal.planning.photoperiod import advice
        from cropcal.show import hours_screen

        found = advice(space, tables, learned_paces(journal, space, tables))
        windows = any(zone.window for zone in found.zones)
        return Answer(
            forms.photoperiod(found),
            lambda: hours_screen.photoperiod(found).removesuffix("\n"),
            keep=(lambda _: keep_files(out, hours_files(found))) if out else None,
            following=f"cropcal {'daylight' if windows else 'plan'} {typed(str(path))}",
        )

    respond(path, sets, answer, as_json=as_json, pick_hours=False, journal=journal)


def bill(path: Path, *, year: bool, as_json: bool, sets: Sequence[str] = ()) -> None:
    """Print the power bill of the planned weeks, or of twelve months, and the power of one more unit."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.cli.teaching import learned_paces
        from cropcal.planning.bill import bill as power_bill
        from cropcal.planning.bill import year_days
        from cropcal.planning.prospect import prospect, unit_costs

        first, days = space.settings.start, space.settings.weeks * 7
        of_year = power_bill(space, first, year_days(first))
        lines = of_year if year else power_bill(space, first, days)
        currency = space.tariff.currency if space.tariff else None

        def costs() -> tuple[UnitCost, ...]:
            found = prospect(space, tables, learned_paces(journal, space, tables))
            return tuple(unit_costs(found, priced=space.tariff is not None))

        period = (first, first + timedelta(days=(year_days(first) if year else days) - 1))
        rest = () if year else of_year
        return Answer(
            forms.bill(lines, currency, of_year, costs() if as_json else ()),
            lambda: (
                screens.bill(lines, costs(), currency, names(tables), period, year=rest)
                + against_meter(space.metered)
            ),
            lambda: figures.bill(lines, costs(), currency),
            following=f"cropcal plan {typed(str(path))}",
        )

    respond(path, sets, answer, as_json=as_json)


def when(
    path: Path, slug: str, sown: str, bed_name: str | None, *, as_json: bool, sets: Sequence[str] = ()
) -> None:
    """Print when one sowing is ready and how much it gives."""
    on, journal = day(sown, "--sown"), noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.cli.teaching import learned_paces
        from cropcal.planning.forecast import Unanswered, beds_for, forecast
        from cropcal.planning.light_budget import bed_lights

        if slug not in tables.crops:
            refuse_one("CROP", f'"{slug}"', "a crop of the table", nearest(slug, tuple(tables.crops)))
        crop = tables.crops[slug]
        beds = beds_for(crop, space)
        if bed_name is not None and bed_name not in {bed.name for bed in beds}:
            fitting = tuple(bed.name for bed in beds)
            refuse_one(
                "--bed", f'"{bed_name}"', f"a bed that {crop.name} grows in", nearest(bed_name, fitting)
            )
        if not beds:
            kind = "a tray" if crop.kind in ("tray", "shoots") else "a bed with sites"
            refuse_one(str(path), f"no bed for {crop.name}", f'{kind} in the file, kind = "tray" or "sites"')
        bed = next((bed for bed in beds if bed.name == bed_name), beds[0])
        lights = bed_lights(space, tables)
        paces = learned_paces(journal, space, tables, lights)
        found = forecast(space, tables, lights, crop, bed, on, paces)
        if isinstance(found, Unanswered):
            return Answer({}, str, notes=(found.why,), code=Exit.SHORT)
        form = forms.when(found)
        one_cut = {key: value for key, value in form.items() if key != "cuts"}  # the harvest itself
        return Answer(
            form,
            lambda: screens.when(found, names(tables)),
            lambda: form if len(found.cuts) > 1 else one_cut,
            notes=found.warnings if as_json else (),
        )

    respond(path, sets, answer, as_json=as_json, journal=journal)


def learned(path: Path, out: Path | None, *, as_json: bool, sets: Sequence[str] = ()) -> None:
    """Print what the journal taught; with a folder, also draw what was forecast and what came."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.cli import teaching
        from cropcal.cli.log_words import command
        from cropcal.show import learned_screen

        found = teaching.report(journal, space, tables)
        written = screens.written(str(out), LEARNED_FILES).strip("\n") if out else ""

        def screen() -> str:
            said = learned_screen.learned(found, names(tables), lambda words: command(path, words))
            return f"{said}\n{written}" if out else said.removesuffix("\n")

        return Answer(
            forms.learned(found),
            screen,
            notes=(written,) if out and as_json else (),
            keep=(lambda _: keep_files(out, learned_files(found, space, tables))) if out else None,
        )

    respond(path, sets, answer, as_json=as_json)


def plan(
    path: Path,
    out: Path | None,
    on: str | None,
    *,
    time_limit_s: float,
    gap: float,
    as_json: bool,
    sets: Sequence[str] = (),
    steady: bool | None = None,
    begun: bool | None = None,
) -> None:
    """Plan, write all files of the plan unless values are only tried, and print its summary."""
    folder = out or folder_of(path) / PLAN_FOLDER
    write = out is not None or not sets
    today = day(on, "--on")
    journal = noted(path, max(today, day(None, "")))
    begin = Beginning(path, journal, today, begun, ask=True).of

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.cli.teaching import learned_paces
        from cropcal.planning.seed_list import seed_list

        written_before = journal.plan()
        cycle_before = written_before.cycle_weeks if written_before else 0
        past = behind(journal, space, today)
        paces = learned_paces(journal, space, tables)
        cycles = cycles_of(space, steady, cycle_before, goes_on=past is not None)
        result = planned(space, tables, time_limit_s, gap, paces, past, cycles)
        orders = seed_list(result.batches, tables, result.again.on if result.again else None)
        written: list[str] = []
        empty = result.outcome.status == "empty"

        own = folder_of(path) / PLAN_FOLDER
        in_place = not sets and folder.resolve() == own.resolve()
        held, dated = settings_kept(path, space, begun=past is not None or today > space.settings.start)

        def keep(form: Json) -> None:
            before = kept_before(folder)
            earlier = read_calendar(folder / CALENDAR) or read_calendar(own / CALENDAR)
            settings = held if in_place else ()
            files = before | plan_files(space, tables, result, form, earlier, orders, paces, settings)
            keep_files(folder, files)
            written.extend(sorted(files))

        def screen() -> str:
            if not write:
                return plan_screens.plan(result, names(tables), orders=orders, today=today)
            following = "" if sets else f"cropcal {'crops' if empty else 'week'} {typed(str(path))}"
            return plan_screens.plan(result, names(tables), str(folder), written, following, orders, today)

        short = Exit.SHORT if result.outcome.short_want_weeks > 1e-6 else Exit.DONE
        return Answer(
            {
                **forms.plan(result),
                "inputs_sha256": fingerprint(path, sets),
                "space_sha256": fingerprint(path, sets, told_only=True),
            },
            screen,
            lambda: figures.plan(result),
            (
                *map(str, journal.torn()),
                *(dated if in_place else ()),
                *(("No plan: nothing that is wanted can be ready in time here.",) if empty else ()),
            ),
            Exit.NO_PLAN if empty else short,
            keep if write else None,
        )

    with drawing_ahead() if write else nullcontext():
        respond(path, sets, answer, as_json=as_json, slow=True, journal=journal, on=today, begin=begin)


def nearest(word: str, valid: tuple[str, ...]) -> str:
    """Return a hint: the word that was meant, or which there are."""
    near = get_close_matches(word, valid, n=1)
    if near:
        return f'did you mean "{near[0]}"?'
    return "one of " + ", ".join(valid[:8]) if valid else ""
