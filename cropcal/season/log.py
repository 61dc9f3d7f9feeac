"""``cropcal log``: note events, take them back, correct one, or show the last notes."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from cropcal.problems import Problem
from cropcal.reading.journal.corrections import current_line
from cropcal.reading.text.suggestions import did_you_mean
from cropcal.records.journal import UNITS, Entry
from cropcal.season import clock, log_words
from cropcal.season.bill_entry import bill_fields
from cropcal.season.load import refuse_one
from cropcal.season.log_done import done
from cropcal.season.log_entry import entries_of
from cropcal.season.log_words import Options
from cropcal.season.log_write import (
    NoteContext,
    Tell,
    Unless,
    append_entries,
    note_one,
    note_spread,
    one_text,
)
from cropcal.show.terminal import log as journal_screens


def log(
    path: Path, rest: Sequence[str], options: Options, tell: Tell, unless: Unless = None
) -> tuple[Entry | None, tuple[Problem, ...]]:
    """Note one event, take one back, correct one, or show the last ten.

    Returns
    -------
    entry, problems
        The line as written, the first if it is several, None if none was; and the problems of the lines
        before it.
    """
    written, problems = log_all(path, rest, options, tell, unless)
    return (written[0] if written else None), problems


def log_all(
    path: Path, rest: Sequence[str], options: Options, tell: Tell, unless: Unless = None
) -> tuple[tuple[Entry, ...], tuple[Problem, ...]]:
    """Do the same, and return all lines as they were written.

    Parameters
    ----------
    path
        The folder of the space, or its space.toml.
    rest
        The words: an event, what it is about, how much; or "done".
    options
        The options of the command.
    tell
        Called with each text for the person who notes.
    unless
        As in ``reading.journal.append.append_all``.
    """
    if options.week and (not rest or rest[0].casefold() != log_words.DONE):
        refuse_one("--week", f'it with "{" ".join(rest)}"' if rest else "it alone", "it with done")
    context = NoteContext(path, tell, unless)
    written: tuple[Entry, ...] = ()
    if options.undo:
        written = _undo(context, rest)
    elif options.correct:
        written = (_correct(context, options, rest),)
    elif not rest:
        tell(one_text(journal_screens.last(context.journal.entries, context.journal.events, context.names)))
    elif rest[0].casefold() == log_words.DONE:
        written = done(context, rest[1:], options)
    else:
        named = log_words.front_event(rest)
        if named is None:
            log_words.unknown_event(rest[0])
        event, count = named
        spread = entries_of(context, event, rest[count:], options, None)
        if len(spread.entries) == 1 and not spread.unnamed:
            written = (note_one(context, spread.entries[0]),)
        else:
            written = note_spread(context, spread)
    return written, (*context.noted.problems, *context.noted.torn(), *context.noted.plan_problems)


def _undo(context: NoteContext, rest: Sequence[str]) -> tuple[Entry, ...]:
    """Take back the named lines, or the last valid event."""
    if not rest and not context.journal.events:
        refuse_one("--undo", "a journal without events", "something to take back")
    if rest:
        targets = [_line(context, "--undo", name) for name in dict.fromkeys(rest)]
    else:
        targets = [max(context.journal.events, key=lambda entry: entry.line or 0)]
    today = clock.today()
    written = append_entries(
        context, [Entry(on=today, event="undone", corrects=target.id) for target in targets]
    )
    for target in targets:
        again = target.event == "undone"
        what = "took back an undo" if again else journal_screens.event_sentence(target, context.names)
        context.tell(f"Taken back: {what} ({target.on.isoformat()}).")
    ids = " ".join(entry.id for entry in written)
    context.tell(f"To have it back: {context.command(f'--undo {ids}')}")
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
        entries = entries_of(context, event, rest[count:], options, old).entries
        if len(entries) > 1:
            ids = " or ".join(entry.batch for entry in entries)
            refuse_one("--correct", f"{len(entries)} batches", f"one batch: {ids}", "a line is of one batch")
        entry = entries[0]
    else:
        entry = _changed(context, old, rest, options)
    return note_one(context, entry.model_copy(update={"corrects": old.id, "line": None}))


def _changed(context: NoteContext, old: Entry, rest: Sequence[str], options: Options) -> Entry:
    """Return an entry with a new amount and the values of the options."""
    if old.event == "bill":
        said = {key: value for key, value in (("why", options.why), ("note", options.note)) if value}
        fields = bill_fields(rest, options, clock.today(), context.space.tariff, old)
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
            "note": "" if old.as_planned else old.note,
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
