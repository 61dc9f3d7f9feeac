"""Values of space.toml as a form shows them, and what is typed there as a value of the file."""

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Literal

from cropcal.reading.interview.answers import LENGTH, AnswerText, AskBack, metres, number
from cropcal.reading.interview.clock_times import hours
from cropcal.reading.interview.days import work_days
from cropcal.reading.text.key_types import KeyType
from cropcal.reading.text.toml_value import toml_value
from cropcal.serve.space_words import unit_of

How = Literal["text", "lines", "date", "pick", "tick"]
"""A field is one line of text, several, a day, one of some choices, or any of some."""

YES_NO = {"true": "yes", "false": "no"}
_NUMBER = re.compile(r"[-+]?(\d+(?:[.,]\d+)?|[.,]\d+)")
_FAHRENHEIT = re.compile(r"([-+]?\d+(?:[.,]\d+)?)\s*°?\s*f")
_DAYS = re.compile(r"\d{4}-\d\d-\d\d")
_TIME = r"\d{1,2}(?:[:.]\d\d)?\s*(?:am|pm|h|uhr)?"
_STRETCH = re.compile(rf"\s*({_TIME}\s*(?:-|to|until)\s*{_TIME})\b(.*)", re.IGNORECASE)
_UNITS = {"w": "watts?|w", "h": "hours?|hrs?|h", "min": "minutes?|mins?|min", "days": "days?|d", "%": "%"}


def has_choices(table: str, key: str, kind: KeyType) -> bool:
    """Return whether a key takes one or some of known values: a word of the file, or a name in it."""
    inner = kind.item if kind.sort == "list" and kind.item else kind
    is_name = key in ("zone", "zones", "bed", "beds", "crop", "crops") or (table, key) == ("fixture", "lamp")
    return is_name or kind.sort == "yes or no" or bool(inner.choices)


def how_of(table: str, key: str, kind: KeyType) -> How:
    """Return what the field of a key is."""
    if has_choices(table, key, kind):
        return "tick" if kind.sort == "list" else "pick"
    if kind.sort == "date":
        return "date"
    return "lines" if _has_lines(kind) else "text"


def shown(value: Any, kind: KeyType, key: str = "") -> str:
    """Return a value of the file as text in a field; one of another kind as it is written."""
    if value is None:
        return ""
    if isinstance(value, str) and kind.sort not in ("list", "table"):
        return value
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, int | float | date):
        return _plain(value)
    try:
        return _listed(value, kind, key)
    except (TypeError, ValueError, KeyError, IndexError, AttributeError):
        return toml_value(value)


def text_of(value: Any, kind: KeyType, key: str, how: How) -> str:
    """Return a value of the file as a field sends it; of several ticks a list as in the file."""
    if how == "tick":
        return toml_value(value) if value is not None else ""
    return shown(value, kind, key)


def _listed(value: Any, kind: KeyType, key: str) -> str:
    inner = kind.item
    if key == "quiet":
        return "\n".join(_quiet_line(row) for row in value)
    if inner and inner.sort == "stretch":
        return ", ".join(f"{_clock(first)}-{_clock(last)}" for first, last in value)
    if inner and inner.sort == "pair":
        return "\n".join(f"{_plain(first)} to {_plain(last)}" for first, last in value)
    if inner and inner.sort == "list":
        return "\n".join(", ".join(map(_plain, row)) for row in value)
    if isinstance(value, Mapping) and kind.sort == "one for all or by name":
        return "\n".join(f"{name}: {_plain(item)}" for name, item in value.items())
    if isinstance(value, list) and not any(isinstance(item, list | dict) for item in value):
        return ", ".join(map(_plain, value))
    return toml_value(value)


def typed(text: str, kind: KeyType, key: str, slug_of: Callable[[str], str] = str) -> str:
    """Return what was typed as the VALUE of ``KEY=VALUE``; "" takes the key out.

    Parameters
    ----------
    text
        What was typed, not empty.
    kind, key
        The kind and name of the key.
    slug_of
        Function from the name of a crop to its slug.

    Raises
    ------
    AskBack
        If it may mean several things, or nothing.
    """
    text = text.strip()
    if not text or text[0] in "[{":
        return text
    if kind.sort in ("number", "whole"):
        return _number(text, key)
    if kind.sort in ("text", "choice"):
        return toml_value(text)
    read = _READERS.get(_reader_of(kind, key))
    if read is None:
        return text
    made = read(text, slug_of)
    return text if made is None else toml_value(made)


def _reader_of(kind: KeyType, key: str) -> str:
    if key == "quiet":
        return key
    return kind.sort if kind.sort != "list" or kind.item is None else f"list of {kind.item.sort}"


def _has_lines(kind: KeyType) -> bool:
    inner = kind.item.sort if kind.item else ""
    return kind.sort == "one for all or by name" or (
        kind.sort == "list" and inner in ("table", "pair", "list")
    )


