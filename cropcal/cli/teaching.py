"""What the journal beside a space teaches, for the commands that forecast."""

from pathlib import Path

from cropcal.cli.load import folder_of, plan_json, refuse
from cropcal.planning import learned_report
from cropcal.planning.learned import paces, read_back
from cropcal.planning.light_budget import bed_lights
from cropcal.planning.pace import Paces
from cropcal.planning.settle import settled
from cropcal.reading.journal import FILE_NAME, read_journal
from cropcal.reading.written import read_batches
from cropcal.records.crop import CropTables
from cropcal.records.journal import Entry
from cropcal.records.learned import LearnedReport
from cropcal.records.plan import Batch
from cropcal.records.space import Space


def report(path: Path, space: Space, tables: CropTables) -> LearnedReport:
    """Return what the journal teaches, to be shown, or print its problems and stop with exit code 2."""
    return learned_report.report(space, tables, bed_lights(space, tables), *_noted(path))


def learned_paces(path: Path, space: Space, tables: CropTables) -> Paces:
    """Return the pace of each crop in each bed that the journal teaches; none without a journal."""
    if not (folder_of(path) / FILE_NAME).is_file():
        return {}
    space = settled(space, tables)
    lights = bed_lights(space, tables)
    return paces(read_back(space, tables, lights, *_noted(path)), lights, tables.crops)


def _noted(path: Path) -> tuple[tuple[Entry, ...], tuple[Batch, ...]]:
    journal, problems = read_journal(folder_of(path) / FILE_NAME)
    if problems:
        refuse(problems)
    return journal.events, read_batches(plan_json(path))
