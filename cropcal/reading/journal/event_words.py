"""The words people use for events, and amounts with their units."""

import re
from dataclasses import dataclass
from typing import Final, get_args

from cropcal.reading.text.suggestions import nearest
from cropcal.records.journal import EventName

EVENTS: Final[tuple[EventName, ...]] = get_args(EventName)
LOGGED_EVENTS: Final[tuple[EventName, ...]] = tuple(event for event in EVENTS if event != "undone")
"""The events that ``cropcal log`` takes; ``undone`` is written by ``--undo``."""

SYNONYMS: Final[dict[str, EventName]] = {
    "sow": "sown",
    "sowed": "sown",
    "emerge": "emerged",
    "up": "emerged",
    "came up": "emerged",
    "transplant": "transplanted",
    "moved": "transplanted",
    "harvest": "harvested",
    "cut": "harvested",
    "picked": "harvested",
    "dead": "lost",
    "died": "lost",
    "bolt": "bolted",
    "tipburn": "tip burn",
    "notready": "not ready",
    "light": "reading",
    "light reading": "reading",
    "ppfd": "reading",
    "temperature": "air",
    "hours": "lamp hours",
    "lamphours": "lamp hours",
    "invoice": "bill",
    "power bill": "bill",
    "electricity bill": "bill",
    "undo": "undone",
}
_UNIT_WORDS: Final = {
    "heads": ("head", "heads"),
    "g": ("g", "gram", "grams", "gr"),
    "kg": ("kg", "kilo", "kilos", "kilogram", "kilograms"),
    "sites": ("site", "sites", "pot", "pots", "cup", "cups"),
    "cells": ("cell", "cells", "plug", "plugs"),
    "trays": ("tray", "trays"),
    "plants": ("plant", "plants", "seedling", "seedlings"),
    "seeds": ("seed", "seeds"),
    "umol_m2_s": ("umol_m2_s", "umol", "µmol", "μmol", "umol/m2/s", "µmol/m²/s", "μmol/m²/s", "ppfd"),
    "lux": ("lux", "lx"),
    "klux": ("klux", "klx"),
    "C": ("c", "°c", "celsius"),
    "F": ("f", "°f", "fahrenheit"),
    "h": ("h", "hour", "hours", "hr", "hrs"),
    "min": ("min", "mins", "minute", "minutes"),
}
_UNITS = {word: unit for unit, words in _UNIT_WORDS.items() for word in words}
_AMOUNT = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*([^\d\s.,+-]\S*)?", re.ASCII)

_THOUSANDS = re.compile(r"[-+]?\d{1,3},\d{3}", re.ASCII)
"""1,240 may be 1240 or 1.24, so it is refused."""


def event_of(word: str) -> EventName | None:
    """Return the event that one or two words name, None if they name none."""
    phrase = " ".join(word.casefold().replace("-", " ").replace("_", " ").split())
    known: dict[str, EventName] = {**{event: event for event in EVENTS}, **SYNONYMS}
    return known.get(phrase)


def nearest_event(word: str) -> EventName | None:
    """Return the event that a misspelled word most likely means."""
    near = nearest(word, [*LOGGED_EVENTS, *(word for word in SYNONYMS if word != "undo")])
    return event_of(near) if near else None


def unit_of(word: str) -> str | None:
    """Return the unit that a word stands for, None if it is none."""
    return _UNITS.get(word.casefold())


@dataclass(frozen=True)
class Quantity:
    """A number and the unit behind it, "" if there was none."""

    value: float
    unit: str


def quantities(words: list[str]) -> list[Quantity] | str:
    """Return the amounts in some words ("3 heads 420 g" is two), or the part that is no amount.

    kg become g, minutes hours, klux lux, and °F °C.
    """
    amounts = []
    left = " ".join(words).strip()
    while left:
        match = _AMOUNT.match(left)
        if match is None:
            return left
        unit = unit_of(match[2].rstrip(",;")) if match[2] else ""
        if unit is None or _THOUSANDS.fullmatch(match[1]):
            return match[0]
        amounts.append(_plain(float(match[1].replace(",", ".")), unit))
        left = left[match.end() :].strip(" ,;+")
    return amounts


def _plain(value: float, unit: str) -> Quantity:
    match unit:
        case "kg":
            return Quantity(round(value * 1000, 6), "g")
        case "klux":
            return Quantity(round(value * 1000, 6), "lux")
        case "min":
            return Quantity(round(value / 60, 6), "h")
        case "F":
            return Quantity(round((value - 32) / 1.8, 2), "C")
    return Quantity(value, unit)
