"""Answers as people type them: numbers with a comma or a point, sizes with or without a unit, times."""

import re
from collections.abc import Iterable

NUMBER = r"(\d+(?:[.,]\d+)?)"
LENGTH = NUMBER + r"\s*(mm|cm|metres?|meters?|m|inches|inch|in|feet|foot|ft)?(?![a-wyz])"
SIZE = LENGTH + r"\s*(?:x|×|by)\s*" + LENGTH
STRETCH = r"(\d{1,2})(?::(\d\d))?\s*(?:-|–|to|until|till)\s*(\d{1,2})(?::(\d\d))?\b"
UNKNOWN = ("", "?", "don't know", "dont know", "don’t know", "no idea", "unknown")
METRES = {"mm": 0.001, "cm": 0.01, "m": 1.0, "metre": 1.0, "meter": 1.0, "in": 0.0254, "inch": 0.0254}
METRES |= {"inches": 0.0254, "ft": 0.3048, "foot": 0.3048, "feet": 0.3048}
FILLERS = "a about and approx around at ca each every from in is it of on per the with"


class AnswerText:
    """An answer being parsed: each part that is understood is removed from ``left``."""

    def __init__(self, text: str) -> None:
        self.left = " ".join(text.split()).casefold()

    def take(self, pattern: str) -> re.Match[str] | None:
        """Remove and return the first match of a pattern that is a word of its own."""
        match = re.search(rf"(?<![\w.,]){pattern}", self.left)
        if match:
            self.left = f"{self.left[: match.start()]} {self.left[match.end() :]}"
        return match

    def take_all(self, pattern: str) -> list[re.Match[str]]:
        """Remove and return every match."""
        matches = []
        while (match := self.take(pattern)) is not None:
            matches.append(match)
        return matches

    def has(self, *words: str) -> bool:
        """Remove the first of these words that is present, and return whether one was."""
        return any(self.take(re.escape(word) + r"\b") for word in words)

    def refuse_rest(self, more: str = "") -> None:
        """Raise ValueError if anything is left that was not understood; ``more`` lists words to ignore."""
        left = [word for word in re.findall(r"[^\s,;/()]+", self.left) if word.strip(".")]
        odd = [word for word in left if word not in f"{FILLERS} {more}".split()]
        if odd:
            message = f'"{" ".join(odd)}" is not understood'
            raise ValueError(message)


def is_unknown(text: str) -> bool:
    """Return whether an answer means "don't know"."""
    return text.strip().casefold().rstrip(".") in UNKNOWN


def number(text: str) -> float:
    """Return a number written with a point or a comma."""
    return float(text.replace(",", "."))


def metres(value: str, unit: str | None, *, small: bool = False) -> float:
    """Return a length; without a unit, numbers too large for a small space in metres are centimetres."""
    length = number(value)
    if unit:
        return round(length * METRES[unit if unit in METRES else unit.rstrip("s")], 4)
    return round(length / 100 if length >= (3 if small else 6) else length, 4)


def size(match: re.Match[str]) -> tuple[float, float]:
    """Return both lengths of a match of SIZE [m]; a unit given once is that of both."""
    first, first_unit, second, second_unit = match.groups()
    return metres(first, first_unit or second_unit), metres(second, second_unit or first_unit)


def stretches(matches: Iterable[re.Match[str]]) -> tuple[tuple[str, str], ...]:
    """Return matches of STRETCH as pairs of "HH:MM"."""
    pairs = []
    for stretch in matches:
        start, start_minute, end, end_minute = (int(part or 0) for part in stretch.groups())
        if max(start * 60 + start_minute, end * 60 + end_minute) > 1440 or max(start_minute, end_minute) > 59:
            message = f'"{stretch[0].strip()}" is no stretch of a day'
            raise ValueError(message)
        pairs.append((f"{start:02d}:{start_minute:02d}", f"{end:02d}:{end_minute:02d}"))
    return tuple(pairs)


def within(value: float, low: float, high: float, what: str) -> float:
    """Return a value, or raise ValueError if it is out of its bounds."""
    if not low <= value <= high:
        message = f"{what} of {value:g} is outside {low:g} to {high:g}"
        raise ValueError(message)
    return value
