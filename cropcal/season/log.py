"""Note what happened, take it back, or show what was noted last: what ``cropcal log`` does."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any

from cropcal.planning.hazards import heat_noted
from cropcal.planning.history.batch_history import after, besides_plan, stories
from cropcal.planning.history.match_batch import extra_batch, fitting
from cropcal.problems import Problem
from cropcal.reading.journal.append import CannotNoteError, append
from cropcal.reading.journal.checks import mistakes
from cropcal.reading.journal.corrections import holding
from cropcal.reading.journal.event_words import Quantity
from cropcal.reading.text.suggestions import did_you_mean, one_of
from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop
from cropcal.records.journal import (
    PLANT_EVENTS,
    UNITS,
    Entry,
    EventName,
    Journal,
)
from cropcal.records.space import Space
from cropcal.season import clock, log_words
from cropcal.season.beside import noted
from cropcal.season.load import load, refuse, refuse_one
from cropcal.season.log_words import Options
from cropcal.show.hazard_words import first_lines
from cropcal.show.terminal import log as journal_screens

_OPTION = {
    "amount": "AMOUNT",
    "unit": "AMOUNT",
    "weight_g": "AMOUNT",
    "batch": "CROP_OR_BATCH",
    "from": "--from",
    "until": "--until",
    "what": "WHAT",
    "cut": "--cut",
    "early": "--early",
    "sure": "--sure",
}


class NoteContext:
    """Everything a note is held against: the space, its crops, its journal and its batches.

    ``tell`` takes what is to be read by the person who notes, a text at a time.
    """

    def __init__(self, path: Path, tell: Callable[[str], object]) -> None:
        self.said_path, self.tell = path, tell
        self.space, self.tables = load(path)
        self.noted = noted(path, clock.today())
        self.file, self.journal = self.noted.file, self.noted.journal
        self.nurseries = frozenset(bed.name for bed in self.space.beds if bed.kind == "nursery")
        self._events: tuple[Entry, ...] = self.journal.events

    @cached_property
    def stories(self) -> tuple[BatchHistory, ...]:
        """Return what is known of each batch; stop before anything is noted if the plan cannot be read."""
        if self.noted.plan_problems:
            refuse([replace(one, hint=f"nothing was noted; {one.hint}") for one in self.noted.plan_problems])
        planned = {batch.id: batch for batch in self.noted.batches()}
        return stories(self._events, planned, self.nurseries, self.tables.crops)

    def forget(self, event: Entry) -> None:
        """Let batches stand as if an event had not been noted; before anybody asks for their stories."""
        self._events = tuple(one for one in self.journal.events if one.id != event.id)

    @property
    def names(self) -> dict[str, str]:
        """Return the name of each crop by its slug."""
        return {slug: crop.name for slug, crop in self.tables.crops.items()}

    def story(self, batch: str) -> BatchHistory | None:
        """Return what is known of a batch, None if there is none of that id."""
        return next((one for one in self.stories if one.batch == batch), None)

    def command(self, words: str) -> str:
        """Return a command that the user may type next."""
        return log_words.command(self.said_path, words)


def log(
    path: Path, rest: Sequence[str], options: Options, tell: Callable[[str], object]
) -> tuple[Entry | None, tuple[Problem, ...]]:
    """Note one event, take one back, correct one, or tell the last ten.

    Returns
    -------
    entry, problems
        The line as it was written, None if none was; and what is wrong with the lines before it.
    """
    desk = NoteContext(path, tell)
    written = None
    if options.undo:
        written = _undo(desk, rest)
    elif options.correct:
        written = _correct(desk, options, rest)
    elif not rest:
        desk.tell(_text(journal_screens.last(desk.journal.entries, desk.journal.events, desk.names)))
    else:
        found = log_words.front_event(rest)
        if found is None:
            log_words.unknown_event(rest[0])
        event, count = found
        written = _note(desk, _event(desk, event, rest[count:], options, None))
    return written, (*desk.noted.problems, *desk.noted.torn(), *desk.noted.plan_problems)


def _text(screen: str) -> str:
    """Return a screen without its last line end, which whoever prints it adds."""
    return screen.removesuffix("\n")


def _event(
    desk: NoteContext, event: EventName, words: Sequence[str], options: Options, base: Entry | None
) -> Entry:
    """Return the entry that the words and options say; what they leave open comes from ``base``."""
    on = base.on if base is not None and options.on is None else log_words.day_said(options.on, clock.today())
    starts, ends = log_words.times_said(options, on)
    if starts is not None and event == "outage":
        on = starts.date()
    entry = Entry(
        on=on,
        event=event,
        sites=log_words.sites_said(options.site),
        why=options.why or "",
        note=options.note or "",
        early=options.early,
        sure=options.sure,
        cut="whole" if options.whole else options.cut,
        starts=starts,
        ends=ends,
    )
    if event in PLANT_EVENTS:
        return _of_plants(desk, entry, words, options)
    thing, amounts = log_words.thing_and_amounts(words, ())
    where: dict[str, Any] = {}
    match event:
        case "reading":
            beds = [bed.name for bed in desk.space.beds]
            where["bed"] = log_words.name_said("bed", options.bed or thing, beds)
        case "outage":
            what = thing.casefold()
            if what not in ("lamp", "pump", "fan", "power"):
                expected = "what stood still: lamp, pump, fan or power"
                refuse_one("WHAT", f'"{thing}"' if thing else "nothing", expected)
            where["what"] = what
            where["zone"] = _zone(desk.space, options.zone) if options.zone else ""
        case _:
            where["zone"] = _zone(desk.space, options.zone or thing)
    return entry.model_copy(update={**where, **_amount(event, amounts, UNITS[event][0])})


def _zone(space: Space, text: str) -> str:
    """Return the zone of that name, or of the bed of that name."""
    of_bed = {bed.name.casefold(): bed.zone for bed in space.beds}
    zones = [zone.name for zone in space.zones]
    if text.casefold() in of_bed and text not in zones:
        return of_bed[text.casefold()]
    return log_words.name_said("zone", text, zones)


def _amount(event: EventName, amounts: list[Quantity], usual: str) -> dict[str, Any]:
    """Return the amount, unit and weight of an event."""
    if not amounts:
        return {}
    first, *more = amounts
    weights = [one for one in amounts if one.unit == "g"]
    if event == "harvested" and usual == "heads" and weights:
        counts = [one for one in amounts if one.unit in ("heads", "")]
        if len(counts) != 1 or len(weights) != 1:
            refuse_one("AMOUNT", _written(amounts), "heads, and their weight if you like: 3 heads 420 g")
        return {"amount": counts[0].value, "unit": "heads", "weight_g": weights[0].value}
    if more:
        refuse_one("AMOUNT", _written(amounts), "one number")
    unit = first.unit or usual
    if event == "harvested" and unit != usual:
        refuse_one("AMOUNT", _written(amounts), f"an amount in {usual}, the unit of this crop")
    return {"amount": first.value, "unit": unit}


def _written(amounts: list[Quantity]) -> str:
    return '"' + " ".join(f"{one.value:g} {one.unit}".strip() for one in amounts) + '"'


def _of_plants(desk: NoteContext, entry: Entry, words: Sequence[str], options: Options) -> Entry:
    """Return an event of plants with its batch, crop, bed and amount."""
    ids = [one.batch for one in desk.stories]
    thing, amounts = log_words.thing_and_amounts(words, ids)
    if not thing:
        found = _written(amounts) if amounts else "nothing"
        refuse_one("CROP_OR_BATCH", found, "a batch id of the calendar, or a crop")
    story = desk.story(thing)
    crop = story.crop if story else ""
    if story is None:
        story, crop = _batch_of(desk, entry, thing, options)
    batch = story.batch if story else ""
    if story is None and entry.event == "sown":
        batch = extra_batch(entry.on, ids)
    known = desk.tables.crops.get(crop)
    nursery = story.nursery if story else None
    unit = UNITS[entry.event][0] if UNITS[entry.event] else ""
    if entry.event == "harvested" and known:
        unit = known.unit
        if not amounts:
            refuse_one("AMOUNT", "nothing", f"how much, in {unit}")
    elif entry.event == "sown":
        unit = "cells" if nursery else _places(known)
    elif entry.event == "lost" and known and known.plants_per_site > 1:
        unit = "sites"
    parts = _amount(entry.event, amounts, unit)
    if not parts and entry.event in ("sown", "transplanted") and story and story.planned:
        places = story.planned.cells if unit == "cells" else story.planned.sites
        parts = {"amount": float(places), "unit": unit}
    beds = [bed.name for bed in desk.space.beds]
    bed = log_words.name_said("bed", options.bed, beds) if options.bed else ""
    if not bed and story:
        bed = nursery if nursery and entry.event in ("sown", "emerged") else story.bed
    return entry.model_copy(
        update={
            "batch": batch,
            "crop": crop,
            "bed": bed,
            "cut": entry.cut or _cut(entry, story, known.cuts_max if known else 1),
            **parts,
        }
    )


def _places(known: Crop | None) -> str:
    return "trays" if known and known.kind in ("tray", "shoots") else "sites"


def _cut(entry: Entry, story: BatchHistory | None, cuts_max: int) -> int | str | None:
    """Return which cut a harvest is, if nobody said: the next, or the whole plant where there is but one."""
    if entry.event != "harvested":
        return None
    if cuts_max == 1:
        return "whole"
    if story is None:
        return None
    return len({*story.cut_on, entry.on})


def _batch_of(
    desk: NoteContext, entry: Entry, thing: str, options: Options
) -> tuple[BatchHistory | None, str]:
    """Return the batch that a crop's event is about, and the crop; no batch if none fits."""
    here = {one.crop for one in desk.stories} | {crop for want in desk.space.wants for crop in want.crops}
    slugs = log_words.crops_said(thing, desk.tables.crops, here)
    if not slugs:
        ids = [one.batch for one in desk.stories]
        names = ids if any(char.isdecimal() for char in thing) else list(desk.tables.crops)
        expected = "a batch id of the calendar, or a crop"
        hint = did_you_mean(thing, names) if names else "no plan is written: cropcal plan"
        refuse_one("CROP_OR_BATCH", f'"{thing}"', expected, hint)
    bed = options.bed or ""
    fit = fitting(desk.stories, entry.event, slugs, entry.on, bed)
    if len(fit) > 1:
        found = f'"{thing}", which may be {journal_screens.candidates(fit)}'
        refuse_one("CROP_OR_BATCH", found, "one of these batch ids")
    if fit:
        return fit[0], fit[0].crop
    if len(slugs) > 1:
        refuse_one("CROP_OR_BATCH", f'"{thing}"', one_of(slugs))
    return None, slugs[0]


