"""Growth rates learned from the journal beside a space, for the answers that forecast."""

from typing import TYPE_CHECKING

from cropcal.records.crop import CropTables
from cropcal.records.plan import BedLight
from cropcal.records.space import Space
from cropcal.season.beside import Noted

if TYPE_CHECKING:  # most spaces have no journal, and then none of it is needed
    from cropcal.planning.growth.pace import Paces
    from cropcal.records.learned import LearnedReport


def report(journal: Noted, space: Space, tables: CropTables) -> "LearnedReport":
    """Return the report on what was learned from the journal, or raise the journal's problems."""
    from cropcal.planning.history import calibration_report as learned_report
    from cropcal.planning.site.bed_light import bed_lights

    lights = bed_lights(space, tables)
    return learned_report.report(space, tables, lights, journal.events(), journal.batches())


def learned_paces(
    journal: Noted,
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...] | None = None,
) -> "Paces":
    """Return the growth rate of each crop in each bed as learned from the journal; empty without events.

    ``lights`` are those of the space, if already computed.
    """
    events = journal.events()
    if not events:
        return {}
    from cropcal.planning.history.calibration import learned_from_journal, paces
    from cropcal.planning.photoperiod.fill_hours import with_hours
    from cropcal.planning.site.bed_light import bed_lights

    space = with_hours(space, tables)
    lights = bed_lights(space, tables) if lights is None else lights
    knowledge = learned_from_journal(space, tables, lights, events, journal.batches())
    return paces(knowledge, lights, tables.crops)
