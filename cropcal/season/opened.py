"""Open a space with all its files: the single entry point for every command and every answer from Python."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import get_args

from cropcal.reading.plan_json import read_plan
from cropcal.reading.text.source import shorten
from cropcal.reading.text.suggestions import did_you_mean, one_of
from cropcal.records.crop import CropTables
from cropcal.records.replan import Begun
from cropcal.records.space import (
    Held,
    History,
    SowChoice,
    Space,
    settings_from,
)
from cropcal.records.values import Change
from cropcal.season import clock
from cropcal.season.beside import as_measured, newest_readings, written_settings
from cropcal.season.load import load, load_with, plan_json, refuse_one

Begin = Callable[[Space], Begun | None]
"""Function from a space to its late beginning, None if it did not lie idle from its start."""


@dataclass(frozen=True)
class Opened:
    """A space without problems.

    Attributes
    ----------
    file
        The space by space.toml and the tried values.
    space
        The same with the measured series and the readings of the journal.
    tables
        Its crop tables.
    given
        The changes that the tried values make in the file.
    settings
        The past settings, as the plans recorded them, oldest first.
    begun
        When it was begun, as the last plan recorded it, if it lay idle from its start.
    on
        The day from which the file's settings count where they changed since the last plan.
    notes
        A sentence for each reading of the journal that does not count, or counts in place of the file's.
    """

    file: Space
    space: Space
    tables: CropTables
    given: tuple[Change, ...]
    settings: tuple[Held, ...]
    begun: Begun | None
    on: date
    notes: tuple[str, ...] = ()

    def ready(self, begin: Begin | None = None, *, pick_hours: bool = True) -> Space:
        """Return the space with lamp hours for every zone and with its past settings.

        Parameters
        ----------
        begin
            Called where no plan records whether the space lay idle from its start.
        pick_hours
            Whether zones without hours get picked ones.
        """
        begun = begin(self.space) if begin is not None and self.begun is None else self.begun
        moved = _at_its_weeks(self.space, begun, self.on)
        space = self._lit(moved) if pick_hours else moved
        same = self.space is self.file if pick_hours else not self.settings  # search for hours only once
        now = space if same else self._lit(self.file)
        history = History(held=self.settings, now=settings_from(now, self.on), begun=begun)
        return space.model_copy(update={"history": history})

    def _lit(self, space: Space) -> Space:
        """Return a space with lamp hours; the search for them is imported only where a zone has none."""
        if all(zone.lit is not None or zone.photoperiod_h is not None for zone in space.zones):
            return space
        from cropcal.planning.photoperiod.fill_hours import with_hours

        return with_hours(space, self.tables)


def opened(
    path: Path,
    sets: Sequence[str] = (),
    on: date | None = None,
    sow: str | None = None,
    instead: Path | None = None,
) -> Opened:
    """Return a space with the values of ``--set`` in place of the file's.

    Parameters
    ----------
    path
        The folder of the space, or its space.toml.
    sets
        ``KEY=VALUE`` of every tried value.
    on
        The day from which changed settings count, today if left out. Measurements count up to that day, or
        today if that is later.
    sow
        How much is sown, in place of what the file says: "sparing", "usual" or "safe".
    instead
        Another space.toml that is tried in place of the file, as ``sets`` are.

    Raises
    ------
    SpaceError
        If the file, a tried value, ``sow``, a measured series, the past settings or, where it holds readings
        of light, the journal have mistakes.
    """
    as_written, tables = load(path)
    as_written = _since_the_first_plan(path, as_written)
    settings, begun = written_settings(path)
    today = clock.today()
    day = on or today
    is_tried = bool(sets) or instead is not None
    file, given = load_with(instead or path, sets) if is_tried else (as_written, ())
    file = _since_the_first_plan(path, file) if is_tried else file
    if sow is not None:
        file, as_written = _sown(file, sow, given), _sown(as_written, sow, ())
    space = as_measured(path, file, max(day, today), as_written if is_tried else None)
    noted = newest_readings(path, max(day, today))
    notes: tuple[str, ...] = ()
    if noted:
        from cropcal.planning.history.past_settings import light_since
        from cropcal.planning.site import noted_readings as readings

        since = light_since(settings, settings_from(as_written, day))
        space = readings.with_noted_readings(space, tables, noted, since, as_written)
        notes = readings.reminders(as_written, tables, noted, since)
    if (given or instead is not None) and space.readings:
        from cropcal.planning.site.noted_readings import under_tried_lamps

        space = under_tried_lamps(space, tables, file, as_written)
    return Opened(file, space, tables, given, settings, begun, day, notes)


SOW = "plan.sow"
SOW_CHOICES: tuple[SowChoice, ...] = get_args(SowChoice)


def _sown(space: Space, sow: str, given: Sequence[Change]) -> Space:
    """Return a space with what is asked for this once in place of what its file says of how much is sown."""
    choice = next((choice for choice in SOW_CHOICES if choice == sow), None)
    if choice is None:
        refuse_one("--sow", f'"{shorten(sow)}"', one_of(SOW_CHOICES), did_you_mean(sow, SOW_CHOICES))
    if tried := next((row for row in given if row.key == SOW and row.now is not None), None):
        refuse_one("--sow", f'"{sow}", and --set {SOW}={tried.now}', "one of the two")
    return space.model_copy(
        update={
            "settings": space.settings.model_copy(update={"sow": choice, "service": None}),
            "assumed": tuple(row for row in space.assumed if row.key != SOW),
        }
    )


START = "plan.start"


def _since_the_first_plan(path: Path, space: Space) -> Space:
    """Return a space whose file gives no start with that of its first plan, once there is one."""
    if not any(assumption.key == START for assumption in space.assumed):
        return space
    written, _ = read_plan(plan_json(path))
    if written is None or written.first_day is None:
        return space
    first = written.first_day
    why = {"value": first.isoformat(), "why": "no start given: that of the first plan"}
    return space.model_copy(
        update={
            "settings": space.settings.model_copy(update={"start": first}),
            "assumed": tuple(
                row.model_copy(update=why) if row.key == START else row for row in space.assumed
            ),
        }
    )


def _at_its_weeks(space: Space, begun: Begun | None, on: date) -> Space:
    """Return the space from where it was begun; once its weeks are over, with those from a day on."""
    settings = space.settings
    if begun is None and on < settings.start + timedelta(weeks=settings.weeks):
        return space
    from cropcal.planning.horizon import begun_on, seen_from

    started = begun_on(space, begun)
    end = started.settings.start + timedelta(weeks=settings.weeks)
    return seen_from(started, on) if on >= end else started
