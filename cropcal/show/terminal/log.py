"""What ``log`` prints: what was noted, what it means for the batch, and the last lines of the journal."""

from collections.abc import Mapping, Sequence
from datetime import date

from cropcal.records.batch_history import BatchHistory
from cropcal.records.journal import Entry
from cropcal.show import text
from cropcal.show.wording import crop_name, sites

UNIT_WORDS = {"umol_m2_s": "µmol/m²/s", "C": "°C"}
MOST_CANDIDATES = 6


def event_sentence(entry: Entry, names: Mapping[str, str]) -> str:
    """Return an event in words: "harvested 3 heads (420 g) Butterhead lettuce, batch 0106a, long box"."""
    if entry.event == "bill":
        return _bill_sentence(entry)
    how = [] if entry.amount is None else [exact(entry.amount, entry.unit)]
    how += [] if entry.weight_g is None else [f"({exact(entry.weight_g, 'g')})"]
    head = " ".join([_verb(entry), *how, *([crop_name(entry.crop, names)] if entry.crop else [])])
    facts = [f"batch {entry.batch}"] if entry.batch else []
    facts += [text.clean(place) for place in (entry.bed, entry.zone) if place]
    facts += [sites(_runs(entry.sites))] if entry.sites else []
    if entry.cut is not None and entry.unit != "heads":
        facts.append("taken whole" if entry.cut == "whole" else f"cut {entry.cut}")
    facts += ["early on purpose"] if entry.early else []
    facts += ["sure of it"] if entry.sure else []
    if entry.starts and entry.ends:
        facts.append(f"{entry.starts:%H:%M} to {_until(entry)}")
    facts += [text.clean(words) for words in (entry.why, entry.note) if words]
    return ", ".join([head, *facts])


def _bill_sentence(entry: Entry) -> str:
    """Return "bill for Feb 2027, 41.30 EUR, 180 kWh"."""
    month = text.month(f"{entry.on:%Y-%m}", (entry.on.replace(day=1), entry.on))
    paid = [] if entry.amount is None else [text.money(entry.amount, entry.unit or None)]
    used = [] if entry.kwh is None else [exact(entry.kwh, "kWh")]
    words = [text.clean(words) for words in (entry.why, entry.note) if words]
    return ", ".join([f"bill for {month}", *paid, *used, *words])


def _runs(numbers: Sequence[int]) -> str:
    """Return site numbers as a plan writes them: "1-4, 7"."""
    firsts = [number for number in numbers if number - 1 not in numbers]
    lasts = [number for number in numbers if number + 1 not in numbers]
    pairs = zip(firsts, lasts, strict=True)
    return ", ".join(f"{first}-{last}" if last > first else str(first) for first, last in pairs)


def _verb(entry: Entry) -> str:
    if entry.event == "outage":
        return f"{entry.what} off"
    if entry.event == "lost" and entry.amount is None and not entry.sites:
        return "lost all"
    return {"reading": "light", "emerged": "up"}.get(entry.event, entry.event)


def _until(entry: Entry) -> str:
    """Return the end of an outage: its time, with the day if it differs."""
    if entry.starts is None or entry.ends is None:
        return ""
    clock = f"{entry.ends:%H:%M}"
    same = entry.ends.date() == entry.starts.date() or entry.event == "lamp hours"
    return clock if same else f"{clock} on {text.day(entry.ends.date())}"


def exact(value: float, unit: str) -> str:
    """Return a number that was counted or weighed, not rounded: "243 g", "1 head"."""
    shown = text.plain(value, 3)
    word = UNIT_WORDS.get(unit, unit)
    return f"{shown} {word[:-1] if shown == '1' and unit.endswith('s') and unit != 'lux' else word}".strip()


def noted(
    entry: Entry, before: BatchHistory | None, after: BatchHistory | None, names: Mapping[str, str], undo: str
) -> str:
    """Return the confirmation of a noted event: its meaning and the command that takes it back.

    Parameters
    ----------
    entry
        The line as written.
    before, after
        Its batch before and after the event; None for an event of no batch.
    names
        Slug of a crop -> its name.
    undo
        The command that takes it back.
    """
    when = "" if entry.event == "bill" else f" for {text.day(entry.on)}"
    line = f"Noted{when}: {event_sentence(entry, names)}"
    means = meaning(entry, before, after) if before and after else ""
    whole = f"{line}; {means}" if means else line
    first = text.wrap(whole if whole.endswith("?") else f"{whole}.", later="  ")
    return f"{first}\nWrong? {undo}\n"


