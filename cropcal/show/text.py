"""Plain text for a terminal: widths, tables, and how numbers and dates are written."""

import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from cropcal.letters import clean as clean
from cropcal.records.forecast import Days80, Range80
from cropcal.units import known_to as known_to

WIDTH, LINES = 80, 24
"""Columns and lines of a usual terminal."""
NARROWEST_COLUMN = 8
WEEKDAY_NAMES = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTH_NAMES = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_GAP = "  "
_ZERO_WIDTH = ("Mn", "Me", "Cf")


def display_width(text: str) -> int:
    """Return how many columns a text takes (roughly: joined emoji count as their parts)."""
    return len(text) if text.isascii() else sum(map(_char_width, text))


def _char_width(char: str) -> int:
    if char.isascii():
        return 1
    if unicodedata.category(char) in _ZERO_WIDTH:
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1


def clip(text: str, width: int) -> str:
    """Return the text, shortened with … if it is wider than ``width`` columns."""
    if display_width(text) <= width:
        return text
    kept, used = "", 0
    for char in text:
        used += _char_width(char)
        if used > width - 1:
            break
        kept += char
    return kept.rstrip() + "…" if width > 0 else ""


def wrap(text: str, width: int = WIDTH, first: str = "", later: str = "") -> str:
    """Return the words over as many lines as needed; only a word wider than a line is cut.

    ``first`` starts the first line and ``later`` all others.
    """
    lines, line, fresh = [], first, True
    for word in _words(clean(text), max(width - display_width(later), NARROWEST_COLUMN)):
        if not fresh and display_width(line) + 1 + display_width(word) > width:
            lines.append(line.rstrip())
            line, fresh = later, True
        line += word if fresh else f" {word}"
        fresh = False
    return "\n".join([*lines, line.rstrip()])


def _words(text: str, widest: int) -> Iterable[str]:
    for word in text.split():
        piece, used = "", 0
        for char in word:
            if used + _char_width(char) > widest:
                yield piece
                piece, used = "", 0
            piece += char
            used += _char_width(char)
        yield piece


def bullets(lines: Iterable[str], width: int = WIDTH) -> str:
    """Return each line as a paragraph that starts with "- "."""
    return "\n".join(wrap(line, width, "- ", "  ") for line in lines)


def section(title: str, body: str) -> str:
    """Return a title over its body, after an empty line; nothing if the body is empty."""
    return f"\n{title}\n{body}\n" if body else ""


def typed(path: str) -> str:
    """Return a path as the user types it in a command, quoted if it has a space."""
    return f'"{path}"' if " " in path else path


def as_typed(command: str, path: object, *more: str) -> str:
    """Return a command for a space as the user types it; ``more``: its other words, if not empty."""
    return " ".join(filter(None, ["cropcal", command, typed(str(path)), *more]))


def table(headers: Sequence[str], rows: Sequence[Sequence[str]], align: str, width: int = WIDTH) -> str:
    """Return rows under their headers and a rule, without a newline at the end.

    Parameters
    ----------
    headers, rows
        Texts; every row is as long as the headers.
    align
        One letter a column: ``r`` a number and ``k`` a text to be typed again, never broken or shortened;
        ``l`` a text, shortened with … where there is no room; ``w`` a text that is wrapped
        onto the next line.
    width
        Width of the terminal [columns]. Text is shortened first; numbers may exceed it.
    """
    return "\n".join(table_rows(headers, rows, align, width))


def table_rows(
    headers: Sequence[str], rows: Sequence[Sequence[str]], align: str, width: int = WIDTH
) -> list[str]:
    """Return the headers, the rule and the rows of a ``table``; a row of wrapped texts has several lines."""
    lines = [[clean(cell) for cell in row] for row in (headers, *rows)]
    widths = _fit([max(map(display_width, column)) for column in zip(*lines, strict=True)], align, width)
    head, *shown = [_row(line, widths, align) for line in lines]
    return [head, "-" * (sum(widths) + len(_GAP) * (len(widths) - 1)), *shown]


def _fit(widths: list[int], align: str, width: int) -> list[int]:
    """Return column widths, narrowing the widest text until the row fits or no text can shrink further."""
    fitted = list(widths)
    text_columns = [index for index, kind in enumerate(align) if kind in "lw"]
    while sum(fitted) + len(_GAP) * (len(fitted) - 1) > width and text_columns:
        widest = max(text_columns, key=lambda index: fitted[index])
        if fitted[widest] <= NARROWEST_COLUMN:
            break
        fitted[widest] -= 1
    return fitted


def _row(cells: Sequence[str], widths: Sequence[int], align: str) -> str:
    blocks = [
        wrap(cell, size).split("\n") if kind == "w" else [clip(cell, size) if kind == "l" else cell]
        for cell, size, kind in zip(cells, widths, align, strict=True)
    ]
    lines = []
    for index in range(max(map(len, blocks))):
        parts = [block[index] if index < len(block) else "" for block in blocks]
        lines.append(_GAP.join(map(_pad, parts, widths, align)).rstrip())
    return "\n".join(lines)


