"""A value given on the command line: TOML, or what is left of it when a shell has eaten the quotes."""

import json
import re
import tomllib
from typing import Any, Final

from cropcal.reading.text.key_types import KeyType

NOTHING: Final = ("", "none")
"""Values that take a key out."""

MOST_DIGITS: Final = 300
"""Most digits of a whole number; Python's own limit is much higher."""

_NUMBER = re.compile(r"([-+]?)0*(\d*)(?:\.(\d*))?")
_CURLY = str.maketrans("“”„‟‘’", '""""\'\'')
_INSIDE = re.compile(
    r"""(?P<quoted>"(?:[^"\\]|\\.)*"|'[^']*')|(?P<mark>[\[\]{},=])|(?P<word>[^\[\]{},="']+)"""
)


class NoValueError(ValueError):
    """A text with brackets or quotes that do not close."""


def read_value(text: str, kind: KeyType | None) -> tuple[Any, str]:
    """Return the value of a text (None where it takes the key out), and the same value written as TOML.

    Parameters
    ----------
    text
        A TOML value, or one without its quotes: ``HPS``, ``[wed, sat]``, ``[[17:00, 09:00]]``.
    kind
        What the key may be, None if nothing is known. Where a text is meant, ``2`` is one.

    Raises
    ------
    NoValueError
        If there are brackets and they make no list or table.
    """
    text = text.strip()
    if text.casefold() in NOTHING:
        return None, ""
    meant_as_text = kind is not None and kind.sort in ("text", "choice", "site numbers")
    for toml in (text, text.translate(_CURLY)):
        value = _toml(toml)
        if value is not None and not (meant_as_text and _is_plain(value)):
            return value, toml
    if text[0] in "[{":
        toml = "".join(map(_requoted, _INSIDE.finditer(text)))
        value = _toml(toml)
        if value is None:
            raise NoValueError(text)
        return value, toml
    number = None if meant_as_text else _number(text)
    return (text, json.dumps(text, ensure_ascii=False)) if number is None else (number, f"{number}")


def _toml(text: str) -> Any:
    """Return a text as one TOML value, None if it is none."""
    try:
        data = tomllib.loads(f"value = {text}")
    except (ValueError, RecursionError):
        return None
    return data["value"] if data.keys() == {"value"} else None


def _is_plain(value: Any) -> bool:
    return not isinstance(value, str | bool | list | dict)


def _number(text: str) -> float | int | None:
    """Return numbers that people write and TOML does not take: ``.5``, ``5.``, ``08``."""
    match = _NUMBER.fullmatch(text)
    if match is None or not (match[2] or match[3] or "0" in text):
        return None
    if match[3] is not None or "." in text:
        return float(text)
    return int(text) if len(text) <= MOST_DIGITS else None


def _requoted(match: re.Match[str]) -> str:
    """Return a piece of a list or table, with quotes where a word needs them."""
    word = match["word"]
    if word is None:
        return match[0]
    follows = match.string[match.end() : match.end() + 1]
    if not word.strip() or follows == "=" or _toml(word.strip()) is not None:
        return word
    return json.dumps(word.strip(), ensure_ascii=False)
