"""What to set aside of each cut for later weeks."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from cropcal.planning.candidates.columns import weeks_kept
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.records.crop import CropTables
from cropcal.records.plan import Batch, Harvest

WHEN = {1: "next week", 2: "the week after next"}
Cut = tuple[str, date, int]
"""A cut of a batch: its id, the day, and which cut it is."""


@dataclass(frozen=True)
class SetAside:
    """An amount cut for a want in one week and kept for a later one."""

    want: int
    week: int
    later: int
    amount: float


def set_aside(
    kept: Iterable[SetAside], batches: Iterable[Batch], tables: CropTables, time: WorkCalendar
) -> dict[Cut, str]:
    """Return a phrase on how much to keep, by cut: from the last cut that keeps long enough, the freshest.

    Amounts kept longest are taken first, so that crops that keep less are left for the next week.
    """
    cuts: dict[tuple[int, int], list[tuple[Batch, Harvest]]] = {}
    for batch in batches:
        for harvest in batch.harvests:
            week = time.day_of(harvest.on) // DAYS_PER_WEEK
            cuts.setdefault((batch.want, week), []).append((batch, harvest))
    left = {_key(batch, cut): cut.amount for rows in cuts.values() for batch, cut in rows}
    amounts_kept: dict[Cut, dict[int, float]] = {}
    for line in sorted(kept, key=lambda line: (line.want, line.week, -line.later)):
        rest = line.amount
        rows = cuts.get((line.want, line.week), [])
        for batch, cut in sorted(rows, key=lambda row: (row[1].on, row[0].id), reverse=True):
            key = _key(batch, cut)
            part = min(rest, left[key]) if weeks_kept(tables.crops[batch.crop]) >= line.later else 0.0
            if part <= 0.5 and batch.unit == "g":
                continue
            if part > 0:
                amounts_kept.setdefault(key, {})[line.later] = part
                left[key] -= part
                rest -= part
    units = {_key(batch, cut): batch.unit for rows in cuts.values() for batch, cut in rows}
    return {key: _keep_text(parts, units[key]) for key, parts in amounts_kept.items()}


def _key(batch: Batch, cut: Harvest) -> Cut:
    return batch.id, cut.on, cut.cut


def _keep_text(parts: Mapping[int, float], unit: str) -> str:
    return "keep " + " and ".join(
        f"{parts[later]:.0f} {_unit_text(parts[later], unit)} for {WHEN[later]}" for later in sorted(parts)
    )


def _unit_text(amount: float, unit: str) -> str:
    return "head" if unit == "heads" and round(amount) == 1 else unit