def _note(desk: NoteContext, entry: Entry) -> Entry:
    """Write an entry, tell what it means, and return it as written."""
    slips = mistakes(entry)
    if slips:
        first = slips[0]
        refuse_one(_OPTION.get(first.key, first.key), first.found, first.expected, first.hint)
    before = desk.story(entry.batch) if entry.batch else None
    if before is None and entry.batch:
        before = besides_plan(entry, desk.tables.crops[entry.crop])
    written = _append(desk, entry)
    now = after(before, written, desk.nurseries) if before else None
    undo = desk.command(f"--undo {written.id}")
    hot = heat_noted(written)
    dangers = first_lines([hot] if hot else [], desk.names)
    desk.tell(_text(dangers + journal_screens.noted(written, before, now, desk.names, undo)))
    twin = _twin(desk.journal, written)
    if twin:
        desk.tell(f"The same is noted already as {twin}: if that is one event, take one back.")
    if not entry.batch and entry.event in PLANT_EVENTS:
        desk.tell("No batch of the plan fits, so it stands for the crop alone.")
    return written


def _twin(journal: Journal, entry: Entry) -> str:
    """Return the id of an event that says the very same, "" if there is none."""
    own = {"id": "", "written_at": None, "line": None, "corrects": ""}
    plain = entry.model_copy(update=own)
    same = (
        one.id for one in journal.events if one.id != entry.corrects and one.model_copy(update=own) == plain
    )
    return next(same, "")


