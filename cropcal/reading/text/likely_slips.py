"""The likely slip behind a value of the wrong type or out of bounds, worked out from the value alone."""

import re
from collections.abc import Callable
from datetime import date, datetime, time
from typing import Any, Final

from cropcal.reading.text.key_types import KeyType
from cropcal.reading.text.suggestions import nearest

_AMOUNT = re.compile(r"\s*(?:[^\W\d]{3}\s+|[^\w\s.,+-])?\s*([-+]?\d[\d_]*(?:[.,]\d+)?)\s*([^\d\s].*?)?\s*")
_CLOCK = re.compile(r"\s*(\d{1,2})(?:[:.h](\d{1,2}))?(?::\d\d)?\s*([ap])?\.?(?:m\.?)?\s*", re.IGNORECASE)
_FOUR_DIGITS = re.compile(r"\s*(\d\d)(\d\d)\s*")
_ISO_DAY = re.compile(r"\s*\d{4}-\d\d-\d\d\s*")
_TIMES = re.compile(r"\s*(\d{1,2}:\d\d)\s*(?:-|–|to)\s*(\d{1,2}:\d\d)\s*")

MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
LONG_M: Final = 5.0
"""A length that would still be longer than this in centimetres was more likely given in millimetres."""

BRIGHTEST_MJ_M2_D: Final = 50.0
"""No day on Earth brings more to the ground (FAO-56 table 2.6: at most about 45 above the air)."""

IN_OTHER_UNITS: Final[tuple[tuple[str, str, Callable[[float], float]], ...]] = (
    ("_m", "centimetres", lambda value: value / 100),
    ("_m", "millimetres", lambda value: value / 1000),
    ("photoperiod_h", "minutes", lambda value: value / 60),
    ("hours_per_day", "minutes", lambda value: value / 60),
    ("_c", "°F", lambda value: (value - 32) / 1.8),
    ("output", "percent", lambda value: value / 100),
    ("dims_to", "percent", lambda value: value / 100),
    ("wall_reflectance", "percent", lambda value: value / 100),
    ("daylight_share", "percent", lambda value: value / 100),
    ("service", "percent", lambda value: value / 100),
    ("weeks", "days", lambda value: value / 7),
    ("on_minutes", "seconds", lambda value: value / 60),
    ("every_minutes", "seconds", lambda value: value / 60),
    ("pot_l", "millilitres", lambda value: value / 1000),
)
"""Units in which a number out of bounds would make sense: end of the key, unit, into the key's unit."""

MONEY: Final = ("per_kwh", "standing_per_day", "standing_per_month")
CENTS: Final = ("c", "ct", "cts", "cent", "cents", "¢", "p", "pence")

UNIT_FACTORS: Final = {
    ("_m", "cm"): 0.01,
    ("_m", "mm"): 0.001,
    ("photoperiod_h", "min"): 1 / 60,
    ("photoperiod_h", "minutes"): 1 / 60,
    ("fan_m3_h", "cfm"): 1.699,
    ("fan_m3_h", "l/s"): 3.6,
    ("_l", "ml"): 0.001,
    ("_l", "gal"): 3.785,
    ("watts", "kw"): 1000.0,
    ("ppf_umol_s", "mmol/s"): 1000.0,
}
"""Units written behind a number that are not the key's own, and the factor into it."""


def slip(kind: KeyType, key: str, value: Any) -> str:
    """Return the likely slip in words, or "" if none is known."""
    if isinstance(value, dict):
        return ""
    match kind.sort:
        case "number" | "whole":
            return _number_slip(kind, key, value)
        case "text":
            return f'put it in quotes: "{value}"' if _is_plain(value) else ""
        case "yes or no":
            return _yes_or_no_slip(value)
        case "choice":
            return _choice_slip(kind, value)
        case "date":
            return _date_slip(value)
        case "site numbers":
            return _numbers_slip(value)
        case "time":
            return _time_slip(value)
        case "stretch" | "pair":
            return _pair_slip(kind, value)
        case "one for all or each":
            if kind.item is not None and not isinstance(value, list):
                return slip(kind.item, key, value)
            return f"{kind.count} of them, not {len(value)}"
        case "one for all or by name":
            return slip(kind.item, key, value) if kind.item is not None else ""
        case "list":
            if kind.longest and (not isinstance(value, list) or len(value) != kind.longest):
                return f"there are {len(value)}" if isinstance(value, list) else "one for each month"
            return _list_slip(kind, value)
        case "table":
            return ""


