"""End a command on mistakes in the input: printed one a line, with exit code 2."""

from typing import Any

import typer

from cropcal.cli.gate import GatedGroup
from cropcal.problems import Exit
from cropcal.season.errors import SpaceError


class Refusing(GatedGroup):
    """Commands that report wrong input with one line for each mistake, without a traceback."""

    def invoke(self, ctx: Any) -> Any:
        """Run a command; print the problems that it raises."""
        try:
            return super().invoke(ctx)
        except SpaceError as error:
            for problem in error.problems:
                typer.echo(str(problem), err=True)
            raise typer.Exit(Exit.BAD_INPUT) from None
