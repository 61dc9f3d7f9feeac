"""A text that is no TOML: the line, and the likely slip, worked out from the line alone."""

import re
from datetime import date
from typing import Final

from cropcal.problems import Problem, Where
from cropcal.reading.text.source import shorten

_PLACE = re.compile(r"\(at line (\d+), column \d+\)")
_HEADER = re.compile(r"\s*\[\s*([^\[\]]+?)\s*\]\s*(#.*)?")
_KEY = re.compile(r"\s*([\w.-]+)\s*=")
_ENDLESS = re.compile(r"[\d_]{4300,}")
_DAY = re.compile(r"=\s*(\d{4})-(\d\d)-(\d\d)\s*(#.*)?$")

SLIPS: Final[tuple[tuple[re.Pattern[str], str], ...]] = (
    (re.compile("[“”„‘’«»]"), 'use straight quotes: "'),
    (re.compile(r"^\s*\[+[\w. -]*\]?\s*(#.*)?$"), "close as many brackets as are opened"),
    (re.compile(r"=\s*[-+]?\d+,\d+\s*(#.*)?$"), "write a point in numbers: 0.5, not 0,5"),
    (re.compile(r"=\s*(True|False|TRUE|FALSE|yes|no|on|off)\b"), "write true or false, in lower case"),
    (
        re.compile(r"=\s*([€£$¥₹]|[A-Z]{3}\s)\s*\d|=\s*\d+([.,]\d+)?\s*([€£$¥₹]|(USD|EUR|GBP)\b)"),
        "leave out the currency: it belongs in [tariff]",
    ),
    (
        re.compile(r"=\s*[-+]?\d+([.,]\d+)?\s*[A-Za-zµ°%]"),
        "leave out the unit: it is in the name of the key",
    ),
    (re.compile(r"[=\[,]\s*\d{1,2}:\d\d\b"), 'put times in quotes: "06:30"'),
    (re.compile(r"=\s*0\d"), "write numbers without a leading zero"),
    (re.compile(r"=\s*\d{1,4}[./]\d{1,2}[./]\d{1,4}"), "write dates as year-month-day: 2027-01-04"),
    (re.compile(r"=\s*[-+]?(\.\d|\d+\.(\D|$))"), "write a digit on both sides of the point: 0.5"),
    (re.compile(r"=\s*(#.*)?$"), "write a value after ="),
    (re.compile(r"[=\[,]\s*(?!true\b|false\b|inf\b|nan\b)[^\W\d]"), 'put text in quotes: name = "shelf"'),
    (re.compile(r"^\s*[\w.-]+\s*:"), "write = between key and value, not :"),
    (re.compile(r"^\s*[\w.-]+\s+[\w. -]+="), "write keys without spaces: lamp_on_air_c"),
    (re.compile(r"^[^=]*$"), "write key = value, or # before a comment"),
)
"""What a broken line looks like, and what to do; the first that fits is used."""


def syntax_problem(path: str, text: str, error: Exception) -> Problem:
    """Return the problem of a text that ``tomllib`` refused.

    Only its line is taken from the error: its wording differs between Python versions.
    """
    lines = text.splitlines() or [""]
    for number, written in enumerate(lines, 1):
        if match := _ENDLESS.search(written):
            found = f"a number of {len(match[0])} digits"
            return Problem(Where(path, number), "", found, "one of a few digits")
    line_number = getattr(error, "lineno", None)
    if line_number is None and (match := _PLACE.search(str(error))):
        line_number = int(match[1])
    if line_number is None or line_number > len(lines):
        hint = _open_bracket(lines) or "a quote or bracket is never closed"
        return Problem(Where(path, len(lines)), "", "the end of the file", "valid TOML", hint)
    line = lines[line_number - 1]
    return Problem(
        Where(path, line_number),
        "",
        shorten(line) or "an empty line",
        "valid TOML",
        _slip(lines, line_number),
    )


def _slip(lines: list[str], line_number: int) -> str:
    line = lines[line_number - 1]
    earlier = _written_before(lines, line_number)
    if earlier is not None:
        return f"the same is on line {earlier}: keep one"
    if (match := _DAY.search(line)) and not _is_day(*map(int, match.groups()[:3])):
        return "there is no such day"
    quotes = line.partition("#")[0].count('"')
    for pattern, hint in SLIPS[:1]:
        if pattern.search(line):
            return hint
    if quotes % 2:
        return "close the quotes"
    bare = re.sub(r'"[^"]*"|\'[^\']*\'', '""', line)
    for pattern, hint in SLIPS:
        if pattern.search(bare):
            return hint
    opened = _open_bracket(lines[: line_number - 1])
    return opened or "a quote, bracket or comma may be missing here or on the line before"


def _written_before(lines: list[str], line_number: int) -> int | None:
    """Return the earlier line of the same table or of the same key in the same table."""
    header = _HEADER.fullmatch(lines[line_number - 1])
    if header:
        same = (
            at
            for at, line in enumerate(lines[: line_number - 1], 1)
            if (m := _HEADER.fullmatch(line)) and m[1] == header[1]
        )
        return next(same, None)
    key = _KEY.match(lines[line_number - 1])
    for at in range(line_number - 1, 0, -1):
        line = lines[at - 1]
        if key is None or line.lstrip().startswith("["):
            return None
        if (match := _KEY.match(line)) and match[1] == key[1]:
            return at
    return None


def _is_day(year: int, month: int, day: int) -> bool:
    try:
        date(year, month, day)
    except ValueError:
        return False
    return True


def _open_bracket(lines: list[str]) -> str:
    """Return where a bracket that never ends may have begun, "" if all are closed."""
    opened: list[int] = []
    for at, line in enumerate(lines, 1):
        bare = re.sub(r'"[^"]*"|\'[^\']*\'|#.*', "", line)
        opened += [at] * (bare.count("[") + bare.count("{"))
        closed = bare.count("]") + bare.count("}")
        opened = opened[: max(0, len(opened) - closed)]
    return f"a bracket opened on line {opened[0]} may not be closed" if opened else ""
