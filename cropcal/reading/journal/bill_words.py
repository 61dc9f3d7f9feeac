"""The words of a noted bill: its month, what it came to, the kWh it counts, in any order."""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from cropcal.reading.text.csv_cells import Bad
from cropcal.reading.text.likely_slips import MONTHS
from cropcal.reading.text.source import shorten
from cropcal.reading.text.suggestions import nearest

A_MONTH: Final = "the month of the bill, like 2027-02 or Feb"
MONEY: Final = "what the bill came to, like 41.30"
_NAMES: Final = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
_FILLERS: Final = frozenset(
    {"for", "of", "in", "on", "at", "to", "the", "a", "is", "was", "it", "came", "bill", "total", "and"}
)
_SYMBOLS: Final = {"€": ("EUR",), "£": ("GBP",), "¥": ("JPY", "CNY"), "₹": ("INR",), "$": ()}
"""What a sign may stand for; a dollar for every currency whose code ends with D."""
_YEAR_MONTH = re.compile(r"\b(2[01]\d\d)[-/](\d{1,2})(?:[-/]\d{1,2})?(?![\d.,])", re.ASCII)
_MONTH_YEAR = re.compile(r"\b(\d{1,2})[-/](2[01]\d\d)(?![\d.,])", re.ASCII)
_NEAR = re.compile(r"\b(this|last)\s+month\b")
_WORD = re.compile(r"[^\W\d_]+")
_YEAR = re.compile(r"(?<![\d.,-])(2[01]\d\d)(?![\d]|[.,]\d)", re.ASCII)
_TOKENS = re.compile(r"[-+−]?[0-9][0-9.,']*|[^\W\d_]+|\S")
_NUMBER = re.compile(r"[-+−]?\d+(?:[.,]\d+)?", re.ASCII)
_THOUSANDS = re.compile(r"[-+−]?\d{1,3}[.,]\d{3}", re.ASCII)


@dataclass(frozen=True)
class BillWords:
    """What the words say: the first day of the month, an amount, its currency, kWh; None where nothing."""

    month: date | None
    amount: float | None
    currency: str
    kwh: float | None


def bill_words(text: str, today: date, currency: str | None) -> BillWords | Bad:
    """Return what the words of a bill say, or what is wrong with them.

    Parameters
    ----------
    text
        The words, as typed.
    today
        A month without its year is the last one of that name that has begun.
    currency
        The currency of the tariff, None if there is none.
    """
    found = _month_in(text, today)
    if isinstance(found, Bad):
        return found
    month, rest = found
    amounts: list[float] = []
    energies: list[float] = []
    known = ""
    tokens = _TOKENS.findall(rest)
    for at, token in enumerate(tokens):
        after = tokens[at + 1].casefold() if at + 1 < len(tokens) else ""
        if token[-1].isdecimal() or _NUMBER.match(token):
            number = _number(token.rstrip(".,'"))
            if isinstance(number, Bad):
                return number
            (energies if after == "kwh" else amounts).append(number)
        elif token.casefold() == "kwh" or token.casefold() in _FILLERS or token in ",;:.=()'\"":
            continue
        elif _is_currency(token, currency):
            known = currency or ("" if token in _SYMBOLS else token)
        else:
            return Bad(MONEY if month else A_MONTH, _unknown(token, currency))
    if len(amounts) > 1 or len(energies) > 1:
        return Bad(MONEY, "one sum, and kWh if they are on the bill: 41.30 180 kWh")
    return BillWords(
        month,
        amounts[0] if amounts else None,
        known or (currency or ""),
        energies[0] if energies else None,
    )


def _number(text: str) -> float | Bad:
    if _THOUSANDS.fullmatch(text):
        plain = text.replace(",", "").replace(".", "")
        return Bad(MONEY, f"is it {plain} or {text[:-4]}.{text[-3:]}? Write it without a thousands mark")
    if not _NUMBER.fullmatch(text):
        return Bad(MONEY, "write it without a thousands mark")
    return float(text.replace(",", ".").replace("−", "-"))


def _is_currency(token: str, currency: str | None) -> bool:
    if currency is None:
        return token in _SYMBOLS or bool(re.fullmatch("[A-Z]{3}", token))
    if token.casefold() == currency.casefold():
        return True
    return token in _SYMBOLS and (
        currency.upper() in _SYMBOLS[token] or (token == "$" and currency.upper().endswith("D"))
    )


def _unknown(token: str, currency: str | None) -> str:
    """Return a hint on a word that is no part of a bill: another currency, or a word to leave out."""
    if currency and (token in _SYMBOLS or re.fullmatch("[A-Za-z]{3}", token)):
        return f"money is in {currency} here, the currency of the tariff"
    near = nearest(token, _NAMES) if len(token) > 2 else None
    return f'did you mean "{near}"?' if near else f'leave out "{shorten(token)}"'


def _month_in(text: str, today: date) -> tuple[date | None, str] | Bad:
    """Return the first day of the month that a text names (None: it names none), and the text without it."""
    for pattern, year_at, month_at in ((_YEAR_MONTH, 1, 2), (_MONTH_YEAR, 2, 1)):
        if match := pattern.search(text):
            year, number = int(match[year_at]), int(match[month_at])
            if not 1 <= number <= 12:
                return Bad(A_MONTH, "there are twelve months")
            return date(year, number, 1), _without(text, match)
    if match := _NEAR.search(text.casefold()):
        first = today.replace(day=1)
        month = first if match[1] == "this" else (first - timedelta(days=1)).replace(day=1)
        return month, _without(text, match)
    for match in _WORD.finditer(text):
        number = _month_number(match[0])
        if number:
            return _in_its_year(number, _without(text, match), today)
    return None, text


def _month_number(word: str) -> int:
    """Return the number of the month that a word or its beginning names, 0 if none."""
    folded = word.casefold()
    if len(folded) < 3 or folded[:3] not in MONTHS:
        return 0
    number = MONTHS.index(folded[:3]) + 1
    return number if _NAMES[number - 1].startswith(folded) or folded == "sept" else 0


def _in_its_year(number: int, rest: str, today: date) -> tuple[date, str]:
    """Return a month in the year that stands beside it; a lone number is the amount, not the year."""
    match = _YEAR.search(rest)
    if match and re.search(r"\d", _without(rest, match)):
        return date(int(match[1]), number, 1), _without(rest, match)
    return date(today.year - (number > today.month), number, 1), rest


def _without(text: str, match: re.Match[str]) -> str:
    return f"{text[: match.start()]} {text[match.end() :]}"