def _plain(value: Any) -> str:
    """Return a single value as people write it."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return f"{value:.10g}"
    return value.isoformat() if isinstance(value, date) else str(value)


def _clock(value: Any) -> str:
    return value.strftime("%H:%M") if hasattr(value, "hour") else str(value)


def _number(text: str, key: str) -> str:
    """Return a number in the unit of its key: "35 cm" of a length in metres is 0.35."""
    plain = text.casefold()
    unit = unit_of(key)
    if _NUMBER.fullmatch(plain):
        return plain.replace(",", ".")
    if unit == "m":
        words = AnswerText(text)
        match = words.take(LENGTH)
        if match is not None and match[2] and not words.rest():
            return _plain(metres(match[1], match[2]))
    if unit == "°C" and (match := _FAHRENHEIT.fullmatch(plain)):
        return _plain(round((number(match[1]) - 32) / 1.8, 1))
    if unit == "W" and (match := re.fullmatch(rf"({_NUMBER.pattern})\s*(?:kw|kilowatts?)", plain)):
        return _plain(number(match[1]) * 1000)
    names = _UNITS.get(unit.casefold(), re.escape(unit.casefold()))
    own = rf"°?\s*c|{names}" if unit == "°C" else names
    if unit and (match := re.fullmatch(rf"({_NUMBER.pattern})\s*(?:{own})", plain)):
        return match[1].replace(",", ".")
    return text


def _stretches(text: str, _slug_of: Callable[[str], str]) -> list[list[str]]:
    lamp_on = hours(text)
    if lamp_on.quiet or not lamp_on.lit:
        message = f'"{text}" gives no clock times like 17:30-09:30'
        raise AskBack(message)
    return [list(pair) for pair in lamp_on.lit]


def _quiet(text: str, _slug_of: Callable[[str], str]) -> list[dict[str, Any]]:
    rows = []
    for line in _lines(text):
        match = _STRETCH.match(line)
        if match is None:
            message = f'"{line}" does not begin with times like 09:00-11:00'
            raise AskBack(message)
        row: dict[str, Any] = {"hours": _stretches(match[1], str)}
        rest = match[2].strip(" ,")
        rows.append(row | ({"days": list(work_days(rest))} if rest else {}))
    return rows


def _quiet_line(row: Mapping[str, Any]) -> str:
    """Return one entry of quiet hours as a line; those with several stretches cannot be one."""
    ((first, last),) = row["hours"]
    if row.keys() - {"hours", "days"}:
        raise ValueError
    return " ".join([f"{_clock(first)}-{_clock(last)}", *row.get("days", ())])


def _pairs(text: str, _slug_of: Callable[[str], str]) -> list[list[date]]:
    pairs = []
    for line in _lines(text):
        days = _DAYS.findall(line)
        if len(days) not in (1, 2):
            message = f'"{line}" has no two days like 2027-03-26 to 2027-04-07'
            raise AskBack(message)
        pairs.append([_day(days[0]), _day(days[-1])])
    return pairs


def _days(text: str, _slug_of: Callable[[str], str]) -> list[date]:
    words = re.split(r"[\s,;]+", text)
    return [_day(word) for word in words if word]


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        message = f'"{text}" is no date like 2027-01-06'
        raise AskBack(message) from None


def _row(text: str, _slug_of: Callable[[str], str]) -> Any:
    numbers = _numbers(text)
    return numbers[0] if numbers and len(numbers) == 1 else numbers


def _list_of_numbers(text: str, _slug_of: Callable[[str], str]) -> Any:
    return _numbers(text)


def _rows(text: str, _slug_of: Callable[[str], str]) -> Any:
    rows = [_numbers(line) for line in _lines(text)]
    return None if None in rows else rows


def _numbers(text: str) -> list[float | int] | None:
    """Return numbers apart by commas or spaces, None if a word is none."""
    text = text.strip()
    words = text.replace(", ", " ").split() if " " in text else text.split(",")
    if not words or not all(map(_NUMBER.fullmatch, words)):
        return None
    return [int(word) if word.isdecimal() else number(word) for word in words]


def _by_name(text: str, slug_of: Callable[[str], str]) -> Any:
    grams: dict[str, float | int] = {}
    for line in _lines(text):
        name, colon, amount = line.rpartition(":")
        value = _numbers(re.sub(r"\s*g$", "", amount.strip()))
        if value is None or len(value) != 1:
            return None
        if not colon:
            return value[0]
        grams[slug_of(name.strip())] = value[0]
    return grams


def _lines(text: str) -> list[str]:
    return [line.strip() for line in re.split(r"[\n;]", text) if line.strip()]


_READERS: Mapping[str, Callable[[str, Callable[[str], str]], Any]] = {
    "quiet": _quiet,
    "list of stretch": _stretches,
    "list of pair": _pairs,
    "list of date": _days,
    "list of number": _list_of_numbers,
    "list of whole": _list_of_numbers,
    "list of list": _rows,
    "one for all or each": _row,
    "one for all or by name": _by_name,
}