def _append(desk: NoteContext, entry: Entry) -> Entry:
    try:
        return append(desk.file, entry, now=datetime.now().astimezone())
    except CannotNoteError as error:
        refuse([error.problem])


def _undo(desk: NoteContext, rest: Sequence[str]) -> Entry:
    """Take back the named line, or the last that holds."""
    if len(rest) > 1:
        refuse_one("--undo", f"{len(rest)} words", "one id, or nothing for the last event")
    if not rest and not desk.journal.events:
        refuse_one("--undo", "a journal without events", "something to take back")
    if rest:
        target = _line(desk, "--undo", rest[0])
    else:
        target = max(desk.journal.events, key=lambda entry: entry.line or 0)
    written = _append(desk, Entry(on=clock.today(), event="undone", corrects=target.id))
    if target.event == "undone":
        what = "took back a taking back"
    else:
        what = journal_screens.event_sentence(target, desk.names)
    desk.tell(f"Taken back: {what} ({target.on.isoformat()}).")
    desk.tell(f"To have it back: {desk.command(f'--undo {written.id}')}")
    return written


def _line(desk: NoteContext, option: str, name: str) -> Entry:
    found = next((entry for entry in desk.journal.entries if entry.id == name), None)
    if found is None:
        ids = [entry.id for entry in desk.journal.entries[-10:]]
        refuse_one(option, f'"{name}"', "the id of a line", did_you_mean(name, ids))
    return found


