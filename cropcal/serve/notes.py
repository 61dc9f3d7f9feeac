"""Note what a page sends, as ``cropcal log`` does: the same words, the same code, each form once."""

import re
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from cropcal.problems import Problem
from cropcal.reading.journal.append import AlreadyNotedError
from cropcal.reading.journal.read import FILE_NAME, read_journal
from cropcal.records.journal import Entry, Journal
from cropcal.records.plan import Job
from cropcal.season.errors import SpaceError
from cropcal.season.load import folder_of
from cropcal.season.log import log_all
from cropcal.season.log_words import Options

MOST_KEPT = 2000
"""Answered forms that are remembered, so that one sent twice is answered twice but noted once."""
FIELD_NAMES = {
    "AMOUNT": "How much",
    "CROP_OR_BATCH": "Which",
    "BED": "Which",
    "ZONE": "Which",
    "WHAT": "Which",
    "EVENT": "What happened",
    "--on": "Day",
    "--from": "From",
    "--until": "Until",
    "--correct": "Correct",
    "--undo": "Undo",
}
MEANWHILE = "This was noted or changed meanwhile, so nothing more was written. Below is how it stands now."


_TYPED_NEXT = re.compile(r"(?:^|\n)Wrong\? |^To have it back:|^That takes back |Weighed it\?")
"""Where the terminal begins to say which command undoes or corrects a note."""


@dataclass(frozen=True)
class Answered:
    """What came of a form.

    Attributes
    ----------
    lines
        The lines that were written.
    words
        What to say about it.
    mistakes
        What was wrong with it; then nothing was written.
    fields
        What was typed, to be shown again where there are mistakes.
    """

    lines: tuple[Entry, ...] = ()
    words: tuple[str, ...] = ()
    mistakes: tuple[str, ...] = ()
    fields: Mapping[str, str] = field(default_factory=dict)


class Desk:
    """Writes notes for all windows of a space, one at a time, and remembers what came of each form."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._turn = threading.Lock()
        self._answered: OrderedDict[str, Answered] = OrderedDict()

    def answered(self, token: str) -> Answered | None:
        """Return what came of the form with a token, None if nothing is known of it."""
        return self._answered.get(token)

    def journal(self) -> Journal:
        """Return the journal as it stands now."""
        return read_journal(folder_of(self.path) / FILE_NAME, None)[0]

    def write(
        self,
        token: str,
        words: Sequence[str],
        options: Options,
        unless: Callable[[Journal], bool],
        typed: Mapping[str, str],
    ) -> Answered:
        """Note an event in the words of ``cropcal log``, unless this form was answered before.

        Parameters
        ----------
        token
            The token of the form.
        words, options
            What would be typed after ``cropcal log``.
        unless
            Whether a journal has this event already; asked while no other program can write into it.
        typed
            The fields of the form.
        """
        return self._once(token, lambda: self._written(words, options, unless, typed))

    def refuse(self, token: str, mistake: str, typed: Mapping[str, str]) -> None:
        """Remember that a form cannot be answered, and why."""
        self._once(token, lambda: Answered(mistakes=(mistake,), fields=typed))

    def keep(self, token: str, act: Callable[[], tuple[str, ...]], words: str) -> Answered:
        """Do what else a form wants, once. ``act`` returns what went wrong; ``words`` are said otherwise."""

        def done() -> Answered:
            mistakes = act()
            return Answered(mistakes=mistakes) if mistakes else Answered(words=(words,))

        return self._once(token, done)

    def _once(self, token: str, answer: Callable[[], Answered]) -> Answered:
        with self._turn:
            known = self._answered.get(token)
            if known is None or known.mistakes:  # a form with mistakes wrote nothing, so it may come again
                self._answered[token] = answer()
                while len(self._answered) > MOST_KEPT:
                    self._answered.popitem(last=False)
            return self._answered[token]

    def _written(
        self,
        words: Sequence[str],
        options: Options,
        unless: Callable[[Journal], bool],
        typed: Mapping[str, str],
    ) -> Answered:
        said: list[str] = []
        try:
            written, problems = log_all(
                self.path, words, options, said.append, lambda: unless(self.journal())
            )
        except AlreadyNotedError:
            return Answered(words=(MEANWHILE,))
        except SpaceError as error:
            return Answered(mistakes=tuple(map(in_words, error.problems)), fields=typed)
        kept = [text for text in map(_without_commands, said) if text]
        return Answered(written, (*kept, *map(str, problems)))


def _without_commands(said: str) -> str:
    """Return what the terminal says, without what to type next: the page has buttons for that."""
    return " ".join(_TYPED_NEXT.split(said)[0].split())


def in_words(problem: Problem) -> str:
    """Return a problem of a form; it names the field, not an option of the command."""
    name = FIELD_NAMES.get(problem.where.path)
    if name is None:
        return str(problem)
    if problem.plain:
        return f"{name}: {problem.found}; {problem.expected}."
    hint = f" ({problem.hint})" if problem.hint else ""
    return f"{name}: found {problem.found}, expected {problem.expected}{hint}."


def job_is_noted(job: Job) -> Callable[[Journal], bool]:
    """Return a function that says whether a journal has a job already."""
    from cropcal.planning.schedule.jobs import noted_jobs

    return lambda journal: bool(noted_jobs((job,), journal.events))


def are_taken_back(names: Sequence[str]) -> Callable[[Journal], bool]:
    """Return a function that says whether any of some lines was taken back, or corrected, meanwhile.

    An ``undone`` counts as taken back once another one names it.
    """

    def taken(name: str, journal: Journal) -> bool:
        line = next((entry for entry in journal.entries if entry.id == name), None)
        if line is not None and line.event == "undone":
            return any(entry.event == "undone" and entry.corrects == name for entry in journal.entries)
        return all(event.id != name for event in journal.events)

    return lambda journal: any(taken(name, journal) for name in names)
