"""Two ``--json`` forms compared: the figures that differ, and a table of them.

Items of a list are paired by what they are about (a bed, a month, a crop), not by their place.
"""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from cropcal.records.values import Change
from cropcal.show import text
from cropcal.show.data.json_forms import Json, tidy
from cropcal.show.wording import want_name

MOST_ROWS: Final = 20
LONGEST_VALUE: Final = 60
ABOUT: Final = (
    "month", "week", "date", "zone", "bed", "want", "job", "crop", "slug", "site", "cut",
    "for", "what", "rate", "name",
)  # fmt: skip
"""Keys that identify an item of a list."""
ABOUT_IN: Final = {"choices": ("photoperiod_h",), "lengths": ("photoperiod_h",)}
"""The same for lists whose items are identified by another key."""
NUMBERED: Final = ("site", "cut")
"""Those of them that are bare numbers."""
SENTENCES: Final = (
    "why", "cure", "how", "note", "label", "sources", "assumptions", "warnings", "cautions", "seconds",
    "inputs_sha256", "space_sha256", "unit", "currency", "batch", "cures", "too_weak", "care",
)  # fmt: skip
"""Keys of explanations, which are not compared: the screen below shows them."""
HEADLINES: Final = ("status", "weeks_missed", "short_weeks", "verdict", "mistakes")
SPREADS: Final = ("min", "max", "low", "high", "first", "last", "range_80")
DETAILS: Final = ("sites", "lines", "choices")
UNITS: Final = {
    "_umol_m2_s": "µmol/m²/s",
    "_mol_m2_d": "mol/m²/d",
    "_g_per_plant": "g a plant",
    "_h": "h",
    "_c": "°C",
    "_m": "m",
}
WORDS: Final = {
    "dli": "DLI",
    "ppfd": "PPFD",
    "kwh": "kWh",
    "sd_ln": "within",
    "photoperiod_h": "lit h",
    "short_want_weeks": "weeks missed",
    "yield_g_per_plant": "g a plant",
    "source": "based on",
    "range_80": "likely between",
    "short_weeks": "weeks missed if all grows as forecast",
}
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_MONTH = re.compile(r"\d{4}-\d\d")


@dataclass(frozen=True)
class ChangedValue:
    """One value that differs: its place, and its value before and after (None: absent).

    ``about`` names what the items on the way to it are about, ``keys`` are the keys on the way and
    ``unit`` is the unit of the value where the key names none.
    """

    about: tuple[str, ...]
    keys: tuple[str, ...]
    before: Any
    after: Any
    unit: str = ""

    @property
    def key(self) -> str:
        """Return the keys on the way, dotted, with what the items are about in brackets."""
        items = iter(self.about)
        return ".".join(f"{key[:-2]}[{next(items)}]" if key.endswith("[]") else key for key in self.keys)

    def as_dict(self) -> Json:
        """Return it as ``--json`` prints it."""
        return {"key": self.key, "before": self.before, "after": self.after}


def differences(before: Json, after: Json) -> list[ChangedValue]:
    """Return every value that differs between two forms, what matters most first.

    Parameters
    ----------
    before, after
        Two forms of the same command.
    """
    return sorted(_walk((), (), tidy(before), tidy(after), ""), key=_rank)


def _rank(difference: ChangedValue) -> int:
    if any(key in DETAILS or key.removesuffix("[]") in DETAILS for key in difference.keys):
        return 3
    if difference.keys[-1] in HEADLINES:
        return 0
    return 2 if difference.keys[-1] in SPREADS else 1


def _walk(
    about: tuple[str, ...], keys: tuple[str, ...], before: Any, after: Any, unit: str
) -> Iterator[ChangedValue]:
    if isinstance(before, dict) and isinstance(after, dict):
        unit = after.get("unit") or before.get("unit") or unit
        for key in dict.fromkeys((*after, *before)):
            if key not in SENTENCES:
                was, now = before.get(key), after.get(key)
                was, now = (_empty(now) if was is None else was), (_empty(was) if now is None else now)
                yield from _walk(about, (*keys, key), was, now, unit)
    elif _is_table(before) and _is_table(after) and (before or after):
        key = keys[-1]
        was, now = _by_name(before, key), _by_name(after, key)
        for name in dict.fromkeys((*now, *was)):
            path = (*keys[:-1], f"{key}[]")
            yield from _walk((*about, name), path, was.get(name), now.get(name), unit)
    elif before != after:
        yield ChangedValue(about, keys, before, after, unit)


def _empty(other: Any) -> Any:
    """Return the empty counterpart of a table or list that only one form has."""
    return {} if isinstance(other, dict) else [] if _is_table(other) and other else None