def noted_line(
    entry: Entry, before: BatchHistory | None, after: BatchHistory | None, names: Mapping[str, str]
) -> str:
    """Return one of several events that were noted together, with its id: "  kbdfg  Tue 5 Jan: sown ..."."""
    means = meaning(entry, before, after) if before and after and not entry.as_planned else ""
    said = event_sentence(entry.model_copy(update={"note": ""}) if entry.as_planned else entry, names)
    line = f"{text.day(entry.on)}: {said}" + (f"; {means}" if means else "")
    return text.wrap(line, first=f"  {entry.id}  ", later=" " * 9)


def places(history: BatchHistory) -> str:
    """Return how many places a batch has, as planned: "2 cells"."""
    planned = history.planned
    if planned is None:
        return exact(history.sites, "sites")
    return exact(planned.cells, "cells") if planned.cells else exact(planned.sites, "sites")


def meaning(entry: Entry, before: BatchHistory, after: BatchHistory) -> str:
    """Return what an event means for its batch."""
    match entry.event:
        case "sown":
            if after.planned is None:
                return "it is not in the plan"
            return _late(after.late_d)
        case "emerged":
            if entry.amount is None or not after.sites:
                return ""
            return f"{text.plain(entry.amount)} of {exact(after.sites, 'sites')}"
        case "transplanted":
            return _late(after.late_d) if after.planned else ""
        case "harvested":
            return _harvest(before, after, entry.unit)
        case "lost":
            if after.left == 0 and before.left:
                return f"none left of {text.plain(before.left)}"
            return "" if after.left is None else f"{text.plain(after.left)} left"
        case "not ready":
            return "the forecast was early"
    return ""


def _late(late_d: int) -> str:
    if late_d == 0:
        return "on the planned day"
    days = f"{abs(late_d)} day{'' if abs(late_d) == 1 else 's'}"
    return f"{days} {'later' if late_d > 0 else 'earlier'} than planned"


def _harvest(before: BatchHistory, after: BatchHistory, unit: str) -> str:
    if unit == "heads":
        if before.left is None or after.left is None:
            return f"{exact(after.harvested, 'heads')} so far"
        if after.harvested - before.harvested > before.left:
            return f"only {text.plain(before.left)} of {before.sites} were left: is it this batch?"
        return f"{text.plain(after.left)} of {before.sites} left"
    total = f"{exact(after.harvested, 'g')} so far"
    return total if after.planned is None else f"{total} of about {text.amount(after.planned.amount, 'g')}"


def last(
    entries: Sequence[Entry], holding: Sequence[Entry], names: Mapping[str, str], count: int = 10
) -> str:
    """Return the last lines of the journal, newest at the end; corrected and withdrawn lines are marked."""
    if not entries:
        return "Nothing is noted yet. For example: cropcal log sown lettuce-butterhead\n"
    ids = {entry.id for entry in holding}
    rows = []
    for entry in entries[-count:]:
        words = f"took back {entry.corrects}" if entry.event == "undone" else event_sentence(entry, names)
        if entry.event != "undone" and entry.corrects:
            words += f" (instead of {entry.corrects})"
        if entry.event != "undone" and entry.id not in ids:
            words += " (does not hold any more)"
        rows.append((text.day_year(entry.on), words, entry.id))
    return text.table(("day", "what happened", "id"), rows, "lwk") + "\n"


def candidates(histories: Sequence[BatchHistory], on: date) -> str:
    """Return batches to choose from on a day: "0106a (long box, sown 6 Jan, 4 sites)"."""
    named = [(history.batch, candidate(history, on)) for history in histories[:MOST_CANDIDATES]]
    shown = ", ".join(f"{batch} ({facts})" if facts else batch for batch, facts in named)
    more = len(histories) - MOST_CANDIDATES
    return f"{shown} and {more} more" if more > 0 else shown


def candidate(history: BatchHistory, on: date) -> str:
    """Return what tells a batch from others on a day: "long box, sown 6 Jan, 4 sites"."""
    facts = [text.clean(history.bed)] if history.bed else []
    facts += [_sowing(history, on)] if history.sown != "unknown" else []
    facts += [] if history.left is None else [exact(history.left, "sites")]
    return ", ".join(facts)


def _sowing(history: BatchHistory, on: date) -> str:
    """Return when a batch was or will be sown; what nobody noted counts as done as planned."""
    day = text.span(history.sown_on, history.sown_on)
    if history.sown == "noted":
        return f"sown {day}"
    return f"counts as sown {day} as planned" if history.sown_on < on else f"to be sown {day}"
