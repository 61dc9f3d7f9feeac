"""Days as people type them: work days ("Wed and Sat", "weekends") and a first day ("next Monday")."""

from datetime import date, timedelta
from typing import get_args

from cropcal.reading.interview.answers import AnswerText, Heard, ask
from cropcal.records.values import Weekday

_NAMES: tuple[tuple[str, ...], ...] = (
    ("mondays", "monday", "mon", "mo", "montag"),
    ("tuesdays", "tuesday", "tues", "tue", "tu", "di", "dienstag"),
    ("wednesdays", "wednesday", "weds", "wed", "we", "mi", "mittwoch"),
    ("thursdays", "thursday", "thurs", "thur", "thu", "th", "do", "donnerstag"),
    ("fridays", "friday", "fri", "fr", "freitag"),
    ("saturdays", "saturday", "sat", "sa", "samstag"),
    ("sundays", "sunday", "sun", "su", "so", "sonntag"),
)
_DAY_OF = {name: number for number, names in enumerate(_NAMES) for name in names}
_DAY = "(" + "|".join(sorted(_DAY_OF, key=len, reverse=True)) + r")\b\.?"
_GROUPS = {
    r"every ?day(?! off)|daily|any(?: day)?|all days|all week|7 days(?: a week)?": range(7),
    r"weekdays?|work(?:ing)? ?days|school days": range(5),
    r"(?:the |at |on )*weekends?": (5, 6),
}
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_MONTH = r"(jan|feb|mar|mär|apr|may|mai|jun|jul|aug|sept?|okt|oct|nov|dez|dec)[a-z]*\.?"
_OTHER_MONTHS = {"mär": 3, "mai": 5, "okt": 10, "dez": 12}
FARTHEST_DAYS = 366


def work_days(text: str) -> tuple[Weekday, ...]:
    """Read on which weekdays somebody has time."""
    words = AnswerText(text)
    days: set[int] = set()
    for pattern, numbers in _GROUPS.items():
        if words.take(rf"(?:{pattern})\b"):
            days |= set(numbers)
    while stretch := words.take(_DAY + r"\s*(?:-|to|through|until|bis)\s*" + _DAY):
        first, last = _DAY_OF[stretch[1]], _DAY_OF[stretch[2]]
        days |= {day % 7 for day in range(first, last + (7 if last < first else 0) + 1)}
    days |= {_DAY_OF[match[1]] for match in words.take_all(_DAY)}
    if not days:
        ask("which days of the week are meant")
    words.refuse_rest(
        "+ & mornings morning evenings evening afternoons afternoon after school work only always und"
    )
    return tuple(day for number, day in enumerate(get_args(Weekday)) if number in days)


def first_day(text: str, heard: Heard) -> date:
    """Read the day on which somebody wants to begin: today or later, within a year."""
    today, words = heard.today, AnswerText(text)
    day = _dated(words, today) or _near(words, today)
    if day is None:
        ask("no day is found")
    words.take_all(_DAY)  # "Monday, 11 January"
    words.refuse_rest("start starting begin beginning sow sowing day first week this coming next after")
    if not today <= day <= today + timedelta(days=FARTHEST_DAYS):
        when = "is in the past" if day < today else "is more than a year away"
        ask(f"{day.isoformat()} {when}", _coming(day.month, day.day, today).isoformat())
    return day


def _near(words: AnswerText, today: date) -> date | None:
    """Return a day told by its distance from today or as a weekday."""
    if words.take(r"(?:today|right now|right away|now|asap|as soon as possible|straight away|immediately)\b"):
        return today
    if words.take(r"(?:the )?day after tomorrow\b"):
        return today + timedelta(days=2)
    if words.take(r"tomorrow\b"):
        return today + timedelta(days=1)
    if words.take(r"in (?:a|1) fortnight\b"):
        return today + timedelta(days=14)
    if words.take(r"next month\b"):
        return (today.replace(day=1) + timedelta(days=32)).replace(day=1)
    if match := words.take(r"(?:in )?(an?|\d{1,3}) (day|week|month)s?\b"):
        count = 1 if match[1].startswith("a") else int(match[1])
        return today + timedelta(days=round(count * {"day": 1, "week": 7, "month": 30.4}[match[2]]))
    if match := words.take(r"(?:on |this |next |coming |nächsten? )*" + _DAY):
        ahead = (_DAY_OF[match[1]] - today.weekday()) % 7
        return today + timedelta(days=ahead or 7 * ("next" in match[0]))
    if words.take(r"next week\b"):
        return today + timedelta(days=7 - today.weekday())
    return None


def _dated(words: AnswerText, today: date) -> date | None:
    """Return a day told as a date; without a year, the next one of that name."""
    if match := words.take(r"(\d{4})-(\d{1,2})-(\d{1,2})\b"):
        return _date(int(match[1]), int(match[2]), int(match[3]))
    year = r"(?:,?\s*(\d{4}))?"
    if match := words.take(r"(\d{1,2})(?:st|nd|rd|th)?\.?\s*(?:of\s+)?" + _MONTH + year):
        return _in_year(match[3], _month(match[2]), int(match[1]), today)
    if match := words.take(_MONTH + r"\s*(?:the\s+)?(\d{1,2})(?:st|nd|rd|th)?\b" + year):
        return _in_year(match[3], _month(match[1]), int(match[2]), today)
    if match := words.take(r"(\d{1,2})\.\s*(\d{1,2})\.?(?:\s*(\d{4}|\d{2})\b)?"):
        return _in_year(match[3], int(match[2]), int(match[1]), today)
    if match := words.take(r"(\d{1,2})/(\d{1,2})(?:/(\d{4}|\d{2})\b)?"):
        first, second = int(match[1]), int(match[2])
        if first == second or first > 12 or second > 12:
            day, month = (first, second) if first > 12 else (second, first)
            return _in_year(match[3], month, day, today)
        both = _in_year(match[3], first, second, today), _in_year(match[3], second, first, today)
        likely = min((day for day in both if day >= today), default=max(both))
        if min(both) < today:  # so the other is meant
            return likely
        ask(f"{match[0]} is one day in Britain and another in the US", likely.isoformat())
    if match := words.take(
        r"(?:the )?(?:beginning of |start of |early |middle of |mid[ -])?" + _MONTH + year
    ):
        if _month(match[1]) == today.month and match[2] in (None, str(today.year)) and "mid" not in match[0]:
            return today
        return _in_year(match[2], _month(match[1]), 15 if "mid" in match[0] else 1, today)
    return None


def _month(name: str) -> int:
    return _OTHER_MONTHS.get(name[:3]) or _MONTHS.index(name[:3]) + 1


def _in_year(year: str | None, month: int, day: int, today: date) -> date:
    if year is None:
        return _coming(month, day, today)
    return _date(int(year) + (2000 if len(year) == 2 else 0), month, day)


def _coming(month: int, day: int, today: date) -> date:
    """Return the next day of that month and number."""
    this = _date(today.year, month, day)
    return this if this >= today else _date(today.year + 1, month, day)


def _date(year: int, month: int, day: int) -> date:
    try:
        return date(year, month, day)
    except ValueError:
        ask(f"there is no day {day} of month {month}")
