"""``cropcal log``: note an event, take it back, or show the last notes."""

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any

from cropcal.planning.hazards import heat_noted
from cropcal.planning.history.batch_history import after_entry, batch_histories, unplanned_batch
from cropcal.planning.history.match_batch import matching_batches, unplanned_batch_id
from cropcal.problems import Problem
from cropcal.reading.journal.append import CannotNoteError, append
from cropcal.reading.journal.checks import mistakes
from cropcal.reading.journal.corrections import current_line
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
from cropcal.season import clock, log_words
from cropcal.season.beside import doubts_of_reading, noted
from cropcal.season.bill_entry import bill_fields
from cropcal.season.errors import SpaceError
from cropcal.season.load import load, refuse, refuse_one
from cropcal.season.log_words import Options
from cropcal.show.hazard_words import first_lines
from cropcal.show.terminal import log as journal_screens

Tell = Callable[[str], object]
Unless = Callable[[], bool] | None
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
    """Everything a note is checked against: the space, its crops, its journal and its batches.

    ``tell`` is called with each text for the person who notes; ``unless`` as in ``append``.
    """

    def __init__(self, path: Path, tell: Tell, unless: Unless = None) -> None:
        self.typed_path, self.tell, self.unless = path, tell, unless
        self.space, self.tables = load(path)
        self.noted = noted(path, clock.today())
        self.file, self.journal = self.noted.file, self.noted.journal
        self.nurseries = frozenset(bed.name for bed in self.space.beds if bed.kind == "nursery")
        self._events: tuple[Entry, ...] = self.journal.events

    @cached_property
    def stories(self) -> tuple[BatchHistory, ...]:
        """Return the history of each batch; raise before anything is noted if the plan cannot be read."""
        if self.noted.plan_problems:
            refuse(
                [
                    replace(problem, hint=f"nothing was noted; {problem.hint}")
                    for problem in self.noted.plan_problems
                ]
            )
        planned = {batch.id: batch for batch in self.noted.batches()}
        return batch_histories(self._events, planned, self.nurseries, self.tables.crops)

    def forget(self, event: Entry) -> None:
        """Leave an event out of the batch histories; call it before their first use."""
        self._events = tuple(entry for entry in self.journal.events if entry.id != event.id)

    @property
    def names(self) -> dict[str, str]:
        """Return the name of each crop by its slug."""
        return {slug: crop.name for slug, crop in self.tables.crops.items()}

    def story(self, batch: str) -> BatchHistory | None:
        """Return the history of a batch, None if there is none of that id."""
        return next((history for history in self.stories if history.batch == batch), None)

    def command(self, words: str) -> str:
        """Return a command that the user may type next."""
        return log_words.command(self.typed_path, words)


def log(
    path: Path, rest: Sequence[str], options: Options, tell: Tell, unless: Unless = None
) -> tuple[Entry | None, tuple[Problem, ...]]:
    """Note one event, take one back, correct one, or show the last ten.

    Returns
    -------
    entry, problems
        The line as written, None if none was; and the problems of the lines before it.
    """
    context = NoteContext(path, tell, unless)
    written = None
    if options.undo:
        written = _undo(context, rest)
    elif options.correct:
        written = _correct(context, options, rest)
    elif not rest:
        context.tell(
            _text(journal_screens.last(context.journal.entries, context.journal.events, context.names))
        )
    else:
        named = log_words.front_event(rest)
        if named is None:
            log_words.unknown_event(rest[0])
        event, count = named
        written = _note(context, _event(context, event, rest[count:], options, None))
    return written, (*context.noted.problems, *context.noted.torn(), *context.noted.plan_problems)


def _text(screen: str) -> str:
    """Return a screen without its last line end, which printing adds."""
    return screen.removesuffix("\n")


def _event(
    context: NoteContext, event: EventName, words: Sequence[str], options: Options, base: Entry | None
) -> Entry:
    """Return the entry given by words and options; what they leave open comes from ``base``."""
    on = (
        base.on if base is not None and options.on is None else log_words.event_day(options.on, clock.today())
    )
    starts, ends = log_words.event_times(options, on)
    if starts is not None and event == "outage":
        on = starts.date()
    entry = Entry(
        on=on,
        event=event,
        sites=log_words.site_numbers(options.site),
        why=options.why or "",
        note=options.note or "",
        early=options.early,
        sure=options.sure,
        cut="whole" if options.whole else options.cut,
        starts=starts,
        ends=ends,
    )
    if event in PLANT_EVENTS:
        return _of_plants(context, entry, words, options)
    if event == "bill":
        return entry.model_copy(update=_bill_fields(context, words, options, base))
    thing, amounts = log_words.thing_and_amounts(words, ())
    where: dict[str, Any] = {}
    match event:
        case "reading":
            beds = [bed.name for bed in context.space.beds]
            where["bed"] = log_words.matching_name("bed", options.bed or thing, beds)
        case "outage":
            what = thing.casefold()
            if what not in ("lamp", "pump", "fan", "power"):
                expected = "what stood still: lamp, pump, fan or power"
                refuse_one("WHAT", f'"{thing}"' if thing else "nothing", expected)
            where["what"] = what
            where["zone"] = log_words.zone_named(context.space, options.zone) if options.zone else ""
        case _:
            where["zone"] = log_words.zone_named(context.space, options.zone or thing)
    return entry.model_copy(update={**where, **log_words.amount_fields(event, amounts, UNITS[event][0])})


