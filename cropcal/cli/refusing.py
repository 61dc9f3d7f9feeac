"""Ask which of several things is meant, and end a command on mistakes in the input with exit code 2."""

from collections.abc import Sequence
from typing import Any

import typer

from cropcal.cli.gate import GatedGroup
from cropcal.problems import Exit
from cropcal.season.errors import Meaning, SpaceError, asker

NOBODY_ASKED = ("open",)
"""Commands that serve others: whoever asks them sits at another screen."""


class Refusing(GatedGroup):
    """Commands that report wrong input with one line for each mistake, without a traceback."""

    def invoke(self, ctx: Any) -> Any:
        """Run a command; print the problems that it raises."""
        name = next(iter([*ctx._protected_args, *ctx.args]), "")
        asker.set(None if name in NOBODY_ASKED else ask)
        try:
            return super().invoke(ctx)
        except SpaceError as error:
            for problem in error.problems:
                typer.echo(str(problem), err=True)
            raise typer.Exit(Exit.BAD_INPUT) from None


def ask(text: str, choices: Sequence[Meaning]) -> str | None:
    """Ask on a terminal which of some choices is meant; None where nobody can answer, or means none."""
    from cropcal.cli.begun import on_terminal
    from cropcal.cli.working import hidden

    if not on_terminal():
        return None
    with hidden():
        typer.echo(f'"{text}" may mean:', err=True)
        for number, choice in enumerate(choices, 1):
            named = f"{choice.word} ({choice.what})" if choice.what else choice.word
            typer.echo(f"  {number}  {named}", err=True)
        while True:
            question = f"Which one (1 to {len(choices)}; Enter for none)?"
            answer = typer.prompt(
                question, default="", show_default=False, prompt_suffix=" ", err=True
            ).strip()
            if not answer:
                return None
            if answer.isdecimal() and 1 <= int(answer) <= len(choices):
                return choices[int(answer) - 1].word
