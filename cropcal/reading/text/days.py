"""Days as people write them: "5.12.", "5 Dec", "12/5", "yesterday", "Tue", "two weeks ago".

What leaves the year or the week open is read by where the day lies: ``past`` for what happened, ``coming``
for what is to begin, ``near`` where it may be either. A weekday is the last one for what happened, else the
next one; today counts as both.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final, Literal

from cropcal.reading.text.likely_slips import MONTHS
from cropcal.units import YEARS

Lean = Literal["past", "near", "coming"]

WEEKDAYS: Final[tuple[tuple[str, ...], ...]] = (
    ("mondays", "monday", "mon", "mo", "montag"),
    ("tuesdays", "tuesday", "tues", "tue", "tu", "di", "dienstag"),
    ("wednesdays", "wednesday", "weds", "wed", "we", "mi", "mittwoch"),
    ("thursdays", "thursday", "thurs", "thur", "thu", "th", "do", "donnerstag"),
    ("fridays", "friday", "fri", "fr", "freitag"),
    ("saturdays", "saturday", "sat", "sa", "samstag"),
    ("sundays", "sunday", "sun", "su", "so", "sonntag"),
)
WEEKDAY_OF: Final = {name: number for number, names in enumerate(WEEKDAYS) for name in names}
A_WEEKDAY: Final = "(" + "|".join(sorted(WEEKDAY_OF, key=len, reverse=True)) + r")\b\.?"
A_MONTH: Final = (
    r"(jan(?:uary?)?|feb(?:ruary?)?|mar(?:ch)?|märz?|apr(?:il)?|may|mai|june?|juni|july?|juli|aug(?:ust)?"
    r"|sept?(?:ember)?|o[ck]t(?:ober)?|nov(?:ember)?|de[cz](?:ember)?)(?![a-zä])\.?"
)
_OTHER_MONTHS = {"mär": 3, "mai": 5, "okt": 10, "dez": 12}
_A_YEAR = r"(?:,?\s*(\d{4}|'?\d{2})\b(?!\s*[:.,]\d))?"
_COUNTS = {"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7}
_COUNTS |= {"a couple of": 2}
_COUNT = r"(\d{1,3}|" + "|".join(sorted(_COUNTS, key=len, reverse=True)) + ")"
_HALF_A_DAY = r"(?:this |in the |at |around )*(?:morning|afternoon|evening|night|noon|lunch ?time|midday)\b"
_DAY_FILLERS = "on the of at day last this date"
LONGEST_WORDS: Final = 5
"""The most words that a day at the end of a sentence takes: "on Sat 5 December 2026"."""


class NoSuchDayError(ValueError):
    """A day that the calendar does not have, or words that contradict each other; its text says which."""


class TakenWords:
    """A text being parsed: each part that is understood is removed from ``left``."""

    def __init__(self, text: str) -> None:
        self.left = text

    def take(self, pattern: str) -> re.Match[str] | None:
        """Remove and return the first match of a pattern that is a word of its own."""
        match = re.search(rf"(?<![\w.,]){pattern}", self.left)
        if match:
            self.left = f"{self.left[: match.start()]} {self.left[match.end() :]}"
        return match

    def take_all(self, pattern: str) -> list[re.Match[str]]:
        """Remove and return every match."""
        matches = []
        while (match := self.take(pattern)) is not None:
            matches.append(match)
        return matches


@dataclass(frozen=True)
class DayRead:
    """The days that a text may mean: one, several, or none; ``why``: what is wrong with it, if known."""

    days: tuple[date, ...]
    why: str = ""


def read_day(text: str, today: date, lean: Lean) -> DayRead:
    """Return the days that a text means, all of it being about the day.

    Parameters
    ----------
    text
        As typed.
    today
        The day on which it is typed.
    lean
        Where the day lies if the text leaves it open.
    """
    plain = " ".join(text.casefold().replace("–", "-").replace("’", "'").split())
    words = TakenWords(plain)
    days: tuple[date, ...] = ()
    why = ""
    try:
        days = days_in(words, today, lean)
    except NoSuchDayError as error:
        why = str(error)
    words.take_all(_HALF_A_DAY)
    left = [word for word in re.findall(r"[^\s,.()]+", words.left) if word not in _DAY_FILLERS.split()]
    return DayRead(()) if left else DayRead(tuple(day for day in days if day.year in YEARS), why)


def day_at_the_end(words: Iterable[str], today: date) -> int:
    """Return how many of the last words say when something happened, 0 if they do not.

    A number alone is an amount, and "so", "do" and "mo" are no days in a sentence.
    """
    spoken = list(words)
    for count in range(min(LONGEST_WORDS, len(spoken)), 0, -1):
        text = " ".join(spoken[-count:])
        if spoken[-count].casefold() in ("of", "at") or not _speaks_of_a_day(text):
            continue
        read = read_day(text, today, "past")
        if read.days or read.why:
            return count
    return 0


def _speaks_of_a_day(text: str) -> bool:
    """Return whether a text has a word of three letters or a date in it: 24.5 is a number, 24.5. a day."""
    return bool(re.search(r"[^\W\d_]{3,}|\d\.\s?\d{1,2}\.|\d/\d|\d[-.]\d{1,2}[-.]\d", text))


def days_in(words: TakenWords, today: date, lean: Lean) -> tuple[date, ...]:
    """Take the day from some words, and return what it may mean: one day, two readings of it, or none.

    Raises
    ------
    NoSuchDayError
        If the calendar has no such day, or a weekday beside it is another.
    """
    days = _dated(words, today, lean)
    if not days:
        near = _near_today(words, today, lean)
        return () if near is None else (near,)
    weekdays = {WEEKDAY_OF[match[1]] for match in words.take_all(A_WEEKDAY)}
    fit = tuple(day for day in days if not weekdays or weekdays == {day.weekday()})
    if not fit:
        message = f"{days[0].isoformat()} is a {days[0]:%A}"
        raise NoSuchDayError(message)
    return fit


def _near_today(words: TakenWords, today: date, lean: Lean) -> date | None:
    """Return a day given by its distance from today or as a weekday."""
    for pattern, away in (
        (r"(?:the )?day before yesterday\b|vorgestern\b", -2),
        (r"(?:the )?day after tomorrow\b|übermorgen\b", 2),
        (r"yesterday\b|last night\b|gestern\b", -1),
        (r"tomorrow\b|morgen\b", 1),
        (
            r"(?:today|tonight|(?:right|just) now|right away|now|asap|as soon as possible|straight away"
            r"|immediately|earlier today|this (?:morning|afternoon|evening|noon)|heute)\b",
            0,
        ),
    ):
        if words.take(f"(?:{pattern})"):
            return today + timedelta(days=away)
    if match := words.take(_COUNT + r" (day|week)s? ago\b"):
        return today - timedelta(days=_count(match[1]) * (7 if match[2] == "week" else 1))
    if lean == "coming":
        return _ahead(words, today) or _weekday(words, today, lean)
    return _weekday(words, today, lean)


def _count(word: str) -> int:
    return int(word) if word.isdecimal() else _COUNTS[word]


def _ahead(words: TakenWords, today: date) -> date | None:
    """Return a day given as so far ahead, on which something may begin."""
    if words.take(r"in (?:a|1) fortnight\b"):
        return today + timedelta(days=14)
    if words.take(r"next month\b"):
        return (today.replace(day=1) + timedelta(days=32)).replace(day=1)
    if match := words.take(r"(?:in )?" + _COUNT + r" (day|week|month)s?\b"):
        return today + timedelta(
            days=round(_count(match[1]) * {"day": 1, "week": 7, "month": 30.4}[match[2]])
        )
    return None


def _weekday(words: TakenWords, today: date, lean: Lean) -> date | None:
    """Return the last weekday of that name for what happened, else the next one."""
    if match := words.take(A_WEEKDAY + r"(?: of)? last week\b"):
        return today - timedelta(days=today.weekday() + 7 - WEEKDAY_OF[match[1]])
    match = words.take(r"((?:on |this |next |last |coming |past |nächsten? |letzten? )*)" + A_WEEKDAY)
    if match is None:
        if lean == "coming" and words.take(r"next week\b"):
            return today + timedelta(days=7 - today.weekday())
        return None
    away = (WEEKDAY_OF[match[2]] - today.weekday()) % 7
    said = match[1].split()
    if {*said} & {"last", "past", "letzten", "letzte"}:
        return today + timedelta(days=away - 7)
    if lean == "past" and not {*said} & {"next", "coming", "nächsten", "nächste"}:
        return today + timedelta(days=away - 7 if away else 0)
    return today + timedelta(days=away or 7 * ("next" in said))


def _dated(words: TakenWords, today: date, lean: Lean) -> tuple[date, ...]:
    """Return the days that a date may mean: with months in figures there may be two."""
    if match := words.take(r"(\d{4})[-./](\d{1,2})[-./](\d{1,2})\b"):
        return (a_date(int(match[1]), int(match[2]), int(match[3])),)
    if match := words.take(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s*(?:of\s+)?" + A_MONTH + _A_YEAR):
        return (in_year(match[3], month_of(match[2]), int(match[1]), today, lean),)
    if match := words.take(A_MONTH + r"\s*(?:the\s+)?(\d{1,2})(?:st|nd|rd|th)?\b(?!\s*[:/])" + _A_YEAR):
        return (in_year(match[3], month_of(match[1]), int(match[2]), today, lean),)
    if match := words.take(r"(\d{1,2})\.\s*(\d{1,2})\.?(?:\s*(\d{4}|\d{2})\b)?"):
        first, second = int(match[1]), int(match[2])
        day, month = (second, first) if second > 12 >= first else (first, second)
        return (in_year(match[3], month, day, today, lean),)
    if match := words.take(r"(\d{1,2})([/-])(\d{1,2})(?:\2(\d{4}|\d{2})\b)?"):
        return _in_figures(int(match[1]), int(match[3]), match[4], today, lean)
    if match := words.take(r"(?:the )?(\d{1,2})(?:st|nd|rd|th)\b"):
        return (_of_month(int(match[1]), today, lean),)
    return ()


def _in_figures(first: int, second: int, year: str | None, today: date, lean: Lean) -> tuple[date, ...]:
    """Return what 12/5 may mean: day and month, or month and day; only days where something may lie."""
    if first == second or first > 12 or second > 12:
        day, month = (first, second) if first > 12 or first == second else (second, first)
        return (in_year(year, month, day, today, lean),)
    both = sorted({in_year(year, *order, today, lean) for order in ((first, second), (second, first))})
    lies = [
        day for day in both if not (lean == "past" and day > today) and not (lean == "coming" and day < today)
    ]
    return tuple(lies or both)


def month_of(name: str) -> int:
    """Return the number of a month by its first letters."""
    return _OTHER_MONTHS.get(name[:3]) or MONTHS.index(name[:3]) + 1


def in_year(year: str | None, month: int, day: int, today: date, lean: Lean) -> date:
    """Return a day of a year of two or four digits; without one, the day of that name by where it lies."""
    if year is not None:
        number = int(year.removeprefix("'"))
        return a_date(number + (2000 if number < 100 else 0), month, day)
    named = []
    for other in range(today.year - 8, today.year + 9):  # 29 February comes once in 4 years, or in 8
        try:
            named.append(date(other, month, day))
        except ValueError:
            continue
    if not named:
        a_date(today.year, month, day)
    return _by_lean(named, today, lean)


def _of_month(day: int, today: date, lean: Lean) -> date:
    """Return the day of that number in this month or the one beside it: "the 5th"."""
    named = []
    for months in range(-2, 3):
        years, month = divmod(today.month - 1 + months, 12)
        try:
            named.append(date(today.year + years, month + 1, day))
        except ValueError:
            continue
    if not named:
        a_date(today.year, today.month, day)
    return _by_lean(named, today, lean)


def _by_lean(days: list[date], today: date, lean: Lean) -> date:
    if lean == "past":
        return max((day for day in days if day <= today), default=days[0])
    if lean == "coming":
        return min((day for day in days if day >= today), default=days[-1])
    return min(days, key=lambda day: (abs((day - today).days), day < today))


def a_date(year: int, month: int, day: int) -> date:
    """Return a date, or raise NoSuchDayError."""
    try:
        return date(year, month, day)
    except ValueError:
        message = f"there is no day {day} of month {month}"
        raise NoSuchDayError(message) from None
