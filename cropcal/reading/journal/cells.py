"""One cell of a journal: its text as a value and back."""

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final

from cropcal.reading.text.csv_cells import Bad, Column, value_of
from cropcal.reading.text.likely_slips import MONTHS
from cropcal.reading.text.suggestions import one_of
from cropcal.records.journal import Entry, one_line
from cropcal.records.values import MOST_SITES
from cropcal.spreadsheets import as_typed, harmless
from cropcal.units import YEARS

A_DAY: Final = "a date like 2027-01-06"
A_MOMENT: Final = "a date and time like 2027-01-06 18:30"
OTHER_AGE: Final = f"in a year from {YEARS[0]} to {YEARS[-1]}"
SITES: Final = "numbers of sites like 1 to 4, 7"
STOPPABLE: Final = ("lamp", "pump", "fan", "power")
_NUMBERS: Final = {
    "amount": Column("amount", "number", -50, 1_000_000, required=False),
    "weight_g": Column("weight_g", "number", 0.001, 1_000_000, required=False, unit="g"),
    "kwh": Column("kwh", "number", 0.001, 1_000_000, required=False, unit="kWh"),
}
_CUTS = Column("cut", "whole", 1, 99, required=False)

_ISO_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(:\d{2}(\.\d+)?)?", re.ASCII)
_THREE_NUMBERS = re.compile(r"(\d{1,4})[./ -](\d{1,2})[./ -](\d{1,4})(?:[T ].*)?", re.ASCII)
_RUN = re.compile(r"(\d{1,5})(?:\s*(?:to|-|–|\.\.)\s*(\d{1,5}))?", re.ASCII)


def day_of(text: str, before: date | None = None) -> date | Bad:
    """Return a date; where it is not written year-month-day, the hint is its likeliest reading.

    ``before`` is a day on or after it (the day the line was written): with it, day-month and month-day order
    can be distinguished.
    """
    if _ISO_DAY.fullmatch(text):
        try:
            day = date.fromisoformat(text)
        except ValueError:
            return Bad(A_DAY, "there is no such day")
        return day if day.year in YEARS else Bad(A_DAY, OTHER_AGE)
    return Bad(A_DAY, _day_hint(text, before))


def _day_hint(text: str, before: date | None) -> str:
    readings = _readings(text)
    if before is not None and len(readings) > 1:
        past = [day for day in readings if day <= before]
        readings = [max(past)] if past else readings
    days = " or ".join(day.isoformat() for day in readings)
    return f"write {days}" if len(readings) == 1 else f"is it {days}?" if days else "write year-month-day"


def _readings(text: str) -> list[date]:
    """Return the days that a date in another form may mean."""
    match = _THREE_NUMBERS.fullmatch(text)
    if match is None:
        return _named_month(text)
    first, middle, last = (int(part) for part in match.groups())
    if len(match[1]) == 4:
        orders = [(first, middle, last)]
    else:
        year = last + 2000 if last < 100 else last
        orders = [(year, middle, first), (year, first, middle)]
    days = []
    for order in orders:
        try:
            days.append(date(*order))
        except ValueError:
            continue
    return list(dict.fromkeys(days))


def _named_month(text: str) -> list[date]:
    words = re.findall(r"[a-z]+|\d+", text.casefold())
    months = [MONTHS.index(word[:3]) + 1 for word in words if word[:3] in MONTHS]
    numbers = [int(word) for word in words if word.isdecimal()]
    if len(months) != 1 or len(numbers) < 2:
        return []
    number, year = sorted(numbers[:2])
    try:
        return [date(year + 2000 if year < 100 else year, months[0], number)]
    except ValueError:
        return []


def moment_of(text: str) -> datetime | Bad:
    """Return a local date and time, the space or a T between."""
    if _MOMENT.fullmatch(text):
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            return Bad(A_MOMENT, "there is no such time")
        return moment if moment.year in YEARS else Bad(A_MOMENT, OTHER_AGE)
    return Bad(A_MOMENT)


def sites_of(text: str) -> tuple[int, ...] | Bad:
    """Return site numbers; runs may be written 1 to 4, 1-4 or one by one."""
    if any(word[:3].casefold() in MONTHS for word in re.findall("[A-Za-z]+", text)):
        return Bad(SITES, "a spreadsheet has made a date of it")
    numbers: set[int] = set()
    left = text
    while left:
        match = _RUN.match(left)
        if match is None:
            return Bad(SITES)
        first, last = int(match[1]), int(match[2] or match[1])
        if not 1 <= first <= last <= MOST_SITES:
            return Bad(SITES, f"from 1 to {MOST_SITES}, the smaller one first")
        numbers.update(range(first, last + 1))
        left = re.sub(r"^\s*(?:,|;|and\b|\+|&)?\s*", "", left[match.end() :])
    return tuple(sorted(numbers))


