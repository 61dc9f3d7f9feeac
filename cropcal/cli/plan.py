"""``cropcal plan``: search for a plan, write its files, print it at a glance or whole."""

from collections.abc import Sequence
from contextlib import nullcontext
from pathlib import Path

from cropcal.cli.begun import Beginning
from cropcal.cli.respond import Answer, respond
from cropcal.cli.search import effort, preload_drawing
from cropcal.problems import Exit
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.season.beside import noted
from cropcal.season.files import names
from cropcal.season.load import PLAN_FOLDER, day, folder_of
from cropcal.season.plan import Asked, planned
from cropcal.show.data import key_figures as figures
from cropcal.show.data.json_forms import Json
from cropcal.show.glance import plan as glance
from cropcal.show.terminal import plan as plan_screens
from cropcal.show.text import typed


def plan(
    path: Path,
    out: Path | None,
    on: str | None,
    time_limit_s: float,
    *,
    as_json: bool,
    sets: Sequence[str] | None = None,
    sow: str | None = None,
    steady: bool | None = None,
    begun: bool | None = None,
    whole: bool = False,
) -> None:
    """Plan, write all files of the plan unless values are only tried, and print its summary."""
    sets = sets or ()
    folder = out or folder_of(path) / PLAN_FOLDER
    write = out is not None or not sets
    today = day(on, "--on")
    journal = noted(path, max(today, day(None, "")))
    begin = Beginning(path, journal, today, begun, ask=True).of

    def answer(space: Space, tables: CropTables) -> Answer:
        asked = Asked(path, tuple(sets), journal, today, steady)
        with effort(time_limit_s) as trying:
            new_plan = planned(space, tables, asked, trying)
        result, orders = new_plan.result, new_plan.orders
        written: list[str] = []
        empty = result.outcome.status == "empty"

        def keep(form: Json) -> None:
            written.extend(new_plan.keep(folder, form))

        def screen() -> str:
            following = (
                f"cropcal {'crops' if empty else 'week'} {typed(str(path))}" if write and not sets else ""
            )
            if not whole:
                rest = f"cropcal plan {typed(str(path))} --all"
                if write:
                    rest = f"open {typed(str(folder / 'report.html'))}, or {rest}"
                care = f"cropcal care {typed(str(path))}"
                return glance.glance(result, names(tables), rest, following, today, care)
            if not write:
                return plan_screens.plan(result, names(tables), orders=orders, today=today)
            return plan_screens.plan(result, names(tables), str(folder), written, following, orders, today)

        short = Exit.SHORT if result.expected and result.expected.misses_much else Exit.DONE
        return Answer(
            new_plan.form(),
            screen,
            lambda: figures.plan(result),
            (
                *map(str, journal.torn()),
                *(new_plan.settings_changed if new_plan.is_kept_in(folder) else ()),
                *(("No plan: nothing that is wanted can be ready in time here.",) if empty else ()),
            ),
            Exit.NO_PLAN if empty else short,
            keep if write else None,
        )

    with preload_drawing() if write else nullcontext():
        respond(
            path, sets, answer, as_json=as_json, slow=True, journal=journal, on=today, sow=sow, begin=begin
        )
