"""Protect text in CSV cells from being taken for a formula by a spreadsheet, and undo it.

A cell that begins with = + - @ (or with the wide forms of those signs) is calculated when a spreadsheet
opens the file; so is what follows a semicolon, where semicolons part the cells (OWASP, "CSV injection"). An
apostrophe in front says "this is text". Tabs and line ends never get this far: all our cells are one line.
"""

import re
from typing import Final

_SIGNS: Final = "=+\\-@\uff1d\uff0b\uff0d\uff20"
_RISKY: Final = re.compile(f"(^|;)(\\s*)('*[{_SIGNS}])")
_GUARDED: Final = re.compile(f"(^|;)(\\s*)'('*[{_SIGNS}])")


def harmless(text: str) -> str:
    """Return a line of text made safe for a cell: an apostrophe before anything that would be a formula."""
    return _RISKY.sub(r"\1\2'\3", text)


def as_typed(cell: str) -> str:
    """Return the text from which :func:`harmless` made a cell."""
    return _GUARDED.sub(r"\1\2\3", cell)
