"""Which values each event needs: the same checks for a line of the file and for the command line."""

from collections.abc import Callable
from typing import Final, NamedTuple

from cropcal.reading.text.source import shorten
from cropcal.reading.text.suggestions import one_of
from cropcal.records.journal import (
    PLANT_EVENTS,
    TEACHING,
    UNITS,
    Entry,
)

NEEDS_AMOUNT: Final = ("harvested", "reading", "air")
NEEDS_WHOLE_NUMBER: Final = ("heads", "sites", "cells", "trays", "plants", "seeds")
BOUNDS: Final = {
    "C": (-10.0, 50.0, "a temperature in °C"),
    "umol_m2_s": (0.0, 3000.0, "a PPFD in µmol/m²/s"),
    "lux": (0.0, 200_000.0, "an illuminance in lux"),
    "h": (0.0, 744.0, "hours"),
}
LONGEST_CURRENCY: Final = 8
LONGEST_DAY_H: Final = 24.0


class EntryMistake(NamedTuple):
    """A mistake in one entry: column, found, expected, hint."""

    key: str
    found: str
    expected: str
    hint: str = ""


def mistakes(entry: Entry) -> list[EntryMistake]:
    """Return every mistake in an entry."""
    return [slip for check in CHECKS for slip in check(entry)]


def names_the_plants(entry: Entry) -> list[EntryMistake]:
    """Ask that an event of plants names a batch or a crop."""
    if entry.event in PLANT_EVENTS and not entry.batch and not entry.crop:
        return [EntryMistake("batch", "nothing", "the batch id of the calendar, or a crop")]
    return []


def has_its_amount(entry: Entry) -> list[EntryMistake]:
    """Ask for an amount where the event needs one, and for a unit of that event."""
    units = UNITS[entry.event]
    if entry.event == "bill":
        return _of_a_bill(entry)
    if entry.amount is None:
        if entry.event in NEEDS_AMOUNT:
            return [EntryMistake("amount", "nothing", f"how much, in {' or '.join(units)}")]
        return [EntryMistake("unit", f'"{entry.unit}"', "an amount as well")] if entry.unit else []
    if not units:
        return [EntryMistake("amount", f"{entry.amount:g}", f'nothing, "{entry.event}" has no amount')]
    if entry.unit not in units:
        found = f'"{entry.unit}"' if entry.unit else "nothing"
        return [EntryMistake("unit", found, one_of(units) if len(units) > 1 else f'"{units[0]}"')]
    return _within_bounds(entry.amount, entry.unit)


def _of_a_bill(entry: Entry) -> list[EntryMistake]:
    if entry.amount is None and entry.kwh is None:
        return [EntryMistake("amount", "nothing", "what the bill came to, or its kWh")]
    if entry.amount is None and entry.unit:
        return [EntryMistake("unit", f'"{entry.unit}"', "an amount as well")]
    if len(entry.unit) > LONGEST_CURRENCY:
        return [EntryMistake("unit", f'"{shorten(entry.unit)}"', "a currency like EUR")]
    if entry.amount is not None and entry.amount <= 0:
        hint = "a month that cost nothing shows nothing about watts or prices"
        return [EntryMistake("amount", f"{entry.amount:g}", "an amount of money above 0", hint)]
    return []


def _within_bounds(amount: float, unit: str) -> list[EntryMistake]:
    low, high, noun = BOUNDS.get(unit, (0.0, 1_000_000.0, f"a number of {unit}"))
    if not low <= amount <= high:
        celsius = (amount - 32) / 1.8
        hint = f"looks like °F: {celsius:.3g}" if unit == "C" and low <= celsius <= high else ""
        return [EntryMistake("amount", f"{amount:g}", f"{noun} from {low:g} to {high:.10g}", hint)]
    if unit in NEEDS_WHOLE_NUMBER and amount != round(amount):
        return [EntryMistake("amount", f"{amount:g}", f"a whole number of {unit}")]
    return []


def says_where(entry: Entry) -> list[EntryMistake]:
    """Ask for the bed of a light reading, and for the zone of air and lamp hours."""
    if entry.event == "reading" and not entry.bed:
        return [EntryMistake("bed", "nothing", "the bed that was read")]
    if entry.event in ("air", "lamp hours") and not entry.zone:
        return [EntryMistake("zone", "nothing", "the zone")]
    return []