def _is_table(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


def _by_name(items: Sequence[Json], key: str) -> dict[str, Json]:
    """Return items by name, made of the keys in ABOUT; equal names are numbered."""
    named: dict[str, Json] = {}
    about = ABOUT_IN.get(key, ABOUT)
    for item in items:
        ids = [field for field in about if item.get(field) and not (field == "zone" and "bed" in item)]
        about_text = ", ".join(
            f"{field} {item[field]}" if field in NUMBERED else str(item[field]) for field in ids
        )
        name, number = about_text, 1
        while name in named:
            number += 1
            name = f"{about_text} ({number})"
        named[name] = {field: value for field, value in item.items() if field not in ids}
    return named


def tried(
    changes: Sequence[Change],
    differing: Sequence[ChangedValue],
    names: Mapping[str, str],
    currency: str | None,
    most: int = MOST_ROWS,
) -> str:
    """Return the keys that are tried and a table of the figures that change.

    Parameters
    ----------
    changes
        The keys that are tried.
    differing
        The values that differ, most important first.
    names
        Slug of a crop -> its name.
    currency
        What costs are in.
    most
        Figures that are shown.
    """
    rows = []
    for difference in differing:
        was = _shown_value(difference.before, difference)
        now = _shown_value(difference.after, difference)
        if was != now:
            rows.append((_label(difference, names, currency), was, now))
    if not rows:
        return f"{given(changes)}\n\nIt changes nothing on this screen.\n"
    more = len(rows) - most
    left = f"\nand {more} more: --json has all" if more > 0 else ""
    return f"{given(changes)}\n\n{text.table(('what', 'now', 'with --set'), rows[:most], 'wll')}{left}\n"


def given(changes: Iterable[Change]) -> str:
    """Return one bullet per key that is tried."""
    return "Only tried: the file stays as it is\n" + text.bullets(map(_change, changes))


def _change(change: Change) -> str:
    before, now = (text.clip(value or "", LONGEST_VALUE) for value in (change.before, change.now))
    file = "not in the file" if change.before is None else f"in the file: {before}"
    if change.now is not None:
        return f"{change.key} = {now} ({file})"
    return f"{change.key} left out{f', {change.because} is used instead' if change.because else ''} ({file})"


def _label(difference: ChangedValue, names: Mapping[str, str], currency: str | None) -> str:
    about = ": ".join(", ".join(_name(part, names) for part in item.split(", ")) for item in difference.about)
    last_item = max((place for place, key in enumerate(difference.keys) if key.endswith("[]")), default=-1)
    inner = [*difference.keys[last_item + 1 :]]
    whole = difference.before if difference.after is None else difference.after
    inner += [_first_number(whole)] if isinstance(whole, dict) and _first_number(whole) else []
    what = ", ".join(names.get(key) or _words(key, currency) for key in inner)
    return f"{about}: {what}" if about and what else about or what


def _name(part: str, names: Mapping[str, str]) -> str:
    if _DAY.fullmatch(part):
        return text.day(date.fromisoformat(part))
    if _MONTH.fullmatch(part):
        return f"{text.MONTH_NAMES[int(part[5:]) - 1]} {part[:4]}"
    return want_name(part, names)


def _words(key: str, currency: str | None) -> str:
    """Return a key in words, its unit behind them."""
    if key in WORDS:
        return WORDS[key]
    unit = next((suffix for suffix in UNITS if key.endswith(suffix)), "")
    bare = key.removesuffix(unit)
    parts = [bare] if bare in WORDS else bare.replace("_per_", "_a_").split("_")
    words = " ".join(WORDS.get(word, word) for word in parts)
    if "cost" in parts and currency:
        words += f" {text.clean(currency)}"
    return f"{words} {UNITS[unit]}" if unit else words


def _shown_value(value: Any, difference: ChangedValue) -> str:
    """Return a value as a person reads it."""
    match value:
        case None:
            return "-"
        case bool():
            return "yes" if value else "no"
        case int() | float():
            return _number(value, difference)
        case str():
            return text.day(date.fromisoformat(value)) if _DAY.fullmatch(value) else text.clean(value)
        case list() if value and all(isinstance(item, list) for item in value):
            return ", ".join("-".join(map(str, item)) for item in value)
        case list():
            return (" to " if len(value) == 2 else ", ").join(
                _shown_value(item, difference) for item in value
            ) or "-"
        case dict():
            return _item(value, difference)
    return str(value)


def _number(value: float, difference: ChangedValue) -> str:
    key = "_".join(difference.keys)
    if "cost" in key:
        return text.money(value)
    if "ppfd" in key or "range_80_umol" in key:
        return text.ppfd(value)
    if "dli" in key:
        return text.dli(value)
    if "kwh" in key:
        return text.plain(value, 2) if abs(value) < 10 else text.kwh(value)
    if "sd_ln" in key:
        return text.known_to(value)
    if difference.unit and difference.keys[-1] not in ("sites", "cells"):
        return text.amount(value, difference.unit)
    return text.grams(value) if "_g_" in key else text.plain(value, 1)


def _item(item: Json, difference: ChangedValue) -> str:
    """Return an item that only one form has: its first number, else "yes"."""
    key = _first_number(item)
    if not key:
        return "yes"
    unit = str(item.get("unit") or difference.unit)
    return _number(item[key], replace(difference, keys=(*difference.keys, key), unit=unit))


def _first_number(item: Json) -> str:
    """Return the key of an item's first number, "" if it has none."""
    return next((key for key, value in item.items() if type(value) in (int, float)), "")
