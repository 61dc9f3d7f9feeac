"""What conditions of cautions look at: the space, and what follows from it without any forecast."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Final

from cropcal.records.base import MINUTES_PER_DAY
from cropcal.records.crop import Crop, CropTables
from cropcal.records.hazard import CropAllergen
from cropcal.records.journal import Entry
from cropcal.records.space import Space, Zone

NIGHT: Final = (23 * 60, 6 * 60)
"""When most people sleep, in minutes after local midnight (common practice)."""

SOLUTION_WORDS: Final = r"solution|nutrient|fertili[sz]er|feed|acid|ph|ec|tank|reservoir"
"""Words by which the name of a chore or load shows that chemicals are mixed here."""

MOULD_WORDS: Final = r"mou?ld(?:s|y)?|mildew|fung(?:us|i|al)|botrytis"
"""Words by which a note of the journal shows that mould was seen."""


WATER_CM: Final = 10.0
"""Depth of the water in boxes whose volume is not given (assumed)."""


@dataclass(frozen=True)
class Situation:
    """A space as conditions see it: with lamp hours where known, its tables, its journal, and today."""

    space: Space
    tables: CropTables
    events: Sequence[Entry]
    on: date

    @cached_property
    def crops(self) -> tuple[Crop, ...]:
        """Return the crops that are wanted or stand already, in the order of the file."""
        wanted = [slug for want in self.space.wants for slug in want.crops]
        slugs = dict.fromkeys([*wanted, *(plants.crop for plants in self.space.growing)])
        return tuple(self.tables.crops[slug] for slug in slugs)

    @property
    def serves_others(self) -> bool:
        """Return whether people outside the household eat here."""
        return self.space.care.eaten_by != "household"

    @property
    def seedlings(self) -> tuple[Crop, ...]:
        """Return the crops that are eaten as seedlings: shoots and microgreens."""
        return tuple(crop for crop in self.crops if crop.is_seedling)

    @property
    def allergens(self) -> tuple[CropAllergen, ...]:
        """Return the crops that are an allergen or may hold one; a sure one stands for the unsure."""
        found: dict[tuple[str, str], CropAllergen] = {}
        for crop in self.crops:
            for row in self.tables.allergens:
                key = (crop.slug, row.allergen)
                known = found.get(key)
                if has_word("|".join(map(re.escape, row.words)), *names_of(crop)) and not (
                    known and known.sure
                ):
                    found[key] = CropAllergen(crop=crop.slug, allergen=row.allergen, sure=row.sure)
        return tuple(found.values())

    @property
    def nights_min(self) -> dict[str, int]:
        """Return the most minutes of a night in which each lamp is on, by zone; none of unknown hours."""
        from cropcal.planning.power.lamp_hours import lit_by_month

        lamped = {fixture.zone for fixture in self.space.fixtures}
        return {
            zone.name: max(night_minutes(month) for month in lit_by_month(self.space, zone))
            for zone in self.space.zones
            if zone.name in lamped and (zone.lit is not None or zone.photoperiod_h is not None)
        }

    def water_l(self, zone: Zone) -> float:
        """Return the litres of a zone: its tank, else what its boxes hold at an assumed depth."""
        if zone.tank_l is not None:
            return zone.tank_l
        return sum(
            (bed.length_m or 0.0) * (bed.width_m or 0.0) * WATER_CM * 10.0
            for bed in self.space.beds
            if bed.zone == zone.name and bed.kind == "sites"
        )

    def lamps_with(self, danger: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Return the kinds of lamp that have a danger, and the zones in which they hang."""
        lamps = [
            fixture
            for fixture in self.space.fixtures
            if danger in self.tables.lamps[fixture.lamp].dangers.split(" + ")
        ]
        kinds = dict.fromkeys(fixture.lamp for fixture in lamps)
        return tuple(kinds), tuple(dict.fromkeys(fixture.zone for fixture in lamps))


def names_of(crop: Crop) -> tuple[str, str, str]:
    """Return the names by which a crop may be known: its own, the species, the slug as words."""
    return crop.name, crop.latin, crop.slug.replace("-", " ")


def has_word(pattern: str, *texts: str) -> bool:
    """Return whether any text has the pattern as whole words, in letters of either case."""
    whole = re.compile(rf"(?<!\w)(?:{pattern})(?!\w)", re.IGNORECASE)
    return any(whole.search(text) for text in texts)


def night_minutes(lit: Sequence[tuple[int, int]]) -> int:
    """Return the minutes of a night in which a lamp with these hours is on."""
    night = _minutes(*NIGHT)
    return len(night & {minute for start, end in lit for minute in _minutes(start, end)})


def _minutes(start: int, end: int) -> set[int]:
    length = (end - start) % MINUTES_PER_DAY or MINUTES_PER_DAY
    return {(start + minute) % MINUTES_PER_DAY for minute in range(length)}
