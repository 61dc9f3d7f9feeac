"""``cropcal new``: ask a few questions, or none, and write a commented space.toml."""

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import typer

from cropcal.cli.load import refuse_one
from cropcal.reading.crops import read_crop_tables
from cropcal.show.files import CannotWriteError, write_all
from cropcal.show.template import Answers, space_toml

QUESTIONS: dict[str, tuple[str, Any]] = {
    "name": ("What do you call it?", "my shelf"),
    "length_m": ("How long is the floor under the lamp, in metres?", 1.0),
    "width_m": ("And how wide, in metres?", 0.5),
    "pots": ("How many pots or net cups stand there?", 8),
    "watts": ("How many watts is the lamp (label or plug meter)?", 100.0),
    "photoperiod_h": ("How many hours a day does it burn? (don't know: they are picked)", None),
    "price": ("What does a kWh cost?", 0.3),
    "crops": (
        "What do you like to eat (crops, with commas)?",
        "lettuce-looseleaf, lettuce-butterhead, basil",
    ),
}
UNKNOWN = ("?", "don't know", "dont know", "no idea")
LIMITS = {
    "length_m": (0.05, 50.0),
    "width_m": (0.05, 50.0),
    "pots": (1, 2000),
    "watts": (1.0, 20000.0),
    "photoperiod_h": (1.0, 24.0),
    "price": (0.0, 1000.0),
}


def start(folder: Path, *, yes: bool, given: dict[str, Any]) -> None:
    """Write space.toml into a folder, from flags, answers and defaults."""
    target = folder / "space.toml"
    if target.exists():
        refuse_one(str(target), "a space file already there", "a new folder", "nothing was changed")
    answers = {
        key: given[key] if given[key] is not None else default if yes else _ask(question, default)
        for key, (question, default) in QUESTIONS.items()
    }
    for key, (low, high) in LIMITS.items():
        if answers[key] is not None and not low <= answers[key] <= high:
            flag = f"--{key.replace('_', '-')}"
            refuse_one(flag, f"{answers[key]:g}", f"a number from {low:g} to {high:g}")
    crops = tuple(word.strip() for word in answers.pop("crops").split(",") if word.strip())
    text = space_toml(Answers(**answers, crops=crops, start=_next_monday()), _units(crops))
    try:
        write_all(folder, {"space.toml": text})
    except CannotWriteError as error:
        refuse_one(str(target), str(error), "a folder to write into")
    typer.echo(f"Wrote {target}. Next: cropcal plan {folder}")


def _ask(question: str, default: Any) -> Any:
    """Ask until the answer can be read; a comma may stand for the point, "don't know" takes the default."""
    while True:
        shown = "don't know" if default is None else f"{default}"
        answer = str(typer.prompt(question, default=shown, type=str)).strip()
        if answer.lower() in UNKNOWN:
            return default
        if isinstance(default, str):
            return answer
        try:
            number = float if default is None else type(default)
            return number(answer.replace(",", "."))
        except ValueError:
            kind = "whole number" if isinstance(default, int) else "number"
            typer.echo(f'"{answer}" is no {kind}; try again, or say "don\'t know".')


def _next_monday() -> date:
    today = date.today()  # noqa: DTZ011 - the user's own calendar day
    return today + timedelta(days=(7 - today.weekday()) % 7)


def _units(crops: tuple[str, ...]) -> list[str]:
    """Return the unit of each crop; stop at one that is unknown or does not grow in pots."""
    from difflib import get_close_matches

    tables, _ = read_crop_tables(None)
    known = tables.crops if tables else {}
    if not crops:
        refuse_one("--crops", "nothing", "at least one crop", "cropcal crops lists them")
    for slug in crops:
        if slug not in known:
            near = get_close_matches(slug, known, n=1)
            hint = f"did you mean {near[0]}?" if near else "cropcal crops lists them"
            refuse_one("--crops", f'"{slug}"', "a crop of the table", hint)
        if known[slug].kind in ("tray", "shoots"):
            refuse_one("--crops", f'"{slug}"', "crops that grow in pots", "add a tray bed to the file later")
    return [known[slug].unit for slug in crops]