def _pad(text: str, size: int, kind: str) -> str:
    room = " " * (size - display_width(text))
    return room + text if kind == "r" else text + room


def _fixed(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:.{decimals}f}"


def ppfd(umol_m2_s: float) -> str:
    """Return a PPFD [µmol m⁻² s⁻¹] without decimals: no lamp is known more precisely."""
    return _fixed(umol_m2_s, 0)


def dli(mol_m2_d: float) -> str:
    """Return a daily light integral [mol m⁻² d⁻¹] with one decimal."""
    return _fixed(mol_m2_d, 1)


def hours(value_h: float) -> str:
    """Return hours [h], with at most one decimal: "16 h", "14.5 h"."""
    return f"{plain(value_h, 1)} h"


def kwh(value_kwh: float) -> str:
    """Return energy [kWh]: one decimal below 10, none above."""
    return plain(value_kwh, 0) if value_kwh == 0 else _fixed(value_kwh, 1 if abs(value_kwh) < 9.95 else 0)


def money(value: float | None, currency: str | None = None) -> str:
    """Return a sum with two decimals, with its currency if given; "-" if there is no price."""
    if value is None:
        return "-"
    return _fixed(value, 2) if currency is None else f"{_fixed(value, 2)} {clean(currency)}"


def grams(value_g: float) -> str:
    """Return a forecast mass [g] rounded to two significant digits."""
    if abs(value_g) < 0.001:
        return "0"
    rounded = float(f"{value_g:.1e}")
    return _fixed(rounded, 0) if abs(rounded) >= 10 else plain(rounded, 5)


def plain(value: float, decimals: int = 3) -> str:
    """Return a number with as few decimals as it needs: 12, not 12.0."""
    text = _fixed(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def quantity(value: float, unit: str) -> str:
    """Return a forecast number without its unit: masses to two digits, counts to a tenth."""
    return grams(value) if unit == "g" else plain(value, 1)


def amount(value: float, unit: str) -> str:
    """Return a forecast with its unit: "140 g", "1 head", "2.5 heads"."""
    shown = quantity(value, unit)
    return f"{shown} {unit[:-1] if shown == '1' and unit.endswith('s') else unit}".rstrip()


def amount_range(low: float, high: float, unit: str) -> str:
    """Return "120-160 g"."""
    ends = quantity(low, unit), quantity(high, unit)
    return amount(low, unit) if ends[0] == ends[1] else f"{ends[0]}-{ends[1]} {unit}"


def middle_range(value: Range80, unit: str) -> str:
    """Return "140 g (120-160 g)"."""
    return f"{amount(value.middle, unit)} ({amount_range(value.low, value.high, unit)})"


def percent(share: float) -> str:
    """Return a share as a percentage without decimals."""
    return f"{_fixed(share * 100, 0)}%"


def hundredths(chance: float | None) -> float | None:
    """Return a chance rounded to hundredths, the precision to which it is known."""
    return None if chance is None else round(chance, 2)


def odds(chance: float) -> str:
    """Return a chance in words."""
    tenths = int(10 * chance + 0.5)
    if tenths == 0:
        return "almost never"
    return "almost certain" if tenths == 10 else f"about {tenths} in 10"


def day(when: date) -> str:
    """Return "Wed 3 Mar"."""
    return f"{WEEKDAY_NAMES[when.weekday()]} {_short(when)}"


def day_year(when: date) -> str:
    """Return "Wed 3 Mar 2027"."""
    return f"{day(when)} {when.year}"


def _short(when: date) -> str:
    return f"{when.day} {MONTH_NAMES[when.month - 1]}"


def month(name: str, period: tuple[date, date]) -> str:
    """Return "Mar 2027" for the "2027-03" of files, "Mar 2027, to 9" if the period ends within it."""
    year, _, number = name.partition("-")
    first, last = period
    label = f"{MONTH_NAMES[int(number) - 1]} {year}"
    if name == f"{first:%Y-%m}" and first.day > 1:
        label += f", from {first.day}"
    if name == f"{last:%Y-%m}" and (last + timedelta(days=1)).day > 1:
        label += f", to {last.day}" if "," not in label else f" to {last.day}"
    return label


def span(first: date, last: date) -> str:
    """Return "12-19 Mar", "28 Mar - 4 Apr" or, over New Year, both with their years."""
    if first == last:
        return _short(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day}-{_short(last)}"
    if first.year == last.year:
        return f"{_short(first)} - {_short(last)}"
    return f"{_short(first)} {first.year} - {_short(last)} {last.year}"


def range_days(days: Days80) -> str:
    """Return the 80 % range of a date: "12-19 Mar"."""
    return span(days.low, days.high)


def middle_days(days: Days80) -> str:
    """Return a date and its 80 % range: "Mon 15 Mar (12-19 Mar)"."""
    return f"{day(days.middle)} ({range_days(days)})"
