"""What a value should have been, in words; and the nearest of some names to one that is unknown."""

from collections.abc import Collection, Iterable
from difflib import get_close_matches
from typing import Final

from cropcal.reading.text.key_types import KeyType

MOST_LISTED = 12

PRICE: Final = "a price in missed weeks"

NOUNS: Final = {
    "name": "a name",
    "latitude": "a latitude in degrees",
    "longitude": "a longitude in degrees",
    "watts": "a power in watts",
    "standby_watts": "a power in watts",
    "output": "a share of full output",
    "mains_v": "a voltage in volts",
    "supply_a": "a current in amps",
    "dims_to": "a share of full output",
    "wall_reflectance": "a share of light reflected",
    "photoperiod_h": "hours of lamp light a day",
    "daylight_share": "a share of daylight",
    "service": "a chance",
    "ppf_umol_s": "a photon flux in µmol/s",
    "umol_m2_s": "a PPFD in µmol/m²/s",
    "lux": "an illuminance in lux",
    "fan_m3_h": "an air flow in m³/h",
    "loss_w_per_k": "a heat loss in W/K",
    "tank_l": "a volume in litres",
    "pot_l": "a volume in litres",
    "outdoor_kwh_m2_d": "a daily sum in kWh/m²",
    "hours_per_day": "hours per day",
    "per_kwh": "a price per kWh",
    "standing_per_day": "a charge per day",
    "standing_per_month": "a charge per month",
    "tax_percent": "a percentage",
    "other_use_kwh_per_month": "an energy in kWh per month",
    "up_to_kwh": "an energy in kWh",
    "per_week": "an amount per week",
    "bowl_g": "a weight in g",
    "cut_at_g": "a weight of one plant in g",
    "amount": "an amount",
    "share": "a weight against other wants",
    "currency": "a currency code",
    "timezone": "a timezone",
    "surplus": PRICE,
    "cell": PRICE,
    "sowing": PRICE,
    "seed": PRICE,
    "minute": PRICE,
    "site_week": PRICE,
    "lamp": "a kind of lamp",
    "most_minutes_a_day": "minutes of work a day",
    "minutes": "minutes",
    "zone": "the name of a zone",
    "zones": "the name of a zone",
    "bed": "the name of a bed",
    "beds": "the name of a bed",
    "crops": "the slug of a crop",
    "crop": "the slug of a crop",
    "g": "a weight in g",
}
SUFFIX_NOUNS: Final = {
    "_m": "a length in metres",
    "_h": "hours",
    "_c": "a temperature in °C",
    "_minutes": "minutes",
    "_days": "days",
}
WHOLE_NOUNS: Final = {
    "sites": "a whole number of sites",
    "rows": "a whole number of rows",
    "columns": "a whole number of columns",
    "count": "a whole number of fixtures",
    "weeks": "a whole number of weeks",
    "clean_days": "a whole number of days",
    "eat_within_d": "a whole number of days",
    "every_days": "a whole number of days",
    "plug_age_d": "an age in whole days",
    "age_d": "an age in whole days",
    "months": "the number of a month",
    "seeds": "a whole number of seeds",
    "year": "a year",
}
IN_TURN: Final = {
    "wall_reflectance": "left, right, front, back",
    "daylight_share": "January to December",
}
"""What each number of a list is for, under keys that also take one number for all."""

OWN_TEXTS: Final = ("name", "currency")
"""Keys whose text the user makes up, and which refers to nothing else."""

SEEN: Final = "letters that can be seen, without control characters"
A_TIME: Final = 'a time of day like "06:30"'
A_DATE: Final = "a date like 2027-01-04"
SITE_NUMBERS: Final = 'site numbers like "5-8, 11", in quotes'
A_STRETCH: Final = 'a pair of times like ["17:00", "09:00"]'
A_REAL_STRETCH: Final = 'a start and a different end (the whole day is ["00:00", "24:00"])'


