"""``cropcal new``: eight questions at most, a commented space.toml, and the first answer at once."""

import sys
from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import typer

from cropcal.cli.search import effort
from cropcal.letters import clean, is_name
from cropcal.reading.crops.read import read_crop_tables
from cropcal.reading.files.file_set import CannotWriteError, write_set
from cropcal.reading.interview.answers import is_unknown
from cropcal.reading.interview.questions import Question, questions
from cropcal.reading.text.suggestions import SEEN
from cropcal.records.answers import Answers, LampOnHours
from cropcal.season import clock
from cropcal.season.hazards import dangers_of
from cropcal.season.load import load, refuse, refuse_one
from cropcal.show import hazard_words
from cropcal.show.data.space_template import space_toml
from cropcal.show.terminal import new as first_screen

LEFT_OPEN: dict[str, Any] = {"gap": None, "hours": LampOnHours(), "air": None}
"""The value for "don't know" where the space file may omit the key; else the question's default is used."""
LOOK_FOR_S = 30.0
"""Time limit of the first plan [s]; ``cropcal plan`` may take longer."""


def start(folder: Path, *, yes: bool, name: str | None, given: Mapping[str, str | None]) -> None:
    """Write space.toml into a folder, from flags, answers and defaults, and print a first plan."""
    target = folder / "space.toml"
    if target.exists():
        refuse_one(str(target), "a space file already there", "a new folder", "nothing was changed")
    tables, _ = read_crop_tables(None)
    if tables is None:
        refuse_one("crops.csv", "no crop table", "the tables that come with cropcal")
    all_questions = questions(tables)
    flags = {
        question.key: given[question.key] for question in all_questions if given[question.key] is not None
    }
    values = {
        question.key: _of_flag(question, str(flags[question.key]))
        for question in all_questions
        if question.key in flags
    }
    if not yes and len(values) < len(all_questions):
        typer.echo('Press Enter, or say "don\'t know", to take what stands in brackets.\n')
    open_questions = [question for question in all_questions if question.key not in values]
    for number, question in enumerate(open_questions, 1):
        values[question.key] = None if yes else _ask(question, f"{number} of {len(open_questions)}")
    guessed = [
        question
        for question in all_questions
        if values[question.key] is None and question.key not in LEFT_OPEN
    ]
    for question in all_questions:
        if values[question.key] is None:
            values[question.key] = (
                LEFT_OPEN[question.key] if question.key in LEFT_OPEN else question.read(question.default)
            )
    answers = Answers(
        name=_name(name, folder),
        start=_next_monday(),
        floor=values["floor"],
        boxes=values["boxes"],
        lamp=values["lamp"],
        gap_m=values["gap"],
        hours=values["hours"],
        air_c=values["air"],
        price=values["price"],
        wishes=values["eat"],
        guessed=tuple(f"{question.key}: {question.default}" for question in guessed),
    )
    try:
        write_set(folder, {"space.toml": space_toml(answers)})
    except CannotWriteError as error:
        refuse([error.problem])
    typer.echo(f"\nWrote {target}\n")
    _first_plan(folder, answers)


def _name(given: str | None, folder: Path) -> str:
    """Return the name of the space: as given, or that of its folder."""
    if given is not None:
        if not is_name(given):
            refuse_one("--name", f'"{given}"', SEEN)
        return given[:80]
    name = clean(folder.resolve().name)[:80]
    return name if is_name(name) else "my shelf"


def _first_plan(folder: Path, answers: Answers) -> None:
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
    typer.echo(
        dangers + first_screen.first(result, names, answers.guessed, most_unsure(result.lights), str(folder)),
        nl=False,
    )


def _of_flag(question: Question, text: str) -> Any:
    """Return the value of a flag, None for "don't know"; raise if it cannot be read."""
    if is_unknown(text):
        return None
    try:
        return question.read(text)
    except ValueError as error:
        refuse_one(f"--{question.key}", f'"{text}": {error}', f'something like "{question.like}"')


def _ask(question: Question, number: str) -> Any:
    """Ask until the answer can be read; None is "don't know". Answers from a file get no second try."""
    typer.echo(f"{number}: {question.ask}\n   like: {question.like}")
    while True:
        try:
            text = str(typer.prompt("  ", default=question.default, type=str)).strip()
        except typer.Abort:
            typer.echo("")
            refuse_one(f"question {number}", "the end of the answers", "one more", "--yes takes defaults")
        if not sys.stdin.isatty():
            typer.echo(text)
        if is_unknown(text) or text == question.default:
            return None
        try:
            return question.read(text)
        except ValueError as error:
            if not sys.stdin.isatty():
                refuse_one(f"question {number}", f'"{text}": {error}', f'something like "{question.like}"')
            typer.echo(f'   Not understood: {error}. Try again, like: {question.like}; or "don\'t know".')


def _next_monday() -> date:
    today = clock.today()
    return today + timedelta(days=(7 - today.weekday()) % 7)
