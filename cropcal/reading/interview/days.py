"""Days as people type them: work days ("Wed and Sat", "weekends") and a first day ("next Monday")."""

from datetime import date, timedelta
from typing import get_args

from cropcal.reading.interview.answers import AnswerText, Heard, ask
from cropcal.reading.text.days import (
    A_MONTH,
    A_WEEKDAY,
    WEEKDAY_OF,
    NoSuchDayError,
    days_in,
    in_year,
    month_of,
)
from cropcal.records.values import Weekday

_GROUPS = {
    r"every ?day(?! off)|daily|any(?: day)?|all days|all week|7 days(?: a week)?": range(7),
    r"weekdays?|work(?:ing)? ?days|school days": range(5),
    r"(?:the |at |on )*weekends?": (5, 6),
}
FARTHEST_DAYS = 366


def work_days(text: str) -> tuple[Weekday, ...]:
    """Read on which weekdays somebody has time."""
    words = AnswerText(text)
    days: set[int] = set()
    for pattern, numbers in _GROUPS.items():
        if words.take(rf"(?:{pattern})\b"):
            days |= set(numbers)
    while stretch := words.take(A_WEEKDAY + r"\s*(?:-|to|through|until|bis)\s*" + A_WEEKDAY):
        first, last = WEEKDAY_OF[stretch[1]], WEEKDAY_OF[stretch[2]]
        days |= {day % 7 for day in range(first, last + (7 if last < first else 0) + 1)}
    days |= {WEEKDAY_OF[match[1]] for match in words.take_all(A_WEEKDAY)}
    if not days:
        ask("which days of the week are meant")
    words.refuse_rest(
        "+ & mornings morning evenings evening afternoons afternoon after school work only always und"
    )
    return tuple(day for number, day in enumerate(get_args(Weekday)) if number in days)


def first_day(text: str, heard: Heard) -> date:
    """Read the day on which somebody wants to begin: today or later, within a year."""
    today, words = heard.today, AnswerText(text)
    try:
        days = days_in(words, today, "coming") or _of_a_month(words, today)
        if not days:
            ask("no day is found")
        words.take_all(A_WEEKDAY)
        words.refuse_rest("start starting begin beginning sow sowing day first week this coming next after")
        day = min(days)
        if len(days) > 1:
            ask(f"{text.strip()} is one day in Britain and another in the US", day.isoformat())
        if not today <= day <= today + timedelta(days=FARTHEST_DAYS):
            when = "is in the past" if day < today else "is more than a year away"
            coming = in_year(None, day.month, day.day, today, "coming")
            ask(f"{day.isoformat()} {when}", coming.isoformat())
    except NoSuchDayError as error:
        ask(str(error))
    return day


def _of_a_month(words: AnswerText, today: date) -> tuple[date, ...]:
    """Return the day meant by a month alone: its first, or its middle."""
    early = r"(?:the )?(?:beginning of |start of |early |middle of |mid[ -])?"
    match = words.take(early + A_MONTH + r"(?:,?\s*(\d{4}))?")
    if match is None:
        return ()
    month, is_middle = month_of(match[1]), "mid" in match[0]
    if month == today.month and match[2] in (None, str(today.year)) and not is_middle:
        return (today,)
    return (in_year(match[2], month, 15 if is_middle else 1, today, "coming"),)