def has_its_times(entry: Entry) -> list[EntryMistake]:
    """Ask that an outage and new lamp hours have from and until, or a number of hours."""
    timed = entry.event in ("outage", "lamp hours")
    if not timed:
        given = next((name for name in ("starts", "ends") if getattr(entry, name)), None)
        name = {"starts": "from", "ends": "until"}.get(given or "")
        return [EntryMistake(name, "a time", f'nothing, "{entry.event}" takes a day')] if name else []
    if (entry.starts is None) != (entry.ends is None):
        missing = "from" if entry.starts is None else "until"
        return [EntryMistake(missing, "nothing", "both from and until")]
    if entry.starts is None or entry.ends is None:
        if entry.amount is None:
            return [EntryMistake("from", "nothing", "from and until, or hours as amount")]
        longest = LONGEST_DAY_H if entry.event == "lamp hours" else BOUNDS["h"][1]
        if entry.amount > longest:
            return [EntryMistake("amount", f"{entry.amount:g}", f"at most {longest:g} hours")]
        return []
    if entry.amount is not None:
        return [EntryMistake("amount", f"{entry.amount:g}", "nothing, from and until say it")]
    if entry.ends <= entry.starts:
        return [EntryMistake("until", entry.ends.isoformat(" ", "minutes"), "a time after from")]
    hours = (entry.ends - entry.starts).total_seconds() / 3600
    if entry.event == "lamp hours" and hours > LONGEST_DAY_H:
        return [EntryMistake("until", entry.ends.isoformat(" ", "minutes"), "at most 24 hours after from")]
    if entry.event == "outage" and entry.starts.date() != entry.on:
        return [
            EntryMistake("from", entry.starts.isoformat(" ", "minutes"), f"a time on {entry.on.isoformat()}")
        ]
    return []


def says_what_stood_still(entry: Entry) -> list[EntryMistake]:
    """Ask that an outage, and no other event, says what stopped."""
    if entry.event == "outage" and not entry.what:
        return [EntryMistake("what", "nothing", '"lamp", "pump", "fan" or "power"')]
    if entry.event != "outage" and entry.what:
        return [EntryMistake("what", f'"{entry.what}"', "nothing, that is for an outage")]
    return []


def is_a_harvest(entry: Entry) -> list[EntryMistake]:
    """Ask that only a harvest has cut, weight and early, and that one in grams has no second weight."""
    harvest_only: tuple[tuple[str, object], ...] = (
        ("cut", entry.cut),
        ("weight_g", entry.weight_g),
        ("early", entry.early or None),
    )
    if entry.event != "harvested":
        return [
            EntryMistake(key, str(value), "nothing, that is for a harvest")
            for key, value in harvest_only
            if value
        ]
    if entry.weight_g is not None and entry.unit == "g":
        return [EntryMistake("weight_g", f"{entry.weight_g:g}", "nothing, the amount is in grams")]
    return []


def has_kwh_of_a_bill(entry: Entry) -> list[EntryMistake]:
    """Ask that only a bill has kWh."""
    if entry.kwh is not None and entry.event != "bill":
        return [EntryMistake("kwh", f"{entry.kwh:g}", "nothing, that is for a bill")]
    return []


def is_sure_of_what_teaches(entry: Entry) -> list[EntryMistake]:
    """Ask that only an event that forecasts learn from is marked sure."""
    if entry.sure and entry.event not in TEACHING:
        return [EntryMistake("sure", "yes", f"nothing, that is for {one_of(TEACHING)}")]
    return []


def names_what_it_undoes(entry: Entry) -> list[EntryMistake]:
    """Ask that an undo names the line it takes back."""
    if entry.event == "undone" and not entry.corrects:
        return [EntryMistake("corrects", "nothing", "the id of the line to take back")]
    return []


CHECKS: Final[tuple[Callable[[Entry], list[EntryMistake]], ...]] = (
    names_the_plants,
    has_its_amount,
    says_where,
    has_its_times,
    says_what_stood_still,
    is_a_harvest,
    has_kwh_of_a_bill,
    is_sure_of_what_teaches,
    names_what_it_undoes,
)
