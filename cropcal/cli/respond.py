"""Print a command's answer; with ``--set``, compute it twice and compare before and after."""

import shlex
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import typer

from cropcal.cli.working import working
from cropcal.problems import Exit
from cropcal.records.crop import CropTables
from cropcal.records.journal import Entry
from cropcal.records.space import Space
from cropcal.season.beside import Noted, noted, reminders
from cropcal.season.care import Dangers, dangers_of, take_care
from cropcal.season.opened import Begin, opened
from cropcal.show import hazard_words
from cropcal.show.data import json_forms as forms
from cropcal.show.data import measured_form as forms_measured
from cropcal.show.data.json_forms import Json
from cropcal.show.glance.fitting import ScreenPart, fitted
from cropcal.show.terminal import before_and_after as changes
from cropcal.show.text import LINES

FEW_ROWS = 6
"""Figures that change, shown before what matters first with the values that are tried."""


@dataclass(frozen=True)
class Answer:
    """The answer of a command about one space.

    ``form`` is what ``--json`` prints and ``screen`` makes the text. ``figures`` are compared where a
    value is tried, the form if there are none. ``notes`` go to stderr. ``keep`` writes files, given the
    whole form. ``following`` is what to type next. ``glance`` is what is shown first where not everything is
    asked for, and ``everything`` the command that prints all of it with ``--all``. ``care_on`` is the screen
    by which cautions are chosen, none if "", and ``care_in`` the space they look at, None: that asked about.
    """

    form: Json
    screen: Callable[[], str]
    figures: Callable[[], Json] | None = None
    notes: tuple[str, ...] = ()
    code: Exit = Exit.DONE
    keep: Callable[[Json], None] | None = None
    following: str = ""
    glance: Callable[[], Sequence[ScreenPart]] | None = None
    everything: str = ""
    care_on: str = ""
    care_in: Space | None = None

    def compared(self) -> Json:
        """Return the figures that are compared with those of another space."""
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
    on: date | None = None,
    sow: str | None = None,
    begin: Begin | None = None,
    whole: bool = True,
) -> None:
    """Read a space, answer, print; with ``--set`` for the file as it stands and for the tried values.

    Parameters
    ----------
    path
        The space.
    options
        ``KEY=VALUE`` of every ``--set``.
    answer
        Function from a space to the command's answer.
    as_json
        Whether to print the form instead of the screen.
    slow
        Whether to show on a terminal which of the two is being computed.
    pick_hours
        Whether zones without hours get picked ones first.
    journal
        The journal, whose notes that differ from the file are reported.
    on
        The day from which the file's settings count where they changed since the last plan; today if None.
        Measurements count up to that day, or today if that is later.
    sow
        How much is sown, in place of what the file says.
    begin
        Function to the late beginning of a space that lay idle from its start.
    whole
        Whether to print all there is to say, not only what matters first.
    """
    present = opened(path, (), on, sow)
    tables = present.tables
    events = (journal or noted(path)).journal.events
    for doubt in present.file.doubts:
        typer.echo(hazard_words.doubt(doubt), err=True)
    for line in (*present.notes, *reminders(present.space, journal)):
        typer.echo(line, err=True)

    if not options:
        with working("getting ready"):
            space = present.ready(begin, pick_hours=pick_hours)
            found = _careful(answer(space, tables), space, tables, events)
            dangers = dangers_of(space, tables, events)
        _say_newer(journal)
        _print(found, found.form | forms_measured.form(space), dangers, "", as_json=as_json, whole=whole)
        return
    trying = opened(path, options, on, sow)  # first of all, so that its mistakes are reported at once
    for doubt in trying.file.doubts:
        if doubt not in present.file.doubts:
            typer.echo(hazard_words.doubt(doubt), err=True)
    with working("getting ready"):
        space = present.ready(begin, pick_hours=pick_hours)
        tried = trying.ready(begin, pick_hours=pick_hours)
    _tell("planning with the file as it is ...", slow)
    with working("with the file as it is"):
        before = answer(space, tables)
    _tell("and with the values that are tried ...", slow)
    with working("with the values that are tried"):
        after = _careful(answer(tried, tables), tried, tables, events)
    for note in before.notes:
        if note not in after.notes:
            typer.echo(f"With the file as it is: {note}", err=True)
    figures = after.compared()
    differences = changes.differences(before.compared(), figures)
    form = (
        after.form
        | forms_measured.form(tried)
        | forms.tried(trying.given, [difference.as_dict() for difference in differences], before.form)
    )
    names = {slug: crop.name for slug, crop in tables.crops.items()}
    comparison = changes.tried(
        trying.given, differences, names, figures.get("currency"), changes.MOST_ROWS if whole else FEW_ROWS
    )
    dangers = dangers_of(tried, tables, events)
    _say_newer(journal)
    if after.everything:
        settings = (f"--set {shlex.quote(option)}" for option in options)
        after = replace(after, everything=" ".join([after.everything, *settings]))
    _print(after, form, dangers, f"{comparison}\nWith that\n\n", as_json=as_json, whole=whole)


def _careful(found: Answer, space: Space, tables: CropTables, events: Sequence[Entry]) -> Answer:
    """Return an answer that ends with the cautions of its screen."""
    if not found.care_on or not found.form:
        return found
    care = take_care(found.care_on, found.care_in or space, tables, events)
    if not care.form:
        return found
    glance = found.glance
    return replace(
        found,
        form=found.form | care.form,
        figures=found.compared,
        screen=lambda: f"{found.screen().rstrip()}\n{care.section}",
        glance=None if glance is None else lambda: [*glance(), care.part],
    )


def _tell(words: str, slow: bool) -> None:
    if slow and sys.stderr.isatty():
        typer.echo(words, err=True)


def _say_newer(journal: Noted | None) -> None:
    for note in journal.notes if journal else ():
        typer.echo(note, err=True)


def _print(found: Answer, form: Json, dangers: Dangers, above: str, *, as_json: bool, whole: bool) -> None:
    """Print an answer, dangers first."""
    form = dangers.form | form if form else form
    if found.keep:
        with working("drawing and writing the files"):
            found.keep(form)
    for note in found.notes:
        typer.echo(note, err=True)
    if as_json and form:
        typer.echo(forms.dumps(form), nl=False)
    elif not as_json and (found.form or above):
        following = "" if above else found.following
        with working("writing the answer"):
            screen = _screen(found, dangers.first_lines + above, following, whole=whole)
        typer.echo(screen)
    if found.code:
        raise typer.Exit(found.code)


def _screen(found: Answer, above: str, following: str, *, whole: bool) -> str:
    """Return all there is to say, or what matters first where that is too long for a terminal."""
    said = above + found.screen()
    last = [f"Next, type: {following}"] if following else []
    if not whole and found.glance and found.form and said.rstrip().count("\n") + 1 + 2 * len(last) > LINES:
        last = [f"All of it: {found.everything} --all", *last]
        said = above + fitted(found.glance(), LINES - above.count("\n") - 1 - len(last))
    return "\n".join([said.rstrip(), "", *last]) if last else said
