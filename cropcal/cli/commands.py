"""What each command does: read, plan, show."""

import math
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from difflib import get_close_matches
from pathlib import Path

import typer

from cropcal.cli.load import day, fingerprint, load, read, refuse, refuse_one
from cropcal.problems import Exit
from cropcal.reading.crops import read_crop_tables
from cropcal.reading.written import read_jobs
from cropcal.records.crop import CropTables
from cropcal.records.plan import BedLight, Fit, Plan
from cropcal.records.space import Space
from cropcal.show import as_json as forms
from cropcal.show import light_screen, plan_screens, screens
from cropcal.show.files import CannotWriteError, write_all

PLAN_FOLDER = "plan"
SLOW_S = 1.0


def check(path: Path, *, as_json: bool) -> None:
    """Print every problem of a space."""
    _, _, problems = read(path)
    typer.echo(
        forms.dumps(forms.check(problems)) if as_json else screens.check(problems, str(path)),
        nl=not as_json,
        err=bool(problems) and not as_json,
    )
    raise typer.Exit(Exit.BAD_INPUT if problems else Exit.DONE)


def crops(path: Path | None, *, as_json: bool) -> None:
    """Print the crop table, with a space also which crop suits which bed."""
    if path is None:
        tables, problems = read_crop_tables(None)
        if tables is None:
            refuse(problems)
        verdicts: tuple[Fit, ...] = ()
    else:
        from cropcal.planning.fits import fits
        from cropcal.planning.light_budget import bed_lights

        space, tables = load(path)
        verdicts = fits(space, bed_lights(space, tables), tuple(tables.crops.values()))
    if as_json:
        typer.echo(forms.dumps(forms.crops(tables.crops.values())), nl=False)
    else:
        typer.echo(screens.crops(tables.crops, verdicts))


def light(path: Path, out: Path | None, *, as_json: bool) -> None:
    """Print the light of each bed and how wanted crops like it; write each site's light on demand."""
    from cropcal.planning.air import room_notes
    from cropcal.planning.fits import fits
    from cropcal.planning.light_budget import bed_lights
    from cropcal.planning.notes import wanted_crops
    from cropcal.planning.rise import rises

    space, tables = load(path)
    lights, crops = bed_lights(space, tables), wanted_crops(space, tables)
    verdicts, grown = fits(space, lights, crops), rises(space, tables, lights, crops)
    if as_json:
        typer.echo(forms.dumps(forms.light(lights, verdicts, grown)), nl=False)
    else:
        typer.echo(light_screen.light(lights, verdicts, names(tables), grown, room_notes(space)))
    if out is not None:
        files = _light_files(space, lights)
        _write(out, files)
        typer.echo(screens.written(str(out), sorted(files)).strip("\n"), err=as_json)


def bill(path: Path, *, year: bool, as_json: bool) -> None:
    """Print the power bill of the planned weeks, or of twelve months, and the power of one more unit."""
    from cropcal.planning.bill import bill as power_bill
    from cropcal.planning.bill import year_days
    from cropcal.planning.prospect import prospect, unit_costs

    space, tables = load(path)
    first, days = space.settings.start, space.settings.weeks * 7
    of_year = power_bill(space, first, year_days(first))
    lines = of_year if year else power_bill(space, first, days)
    currency = space.tariff.currency if space.tariff else None
    if as_json:
        typer.echo(forms.dumps(forms.bill(lines, currency, of_year)), nl=False)
        return
    costs = unit_costs(prospect(space, tables), priced=space.tariff is not None)
    period = (first, first + timedelta(days=(year_days(first) if year else days) - 1))
    typer.echo(screens.bill(lines, costs, currency, names(tables), period, year=() if year else of_year))


def when(path: Path, slug: str, sown: str, bed_name: str | None, *, as_json: bool) -> None:
    """Print when one sowing is ready and how much it gives."""
    from cropcal.planning.forecast import Unanswered, beds_for, forecast
    from cropcal.planning.light_budget import bed_lights

    on = day(sown, "--sown")
    space, tables = load(path)
    if slug not in tables.crops:
        refuse_one("CROP", f'"{slug}"', "a crop of the table", _nearest(slug, tuple(tables.crops)))
    crop = tables.crops[slug]
    beds = beds_for(crop, space)
    if bed_name is not None and bed_name not in {bed.name for bed in beds}:
        fitting = tuple(bed.name for bed in beds)
        refuse_one("--bed", f'"{bed_name}"', f"a bed that {crop.name} grows in", _nearest(bed_name, fitting))
    if not beds:
        kind = "a tray" if crop.kind in ("tray", "shoots") else "a bed with sites"
        refuse_one(str(path), f"no bed for {crop.name}", f'{kind} in the file, kind = "tray" or "sites"')
    bed = next((bed for bed in beds if bed.name == bed_name), beds[0])
    answer = forecast(space, tables, bed_lights(space, tables), crop, bed, on)
    if isinstance(answer, Unanswered):
        typer.echo(answer.why, err=True)
        raise typer.Exit(Exit.SHORT)
    if as_json:
        for warning in answer.warnings:
            typer.echo(warning, err=True)
        typer.echo(forms.dumps(forms.when(answer)), nl=False)
    else:
        typer.echo(screens.when(answer, names(tables)))