def sites_text(sites: tuple[int, ...]) -> str:
    """Return site numbers as runs that no spreadsheet takes for a date: "1 to 4, 7"."""
    runs: list[list[int]] = []
    for number in sites:
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    return ", ".join(str(low) if low == high else f"{low} to {high}" for low, high in runs)


def _cut(text: str) -> int | str | Bad:
    if text.casefold() == "whole":
        return "whole"
    value = value_of(_CUTS, text)
    return value if isinstance(value, int) else Bad('the number of the cut, or "whole"')


def _yes(text: str) -> bool | Bad:
    word = text.casefold()
    if word in ("yes", "y", "true", "x", "1"):
        return True
    return False if word in ("no", "n", "false", "0") else Bad('"yes" or nothing')


def _stopped(text: str) -> str | Bad:
    return text.casefold() if text.casefold() in STOPPABLE else Bad(one_of(STOPPABLE))


def _written_at(text: str) -> datetime | Bad:
    try:
        value = datetime.fromisoformat(text)
        here = value.astimezone()
    except (ValueError, OverflowError):  # no time; one so far off that it has no place in any calendar
        return Bad("a time like 2027-01-06T18:30:00+00:00", "it may be left empty")
    return value if value.tzinfo else here


_READERS: Final[dict[str, Callable[[str], Any]]] = {
    "batch": as_typed,
    "crop": as_typed,
    "bed": as_typed,
    "zone": as_typed,
    "why": as_typed,
    "note": as_typed,
    "corrects": str,
    "id": str,
    "sites": sites_of,
    "cut": _cut,
    "early": _yes,
    "sure": _yes,
    "what": _stopped,
    "from": moment_of,
    "until": moment_of,
    "written_at": _written_at,
}


def value_in(column: str, text: str, *, decimal_comma: bool) -> Any | Bad:
    """Return the value of a cell that is not blank, or what is wrong with it."""
    if column in _NUMBERS:
        value = value_of(_NUMBERS[column], text, decimal_comma=decimal_comma)
        return float(value) if isinstance(value, int) else value
    return _READERS[column](text)


def cells_of(entry: Entry, *, decimal_comma: bool) -> dict[str, str]:
    """Return an entry as the texts of its cells."""
    return {
        "on": entry.on.isoformat(),
        "event": entry.event,
        "batch": _safe(entry.batch),
        "crop": _safe(entry.crop),
        "bed": _safe(entry.bed),
        "zone": _safe(entry.zone),
        "sites": sites_text(entry.sites),
        "amount": _number(entry.amount, decimal_comma),
        "unit": _safe(entry.unit),
        "weight_g": _number(entry.weight_g, decimal_comma),
        "kwh": _number(entry.kwh, decimal_comma),
        "cut": "" if entry.cut is None else str(entry.cut),
        "early": "yes" if entry.early else "",
        "what": entry.what,
        "from": _moment(entry.starts),
        "until": _moment(entry.ends),
        "why": _safe(entry.why),
        "note": _safe(entry.note),
        "sure": "yes" if entry.sure else "",
        "written_at": entry.written_at.isoformat() if entry.written_at else "",
        "corrects": entry.corrects,
        "id": entry.id,
    }


def _safe(text: str) -> str:
    return harmless(one_line(text))


def _moment(when: datetime | None) -> str:
    return when.isoformat(" ", "minutes") if when else ""


def _number(value: float | None, decimal_comma: bool) -> str:
    if value is None:
        return ""
    # Never with an exponent: a spreadsheet would round it.
    text = f"{Decimal(repr(value)):f}".removesuffix(".0")
    return text.replace(".", ",") if decimal_comma else text


def through_midnight(on: date, clock_from: str, clock_until: str) -> tuple[datetime, datetime]:
    """Return the moments of two clock times ("HH:MM") on a day; the second may be past midnight."""
    start = datetime.fromisoformat(f"{on.isoformat()} {clock_from}")
    end = datetime.fromisoformat(f"{on.isoformat()} {clock_until}")
    return start, end if end > start else end + timedelta(days=1)
