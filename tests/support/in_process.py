"""The command in this process: what it prints and its exit code, without the second that a start takes."""

import contextlib
from dataclasses import dataclass
from pathlib import Path

from typer.testing import CliRunner

from cropcal.cli.main import app


@dataclass(frozen=True)
class Done:
    """What a command left behind: its exit code and what it printed on each stream, and on both in turn."""

    returncode: int
    stdout: str
    stderr: str
    both: str


def cropcal(
    *words: str, cwd: Path | None = None, typed: str | None = None, env: dict[str, str] | None = None
) -> Done:
    """Run a command, in a folder, with what is typed; a traceback is raised as the error it is of."""
    with contextlib.chdir(cwd or Path.cwd()):
        done = CliRunner().invoke(
            app, list(map(str, words)), input=typed, env=env, catch_exceptions=False, prog_name="cropcal"
        )
    return Done(done.exit_code, done.stdout, done.stderr, done.output)
