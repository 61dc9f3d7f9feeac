"""What is dangerous in a space, first on each screen; and the cautions that hold, each where it matters."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from cropcal.records.crop import CropTables
from cropcal.records.hazard import Caution
from cropcal.records.journal import Entry
from cropcal.records.space import Space
from cropcal.season import clock
from cropcal.show import care_words, hazard_words, text
from cropcal.show.data.json_forms import Json
from cropcal.show.glance.care import care_part
from cropcal.show.glance.fitting import ScreenPart


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


@dataclass(frozen=True)
class TakeCare:
    """The cautions of one screen: its last section, its part of the short form, and ``care[]`` of JSON."""

    section: str
    part: ScreenPart
    form: dict[str, Any]


def cautions_here(
    space: Space, tables: CropTables, events: Sequence[Entry] = (), on: date | None = None
) -> tuple[Caution, ...]:
    """Return all cautions that hold, the three general ones first; ``on``: the day, today if None."""
    from cropcal.planning.care.rules import cautions

    return cautions(space, tables, events, on or clock.today())


def take_care(screen: str, space: Space, tables: CropTables, events: Sequence[Entry]) -> TakeCare:
    """Return the cautions that are printed on a screen, by its name in ``care_words.SCREENS``."""
    names = {slug: crop.name for slug, crop in tables.crops.items()}
    here = care_words.on_screen(cautions_here(space, tables, events), screen)
    section = text.section("Take care here", text.bullets(care_words.sentences(here, names)))
    return TakeCare(section, care_part(here, names), {"care": care_words.form(here, names)} if here else {})
