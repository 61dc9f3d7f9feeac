"""Answers as people type them: numbers in figures or words, with a comma or a point, and sizes.

No library is used for the numbers in words: they are thirty words, and no more are ever typed here.
"""

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal, NoReturn

from cropcal.reading.text.days import TakenWords

NUMBER = r"(\d+(?:[.,]\d+)?|[.,]\d+)"
UNIT = r"(mm|cm|centimet(?:re|er)s?|met(?:re|er)s?|m|inch(?:es)?|in|\"|feet|foot|ft|'|yards?|yd)"
LENGTH = NUMBER + r"\s*" + UNIT + r"?(?![a-wyz])\.?"
SIDE = r"\s*(?:wide|long|deep|across)?\s*"
SIZE = LENGTH + SIDE + r"(?:x|×|by|and(?=[^,]*(?:wide|long|deep)))\s*" + LENGTH + SIDE
RANGE = NUMBER + r"\s*" + UNIT + r"?\s*(?:-|to|bis|and)\s*" + LENGTH
UNKNOWN = (
    "", "?", "don't know", "dont know", "no idea", "unknown", "not sure", "i don't know", "idk"
)  # fmt: skip
FILLERS = (
    "a an about and approx approximately around at ca circa zirka roughly maybe each every from in is it its "
    "of on or per so some the with i we has have my our just only please there are von mit je jeweils à"
)
_METRES = {"mm": 0.001, "c": 0.01, "m": 1.0, "i": 0.0254, '"': 0.0254, "f": 0.3048, "'": 0.3048, "y": 0.9144}
_ONES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = {"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80}
_TENS |= {"ninety": 90}
_WORDS = {word: number for number, word in enumerate(_ONES)} | _TENS
_SIGNS = str.maketrans(
    {
        "’": "'",
        "‘": "'",
        "′": "'",
        "“": '"',
        "”": '"',
        "″": '"',
        "–": "-",
        "—": "-",
        "×": "x",
        "*": " x ",
        "~": " ",
    }
)
_PHRASES = (
    (r"(\d)\s*½", r"\1.5"),
    (r"½", "0.5"),
    (r"(?<=\d)\s*[*x]\s*(?=[\d.,])", " x "),
    (r"\b(\d) (?:met(?:re|er)|m) (\d\d)(?=\s*(?:by|x)\b)", r"\1.\2 m"),
    (r"\bhalf a dozen\b", "6"),
    (r"\b(?:a |one |1 )?dozen\b", "12"),
    (r"\b(?:a )?(?:couple|pair)(?: of)?\b", "2"),
    (r"\b(?:an?|one|1) (foot|inch|yard|met(?:re|er)) and a half\b", r"1.5 \1"),
    (r"(\d+) and a half\b", r"\1.5"),
    (r"\bhalf (?:an? )?(foot|inch|yard|met(?:re|er)|kilo|kg|pound|lb)\b", r"0.5 \1"),
    (r"\ban? (foot|inch|yard|met(?:re|er))\b", r"1 \1"),
)


class AskBack(ValueError):  # noqa: N818  (it is no error to be asked)
    """An answer that cannot be taken as it stands; ``likely``: how it was probably meant, if known."""

    def __init__(self, message: str, likely: str | None = None) -> None:
        super().__init__(message if likely is None else f'{message}; did you mean "{likely}"?')
        self.message, self.likely = message, likely


@dataclass(frozen=True)
class Heard:
    """The day on which it is asked, and the unit in which earlier answers gave lengths."""

    today: date
    unit: Literal["in", "cm", "mm"] | None = None


def unit_in(text: str) -> Literal["in", "cm", "mm"] | None:
    """Return the unit in which somebody gives lengths; feet count as inches, metres as centimetres."""
    match = re.search(r"\d\s*" + UNIT + r"(?![a-wyz])", AnswerText(text).left)
    if match is None:
        return None
    return "mm" if match[1] == "mm" else "in" if match[1][0] in "if'\"y" else "cm"


class AnswerText(TakenWords):
    """An answer being parsed: each part that is understood is removed from ``left``."""

    def __init__(self, text: str) -> None:
        super().__init__(in_figures(" ".join(text.split()).casefold()))

    def has(self, *words: str) -> bool:
        """Remove the first of these words that is present, and return whether one was."""
        return any(self.take(re.escape(word) + r"\b") for word in words)

    def rest(self, more: str = "") -> list[str]:
        """Return the words that are left and are no fillers; ``more`` lists other words to ignore."""
        left = [word.strip(".:") for word in re.findall(r"[^\s,;/()!]+", self.left)]
        fillers = f"{FILLERS} {more}".split()
        return [word for word in left if word and word not in fillers]

    def refuse_numbers(self) -> None:
        """Raise AskBack if a number is left: other words beside what was understood do no harm."""
        odd = [word for word in self.rest() if re.search(r"\d", word)]
        if odd:
            ask(f'"{" ".join(odd)}" is not understood')

    def refuse_rest(self, more: str = "") -> None:
        """Raise AskBack if anything is left that was not understood; ``more`` lists words to ignore."""
        odd = self.rest(more)
        if odd:
            ask(f'"{" ".join(odd)}" is not understood')


def ask(message: str, likely: str | None = None) -> NoReturn:
    """Ask back."""
    raise AskBack(message, likely)


def in_figures(text: str) -> str:
    """Return a text in lower case with its numbers in figures, and feet with inches as inches."""
    text = text.translate(_SIGNS)
    tens, ones = "|".join(_TENS), "|".join(_ONES[1:])
    text = re.sub(
        rf"\b({tens})[ -]({'|'.join(_ONES[1:10])})\b",
        lambda match: str(_WORDS[match[1]] + _WORDS[match[2]]),
        text,
    )
    text = re.sub(rf"\b(?:{tens}|{ones})\b", lambda match: str(_WORDS[match[0]]), text)
    for pattern, figures in _PHRASES:
        text = re.sub(pattern, figures, text)
    inches = r"\s*(?:inch(?:es)?\b|in\b|\"|(?=\s*(?:by|x|deep|wide|long)\b|,|$))"
    feet = NUMBER + r"\s*(?:feet|foot|ft|')\s*(?:and )?" + NUMBER + inches
    return re.sub(feet, lambda match: f"{number(match[1]) * 12 + number(match[2]):g} in ", text)


def is_unknown(text: str) -> bool:
    """Return whether an answer means "don't know"."""
    return text.translate(_SIGNS).strip().casefold().rstrip(".") in UNKNOWN


def number(text: str) -> float:
    """Return a number written with a point or a comma."""
    return float(text.replace(",", "."))


def metres(value: str | float, unit: str) -> float:
    """Return a length of some unit in metres."""
    length = number(value) if isinstance(value, str) else value
    return round(length * _METRES["mm" if unit == "mm" else unit[0]], 4)


def size(match: re.Match[str], heard: Heard) -> tuple[float, float]:
    """Return both lengths of a match of SIZE [m]; a unit given once is that of both."""
    first, first_unit, second, second_unit = match.groups()
    unit = first_unit or second_unit
    if unit is None:
        unit = _unit_of_size(first, second, heard)
    return metres(first, first_unit or unit), metres(second, second_unit or unit)


def _unit_of_size(first: str, second: str, heard: Heard) -> str:
    """Return the unit of two bare numbers, or ask."""
    low, high = sorted((number(first), number(second)))
    if high <= 2 or low < 1:
        return "m"
    if high >= 400:
        return "mm"
    if heard.unit == "in" and low >= 6:
        return "in"
    if low >= 6 and (heard.unit is not None or (high >= 40 and low % 5 == high % 5 == 0)):
        return "cm"
    likely = (
        "m"
        if high < 6 and low % 1
        else "ft"
        if high < 6
        else "in"
        if heard.unit is None and high >= 12
        else heard.unit or "cm"
    )
    ask(f"{first} x {second} has no unit", f"{first} x {second} {likely}")


def distance(value: float, heard: Heard) -> float:
    """Return the metres from lamp to leaves of a bare number, or ask for its unit."""
    if value < 1 and heard.unit != "in":
        return value
    if heard.unit == "in" and 3 <= value <= 80:
        return metres(value, "in")
    if heard.unit == "mm" and 60 <= value <= 2000:
        return metres(value, "mm")
    if (heard.unit in ("cm", "mm") and 3 <= value <= 200) or (heard.unit is None and 24 < value <= 200):
        return metres(value, "cm")
    small = "ft" if heard.unit in ("in", None) else "m"
    unit = "mm" if value > 200 else small if value < 3 else "in"
    ask(f"{value:g} has no unit", f"{value:g} {unit}")


def within(value: float, low: float, high: float, what: str, likely: str | None = None) -> float:
    """Return a value, or raise ValueError if it is out of its bounds."""
    if not low <= value <= high:
        ask(f"{what} of {value:g} is outside {low:g} to {high:g}", likely)
    return value