def _correct(desk: NoteContext, options: Options, rest: Sequence[str]) -> Entry:
    """Write a line that takes the place of an earlier one; what is not said anew stays as it was."""
    line = _line(desk, "--correct", options.correct or "")
    old = holding(line, desk.journal)
    if old.event == "undone":
        refuse_one("--correct", f'"{old.id}", a taking back', "an event")
    desk.forget(old)
    found = log_words.front_event(rest)
    if found is not None:
        event, count = found
        entry = _event(desk, event, rest[count:], options, old)
    else:
        entry = _changed(desk, old, rest, options)
    return _note(desk, entry.model_copy(update={"corrects": old.id, "line": None}))


def _changed(desk: NoteContext, old: Entry, rest: Sequence[str], options: Options) -> Entry:
    """Return an entry with a new amount and whatever the options say."""
    thing, amounts = log_words.thing_and_amounts(rest, [one.batch for one in desk.stories])
    new: dict[str, Any] = {"id": "", "written_at": None}
    if thing:
        again = desk.story(thing)
        if again is None:
            refuse_one("CROP_OR_BATCH", f'"{thing}"', "an amount, a batch id, or the event anew")
        new |= {"batch": again.batch, "crop": again.crop, "bed": again.bed}
    if amounts:
        new |= {"weight_g": None, **_amount(old.event, amounts, old.unit or UNITS[old.event][0])}
    if options.on:
        new["on"] = log_words.day_said(options.on, clock.today())
    starts, ends = log_words.times_said(options, new.get("on", old.on))
    given: dict[str, Any] = {
        "starts": starts,
        "ends": ends,
        "sites": log_words.sites_said(options.site),
        "bed": options.bed,
        "zone": options.zone,
        "cut": "whole" if options.whole else options.cut,
        "why": options.why,
        "note": options.note,
        "early": options.early,
        "sure": options.sure,
    }
    changed = {key: value for key, value in given.items() if value}
    return Entry.model_validate({**old.model_dump(), **new, **changed})
