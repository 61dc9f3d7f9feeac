"""Ask whether a space was begun, where its start is past, nothing was noted and no plan was written."""

import sys
from datetime import date
from pathlib import Path

import typer

from cropcal.cli.working import hidden
from cropcal.records.replan import Begun
from cropcal.records.space import Space
from cropcal.season.begun import never_begun
from cropcal.season.beside import Noted
from cropcal.season.log_words import command


class Beginning:
    """The question to the grower, asked at most once a command, and the answer.

    Attributes
    ----------
    answer
        The value of the flag. None: it is asked or, where nobody can answer, taken as not begun.
    """

    def __init__(self, path: Path, journal: Noted, today: date, answer: bool | None, *, ask: bool) -> None:
        self.path, self.journal, self.today, self.answer, self.ask = path, journal, today, answer, ask

    def of(self, space: Space) -> Begun | None:
        """Return the late beginning of a space that was never begun; None: plan from its start."""
        if not never_begun(self.path, self.journal, space, self.today):
            return None
        start = space.settings.start
        if self.answer is None:
            with hidden():
                self.answer = self._asked(start)
        return None if self.answer else Begun(start=start, on=self.today)

    def _asked(self, start: date) -> bool:
        since = f"{start:%a} {start.day} {start:%b %Y}"
        if self.ask and on_terminal():
            was_begun = typer.confirm(
                f"Has anything been sown since {since}, the start in space.toml?", err=True
            )
            if was_begun:
                note = command(self.path, "sown CROP --on DATE")
                typer.echo(
                    f"Then everything counts as done as planned. To note what was really sown: {note}",
                    err=True,
                )
            return was_begun
        day = f"{self.today:%a} {self.today.day} {self.today:%b}"
        again = command(self.path, "").replace("cropcal log", "cropcal plan").rstrip()
        typer.echo(
            f"Nothing was noted since {since}, the start in space.toml, and no plan was written, so this"
            f" plan starts on {day}. If you had begun: {again} --begun",
            err=True,
        )
        return False


def on_terminal() -> bool:
    """Return whether the command runs on a terminal, where a person can answer."""
    return sys.stdin.isatty() and sys.stderr.isatty()
