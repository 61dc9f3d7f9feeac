"""``cropcal new``: ten short questions at most, a commented space.toml, and the first answer at once."""

import sys
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import typer

from cropcal.cli.search import effort
from cropcal.letters import clean, is_name
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.files.file_set import CannotWriteError, write_set
from cropcal.reading.interview.answers import AskBack, Heard, is_unknown, unit_in
from cropcal.reading.interview.questions import TRAY, Question, questions
from cropcal.reading.space.read import read_space_text
from cropcal.reading.text.suggestions import SEEN
from cropcal.records.answers import Answers, LampOnHours
from cropcal.season import clock
from cropcal.season.care import dangers_of
from cropcal.season.load import load, refuse, refuse_one
from cropcal.season.mixes import asks_for_a_tray, chosen
from cropcal.show import hazard_words
from cropcal.show.data.space_template import space_toml
from cropcal.show.glance import new as new_glance
from cropcal.show.terminal import new as first_screen
from cropcal.show.text import LINES

LEFT_OPEN: dict[str, Any] = {"gap": None, "hours": LampOnHours(), "air": None}
"""The value for "don't know" where the space file may omit the key; else the question's default is used."""
LENGTHS = ("floor", "boxes", "gap")
"""Questions whose answers tell in which unit somebody gives lengths."""
LOOK_FOR_S = 30.0
"""Time limit of the first plan [s]; ``cropcal plan`` may take longer."""
NOT_SURE = "Press Enter if so, or say it another way"


class Reply(NamedTuple):
    """The value of an answer, None for "don't know", and what was assumed if it was not clear."""

    value: Any
    assumed: str = ""


def start(
    folder: Path, *, yes: bool, name: str | None, given: Mapping[str, str | None], whole: bool = False
) -> None:
    """Write space.toml into a folder, from flags, answers and defaults, and print a first plan."""
    target = folder / "space.toml"
    if target.exists():
        refuse_one(str(target), "a space file already there", "a new folder", "nothing was changed")
    tables, _ = read_crop_tables(None)
    if tables is None:
        refuse_one("crops.csv", "no crop table", "the tables that come with cropcal")
    all_questions = questions(tables)
    replies, more_answers = _replies(all_questions, given, ask=not yes)
    heard = Heard(clock.today())
    values: dict[str, Any] = {}
    assumed = [reply.assumed for reply in replies.values() if reply.assumed]
    for question in all_questions:
        reply = replies[question.key]
        values[question.key] = reply.value
        if reply.value is None:
            left_open = question.key in LEFT_OPEN
            values[question.key] = (
                LEFT_OPEN[question.key] if left_open else question.read(question.default, heard)
            )
            if not reply.assumed and not left_open:
                assumed.append(f"{question.key}: {_usual(question, values[question.key])}")
    if asks_for_a_tray(values["boxes"], values["floor"], values["eat"]):
        asked = _ask(TRAY, "One more", heard) if more_answers else None
        has_tray = asked is None or asked[0].value is not False
        values["boxes"] = values["boxes"].model_copy(update={"trays": int(has_tray)})
        if asked is None or asked[0].value is None:
            assumed.append("boxes: an open tray beside the pots, to sow leaves in")
    answers, more = chosen(
        Answers(
            name=_name(name, folder),
            start=values["start"],
            floor=values["floor"],
            boxes=values["boxes"],
            lamp=values["lamp"],
            gap_m=values["gap"],
            hours=values["hours"],
            air_c=values["air"],
            price=values["price"],
            wishes=values["eat"],
            work_days=values["days"],
        ),
        tables,
    )
    answers = answers.model_copy(update={"guessed": (*assumed, *more)})
    text = space_toml(answers)
    if problems := read_space_text(text, tables, str(target), today=clock.today())[1]:
        refuse(problems)
    try:
        write_set(folder, {"space.toml": text})
    except CannotWriteError as error:
        refuse([error.problem])
    typer.echo(f"\nWrote {target}\n")
    _first_plan(folder, answers, whole=whole)


