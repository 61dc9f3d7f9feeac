"""A space as its files say it by now: the one way in, for every command and every answer from Python."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from cropcal.records.crop import CropTables
from cropcal.records.space import (
    Begun,
    Held,
    History,
    Space,
    held,
)
from cropcal.records.tried_value import Change
from cropcal.season import clock
from cropcal.season.beside import as_measured, written_settings
from cropcal.season.load import load, load_with

Begin = Callable[[Space], Begun | None]
"""From a space to the day on which it is begun, if it lay idle from its start."""


@dataclass(frozen=True)
class Opened:
    """A space that is without mistakes.

    Attributes
    ----------
    file
        As space.toml and the values that are tried say it.
    space
        The same with what the measured series say.
    tables
        The crops it knows.
    given
        What the tried values change in the file.
    settings
        What held when by the plans that were written, oldest first.
    begun
        When it was begun by the plan that was written, if it lay idle from its start.
    on
        The day from which the file's settings count where they changed since the last plan.
    """

    file: Space
    space: Space
    tables: CropTables
    given: tuple[Change, ...]
    settings: tuple[Held, ...]
    begun: Begun | None
    on: date

    def ready(self, begin: Begin | None = None, *, pick_hours: bool = True) -> Space:
        """Return it with hours for every zone and with what held in the past.

        Parameters
        ----------
        begin
            Asked where no plan says when a space was begun that lay idle from its start.
        pick_hours
            Whether zones without hours get those that are picked.
        """
        begun = begin(self.space) if begin is not None and self.begun is None else self.begun
        moved = _begun_on(self.space, begun)
        space = self._lit(moved) if pick_hours else moved
        same = self.space is self.file if pick_hours else not self.settings  # hours are sought but once
        now = space if same else self._lit(self.file)
        history = History(held=self.settings, now=held(now, self.on), begun=begun)
        return space.model_copy(update={"history": history})

    def _lit(self, space: Space) -> Space:
        """Return a space with hours; the search for them is loaded only where a zone has none."""
        if all(zone.lit is not None or zone.photoperiod_h is not None for zone in space.zones):
            return space
        from cropcal.planning.photoperiod.fill_hours import with_hours

        return with_hours(space, self.tables)


def opened(path: Path, sets: Sequence[str] = (), on: date | None = None) -> Opened:
    """Return a space as if the values of ``--set`` stood in its file.

    Parameters
    ----------
    path
        The folder of the space, or its space.toml.
    sets
        ``KEY=VALUE`` of every value that is tried.
    on
        The day from which changed settings count, today if left out. What is measured ends there, or today if
        that is later.

    Raises
    ------
    SpaceError
        If the file, a tried value, a measured series or what held by the plans has mistakes.
    """
    as_written, tables = load(path)
    settings, begun = written_settings(path)
    today = clock.today()
    day = on or today
    file, given = load_with(path, sets) if sets else (as_written, ())
    space = as_measured(path, file, max(day, today), as_written if sets else None)
    return Opened(file, space, tables, given, settings, begun, day)


def _begun_on(space: Space, begun: Begun | None) -> Space:
    """Return the space with the day on which it was begun as its start, where it lay idle at first."""
    if begun is None:
        return space
    from cropcal.planning.replan.late_start import begun_on

    return begun_on(space, begun)