def _is_plain(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _number_slip(kind: KeyType, key: str, value: Any) -> str:
    if isinstance(value, str):
        return _text_for_number(kind, key, value)
    if isinstance(value, list):
        return "one number, without brackets" if len(value) == 1 else ""
    if not _is_plain(value):
        return "a number, without quotes" if isinstance(value, bool) else ""
    if kind.sort == "whole" and isinstance(value, float) and value.is_integer() and kind.allows(value):
        return f"write {value:.0f}, without a point"
    if kind.allows(value):
        return ""
    return _other_unit(kind, key, value)


def _other_unit(kind: KeyType, key: str, value: float) -> str:
    if abs(value) > 1e9:
        return ""
    if key == "lamp_to_canopy_m" and value <= 0:
        return "from the lamp, which hangs above the leaves, down to them"
    if key == "outdoor_kwh_m2_d" and value > 0:
        if value <= BRIGHTEST_MJ_M2_D:
            return "looks like MJ/m²: divide all by 3.6"
        return "looks like Wh/m²: divide all by 1000, and a month's sum by its days"
    if key == "ppf_umol_s" and value > 0:
        return "looks like lumens: look for PPF in µmol/s"
    if key == "wall_reflectance" and 0 < value <= 1:
        return "white paint or foil: 0.9"
    fits = [
        (unit, converted)
        for ending, unit, convert in IN_OTHER_UNITS
        if key.endswith(ending)
        and kind.allows(converted := convert(value))
        and (kind.sort == "number" or converted == round(converted))
    ]
    if fits:
        unit, converted = fits[-1] if fits[0][1] > LONG_M else fits[0]
        return f"looks like {unit}: {converted:.4g}"
    if key == "latitude" and abs(value) <= 180:
        return "perhaps latitude and longitude are the wrong way round"
    if key == "umol_m2_s" and value > 0:
        return "looks like lux: name the key lux (full sun gives about 2000 µmol/m²/s)"
    if key == "per_week" and value == 0:
        return "leave per_week out for as much as fits"
    return ""


def _text_for_number(kind: KeyType, key: str, value: str) -> str:
    match = _AMOUNT.fullmatch(value)
    if key == "months" and value.strip().casefold()[:3] in MONTHS:
        return f"write {MONTHS.index(value.strip().casefold()[:3]) + 1}"
    if match is None:
        return "a number, without quotes"
    digits, unit = match.groups()
    number = digits.replace(",", ".").replace("_", "")
    if key in MONEY and unit is not None and unit.casefold() in CENTS:
        return f"not in hundredths: {float(number) / 100:.6g}"
    if key in MONEY and value.strip() != digits:
        return f"leave out the currency and the quotes: {number}"
    if unit is not None:
        for (ending, other), factor in UNIT_FACTORS.items():
            if key.endswith(ending) and unit.casefold() == other:
                return f"leave out the unit: {float(number) * factor:.4g}"
        return f"leave out the unit: {number}"
    if "," in digits:
        return f"write a point and no quotes: {number}"
    return f"leave out the quotes: {number}"


def _yes_or_no_slip(value: Any) -> str:
    answer = value.strip().casefold() if isinstance(value, str) else value
    if answer in ("true", "yes", "y", "on", 1):
        return "write true, without quotes"
    if answer in ("false", "no", "n", "off", 0):
        return "write false, without quotes"
    return ""


def _choice_slip(kind: KeyType, value: Any) -> str:
    if not isinstance(value, str):
        return "put it in quotes" if not isinstance(value, list) else "one of them, without brackets"
    name = nearest(value, kind.choices) or next(
        (choice for choice in kind.choices if len(value) > 3 and value.strip().casefold().startswith(choice)),
        None,
    )
    return f'did you mean "{name}"?' if name else ""


def _date_slip(value: Any) -> str:
    if isinstance(value, datetime):
        return f"leave out the time: {value.date().isoformat()}"
    if isinstance(value, str):
        return "there is no such day" if _ISO_DAY.fullmatch(value) else "write year-month-day"
    return "write year-month-day"


def _numbers_slip(value: Any) -> str:
    if isinstance(value, list) and value and all(isinstance(number, int) for number in value):
        return f'write "{", ".join(map(str, value))}"'
    return "which sites, not how many" if _is_plain(value) else ""


def _time_slip(value: Any) -> str:
    text = f"{value:g}" if _is_plain(value) and abs(value) < 1e4 else value
    if isinstance(text, str):
        match = _CLOCK.fullmatch(text)
        if match is not None:
            hour, minute = int(match[1]), int(match[2] or 0)
            if match[3] and 1 <= hour <= 12:
                hour = hour % 12 + (12 if match[3].casefold() == "p" else 0)
        elif digits := _FOUR_DIGITS.fullmatch(text):
            hour, minute = int(digits[1]), int(digits[2])
        else:
            return ""
        if minute < 60 and hour * 60 + minute <= 24 * 60:
            return f'write "{hour:02d}:{minute:02d}"'
        return "a day has 24 hours of 60 minutes"
    return ""


def _pair_slip(kind: KeyType, value: Any) -> str:
    if isinstance(value, list):
        return f"two of them, not {len(value)}" if len(value) != 2 else ""
    if kind.sort == "stretch" and isinstance(value, str) and (match := _TIMES.fullmatch(value)):
        return f'write ["{match[1]}", "{match[2]}"]'
    return "two of them, in brackets"


def _list_slip(kind: KeyType, value: Any) -> str:
    item = kind.item
    if item is None:
        return ""
    if isinstance(value, list):
        return "one more pair of brackets around it" if item.sort in ("stretch", "pair", "list") else ""
    if item.sort == "stretch" and isinstance(value, str) and (match := _TIMES.fullmatch(value)):
        return f'write [["{match[1]}", "{match[2]}"]]'
    if isinstance(value, str):
        return f'write ["{value}"]' if item.sort in ("choice", "text") else ""
    if _is_plain(value):
        return f"write [[{value}]]" if item.sort == "list" else f"write [{value}]"
    if item.sort == "date" and isinstance(value, date):
        return f"write [{value}]"
    return "" if isinstance(value, date | time | bool) else "put it in brackets"