def _replies(
    all_questions: tuple[Question, ...], given: Mapping[str, str | None], *, ask: bool
) -> tuple[dict[str, Reply], bool]:
    """Return the reply to each question, and whether more can be asked.

    A reply is that of the flag, else as it is typed, if it may be asked.
    """
    flags = {question.key: given[question.key] for question in all_questions}
    still_open = [question for question in all_questions if flags[question.key] is None]
    if ask and still_open:
        typer.echo("Press Enter to take what is in brackets.\n")
    replies: dict[str, Reply] = {}
    heard, ended = Heard(clock.today()), False
    for question in all_questions:
        text = flags[question.key]
        if text is not None:
            replies[question.key] = Reply(_of_flag(question, text, heard))
        elif not ask or ended:
            replies[question.key] = Reply(None)
        else:
            number = f"{still_open.index(question) + 1} of {len(still_open)}"
            asked = _ask(question, number, heard)
            if asked is None:
                ended = True
                typer.echo("No more answers: the rest is left to what is usual.")
            replies[question.key], text = asked or (Reply(None), "")
        if question.key in LENGTHS and (unit := unit_in(text or "")):
            heard = replace(heard, unit=unit)
    return replies, ask and not ended


def _usual(question: Question, value: Any) -> str:
    """Return what is usual in words: a day as its date."""
    return first_screen.understood("start", value) if question.key == "start" else question.default


def _name(given: str | None, folder: Path) -> str:
    """Return the name of the space: as given, or that of its folder."""
    if given is not None:
        if not is_name(given):
            refuse_one("--name", f'"{given}"', SEEN)
        return given[:80]
    name = clean(folder.resolve().name)[:80]
    return name if is_name(name) else "my shelf"


def _first_plan(folder: Path, answers: Answers, *, whole: bool) -> None:
    """Plan the new space and print a summary."""
    from cropcal.planning.planner import plan
    from cropcal.planning.site.next_measurement import most_unsure

    space, tables = load(folder)
    with effort(LOOK_FOR_S) as trying:
        result = plan(space, tables, trying)
    names = {slug: crop.name for slug, crop in tables.crops.items()}
    dangers = dangers_of(space, tables, ()).first_lines
    for doubt in space.doubts:
        typer.echo(hazard_words.doubt(doubt))
    shown = (result, names, answers.guessed, most_unsure(result.lights), str(folder))
    lines = LINES - dangers.count("\n")
    screen = first_screen.first(*shown) if whole else new_glance.first_glance(*shown, lines)
    typer.echo(dangers + screen, nl=False)


def _of_flag(question: Question, text: str, heard: Heard) -> Any:
    """Return the value of a flag, None for "don't know"; raise if it cannot be read."""
    if is_unknown(text):
        return None
    try:
        return question.read(text, heard)
    except AskBack as error:
        refuse_one(
            f"--{question.key}", f'"{text}": {error}', f'something like "{error.likely or question.like}"'
        )


def _ask(question: Question, number: str, heard: Heard) -> tuple[Reply, str] | None:
    """Ask until the answer can be read, and return it with its text; None if no answers are left.

    Answers from a file get no second try: what was likely meant is taken, else what is usual, and said so.
    """
    typer.echo(f"{number}: {question.ask}\n   like: {question.like}")
    bracket = question.default
    while True:
        try:
            text = str(typer.prompt("  ", default=bracket, type=str)).strip()
        except typer.Abort:
            typer.echo("")
            if sys.stdin.isatty():
                refuse_one(f"question {number}", "the end of the answers", "one more", "nothing was written")
            return None
        if not sys.stdin.isatty():
            typer.echo(text)
        if is_unknown(text) or text == question.default:
            return Reply(None), ""
        try:
            value = question.read(text, heard)
        except AskBack as error:
            message = f"   Not {'understood' if error.likely is None else 'sure'}: {error}"
            taken = error.likely or question.default
            if sys.stdin.isatty():
                again = f'. Try again, like: {question.like}; or "don\'t know".'
                typer.echo(message + (again if error.likely is None else f" {NOT_SURE}."))
                bracket = taken
                continue
            so = ". The usual is taken:" if error.likely is None else " Taken as"
            typer.echo(f"{message}{so} {taken}.")
            reply = Reply(None if error.likely is None else question.read(error.likely, heard))
            return reply._replace(assumed=f'{question.key}: {taken} ("{text}" was not clear)'), taken
        typer.echo(f"   = {first_screen.understood(question.key, value)}")
        return Reply(value), text
