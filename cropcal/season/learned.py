"""What the journal beside a space teaches, for the answers that forecast."""

from cropcal.planning.growth.pace import Paces
from cropcal.planning.history import calibration_report as learned_report
from cropcal.planning.history.calibration import learned_from_journal, paces
from cropcal.planning.photoperiod.fill_hours import settled
from cropcal.planning.site.bed_light import bed_lights
from cropcal.records.crop import CropTables
from cropcal.records.learned import LearnedReport
from cropcal.records.plan import BedLight
from cropcal.records.space import Space
from cropcal.season.beside import Noted


def report(journal: Noted, space: Space, tables: CropTables) -> LearnedReport:
    """Return what the journal teaches, to be shown, or raise its problems."""
    lights = bed_lights(space, tables)
    return learned_report.report(space, tables, lights, journal.events(), journal.batches())


def learned_paces(
    journal: Noted,
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...] | None = None,
) -> Paces:
    """Return the pace of each crop in each bed that the journal teaches; none without a journal.

    ``lights`` are those of the space, if they are known already.
    """
    events = journal.events()
    if not events:
        return {}
    space = settled(space, tables)
    lights = bed_lights(space, tables) if lights is None else lights
    found = learned_from_journal(space, tables, lights, events, journal.batches())
    return paces(found, lights, tables.crops)
