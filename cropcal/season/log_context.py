"""Everything a note is checked against."""

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property
from pathlib import Path

from cropcal.planning.history.batch_history import batch_histories
from cropcal.records.batch_history import BatchHistory
from cropcal.records.journal import Entry
from cropcal.season import clock, log_words
from cropcal.season.beside import noted
from cropcal.season.load import load, refuse, wanted_slugs


class NoteContext:
    """Everything a note is checked against: the space, its crops, its journal and its batches.

    ``tell`` is called with each text for the person who notes.
    """

    def __init__(self, path: Path, tell: Callable[[str], object]) -> None:
        self.typed_path, self.tell = path, tell
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
