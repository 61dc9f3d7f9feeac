"""By when to eat each cut, and what to set aside of it for later weeks."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
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


@dataclass(frozen=True)
class Eating:
    """The last day on which a cut is to be eaten, None: nobody knows; and a phrase on it, "" if None."""

    by: date | None
    note: str


def eating_days(
    kept: Iterable[SetAside], batches: Sequence[Batch], serving: ServiceWeeks
) -> dict[Cut, Eating]:
    """Return by when to eat each cut, with a phrase that says so and how much of it to keep."""
    aside = _set_aside(kept, batches, serving)
    days: dict[Cut, Eating] = {}
    for batch in batches:
        for harvest in batch.harvests:
            key, by = _key(batch, harvest), serving.eat_by(batch.crop, harvest.on)
            note = "" if by is None else f"eat by {by:%a} {by.day} {by:%b}"
            days[key] = Eating(by, f"{_keep_text(aside[key], batch.unit)}, {note}" if key in aside else note)
    return days


def _set_aside(
    kept: Iterable[SetAside], batches: Iterable[Batch], serving: ServiceWeeks
) -> dict[Cut, dict[int, float]]:
    """Return what to keep of each cut, by weeks: from the last cut that keeps long enough, the freshest.

    Amounts kept longest are taken first, so that crops that keep less are left for the next week.
    """
    time = serving.time
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
            keeps = serving.weeks_kept(batch.want, batch.crop, time.day_of(cut.on))
            part = min(rest, left[key]) if keeps >= line.later else 0.0
            if part <= 0.5 and batch.unit == "g":
                continue
            if part > 0:
                amounts_kept.setdefault(key, {})[line.later] = part
                left[key] -= part
                rest -= part
    return amounts_kept


def _key(batch: Batch, cut: Harvest) -> Cut:
    return batch.id, cut.on, cut.cut


def _keep_text(parts: Mapping[int, float], unit: str) -> str:
    return "keep " + " and ".join(
        f"{parts[later]:.0f} {_unit_text(parts[later], unit)} for {WHEN[later]}" for later in sorted(parts)
    )


def _unit_text(amount: float, unit: str) -> str:
    return "head" if unit == "heads" and round(amount) == 1 else unit
