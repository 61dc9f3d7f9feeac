"""What lies beside a space, read once a command: journal and measured series; and the plan before."""

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from cropcal.cli.load import folder_of, refuse
from cropcal.problems import Problem
from cropcal.reading.journal import FILE_NAME, read_journal, torn_notes
from cropcal.reading.measured import AIR_FILE, METER_FILE, read_air, read_meter
from cropcal.reading.written import read_batches, read_sites, read_supply
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


def series_problems(path: Path, space: Space | None) -> list[Problem]:
    """Return what is wrong with the measured series beside a space."""
    zones = [zone.name for zone in space.zones] if space else []
    folder, timezone = folder_of(path), space.place.timezone if space else None
    return [
        *read_air(folder / AIR_FILE, zones, timezone)[1],
        *read_meter(folder / METER_FILE, zones, timezone)[1],
    ]


def as_measured(path: Path, space: Space, told: Space | None = None) -> Space:
    """Return the space as the series beside it show it, or print their problems and stop.

    ``told`` is the file without the values that are tried, which are kept.
    """
    folder = folder_of(path)
    if not any((folder / name).exists() for name in (AIR_FILE, METER_FILE)):
        return space
    from cropcal.planning import measured

    zones, timezone = [zone.name for zone in space.zones], space.place.timezone
    air, problems = read_air(folder / AIR_FILE, zones, timezone)
    meter, more = read_meter(folder / METER_FILE, zones, timezone)
    if problems or more:
        refuse([*problems, *more])
    return measured.as_measured(space, air, meter, told)


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
        The first day that is still to be planned; before the plan begins, that is its start. Nothing is left
        to go on with once it has ended.
    """
    start = space.settings.start
    if today >= start + timedelta(weeks=space.settings.weeks):
        return None
    events = journal.events()
    batches = read_batches(folder / "plan.json")
    told = any(event.event in PLANT_EVENTS and event.on <= today for event in events)
    if not told and (not batches or today <= start):
        return None
    written = folder / "plan.json"
    return Past(
        on=max(today, start),
        batches=batches,
        sites=read_sites(written),
        supply=read_supply(written),
        events=events,
    )
