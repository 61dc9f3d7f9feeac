"""Unsafe characters: those that control a terminal, and invisible ones; and numbers in words."""

import re
import unicodedata
from typing import Final

_WELCOME: Final = "\u200c\u200d\u200e\u200f\u061c"
"""Invisible, but parts of words: joiners (emoji, Persian, Hindi) and the marks of right-to-left text."""
_TAGS: Final = range(0xE0020, 0xE0080)
"""Tag characters, which follow the black flag in the flags of Wales and the like."""
NTH: Final = ("", "", "second", "third", "fourth")
"""The word for "every nth", by number."""
_NOT_PRINTABLE: Final = re.compile(r"[^\x20-\x7e]")
_NOT_PRINTABLE_IN_LINES: Final = re.compile(r"[^\x20-\x7e\n]")


def is_unsafe(char: str) -> bool:
    """Return whether a character can move the cursor, change colours, turn the reading direction or hide."""
    if char in _WELCOME or ord(char) in _TAGS:
        return False
    return unicodedata.category(char) in ("Cc", "Cf", "Cs", "Zl", "Zp")


def _safe(match: re.Match[str]) -> str:
    return " " if is_unsafe(match[0]) else match[0]


def clean(text: str) -> str:
    """Return one line without unsafe characters: each becomes a space."""
    return _NOT_PRINTABLE.sub(_safe, text)


def clean_lines(text: str) -> str:
    """Return several lines without unsafe characters."""
    return "\n".join(map(clean, text.split("\n")))


def escaped(text: str) -> str:
    """Return a JSON text with its unsafe characters, which occur only in strings, as escapes."""

    def escape(match: re.Match[str]) -> str:
        char = match[0]
        if not is_unsafe(char):
            return char
        units = char.encode("utf-16-be", "surrogatepass").hex()
        return "".join(f"\\u{units[at : at + 4]}" for at in range(0, len(units), 4))

    return _NOT_PRINTABLE_IN_LINES.sub(escape, text)


def is_name(text: str) -> bool:
    """Return whether a text can be read and typed again: no unsafe character, and a visible one."""
    if text.isascii() and text.isprintable():  # nearly every name: twenty times as quick
        return bool(text.strip())
    hidden = ("Cf", "Mn", "Me", "Zs")
    return not any(map(is_unsafe, text)) and any(unicodedata.category(char) not in hidden for char in text)
