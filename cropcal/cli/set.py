"""Change space.toml for good: what ``--set`` only tries."""

import shlex
from collections.abc import Sequence
from pathlib import Path

import typer

from cropcal.season.edit import Kept, keep_settings
from cropcal.show.text import as_typed, bullets


def keep(path: Path, options: Sequence[str]) -> None:
    """Write values into the file of a space, and say what that changed and how to go back."""
    typer.echo(_said(path, keep_settings(path, options)))


def _said(path: Path, kept: Kept) -> str:
    if not kept.changes or all(change.before == change.now for change in kept.changes):
        return f"{kept.file} holds that already: nothing changed."
    lines = []
    for change in kept.changes:
        was = "was not there" if change.before is None else f"was {change.before}"
        now = "taken out" if change.now is None else change.now
        because = f"; {change.because} is used instead" if change.because else ""
        lines.append(f"{change.key}: {now} ({was}{because})")
    back = as_typed("set", path, *(shlex.quote(option) for option in kept.undo))
    return (
        f"Changed in {kept.file}:\n{bullets(lines).rstrip()}\n\nTo go back: {back}\n"
        f"Next, type: {as_typed('plan', path)}"
    )
