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
    if term is None and (lines := _crops(word)):
        typer.echo("\n".join(text.wrap(line, later="  ") for line in lines))
        return
    if term is None:
        near = [f'"{name}"' for name in glossary.nearest_words(word)]
        hint = f"did you mean {' or '.join(near)}?" if near else "cropcal explain lists them all"
        refuse_one("WORD", f'"{shorten(word)}"', "a word of the glossary", hint)
    typer.echo(text.wrap(f"{term.word}: {term.meaning}"))


def _crops(word: str) -> list[str]:
    """Return a line on each crop that a word names, none if it names no crop."""
    from cropcal.reading.crops.read import read_crop_tables
    from cropcal.reading.text.crop_names import crops_named

    tables, _ = read_crop_tables(None)
    if tables is None:
        return []
    lines, slugs = [], crops_named(word, tables)
    for slug in slugs:
        crop = tables.crops[slug]
        others = [name for name, slugs in tables.common_names.items() if slug in slugs]
        called = f", also called {', '.join(others)}" if others else ""
        lines.append(f"{crop.name}: a crop, {crop.latin}{called}; in files {slug}.")
    if len(slugs) == 1:
        lines.append(f"Its values and their sources: cropcal crops --sources {slugs[0]}")
    return lines
