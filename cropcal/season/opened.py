"""A space as its files say it by now: the one way in, for every command and every answer from Python."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from cropcal.records.crop import CropTables
from cropcal.records.space import Space
from cropcal.records.trial import Change
from cropcal.season.beside import as_measured
from cropcal.season.load import load, load_with


@dataclass(frozen=True)
class Opened:
    """A space that is without mistakes.

    Attributes
    ----------
    space
        As space.toml, the values that are tried and the measured series say it.
    tables
        The crops it knows.
    given
        What the tried values change in the file.
    """

    space: Space
    tables: CropTables
    given: tuple[Change, ...] = ()

    def lit(self) -> Space:
        """Return it with hours for every zone; the search for them is loaded only where one has none."""
        zones = self.space.zones
        if all(zone.lit is not None or zone.photoperiod_h is not None for zone in zones):
            return self.space
        from cropcal.planning.settle import settled

        return settled(self.space, self.tables)


def opened(path: Path, sets: Sequence[str] = ()) -> Opened:
    """Return a space as if the values of ``--set`` stood in its file.

    Raises
    ------
    SpaceError
        If the file, a tried value or a measured series has mistakes.
    """
    as_written, tables = load(path)
    if not sets:
        return Opened(as_measured(path, as_written), tables)
    tried, given = load_with(path, sets)
    return Opened(as_measured(path, tried, as_written), tables, given)
