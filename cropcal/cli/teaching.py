"""What the journal beside a space teaches, for the commands that forecast."""

from pathlib import Path

from cropcal.cli.load import refuse
from cropcal.planning.learned import Learned, paces, read_back
from cropcal.planning.light_budget import bed_lights
from cropcal.planning.pace import Paces
from cropcal.reading.journal import FILE_NAME, read_journal
from cropcal.reading.written import read_batches
from cropcal.records.crop import CropTables
from cropcal.records.space import Space

PLAN = Path("plan") / "plan.json"


def learned(path: Path, space: Space, tables: CropTables) -> Learned:
    """Return what the journal teaches, or print its problems and stop with exit code 2."""
    folder = path if path.is_dir() else path.parent
    journal, problems = read_journal(folder / FILE_NAME)
    if problems:
        refuse(problems)
    lights = bed_lights(space, tables)
    return read_back(space, tables, lights, journal.events, read_batches(folder / PLAN))


def learned_paces(path: Path, space: Space, tables: CropTables) -> Paces:
    """Return the pace of each crop in each bed that the journal teaches; none without a journal."""
    folder = path if path.is_dir() else path.parent
    if not (folder / FILE_NAME).is_file():
        return {}
    return paces(learned(path, space, tables), bed_lights(space, tables), tables.crops)
