"""What is behind a space: its journal, read once a command, and the plan as it was written before."""

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from cropcal.cli.load import folder_of, refuse
from cropcal.problems import Problem
from cropcal.reading.journal import FILE_NAME, read_journal, torn_notes
from cropcal.reading.written import read_batches, read_sites
from cropcal.records.journal import PLANT_EVENTS, Entry, Journal
from cropcal.records.past import Past
from cropcal.records.space import Space


@dataclass(frozen=True)
class Noted:
    """The journal beside a space, and what is wrong with it."""

    file: Path
    journal: Journal
    problems: list[Problem]

    def events(self) -> tuple[Entry, ...]:
        """Return what holds, or print the mistakes and stop: half of what happened makes a wrong plan."""
        if self.problems:
            refuse(self.problems)
        return self.journal.events

    def torn(self) -> list[Problem]:
        """Return which of its lines are torn."""
        return torn_notes(self.journal.torn, str(self.file))


def noted(path: Path, today: date | None = None) -> Noted:
    """Return the journal beside a space; an event after ``today``, if that is told, is a mistake."""
    file = folder_of(path) / FILE_NAME
    return Noted(file, *read_journal(file, today))


def behind(journal: Noted, folder: Path, space: Space, today: date) -> Past | None:
    """Return what a plan goes on from, None if it is the first.

    Parameters
    ----------
    journal
        What happened.
    folder
        Where the plan before was written.
    space
        What it says.
    today
        The first day that is still to be planned. Outside the plan's weeks there is nothing to go on from.
    """
    start = space.settings.start
    if not start <= today < start + timedelta(weeks=space.settings.weeks):
        return None
    events = journal.events()
    batches = read_batches(folder / "plan.json")
    told = any(event.event in PLANT_EVENTS and event.on <= today for event in events)
    if not told and (not batches or today == start):
        return None
    return Past(on=today, batches=batches, sites=read_sites(folder / "plan.json"), events=events)
