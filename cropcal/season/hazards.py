"""What is dangerous in a space: first on every screen and page, ``hazards`` in every form of JSON."""

from collections.abc import Sequence
from dataclasses import dataclass

from cropcal.records.crop import CropTables
from cropcal.records.journal import Entry
from cropcal.records.space import Space
from cropcal.show import hazard_words
from cropcal.show.data.json_forms import Json


@dataclass(frozen=True)
class Dangers:
    """What is dangerous in a space: the first lines of a screen, and ``hazards[]`` of JSON."""

    first_lines: str
    form: Json


def dangers_of(space: Space, tables: CropTables, events: Sequence[Entry]) -> Dangers:
    """Return what is dangerous in a space; ``events`` are what its journal says."""
    from cropcal.planning.hazards import hazards

    found = hazards(space, tables, events)
    names = {slug: crop.name for slug, crop in tables.crops.items()}
    return Dangers(hazard_words.first_lines(found, names), hazard_words.form(found, names))
