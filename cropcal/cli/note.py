"""``cropcal log``: print what was noted, and the problems of the journal."""

from collections.abc import Sequence

import typer

from cropcal.season import log_words
from cropcal.season.log import log as note_down
from cropcal.season.log_words import Options


def note(words: Sequence[str], options: Options) -> None:
    """Note one event, take one back, correct one, or print the last ten."""
    path, rest = log_words.split_space(words, options)
    _, problems = note_down(path, rest, options, typer.echo)
    for problem in problems:
        typer.echo(str(problem), err=True)
