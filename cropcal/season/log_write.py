"""What a note is checked against; its lines written, and told with what they mean and how to undo them."""

import contextlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from pathlib import Path

from cropcal.planning.hazards import heat_noted
from cropcal.planning.history.batch_history import after_entry, batch_histories, unplanned_batch
from cropcal.reading.journal.append import CannotNoteError, append_all
from cropcal.reading.journal.checks import mistakes
from cropcal.records.batch_history import BatchHistory
from cropcal.records.journal import PLANT_EVENTS, Entry, Journal
from cropcal.season import clock, log_words
from cropcal.season.beside import doubts_of_reading, noted
from cropcal.season.errors import SpaceError
from cropcal.season.load import load, refuse, refuse_one, wanted_slugs
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


Tell = Callable[[str], object]
Unless = Callable[[], bool] | None


class NoteContext:
    """Everything a note is checked against: the space, its crops, its journal and its batches.

    ``tell`` is called with each text for the person who notes; ``unless`` is that of ``append_all``.
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

    @property
    def here(self) -> set[str]:
        """Return the slugs of the crops that are wanted or have a batch."""
        return wanted_slugs(self.space) | {history.crop for history in self.stories}


@dataclass(frozen=True)
class Spread:
    """The lines that a note comes to; ``unnamed``: batches of the same sowing that get nothing of it."""

    entries: tuple[Entry, ...]
    unnamed: tuple[BatchHistory, ...] = ()


def one_text(screen: str) -> str:
    """Return a screen without its last line end, which printing adds."""
    return screen.removesuffix("\n")


def note_one(context: NoteContext, entry: Entry) -> Entry:
    """Write an entry, report its consequences, and return it as written."""
    (before,) = _befores(context, [entry])
    (written,) = append_entries(context, [entry])
    now = after_entry(before, written, context.nurseries) if before else None
    undo = context.command(f"--undo {written.id}")
    hot = heat_noted(written)
    dangers = first_lines([hot] if hot else [], context.names)
    context.tell(one_text(dangers + journal_screens.noted(written, before, now, context.names, undo)))
    if twin := _twin(context.journal, written):
        context.tell(f"The same is noted already as {twin}. If it happened only once, take one back.")
    if entry.event == "bill":
        _tell_of_bill(context, written)
    if not entry.batch and entry.event in PLANT_EVENTS:
        context.tell("No batch of the plan fits, so it is noted for the crop alone.")
    for doubt in doubts_of_reading(context.typed_path, context.space, context.tables, written):
        context.tell(doubt)
    return written


def note_spread(context: NoteContext, spread: Spread) -> tuple[Entry, ...]:
    """Write a note that is shared out over batches of one sowing, and say which got how much."""
    first = spread.entries[0]
    count, crop = len(spread.entries) + len(spread.unnamed), context.names[first.crop]
    how = "it is noted of each"
    if first.event == "harvested" and first.unit == "g":
        how = "the weight is shared by what is expected of each"
    elif first.amount is not None:
        how = f"those to be eaten {'last' if first.event == 'lost' else 'first'} come first"
    written = note_together(context, spread.entries, f"{count} batches of {crop} share that day; {how}:")
    for history in spread.unnamed:
        context.tell(f"  {history.batch}: none of its {journal_screens.places(history)}")
    if over := _over(context, written):
        context.tell(over)
    tell_ways_back(context, written)
    return written


def note_together(context: NoteContext, entries: Sequence[Entry], head: str) -> tuple[Entry, ...]:
    """Write several entries at once, tell each below a head, and return them as written."""
    befores = _befores(context, entries)
    written = append_entries(context, entries)
    context.tell(head)
    for entry, before in zip(written, befores, strict=True):
        now = after_entry(before, entry, context.nurseries) if before else None
        context.tell(journal_screens.noted_line(entry, before, now, context.names))
        if twin := _twin(context.journal, entry):
            context.tell(f"    The same is noted already as {twin}.")
    return written


def tell_ways_back(context: NoteContext, written: Sequence[Entry]) -> None:
    """Tell how to take back all lines, or one of them."""
    ids = " ".join(entry.id for entry in written)
    context.tell(f"Wrong? {context.command(f'--undo {ids}')}")
    if len(written) > 1:
        context.tell("That takes back all of it; with one id, only that.")


def append_entries(context: NoteContext, entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Write lines as one, or raise: nothing is written then."""
    try:
        return append_all(context.file, entries, now=datetime.now().astimezone(), unless=context.unless)
    except CannotNoteError as error:
        refuse([error.problem])


def _befores(context: NoteContext, entries: Sequence[Entry]) -> list[BatchHistory | None]:
    """Return the batch of each entry as it was before, or raise the first mistake of any entry."""
    befores = []
    for entry in entries:
        if slips := mistakes(entry):
            first = slips[0]
            refuse_one(_OPTION.get(first.key, first.key), first.found, first.expected, first.hint)
        before = context.story(entry.batch) if entry.batch else None
        if before is None and entry.batch:
            before = unplanned_batch(entry, context.tables.crops[entry.crop])
        befores.append(before)
    return befores


def _over(context: NoteContext, written: Sequence[Entry]) -> str:
    """Return a line on what was sown beyond the plan, "" if it was no more."""
    if written[0].event != "sown" or written[0].unit == "seeds":
        return ""
    planned = [story.planned for entry in written if (story := context.story(entry.batch))]
    places = sum(batch.cells or batch.sites for batch in planned if batch)
    more = sum(entry.amount or 0.0 for entry in written) - places
    return f"  {more:g} more than planned, noted with {written[-1].batch}" if more > 0 else ""


def _tell_of_bill(context: NoteContext, written: Entry) -> None:
    """Say how a bill compares with the computed one; nothing if the space cannot be read in full."""
    from cropcal.season.bill import bill_as_noted
    from cropcal.show.terminal.bill import after_noting

    with contextlib.suppress(SpaceError):
        bill = bill_as_noted(context.typed_path, written)
        if bill is not None:
            tariff = context.space.tariff
            again = context.command("").replace("cropcal log", "cropcal bill").rstrip()
            context.tell(one_text(after_noting(bill, tariff.currency if tariff else None, again)))


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
