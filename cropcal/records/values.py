"""What the values of a space file may be: names, days, times, sizes, lists of them, and one tried instead."""

from datetime import date
from typing import Annotated, Any, Literal, TypeVar

from pydantic import AfterValidator, BeforeValidator, Field, WithJsonSchema

from cropcal.letters import is_name
from cropcal.records.base import Record, _as_tuple

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def _readable(text: str) -> str:
    if not is_name(text):
        message = "letters that can be seen"
        raise ValueError(message)
    return text


Name = Annotated[str, Field(min_length=1, max_length=80), AfterValidator(_readable)]
Currency = Annotated[str, Field(min_length=1, max_length=8), AfterValidator(_readable)]
Many = BeforeValidator(_as_tuple)
Positive = Annotated[float, Field(gt=0, le=1_000_000)]
T = TypeVar("T")
Rows = Annotated[tuple[Annotated[tuple[T, ...], Many], ...], Many]


def _day(value: Any) -> Any:
    """Take a TOML date or the same date written as text."""
    if isinstance(value, str):
        try:
            return date.fromisoformat(value)
        except ValueError:
            message = "a date like 2027-01-04"
            raise ValueError(message) from None
    return value


Day = Annotated[date, BeforeValidator(_day)]


def _alike(count: int, spelt: str) -> BeforeValidator:
    """Return a validator that takes one number for all, or ``count`` numbers."""

    def read(value: Any) -> Any:
        if not isinstance(value, list | tuple):
            return (value,) * count
        if len(value) != count:
            message = f"one number, or {spelt}"
            raise ValueError(message)
        return tuple(value)

    return BeforeValidator(read)


Wall = Annotated[float, Field(ge=0, le=0.98)]
_A_WALL = {"type": "number", "minimum": 0, "maximum": 0.98}
Walls = Annotated[
    tuple[Wall, Wall, Wall, Wall],
    _alike(4, "four"),
    WithJsonSchema({"anyOf": [_A_WALL, {"type": "array", "items": _A_WALL, "minItems": 4, "maxItems": 4}]}),
]
"""Reflectance of each wall: left, right, front, back."""


Share = Annotated[float, Field(ge=0, le=1)]
_A_SHARE = {"type": "number", "minimum": 0, "maximum": 1}
ByMonth = Annotated[
    tuple[Share, Share, Share, Share, Share, Share, Share, Share, Share, Share, Share, Share],
    _alike(12, "twelve"),
    WithJsonSchema(
        {"anyOf": [_A_SHARE, {"type": "array", "items": _A_SHARE, "minItems": 12, "maxItems": 12}]}
    ),
]
"""A share for each month, January first."""

Radiation = Annotated[float, Field(ge=0, le=15)]
_A_DAY = {"type": "number", "minimum": 0, "maximum": 15}
Yearly = Annotated[
    tuple[Radiation, ...],
    Many,
    Field(min_length=12, max_length=12),
    WithJsonSchema({"type": "array", "items": _A_DAY, "minItems": 12, "maxItems": 12}),
]
"""The mean day of each month, January first."""


def _for_all(value: Any) -> Any:
    """Take one number for all, kept under no name, or a table of numbers by name."""
    return value if isinstance(value, dict) else {"": value}


_GRAMS = {"type": "number", "exclusiveMinimum": 0, "maximum": 5000}
CutAt = Annotated[
    dict[str, Annotated[float, Field(gt=0, le=5000)]],
    BeforeValidator(_for_all),
    WithJsonSchema({"anyOf": [_GRAMS, {"type": "object", "additionalProperties": _GRAMS}]}),
]
"""Grams of one plant: one number for all crops, or one by crop."""


def _site_numbers(value: Any) -> Any:
    """Read runs of site numbers like "5-8, 11"."""
    message = 'site numbers like "5-8, 11"'
    if not isinstance(value, str):
        raise ValueError(message)
    numbers: list[int] = []
    for run in value.split(","):
        first, dash, last = (part.strip() for part in run.partition("-"))
        last = last if dash else first
        if not (first.isdecimal() and last.isdecimal() and 1 <= int(first) <= int(last) <= MOST_SITES):
            raise ValueError(message)
        numbers += range(int(first), int(last) + 1)
    return tuple(dict.fromkeys(numbers))


MOST_SITES = 20_000
_RUNS = r"^\s*\d+\s*(-\s*\d+\s*)?(,\s*\d+\s*(-\s*\d+\s*)?)*$"
SiteNumbers = Annotated[
    tuple[int, ...], BeforeValidator(_site_numbers), WithJsonSchema({"type": "string", "pattern": _RUNS})
]
"""Numbers of sites in a bed, counted from 1, written as runs."""


class Change(Record):
    """One changed key: its name, the value in the file and the tried value, as written (None: no value).

    ``because`` names the tried key that removed this one, where the two exclude each other.
    """

    key: str
    before: str | None
    now: str | None
    because: str = ""
