"""Hours of the day as people type them: "6am to 10pm", "on at 6, off at 22", "6-22 Uhr", "16 hours"."""

import re

from cropcal.reading.interview.answers import NUMBER, AnswerText, ask, number, within
from cropcal.records.answers import LampOnHours

_TIME = r"(\d{1,2})(?:[:.](\d\d))?\s*(am|pm|uhr|h)?"
_TO = r"\s*(?:-|to|until|till|til|through|bis)\s*"
_STRETCH = _TIME + _TO + _TIME + r"\b"
_AT = r"\s*(?:is\s+)?(?:at|from|um|by)?\s*"
_ON_OFF = r"on" + _AT + _TIME + r"[\s,;]*(?:and\s+|then\s+)*off" + _AT + _TIME + rf"\b(?!{_TO}\d)"
_OFF_ON = r"off" + _AT + _TIME + r"[\s,;]*(?:and\s+|then\s+)*(?:back\s+)?on" + _AT + _TIME + rf"\b(?!{_TO}\d)"
_DARK = r"(?:dark|not on|not|off)(?:\s+(?:hours|time|times|from|between|at|during|zwischen|von))*[\s:]*"
_HOURS = NUMBER + r"\s*(?:h|hours?|hrs?|hr|stunden|std)\b"
_PHRASES = (
    (r"\b([ap])\.m\.?", r"\1m"),
    (r"\b([01]\d|2[0-4])([0-5]\d)\b", r"\1:\2"),
    (r"\b(?:it )?(?:comes|goes|turns|switche[sd]|is|turned)\s+(on|off)\b", r"\1"),
    (r"\b12 (?:noon|midday)\b", "12 pm"),
    (r"(\d{1,2}) on[\s,/]+(\d{1,2}) off\b", r"\1/\2"),
    (r"(\d)\s*(?:o'clock)?\s*(?:in the morning|morning)\b", r"\1 am"),
    (r"(\d)\s*(?:o'clock)?\s*(?:in the (?:evening|afternoon)|at night|evening)\b", r"\1 pm"),
    (r"\b(?:noon|midday)\b", "12 pm"),
    (rf"\bmidnight(?={_TO})", "12 am"),
    (r"\bmidnight\b", "24:00"),
    (r"\b24/7\b|\b(?:all day and (?:all )?night|day and night|round the clock|always(?: on)?)", "24 h"),
    (r"(?<=\d)\s*o'clock\b", ""),
    (rf"\bbetween\s+({_TIME})\s+and\s+(?=\d)", r"between \1 to "),
)
_PICKED = ("pick", "picked", "best", "none", "any", "whenever", "you choose", "choose", "up to you")

Pair = tuple[str, str]


def hours(text: str) -> LampOnHours:
    """Read when the lamp is on and when it must be off: "06:00-22:00, quiet 22-7", "6am to 10pm", "16 h"."""
    words, quiet_words = AnswerText(text), AnswerText("")
    for pattern, plain in _PHRASES:
        words.left = re.sub(pattern, plain, words.left)
    hour_numbers = re.findall(r"(?<![\d/.:])\d{1,2}(?!\d)", words.left)
    clock_24 = "uhr" in words.left or any(hour[0] == "0" or int(hour) > 12 for hour in hour_numbers)
    words.left, wants_dark, quiet_words.left = words.left.partition("quiet")
    on_off = [match.groups() for match in words.take_all(_ON_OFF)]
    on_off += [(*match.groups()[3:], *match.groups()[:3]) for match in words.take_all(_OFF_ON)]
    quiet = [match.groups() for match in quiet_words.take_all(_STRETCH) + words.take_all(_DARK + _STRETCH)]
    lit = on_off + [match.groups() for match in words.take_all(_STRETCH)]
    length = _length(words)
    start = (
        words.take(r"(?:from|starting|starts?|on|at)" + _AT + _TIME + r"\b") if length and not lit else None
    )
    if wants_dark and not quiet:
        ask("no quiet hours are found")
    if lit and length:
        ask("both clock times and a number of hours are given")
    picked = words.has(*_PICKED)
    if not (lit or length or quiet or picked):
        ask("no hours are found")
    words.refuse_rest(
        "day night lit light lights lamp hours uhr must be for to then you think it's now timer it but"
    )
    quiet_words.refuse_rest("hours night uhr time times between to")
    pairs = [_pair(groups, clock_24=clock_24) for groups in lit]
    if start and length:
        first = _minutes(start.groups()[-3:], clock_24=True)
        pairs, length = [(_clock(first), _clock((first + round(length * 60)) % 1440))], None
    dark = tuple(_pair(groups, clock_24=clock_24) for groups in quiet)
    if length is not None and length > 24:
        ask(
            f"a day of light of {length:g} h is outside 1 to 24",
            f"{length / 2:g} h" if length <= 40 else None,
        )
    return LampOnHours(
        lit=tuple(pairs),
        quiet=dark,
        photoperiod_h=None if length is None else within(length, 1, 24, "a day of light"),
    )


def _length(words: AnswerText) -> float | None:
    """Take a number of hours: "16 h", "16/8", "12 hours on, 12 hours off", "14"."""
    if share := words.take(r"(\d{1,2})\s*/\s*(\d{1,2})\b"):
        if int(share[1]) + int(share[2]) != 24:
            ask(f'"{share[0]}" is not a day of 24 hours', f"{share[1]} h")
        return float(share[1])
    off = words.take(_HOURS + r"\s*(?:off|dark)")
    on = words.take(_HOURS + r"(?:\s*on\b)?") or (None if off else words.take(NUMBER + r"\b(?!\s*(?:am|pm))"))
    if off is None:
        return None if on is None else number(on[1])
    lit = 24 - number(off[1])
    if on is not None and number(on[1]) != lit:
        ask(f"{on[1]} hours on and {off[1]} hours off do not make 24 hours", f"{on[1]} h")
    return lit


def _pair(groups: tuple[str | None, ...], *, clock_24: bool) -> Pair:
    """Return a stretch as a pair of "HH:MM", or ask which half of the day is meant."""
    first, last = groups[:3], groups[3:]
    marked = [part[2] in ("am", "pm") for part in (first, last)]
    start, end = (_written(part) for part in (first, last))
    if not clock_24 and not all(marked) and max(int(first[0] or 0), int(last[0] or 0)) <= 12:
        morning = start if marked[0] else f"{start}am"
        evening = end if marked[1] else f"{end}pm"
        ask(f'"{start} to {end}" may be morning or evening', f"{morning} to {evening}")
    return _clock(_minutes(first, clock_24=clock_24)), _clock(_minutes(last, clock_24=clock_24))


def _written(part: tuple[str | None, ...]) -> str:
    hour, minute, half = part
    return f"{hour}{':' + minute if minute else ''}{half if half in ('am', 'pm') else ''}"


def _minutes(part: tuple[str | None, ...], *, clock_24: bool) -> int:
    """Return a time of day in minutes since midnight."""
    hour, minute = int(part[0] or 0), int(part[1] or 0)
    if part[2] in ("am", "pm") and hour <= 12:
        hour = hour % 12 + (12 if part[2] == "pm" else 0)
    elif part[2] == "am" or hour > 24 or (part[2] == "pm" and not clock_24):
        ask(f'"{_written(part)}" is not a time, so this is not a time span')
    if hour * 60 + minute > 1440 or minute > 59:
        ask(f'"{_written(part)}" is not a time, so this is not a time span')
    return hour * 60 + minute


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