def plan(path: Path, out: Path | None, *, time_limit_s: float, gap: float, as_json: bool) -> None:
    """Plan, write all files of the plan, and print its summary."""
    space, tables = load(path)
    folder = out or (path if path.is_dir() else path.parent) / PLAN_FOLDER
    with _drawing_ahead():
        result = _planned(space, tables, time_limit_s, gap)
    files = _files(space, tables, result, fingerprint(path))
    _write(folder, files)
    if as_json:
        typer.echo(files["plan.json"], nl=False)
    else:
        typer.echo(
            plan_screens.plan(result, names(tables), str(folder), sorted(files), f"cropcal week {path}")
        )
    if result.outcome.status == "empty":
        typer.echo("No plan: nothing that is wanted can be ready in time here.", err=True)
        raise typer.Exit(Exit.NO_PLAN)
    if result.outcome.short_want_weeks > 1e-6:
        raise typer.Exit(Exit.SHORT)


def week(path: Path, on: str | None, *, as_json: bool) -> None:
    """Print the jobs of one week, from the plan as written if the files are still the same."""
    today = day(on, "--on")
    space, tables = load(path)
    folder = (path if path.is_dir() else path.parent) / PLAN_FOLDER
    jobs = read_jobs(folder / "plan.json", fingerprint(path))
    if jobs is None:
        typer.echo(
            "No plan of these files is written yet, so this plans anew: cropcal plan keeps it.", err=True
        )
        jobs = _planned(space, tables, 60.0, 1e-3).jobs
    if as_json:
        typer.echo(forms.dumps(forms.week(jobs, today)), nl=False)
    else:
        typer.echo(plan_screens.week(jobs, today, names(tables), space.place.name))


def names(tables: CropTables) -> dict[str, str]:
    """Return the name of each crop by its slug."""
    return {slug: crop.name for slug, crop in tables.crops.items()}


def _planned(space: Space, tables: CropTables, time_limit_s: float, gap: float) -> Plan:
    """Plan with progress on a terminal; Ctrl-C ends the search and keeps the best plan so far."""
    from cropcal.planning.planner import Effort
    from cropcal.planning.planner import plan as make

    stop = threading.Event()
    effort = Effort(time_limit_s=time_limit_s, gap=gap, stop=stop.is_set)
    if sys.stderr.isatty():
        effort = replace(effort, progress=_progress(time.monotonic()))
    with _interrupt(stop):
        return make(space, tables, effort)


def _progress(began: float) -> Callable[[float, float], None]:
    def tell(value: float, bound: float) -> None:
        spent = time.monotonic() - began
        if spent > SLOW_S and math.isfinite(value) and math.isfinite(bound):
            gap = (value - bound) / max(abs(value), 1e-9)
            typer.echo(
                f"\rimproving for {spent:.0f} s, within {gap:.1%} of the bound; Ctrl-C stops ",
                err=True,
                nl=False,
            )

    return tell


@contextmanager
def _interrupt(stop: threading.Event) -> Iterator[None]:
    """Let the first Ctrl-C ask for an end, the second end at once."""

    def ask(_signal: int, _frame: object) -> None:
        stop.set()
        signal.signal(signal.SIGINT, before)

    before = signal.signal(signal.SIGINT, ask)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _drawing_ahead() -> Iterator[None]:
    """Load the drawing library in a thread of its own while the plan is made."""
    thread = threading.Thread(target=lambda: __import__("cropcal.show.picture"), daemon=True)
    thread.start()
    try:
        yield
    finally:
        thread.join()


def _write(folder: Path, files: Mapping[str, str | bytes]) -> None:
    try:
        write_all(folder, files)
    except CannotWriteError as error:
        refuse_one(str(folder), str(error), "a folder to write into", "nothing was written")


def _light_files(space: Space, lights: tuple[BedLight, ...]) -> dict[str, str | bytes]:
    """Return the light of each site as a sheet and as a map."""
    from cropcal.planning.scene import lit_zones
    from cropcal.show import picture, sheets

    zones = lit_zones(space, lights)
    return {"light.csv": sheets.light(zones), "light.png": picture.light_png(zones, space.place.name)}


def _files(space: Space, tables: CropTables, result: Plan, inputs: str) -> dict[str, str | bytes]:
    """Return every file of a plan by its name."""
    from cropcal.planning.hours import lit_stretches
    from cropcal.planning.light_budget import bed_lights
    from cropcal.records.base import clock
    from cropcal.show import ics, picture, sheets

    timers = [
        (zone.name, space.settings.start, clock(on), clock(off), _output(space, zone.name))
        for zone in space.zones
        for on, off in lit_stretches(zone, space.tariff)
    ]
    kinds = {slug: crop.kind for slug, crop in tables.crops.items()}
    stamp = datetime.combine(result.start, datetime.min.time(), tzinfo=UTC)
    form = {**forms.plan(result), "inputs_sha256": inputs}
    return {
        **sheets.sheets(result, timers, kinds),
        "plan.json": forms.dumps(form),
        "calendar.ics": ics.calendar(result, names(tables), stamp),
        "calendar.png": picture.calendar_png(result, names(tables), space.settings.breaks),
        "bill.png": picture.bill_png(result),
        **_light_files(space, bed_lights(space, tables)),
    }


def _output(space: Space, zone: str) -> float:
    """Return the lamps' output as a share of full, the mean of the zone's fixtures."""
    outputs = [fixture.output for fixture in space.fixtures if fixture.zone == zone]
    return sum(outputs) / len(outputs) if outputs else 1.0


def _nearest(word: str, valid: tuple[str, ...]) -> str:
    near = get_close_matches(word, valid, n=1)
    if near:
        return f'did you mean "{near[0]}"?'
    return "one of " + ", ".join(valid[:8]) if valid else ""