def phrase(kind: KeyType, key: str) -> str:
    """Return what a value of this kind should be, with the unit that stands in the key's name."""
    match kind.sort:
        case "number":
            return f"{noun(key)}{bounds(kind)}"
        case "whole":
            return f"{WHOLE_NOUNS.get(key, 'a whole number')}{bounds(kind)}"
        case "text":
            length = f" of 1 to {kind.longest} letters" if key in OWN_TEXTS and kind.longest else ""
            return f"{NOUNS.get(key, 'a text')}{length}, in quotes"
        case "yes or no":
            return "true or false"
        case "choice":
            return one_of(kind.choices)
        case "date":
            return A_DATE
        case "site numbers":
            return SITE_NUMBERS
        case "time":
            return A_TIME
        case "stretch":
            return A_STRETCH
        case "pair":
            return 'a pair of dates like ["2027-04-05", "2027-04-11"]'
        case "one for all or each":
            item = phrase(kind.item, key) if kind.item else ""
            return f"{item}, or {kind.count} of them in brackets ({IN_TURN[key]})"
        case "one for all or by name":
            item = phrase(kind.item, key) if kind.item else ""
            return f"{item}, or one for each crop like {{ kale = 60 }}"
        case "list":
            return list_phrase(kind, key)
        case "table":
            return "a table of keys"


def list_phrase(kind: KeyType, key: str) -> str:
    """Return what a list should hold, with an example of its brackets where they are easy to miss."""
    item = kind.item
    if item is None or item.sort == "table":
        return "a list of tables like [{ ... }]"
    if item.sort == "stretch":
        return 'a list of pairs of times like [["17:00", "09:00"]]'
    if item.sort == "pair":
        return 'a list of pairs of dates like [["2027-04-05", "2027-04-11"]]'
    if item.sort == "list":
        numbers = "[[9000, 10500], [9500, 11400]]" if key == "lux" else "[[180, 210], [190, 228]]"
        return f"rows in brackets like {numbers}, each number {noun(key)}"
    many = f"{kind.longest} numbers" if kind.longest else "a list"
    return f"{many} in brackets, each {phrase(item, key)}"


def noun(key: str) -> str:
    """Return what a number under this key measures, with its unit."""
    if key in NOUNS:
        return NOUNS[key]
    return next((words for suffix, words in SUFFIX_NOUNS.items() if key.endswith(suffix)), "a number")


def bounds(kind: KeyType) -> str:
    """Return " above 0 up to 50" and the like."""
    low = f" from {kind.ge:.10g}" if kind.ge is not None else ""
    low = f" above {kind.gt:.10g}" if kind.gt is not None else low
    if kind.lt is not None:
        return f"{low} and below {kind.lt:.10g}"
    if kind.le is None:
        return low
    return f"{low} {'to' if kind.ge is not None else 'up to'} {kind.le:.10g}"


def one_of(names: Collection[str]) -> str:
    """Return names in quotes, of which one is meant."""
    if len(names) <= 2:
        return " or ".join(f'"{name}"' for name in names)
    return f"one of {listed(names)}"


def listed(names: Collection[str]) -> str:
    """Return names in quotes, cut where there are too many to read."""
    text = ", ".join(f'"{name}"' for name in list(names)[:MOST_LISTED])
    return text if len(names) <= MOST_LISTED else f"{text} and {len(names) - MOST_LISTED} more"


def nearest(word: str, names: Iterable[str]) -> str | None:
    """Return the name most like a word (ignoring case; a part of a name will do), None if none is close."""
    folded = {name.casefold(): name for name in sorted(names, reverse=True)}
    word = word.strip().casefold()
    if word in folded:
        return folded[word]
    close = get_close_matches(word, folded, n=1, cutoff=0.6)
    if close:
        return folded[close[0]]
    if len(word) < 3:
        return None
    parts = (name for fold, name in folded.items() if word in fold or fold in word)
    return min(parts, key=lambda name: (len(name), name), default=None)


def did_you_mean(word: str, names: Collection[str]) -> str:
    """Return the nearest name as a question, or else all the names there are."""
    name = nearest(word, names)
    if name is not None:
        return f'did you mean "{name}"?'
    if not names:
        return "there is none yet"
    return f"there {'is' if len(names) == 1 else 'are'} {listed(sorted(names))}"
