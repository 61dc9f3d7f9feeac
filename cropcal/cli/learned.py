"""``cropcal learned``: what the journal taught."""

from collections.abc import Sequence
from pathlib import Path

from cropcal.cli.respond import Answer, respond
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.season.beside import noted
from cropcal.season.files import LEARNED_FILES, keep_files, learned_files, names
from cropcal.season.log_words import command
from cropcal.show.data import json_forms as forms
from cropcal.show.data.bill_json import noted_bill
from cropcal.show.terminal import basics as screens
from cropcal.show.terminal import bill as bill_screen
from cropcal.show.text import as_typed


def learned(
    path: Path, out: Path | None, *, as_json: bool, sets: Sequence[str] = (), whole: bool = False
) -> None:
    """Print what was learned from the journal; with a folder, also draw forecasts and outcomes."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        from cropcal.season import learned as teaching
        from cropcal.season.bill import noted_beside
        from cropcal.show.glance.fitting import ScreenPart
        from cropcal.show.glance.journal import learned_glance
        from cropcal.show.terminal import learned as learned_screen

        report = teaching.report(journal, space, tables)
        written = screens.written(str(out), LEARNED_FILES).strip("\n") if out else ""
        bills = noted_beside(path, journal, space)
        currency = space.tariff.currency if space.tariff else None

        def log(words: str) -> str:
            return command(path, words)

        def screen() -> str:
            text = learned_screen.learned(report, names(tables), log)
            text += bill_screen.odd_bills(bills, currency)
            return f"{text}\n{written}" if out else text.removesuffix("\n")

        return Answer(
            forms.learned(report) | ({"bills": [noted_bill(bill) for bill in bills]} if bills else {}),
            screen,
            notes=(written,) if out and as_json else (),
            keep=(lambda _: keep_files(out, learned_files(report, space, tables))) if out else None,
            following=as_typed("plan", path),
            glance=lambda: [
                *learned_glance(report, names(tables), log, bills, currency),
                ScreenPart((), written),
            ],
            everything=as_typed("learned", path),
        )

    respond(path, sets, answer, as_json=as_json, whole=whole)
