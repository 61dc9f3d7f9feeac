"""Parse the words and options of ``cropcal log`` into the parts of an event, or raise the problem."""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, NoReturn

from cropcal.reading.journal.cells import (
    A_DAY,
    moment_of,
    sites_of,
    through_midnight,
)
from cropcal.reading.journal.event_words import (
    LOGGED_EVENTS,
    Quantity,
    event_of,
    nearest_event,
    quantities,
)
from cropcal.reading.text.csv_cells import Bad
from cropcal.reading.text.suggestions import did_you_mean, listed, one_of
from cropcal.records.journal import EventName
from cropcal.records.space import Space
from cropcal.season.load import day, refuse_one
from cropcal.show.text import typed

HERE = Path()
DONE = "done"
"""The word that notes planned jobs as done."""
_ARTICLES = ("of", "the", "a", "an", "my", "our", "some", "all")
_CLOCK = re.compile(r"([01]?\d|2[0-3]):[0-5]\d", re.ASCII)


@dataclass(frozen=True)
class Options:
    """The options of ``cropcal log``; None or "" where not given."""

    on: str | None = None
    bed: str | None = None
    zone: str | None = None
    site: str | None = None
    cut: int | None = None
    whole: bool = False
    early: bool = False
    from_: str | None = None
    until: str | None = None
    why: str | None = None
    note: str | None = None
    undo: bool = False
    correct: str | None = None
    sure: bool = False
    kwh: str | None = None
    week: bool = False


def command(path: Path, words: str) -> str:
    """Return a ``cropcal log`` command for a space that the user may type next."""
    where = "" if path == HERE else f" {typed(str(path))}"
    return f"cropcal log{where} {words}"


def split_space(words: Sequence[str], options: Options) -> tuple[Path, list[str]]:
    """Return the space and the other words.

    A first word that is an event means the current folder, even if a folder has that name; any other
    first word is the space, unless it belongs to ``--undo`` or ``--correct``.
    """
    if not words or _is_command(words):
        return HERE, list(words)
    first = Path(words[0])
    if first.is_dir() or first.suffix == ".toml":
        return first, list(words[1:])
    if options.undo or options.correct:
        return HERE, list(words)
    if _is_command(words[1:]):
        refuse_one("SPACE", f'"{words[0]}"', "a folder with a space.toml", "or leave it out for this one")
    unknown_event(words[0])


def _is_command(words: Sequence[str]) -> bool:
    """Return whether words begin with an event, or are about planned jobs that are done."""
    return front_event(words) is not None or (bool(words) and words[0].casefold() == DONE)


def front_event(words: Sequence[str]) -> tuple[EventName, int] | None:
    """Return the event that the first words name, and the number of those words."""
    for count in (2, 1):
        event = event_of(" ".join(words[:count])) if len(words) >= count else None
        if event is not None and event != "undone":
            return event, count
    return None


def unknown_event(word: str) -> NoReturn:
    """Raise the problem of a word that is no event, with the nearest one as a hint."""
    near = nearest_event(word)
    refuse_one("EVENT", f'"{word}"', one_of(LOGGED_EVENTS), f'did you mean "{near}"?' if near else "")


def event_day(text: str | None, today: date) -> date:
    """Return the day of an event: today, or a past one as people write it."""
    if text is None:
        return today
    on = day(text, "--on", "past", f"yesterday, or {A_DAY}")
    if on > today:
        refuse_one("--on", f'"{text}"', "a day up to today", f"today is {today.isoformat()}")
    return on


def event_times(options: Options, on: date) -> tuple[datetime | None, datetime | None]:
    """Return start and end; a clock time is on the day of the event, or on the next."""
    given = {"--from": options.from_, "--until": options.until}
    for option, text in given.items():
        other = "--until" if option == "--from" else "--from"
        if text is None and given[other] is not None:
            refuse_one(option, "nothing", f"a time like 18:30, {other} has one")
    if options.from_ is None or options.until is None:
        return None, None
    clocks = [_clock_of(text) for text in (options.from_, options.until)]
    if clocks[0] and clocks[1]:
        return through_midnight(on, clocks[0], clocks[1])
    start = through_midnight(on, clocks[0], clocks[0])[0] if clocks[0] else _moment("--from", options.from_)
    if clocks[1]:
        return start, through_midnight(start.date(), f"{start:%H:%M}", clocks[1])[1]
    return start, _moment("--until", options.until)