def _bill_fields(
    context: NoteContext, words: Sequence[str], options: Options, old: Entry | None
) -> dict[str, Any]:
    return bill_fields(words, options, clock.today(), context.space.tariff, old)


def _of_plants(context: NoteContext, entry: Entry, words: Sequence[str], options: Options) -> Entry:
    """Return an event of plants with its batch, crop, bed and amount."""
    ids = [history.batch for history in context.stories]
    thing, amounts = log_words.thing_and_amounts(words, ids)
    if not thing:
        text = log_words.written(amounts) if amounts else "nothing"
        refuse_one("CROP_OR_BATCH", text, "a batch id of the calendar, or a crop")
    story = context.story(thing)
    crop = story.crop if story else ""
    if story is None:
        story, crop = _matching_batch(context, entry, thing, options)
    batch = story.batch if story else ""
    if story is None and entry.event == "sown":
        batch = unplanned_batch_id(entry.on, ids)
    known = context.tables.crops.get(crop)
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
    parts = log_words.amount_fields(entry.event, amounts, unit)
    if not parts and entry.event in ("sown", "transplanted") and story and story.planned:
        places = story.planned.cells if unit == "cells" else story.planned.sites
        parts = {"amount": float(places), "unit": unit}
    beds = [bed.name for bed in context.space.beds]
    bed = log_words.matching_name("bed", options.bed, beds) if options.bed else ""
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
    """Return the number of a harvest's cut where none is given: the next, or "whole" for a crop cut once."""
    if entry.event != "harvested":
        return None
    if cuts_max == 1:
        return "whole"
    if story is None:
        return None
    return len({*story.cut_on, entry.on})


def _matching_batch(
    context: NoteContext, entry: Entry, thing: str, options: Options
) -> tuple[BatchHistory | None, str]:
    """Return the batch that an event of a crop is about (None if none matches), and the crop."""
    here = {history.crop for history in context.stories} | {
        crop for want in context.space.wants for crop in want.crops
    }
    slugs = log_words.matching_crops(thing, context.tables.crops, here)
    if not slugs:
        ids = [history.batch for history in context.stories]
        names = ids if any(char.isdecimal() for char in thing) else list(context.tables.crops)
        expected = "a batch id of the calendar, or a crop"
        hint = did_you_mean(thing, names) if names else "no plan is written: cropcal plan"
        refuse_one("CROP_OR_BATCH", f'"{thing}"', expected, hint)
    bed = options.bed or ""
    fit = matching_batches(context.stories, entry.event, slugs, entry.on, bed)
    if len(fit) > 1:
        text = f'"{thing}", which may be {journal_screens.candidates(fit, entry.on)}'
        refuse_one("CROP_OR_BATCH", text, "one of these batch ids")
    if fit:
        return fit[0], fit[0].crop
    if len(slugs) > 1:
        refuse_one("CROP_OR_BATCH", f'"{thing}"', one_of(slugs))
    return None, slugs[0]


def _note(context: NoteContext, entry: Entry) -> Entry:
    """Write an entry, report its consequences, and return it as written."""
    if slips := mistakes(entry):
        first = slips[0]
        refuse_one(_OPTION.get(first.key, first.key), first.found, first.expected, first.hint)
    before = context.story(entry.batch) if entry.batch else None
    if before is None and entry.batch:
        before = unplanned_batch(entry, context.tables.crops[entry.crop])
    written = _append(context, entry)
    now = after_entry(before, written, context.nurseries) if before else None
    undo = context.command(f"--undo {written.id}")
    hot = heat_noted(written)
    dangers = first_lines([hot] if hot else [], context.names)
    context.tell(_text(dangers + journal_screens.noted(written, before, now, context.names, undo)))
    if twin := _twin(context.journal, written):
        context.tell(f"The same is noted already as {twin}: if that is one event, take one back.")
    if entry.event == "bill":
        _tell_of_bill(context, written)
    if not entry.batch and entry.event in PLANT_EVENTS:
        context.tell("No batch of the plan fits, so it is noted for the crop alone.")
    for doubt in doubts_of_reading(context.typed_path, context.space, context.tables, written):
        context.tell(doubt)
    return written


