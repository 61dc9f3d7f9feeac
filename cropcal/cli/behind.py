"""What is behind a plan that is made again: the plan as written, and the journal."""

from datetime import date, timedelta
from pathlib import Path

from cropcal.cli.load import folder_of, refuse
from cropcal.reading.journal import FILE_NAME, read_journal, torn_notes
from cropcal.reading.written import read_batches, read_sites
from cropcal.records.journal import PLANT_EVENTS
from cropcal.records.past import Past
from cropcal.records.plan import Job
from cropcal.records.space import Space


def behind(path: Path, folder: Path, space: Space, today: date) -> tuple[Past | None, tuple[str, ...]]:
    """Return what a plan goes on from, None if it is the first, and which lines of the journal are torn.

    A journal with mistakes is refused: half of what happened makes a wrong plan.

    Parameters
    ----------
    path
        The space.
    folder
        Where the plan before was written.
    space
        What it says.
    today
        The first day that is still to be planned. Outside the plan's weeks there is nothing to go on from.
    """
    start = space.settings.start
    if not start <= today < start + timedelta(weeks=space.settings.weeks):
        return None, ()
    file = folder_of(path) / FILE_NAME
    journal, problems = read_journal(file, max(today, date.today()))  # noqa: DTZ011 - the user's own day
    if problems:
        refuse(problems)
    slips = tuple(str(one) for one in torn_notes(journal.torn, str(file)))
    batches = read_batches(folder / "plan.json")
    told = any(event.event in PLANT_EVENTS and event.on <= today for event in journal.events)
    if not told and (not batches or today == start):
        return None, slips
    sites = read_sites(folder / "plan.json")
    return Past(on=today, batches=batches, sites=sites, events=journal.events), slips


def missed(path: Path, jobs: tuple[Job, ...], today: date) -> tuple[Job, ...]:
    """Return the jobs that are overdue by the journal, or that nobody noted yet."""
    from cropcal.planning.jobs import overdue

    journal, _ = read_journal(folder_of(path) / FILE_NAME)
    return overdue(jobs, journal.events, today)
