"""The files beside space.toml, read once for each answer: journal, measured series, the previous plan."""

import os
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path

from cropcal.problems import Problem, Where
from cropcal.reading.files.file_set import finish_interrupted
from cropcal.reading.journal.read import FILE_NAME, read_journal, torn_notes
from cropcal.reading.past_settings import FILE_NAME as SETTINGS_FILE
from cropcal.reading.past_settings import read_past_settings
from cropcal.reading.plan_json import read_plan
from cropcal.reading.series import (
    AIR_FILE,
    METER_FILE,
    read_air,
    read_meter,
)
from cropcal.records.crop import CropTables
from cropcal.records.journal import PLANT_EVENTS, Entry, Journal
from cropcal.records.plan import Batch
from cropcal.records.replan import Begun
from cropcal.records.space import Held, Space
from cropcal.records.written_plan import FORMAT, Past, WrittenPlan
from cropcal.season import clock
from cropcal.season.load import (
    PREVIOUS,
    folder_of,
    plan_json,
    refuse,
)
from cropcal.show.text import typed


@dataclass(frozen=True)
class Noted:
    """The journal beside a space, the plan written last, and the problems of both."""

    file: Path
    journal: Journal
    problems: list[Problem]
    plan_file: Path

    def events(self) -> tuple[Entry, ...]:
        """Return the valid events, or raise the problems: a plan of half the events would be wrong."""
        if self.problems:
            refuse(self.problems)
        return self.journal.events

    @cached_property
    def _plan_read(self) -> tuple[WrittenPlan | None, list[Problem]]:
        """Read the plan once a command, and only if the command needs it."""
        plan, problems = read_plan(self.plan_file)
        return plan, [_with_way_out(problem, self.plan_file) for problem in problems]

    @property
    def notes(self) -> tuple[str, ...]:
        """Return a note if the plan was read and a newer version wrote it."""
        plan = self.__dict__.get("_plan_read", (None, []))[0]
        if plan is None or not plan.is_newer:
            return ()
        version = f"a newer version wrote it (format {plan.format}, this one reads {FORMAT})"
        return (f"{self.plan_file}: {version}; what is new in it is left out.",)

    @property
    def plan_problems(self) -> list[Problem]:
        """Return what is wrong with the plan that was written."""
        return self._plan_read[1]

    def plan(self) -> WrittenPlan | None:
        """Return the plan as written, None if there is none; raise if it cannot be read."""
        plan, problems = self._plan_read
        if problems:
            refuse(problems)
        return plan

    def batches(self) -> tuple[Batch, ...]:
        """Return the batches of the plan as written; their ids count even after space.toml was changed."""
        plan = self.plan()
        return plan.batches if plan else ()

    def torn(self) -> list[Problem]:
        """Return a note about each torn line of the journal."""
        return torn_notes(self.journal.torn, str(self.file))


def noted(path: Path, today: date | None = None) -> Noted:
    """Return the journal beside a space; an event after ``today``, if given, is a mistake."""
    file = folder_of(path) / FILE_NAME
    return Noted(file, *read_journal(file, today), plan_json(path))


def _with_way_out(problem: Problem, file: Path) -> Problem:
    """Return the problem of a plan.json, its hint naming the commands that help."""
    if problem.where.path != str(file) or not os.access(file, os.R_OK):
        return problem
    copy, remove = ("copy", "del") if os.name == "nt" else ("cp", "rm")
    here, before = typed(str(file)), file.with_name(PREVIOUS)
    ways = f"{remove} {here} lets you plan anew from the journal"
    if read_plan(before)[0]:
        ways = f"{copy} {typed(str(before))} {here} brings back the plan before it, {ways}"
    return replace(problem, hint=f"{problem.hint or 'the file was left as it is'}; {ways}")


def series_problems(path: Path, space: Space | None, today: date) -> list[Problem]:
    """Return the problems of the measured series beside a space; a reading after ``today`` is one."""
    zones = [zone.name for zone in space.zones] if space else []
    folder, timezone = folder_of(path), space.place.timezone if space else None
    return [
        *read_air(folder / AIR_FILE, zones, timezone, today)[1],
        *read_meter(folder / METER_FILE, zones, timezone, today)[1],
    ]


