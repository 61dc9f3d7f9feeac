"""``cropcal care``: the cautions that hold for a space."""

from collections.abc import Sequence
from pathlib import Path

from cropcal.cli.respond import Answer, respond
from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.season.beside import noted
from cropcal.season.care import cautions_here
from cropcal.season.files import names
from cropcal.show import care_words
from cropcal.show.glance.care import care_glance
from cropcal.show.terminal.care import care as care_screen
from cropcal.show.text import as_typed


def care(path: Path, *, as_json: bool, sets: Sequence[str] = (), whole: bool = False) -> None:
    """Print all cautions that hold in a space, the three general ones first."""
    journal = noted(path)

    def answer(space: Space, tables: CropTables) -> Answer:
        cautions = cautions_here(space, tables, journal.journal.events)
        named, place = names(tables), space.place.name
        return Answer(
            {"care": care_words.form(cautions, named)},
            lambda: care_screen(place, cautions, named, space.care),
            figures=lambda: {one.code: "holds" for one in cautions},
            glance=lambda: care_glance(place, cautions, named),
            everything=as_typed("care", path),
        )

    respond(path, sets, answer, as_json=as_json, journal=journal, whole=whole)
