"""A command's answer: printed, or with ``--set`` worked out twice and shown before and after."""

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import typer

from cropcal.problems import Exit
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.season.beside import Noted, reminders
from cropcal.season.opened import opened
from cropcal.show import as_json as forms
from cropcal.show import changes
from cropcal.show import measured as forms_measured
from cropcal.show.as_json import Json


@dataclass(frozen=True)
class Answer:
    """What a command found out about one space.

    ``form`` is what ``--json`` prints and ``screen`` makes the text. ``figures`` are compared where a
    value is tried, the form if there are none. ``notes`` go to stderr. ``keep`` writes files, given the
    whole form. ``following`` is what to type next.
    """

    form: Json
    screen: Callable[[], str]
    figures: Callable[[], Json] | None = None
    notes: tuple[str, ...] = ()
    code: Exit = Exit.DONE
    keep: Callable[[Json], None] | None = None
    following: str = ""

    def compared(self) -> Json:
        """Return what is held against the answer of another space."""
        return self.form if self.figures is None else self.figures()


def respond(
    path: Path,
    options: Sequence[str],
    answer: Callable[[Space, CropTables], Answer],
    *,
    as_json: bool,
    slow: bool = False,
    pick_hours: bool = True,
    journal: Noted | None = None,
) -> None:
    """Read a space, answer, print; with ``--set`` for the file as it stands and for the tried values.

    Parameters
    ----------
    path
        The space.
    options
        ``KEY=VALUE`` of every ``--set``.
    answer
        What the command finds out about a space.
    as_json
        Whether to print the form instead of the screen.
    slow
        Whether to tell on a terminal which of the two is being worked out.
    pick_hours
        Whether zones without hours get those that are picked first.
    journal
        Where something was noted that the file has otherwise; it is pointed out.
    """
    stands = opened(path)
    tables = stands.tables
    for line in reminders(stands.space, tables, journal):
        typer.echo(line, err=True)
    if not options:
        found = answer(stands.lit() if pick_hours else stands.space, tables)
        _print(found, found.form | forms_measured.form(stands.space), "", as_json=as_json)
        return
    tried = opened(path, options)  # first of all: a slip in it is told at once
    _tell("planning as the file stands ...", slow)
    before = answer(stands.lit() if pick_hours else stands.space, tables)
    _tell("and with the values that are tried ...", slow)
    after = answer(tried.lit() if pick_hours else tried.space, tables)
    for note in before.notes:
        if note not in after.notes:
            typer.echo(f"As the file stands: {note}", err=True)
    figures = after.compared()
    found_apart = changes.differences(before.compared(), figures)
    form = (
        after.form
        | forms_measured.form(tried.space)
        | forms.tried(tried.given, [one.as_dict() for one in found_apart], before.form)
    )
    names = {slug: crop.name for slug, crop in tables.crops.items()}
    comparison = changes.tried(tried.given, found_apart, names, figures.get("currency"))
    _print(after, form, f"{comparison}\nWith that\n\n", as_json=as_json)


def _tell(words: str, slow: bool) -> None:
    if slow and sys.stderr.isatty():
        typer.echo(words, err=True)


def _print(found: Answer, form: Json, above: str, *, as_json: bool) -> None:
    if found.keep:
        found.keep(form)
    for note in found.notes:
        typer.echo(note, err=True)
    if as_json and form:
        typer.echo(forms.dumps(form), nl=False)
    elif not as_json and (found.form or above):
        said = above + found.screen()
        more = found.following and not above
        typer.echo(f"{said.rstrip()}\n\nNext, type: {found.following}" if more else said)
    if found.code:
        raise typer.Exit(found.code)
