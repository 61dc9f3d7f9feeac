"""The page of the journal: what was noted, newest first, each line can be taken back or corrected."""

from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from cropcal.reading.crops.read import read_crop_tables
from cropcal.records.journal import Entry
from cropcal.season import clock
from cropcal.season.beside import noted
from cropcal.season.load import folder_of
from cropcal.show import text
from cropcal.show.terminal.log import event_sentence

LINES_SHOWN = 60


@dataclass(frozen=True)
class NoteRow:
    """One line of the journal.

    Attributes
    ----------
    id
        Its name.
    words
        What happened.
    state
        "holds"; "corrected" or "taken back", where it does not hold any more; "undo", if it takes back
        another.
    can_undo, can_correct
        Whether it can be taken back (an undo too), and corrected.
    day
        Its day, as a form takes it.
    """

    id: str
    words: str
    state: str
    can_undo: bool
    can_correct: bool
    day: str


@dataclass(frozen=True)
class JournalPage:
    """The lines by the day of what they are about; ``more`` older ones are not shown."""

    days: tuple[tuple[str, tuple[NoteRow, ...]], ...]
    more: int
    mistakes: tuple[str, ...]
    torn: tuple[str, ...]


def journal_page(path: Path, *, whole: bool = False) -> JournalPage:
    """Return the page from the journal as it is now; ``whole``: with all its lines."""
    journal = noted(path, clock.today())
    tables = read_crop_tables(folder_of(path))[0]
    names = {slug: crop.name for slug, crop in tables.crops.items()} if tables else {}
    entries = journal.journal.entries
    valid = {event.id for event in journal.journal.events}
    back = {entry.corrects: entry for entry in entries if entry.event == "undone"}
    by_id = {entry.id: entry for entry in entries}
    newest = sorted(entries, key=lambda entry: (entry.on, entry.line or 0), reverse=True)
    shown = newest if whole else newest[:LINES_SHOWN]

    def row(entry: Entry) -> NoteRow:
        if entry.event == "undone":
            other = by_id.get(entry.corrects)
            what = event_sentence(other, names) if other and other.event != "undone" else "an undo"
            return NoteRow(entry.id, f"Took back: {what}", "undo", entry.id not in back, False, "")
        holds = entry.id in valid
        state = "holds" if holds else "taken back" if entry.id in back else "corrected"
        return NoteRow(entry.id, event_sentence(entry, names), state, holds, holds, entry.on.isoformat())

    return JournalPage(
        days=tuple(
            (text.day_year(on), tuple(map(row, group)))
            for on, group in groupby(shown, key=lambda entry: entry.on)
        ),
        more=len(newest) - len(shown),
        mistakes=tuple(map(str, journal.problems)),
        torn=tuple(map(str, journal.torn())),
    )