def _tell_of_bill(context: NoteContext, written: Entry) -> None:
    """Say how a bill compares with the computed one; nothing if the space cannot be read in full."""
    from cropcal.season.bill import bill_as_noted
    from cropcal.show.terminal.bill import after_noting

    with contextlib.suppress(SpaceError):
        bill = bill_as_noted(context.typed_path, written)
        if bill is not None:
            tariff = context.space.tariff
            again = context.command("").replace("cropcal log", "cropcal bill").rstrip()
            context.tell(_text(after_noting(bill, tariff.currency if tariff else None, again)))


def _twin(journal: Journal, entry: Entry) -> str:
    """Return the id of an event with the same content, "" if there is none."""
    own = {"id": "", "written_at": None, "line": None, "corrects": ""}
    plain = entry.model_copy(update=own)
    same = (
        other.id
        for other in journal.events
        if other.id != entry.corrects and other.model_copy(update=own) == plain
    )
    return next(same, "")


def _append(context: NoteContext, entry: Entry) -> Entry:
    try:
        return append(context.file, entry, now=datetime.now().astimezone(), unless=context.unless)
    except CannotNoteError as error:
        refuse([error.problem])


def _undo(context: NoteContext, rest: Sequence[str]) -> Entry:
    """Take back the named line, or the last valid event."""
    if len(rest) > 1:
        refuse_one("--undo", f"{len(rest)} words", "one id, or nothing for the last event")
    if not rest and not context.journal.events:
        refuse_one("--undo", "a journal without events", "something to take back")
    if rest:
        target = _line(context, "--undo", rest[0])
    else:
        target = max(context.journal.events, key=lambda entry: entry.line or 0)
    written = _append(context, Entry(on=clock.today(), event="undone", corrects=target.id))
    again = target.event == "undone"
    what = "took back an undo" if again else journal_screens.event_sentence(target, context.names)
    context.tell(f"Taken back: {what} ({target.on.isoformat()}).")
    context.tell(f"To have it back: {context.command(f'--undo {written.id}')}")
    return written


def _line(context: NoteContext, option: str, name: str) -> Entry:
    entry = next((entry for entry in context.journal.entries if entry.id == name), None)
    if entry is None:
        ids = [entry.id for entry in context.journal.entries[-10:]]
        refuse_one(option, f'"{name}"', "the id of a line", did_you_mean(name, ids))
    return entry


def _correct(context: NoteContext, options: Options, rest: Sequence[str]) -> Entry:
    """Write a line that replaces an earlier one; values not given anew stay as they were."""
    line = _line(context, "--correct", options.correct or "")
    old = current_line(line, context.journal)
    if old.event == "undone":
        refuse_one("--correct", f'"{old.id}", an undo', "an event")
    context.forget(old)
    named = log_words.front_event(rest)
    if named is not None:
        event, count = named
        entry = _event(context, event, rest[count:], options, old)
    else:
        entry = _changed(context, old, rest, options)
    return _note(context, entry.model_copy(update={"corrects": old.id, "line": None}))


def _changed(context: NoteContext, old: Entry, rest: Sequence[str], options: Options) -> Entry:
    """Return an entry with a new amount and the values of the options."""
    if old.event == "bill":
        said = {key: value for key, value in (("why", options.why), ("note", options.note)) if value}
        fields = _bill_fields(context, rest, options, old)
        return old.model_copy(update={"id": "", "written_at": None, **said, **fields})
    thing, amounts = log_words.thing_and_amounts(rest, [history.batch for history in context.stories])
    new: dict[str, Any] = {"id": "", "written_at": None}
    if thing:
        history = context.story(thing)
        if history is None:
            refuse_one("CROP_OR_BATCH", f'"{thing}"', "an amount, a batch id, or the event anew")
        new |= {"batch": history.batch, "crop": history.crop, "bed": history.bed}
    if amounts:
        new |= {
            "weight_g": None,
            **log_words.amount_fields(old.event, amounts, old.unit or UNITS[old.event][0]),
        }
    if options.on:
        new["on"] = log_words.event_day(options.on, clock.today())
    starts, ends = log_words.event_times(options, new.get("on", old.on))
    values: dict[str, Any] = {
        "starts": starts,
        "ends": ends,
        "sites": log_words.site_numbers(options.site),
        "bed": options.bed,
        "zone": options.zone,
        "cut": "whole" if options.whole else options.cut,
        "why": options.why,
        "note": options.note,
        "early": options.early,
        "sure": options.sure,
    }
    changed = {key: value for key, value in values.items() if value}
    return Entry.model_validate({**old.model_dump(), **new, **changed})