def as_measured(path: Path, space: Space, today: date, as_written: Space | None = None) -> Space:
    """Return the space with its measured air and energy, or raise the problems of those files.

    A reading after ``today`` is a problem. ``as_written`` is the file without the tried values: measurements
    do not replace a tried value.
    """
    folder = folder_of(path)
    if not any((folder / name).exists() for name in (AIR_FILE, METER_FILE)):
        return space
    from cropcal.planning.site import measured_overrides as measured

    zones, timezone = [zone.name for zone in space.zones], space.place.timezone
    air, problems = read_air(folder / AIR_FILE, zones, timezone, today)
    meter, more = read_meter(folder / METER_FILE, zones, timezone, today)
    if problems or more:
        refuse([*problems, *more])
    return measured.with_measurements(space, air, meter, as_written)


def newest_readings(path: Path, today: date) -> dict[str, Entry]:
    """Return the last reading of light of each bed in the journal up to a day.

    Raises
    ------
    SpaceError
        If the journal has readings, and mistakes: the newest of half its lines may not be the newest.
    """
    journal = noted(path)
    read = [event for event in journal.journal.events if event.event == "reading"]
    if not read:
        return {}
    journal.events()
    bright = [event for event in read if event.amount and event.on <= today]
    return {event.bed: event for event in bright}


def readings_in_doubt(
    path: Path, space: Space, tables: CropTables, today: date, only: str = ""
) -> tuple[Problem, ...]:
    """Return a doubt about each reading of the journal that takes more light than such a lamp can give.

    ``only`` the one with that id, if given.
    """
    read = newest_readings(path, today)
    entries = {bed: entry for bed, entry in read.items() if not only or entry.id == only}
    if not entries:
        return ()
    from cropcal.planning.site.bed_light import bed_lights
    from cropcal.planning.site.noted_readings import with_noted_readings

    lit = with_noted_readings(space, tables, entries, {})
    beds = tuple(bed for bed in lit.beds if bed.name in entries)
    return tuple(
        Problem(
            Where(str(folder_of(path) / FILE_NAME), entries[light.bed].line),
            "amount",
            f"{entries[light.bed].amount:g} over {light.bed}",
            "light that such a lamp can give",
            slip,
        )
        for light in bed_lights(lit, tables, beds)
        for slip in light.slips
    )


def doubts_of_reading(path: Path, space: Space, tables: CropTables, entry: Entry) -> tuple[str, ...]:
    """Return what to ask about a reading that was just noted; nothing of other events."""
    if entry.event != "reading" or noted(path).problems:
        return ()
    doubts = readings_in_doubt(path, space, tables, max(entry.on, clock.today()), entry.id)
    return tuple(f"Is that right? {doubt.hint}" for doubt in doubts)


def written_settings(path: Path) -> tuple[tuple[Held, ...], Begun | None]:
    """Return the past settings by the plans of a space, and its late beginning if any, or raise problems."""
    file = plan_json(path).with_name(SETTINGS_FILE)
    finish_interrupted(file.parent)
    held, begun, problems = read_past_settings(file)
    if problems:
        refuse(problems)
    return held, begun


def past_of(journal: Noted, space: Space, today: date) -> Past | None:
    """Return what a plan resumes from, None if it is the first; raise if the previous plan is unreadable.

    Parameters
    ----------
    journal
        The events and the previous plan.
    space
        Its first day.
    today
        The first day to be planned; before the space begins, its first day is used.
    """
    before = journal.plan()
    start = space.first_day
    events = journal.events()
    has_plant_events = any(event.event in PLANT_EVENTS and event.on <= today for event in events)
    if not has_plant_events and (not before or not before.batches or today <= start):
        return None
    return Past(
        on=max(today, start),
        batches=before.batches if before else (),
        sites=before.sites if before else (),
        supply=before.supply if before else (),
        events=events,
    )


def reminders(space: Space, journal: Noted | None) -> tuple[str, ...]:
    """Return notes of air and hours that differ from the file."""
    kinds = ("air", "lamp hours")
    events = [event for event in journal.journal.events if event.event in kinds] if journal else []
    if not events:
        return ()
    from cropcal.planning.history import discrepancies as noted_otherwise

    return noted_otherwise.discrepancies(space, events)
