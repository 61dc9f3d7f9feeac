"""``cropcal explain``: what a word means."""

from typing import Annotated

import typer


def explain(
    words: Annotated[
        list[str] | None, typer.Argument(metavar="[WORD]", help="Like DLI or batch.", show_default=False)
    ] = None,
) -> None:
    """Explain a word like DLI or batch; without a word, list all that are explained.

    Example: cropcal explain DLI
    """
    from cropcal.reading.text.source import shorten
    from cropcal.season.load import refuse_one
    from cropcal.show import glossary, text

    if not words:
        typer.echo(text.wrap(", ".join(glossary.WORDS)))
        typer.echo("\nTo have one explained, type for example: cropcal explain DLI")
        return
    word = " ".join(words)
    term = glossary.explained(word)
    if term is None:
        near = [f'"{name}"' for name in glossary.nearest_words(word)]
        hint = f"did you mean {' or '.join(near)}?" if near else "cropcal explain lists them all"
        refuse_one("WORD", f'"{shorten(word)}"', "a word of the glossary", hint)
    typer.echo(text.wrap(f"{term.word}: {term.meaning}"))