def _clock_of(text: str) -> str:
    """Return "06:30" for a time of day, "" for anything else."""
    return text.zfill(5) if _CLOCK.fullmatch(text) else ""


def _moment(option: str, text: str) -> datetime:
    *words, last = text.split()
    if words and _clock_of(last):
        return through_midnight(day(" ".join(words), option, "past"), _clock_of(last), _clock_of(last))[0]
    moment = moment_of(text)
    if isinstance(moment, Bad):
        refuse_one(option, f'"{text}"', f"a time like 18:30, or {moment.expected}", moment.hint)
    return moment


def site_numbers(text: str | None) -> tuple[int, ...]:
    """Return site numbers."""
    if not text:
        return ()
    sites = sites_of(text)
    if isinstance(sites, Bad):
        refuse_one("--site", f'"{text}"', sites.expected, sites.hint)
    return sites


def thing_and_amounts(words: Sequence[str], known: Collection[str]) -> tuple[str, list[Quantity]]:
    """Return the subject of an event (the words up to the first number) and its amounts.

    ``known`` are batch ids, which begin with a digit: "0106g" is no weight.
    """
    if words and words[0] in known:
        count = 1
    else:
        count = next(
            (at for at, word in enumerate(words) if not isinstance(quantities([word]), str)), len(words)
        )
    amounts = quantities(list(words[count:]))
    if isinstance(amounts, str):
        refuse_one("AMOUNT", f'"{amounts}"', 'a number with its unit, like 3, "240 g" or "3 heads"')
    return " ".join(words[:count]), amounts


def plants_and_amounts(words: Sequence[str], known: Collection[str]) -> tuple[str, list[Quantity]]:
    """Return what an event of plants is about and its amounts, which may stand before it: "3 basil"."""
    if not words or words[0] in known:
        return thing_and_amounts(words, known)
    count = 0
    while count < len(words) and not isinstance(quantities(list(words[: count + 1])), str):
        count += 1
    before = quantities(list(words[:count]))
    if not count or count == len(words) or isinstance(before, str):
        return thing_and_amounts([word for word in words if word.casefold() not in _ARTICLES], known)
    left = [word for word in words[count:] if word.casefold() not in _ARTICLES]
    thing, after = thing_and_amounts(left, known)
    return thing, [*before, *after]


def matching_name(what: str, text: str, names: Collection[str]) -> str:
    """Return the bed or zone of a name, ignoring case; it may be left out where there is only one."""
    if not text and len(names) == 1:
        return next(iter(names))
    if not text:
        refuse_one(what.upper(), "nothing", f"the name of a {what}", f"there are {listed(sorted(names))}")
    folded = {name.casefold(): name for name in names}
    if text.casefold() not in folded:
        refuse_one(what.upper(), f'"{text}"', f"the name of a {what}", did_you_mean(text, list(names)))
    return folded[text.casefold()]


def zone_named(space: Space, text: str) -> str:
    """Return the zone of that name, or of the bed of that name."""
    of_bed = {bed.name.casefold(): bed.zone for bed in space.beds}
    zones = [zone.name for zone in space.zones]
    if text.casefold() in of_bed and text not in zones:
        return of_bed[text.casefold()]
    return matching_name("zone", text, zones)


def amount_fields(event: EventName, amounts: list[Quantity], usual: str) -> dict[str, Any]:
    """Return the amount, unit and weight of an event."""
    if not amounts:
        return {}
    first, *more = amounts
    weights = [amount for amount in amounts if amount.unit == "g"]
    if event == "harvested" and usual == "heads" and weights:
        counts = [amount for amount in amounts if amount.unit in ("heads", "")]
        if len(counts) != 1 or len(weights) != 1:
            refuse_one("AMOUNT", written(amounts), "heads, and their weight if you like: 3 heads 420 g")
        return {"amount": counts[0].value, "unit": "heads", "weight_g": weights[0].value}
    if more:
        refuse_one("AMOUNT", written(amounts), "one number")
    unit = first.unit or usual
    if event == "harvested" and unit != usual:
        refuse_one("AMOUNT", written(amounts), f"an amount in {usual}, the unit of this crop")
    return {"amount": first.value, "unit": unit}


def written(amounts: list[Quantity]) -> str:
    """Return amounts as they were typed, in quotes."""
    return '"' + " ".join(f"{amount.value:g} {amount.unit}".strip() for amount in amounts) + '"'
