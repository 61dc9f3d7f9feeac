"""Fonts: which signs can be drawn, how wide a text is, and the outline of each sign, all read once.

Only the one font that comes with the drawing library is always there; a PDF may have others of this computer.
"""

import contextlib
from functools import cache
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.font_manager import FontProperties, fontManager, get_font

from cropcal.show import text
from cropcal.show.pictures.shapes import PT_PER_INCH

EM = 1000
"""Size at which outlines are read: so large that rounding to whole pixels does not show."""
NO_NAME = "(no name)"
TRUETYPE = b"\0\1\0\0"

_FONTS = Path(mpl.get_data_path()) / "fonts" / "ttf"
_PLAIN, _BOLD = str(_FONTS / "DejaVuSans.ttf"), str(_FONTS / "DejaVuSans-Bold.ttf")


def drawable(content: str) -> str:
    """Return the text without signs that the font cannot draw, or "(no name)" if nothing is left.

    Only the one font that comes with the drawing library can be relied on; it has no emoji.
    """
    kept = (
        char if _is_drawn(char) else " " if text.display_width(char) else "" for char in text.clean(content)
    )
    return " ".join("".join(kept).split()) or NO_NAME


def printable(content: str) -> str:
    """Return the text without signs that no font on this computer can write."""
    kept = (
        char if _writes(char) else " " if text.display_width(char) else "" for char in text.clean(content)
    )
    return " ".join("".join(kept).split()) or NO_NAME


def printed_width(content: str, size_pt: float, bold: bool) -> float:
    """Return the width of a text in inches, as it will be printed; signs of other fonts count as square."""
    return sum(_advance(char, bold=bold) for char in content) * size_pt / PT_PER_INCH


@cache
def _advance(char: str, *, bold: bool) -> float:
    if _is_drawn(char):
        return glyph(char, bold=bold)[2]
    return 1.0 if _writes(char) else 0.0


@cache
def _writes(char: str) -> bool:
    return _is_drawn(char) or bool(_elsewhere(char))


@cache
def _is_drawn(char: str) -> bool:
    """Return whether the library's own font has a sign."""
    return bool(get_font(_PLAIN).get_char_index(ord(char)))


@cache
def _elsewhere(char: str) -> str:
    """Return the file of another font of this computer that has a sign as an outline, "" if there is none."""
    return next((name for name, signs in _other_fonts() if ord(char) in signs), "")


@cache
def _other_fonts() -> tuple[tuple[str, frozenset[int]], ...]:
    """Return this computer's other fonts with TrueType outlines, which go into a PDF as they are."""
    fonts = []
    for name in sorted({entry.fname for entry in fontManager.ttflist}):
        with contextlib.suppress(OSError, RuntimeError):
            with Path(name).open("rb") as file:
                outlines = file.read(4) == TRUETYPE
            font = get_font(name) if outlines and "LastResort" not in name else None
            if font is not None and font.scalable:
                fonts.append((name, frozenset(font.get_charmap())))
    return tuple(fonts)


def text_width(content: str, size_pt: float, bold: bool) -> float:
    """Return the width of a text in inches, as it will be drawn."""
    return sum(glyph(char, bold=bold)[2] for char in drawable(content)) * size_pt / PT_PER_INCH


def printed_font(content: str, size_pt: float, *, bold: bool) -> FontProperties:
    """Return the fonts in which a text is set: the library's own, then others for signs that it has not."""
    return _font(_families(content, bold=bold), size_pt, bold=bold)


def _families(content: str, *, bold: bool) -> tuple[str, ...]:
    others = () if content.isascii() else {_elsewhere(char) for char in content if not _is_drawn(char)}
    return tuple(_family(name) for name in (_BOLD if bold else _PLAIN, *sorted(filter(None, others))))


@cache
def _family(file: str) -> str:
    return str(FontProperties(fname=file).get_name())


@cache
def _font(families: tuple[str, ...], size_pt: float, *, bold: bool) -> FontProperties:
    return FontProperties(family=list(families), weight="bold" if bold else "normal", size=size_pt)


@cache
def glyph(char: str, *, bold: bool) -> tuple[Any, Any, float]:
    """Return points and codes of a sign's outline, and the way to the next sign, in em."""
    font = get_font(_BOLD if bold else _PLAIN)
    font.set_size(EM, PT_PER_INCH)
    advance = font.load_char(ord(char)).linearHoriAdvance / 65536  # FreeType counts in 16.16 fixed point
    points, codes = font.get_path()
    return points / EM, codes, advance / EM
