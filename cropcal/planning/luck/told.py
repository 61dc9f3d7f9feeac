"""What is told of drawn seasons: what is expected to be short, and the ranges of each batch."""

from collections.abc import Sequence
from datetime import date

import numpy as np
import numpy.typing as npt

from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.luck.drawn import Drawn
from cropcal.records.chances import Expected, ExpectedWant
from cropcal.records.plan import Batch, Harvest
from cropcal.records.space import Want
from cropcal.seasons.world import FloatArray
from cropcal.units import CUT_MIN, MOVE_MIN, SOW_MIN

LOW, HIGH = 10.0, 90.0
"""Ends of the middle four fifths, percent."""
MINUTES = np.array([SOW_MIN, MOVE_MIN, CUT_MIN])
"""Minutes to sow a cell, to move a seedling, to cut and clear a site."""


def expected(
    drawn: Drawn,
    wants: tuple[Want, ...],
    wanted: Demand,
    per_week: FloatArray,
    told_weeks: int,
    today: int,
) -> Expected:
    """Return what is expected to be short and too much, over the weeks that count from today's on."""
    numbered = np.array([want.is_numbered for want in wants], dtype=bool)
    counted = np.where(numbered[:, None], wanted.counted, 0.0)
    counted[:, : today // 7] = 0.0
    counted[:, told_weeks:] = 0.0
    missing = drawn.seasons.short(counted).sum(axis=1)
    weeks = (counted > 0).sum(axis=1)
    usual = np.where(per_week > 0, per_week, 1.0)
    surplus = (drawn.seasons.wasted[: len(wants)] / usual[:, None]).mean(axis=1)
    whole = missing.sum(axis=0) if len(wants) else np.zeros(1)
    begun = max(told_weeks - today // 7, 1)
    return Expected(
        seasons=drawn.seasons.eaten.shape[2],
        weeks=int(weeks.sum()),
        short_want_weeks=_rounded(whole.mean()),
        short_low_80=_rounded(np.percentile(whole, LOW)),
        short_high_80=_rounded(np.percentile(whole, HIGH)),
        surplus_want_weeks=_rounded(surplus.sum()),
        cells=drawn.cells,
        minutes_a_week=_rounded(float(MINUTES @ drawn.seasons.jobs[:, :told_weeks].sum(axis=1)) / begun),
        wants=tuple(
            ExpectedWant(
                want=at,
                label=want.label,
                weeks=int(weeks[at]),
                short_weeks=_rounded(missing[at].mean()),
                short_weeks_low_80=_rounded(np.percentile(missing[at], LOW)),
                short_weeks_high_80=_rounded(np.percentile(missing[at], HIGH)),
            )
            for at, want in enumerate(wants)
            if weeks[at]
        ),
    )


def _rounded(value: float) -> float:
    return round(float(value), 2)


def with_ranges(
    batches: tuple[Batch, ...], drawn: Drawn, time: WorkCalendar, today: int
) -> tuple[Batch, ...]:
    """Return the batches with the days between which they are moved and cut, and the range of each yield."""
    return tuple(_with_ranges(batch, drawn, time, today) for batch in batches)


def _with_ranges(batch: Batch, drawn: Drawn, time: WorkCalendar, today: int) -> Batch:
    rows = drawn.rows_of(batch.id)
    if not len(rows):
        return batch
    seasons = drawn.seasons
    moved, cut_day = seasons.planted[rows], seasons.cut_day[:, rows]
    waits = batch.transplant_on is not None and time.day_of(batch.transplant_on) >= today
    amounts = seasons.cut_amount[:, rows].sum(axis=1)
    to_come = [harvest for harvest in batch.harvests if time.day_of(harvest.on) >= today]
    harvests = tuple(
        _ranged(harvest, batch, to_come, amounts, cut_day, time) if harvest in to_come else harvest
        for harvest in batch.harvests
    )
    return batch.model_copy(
        update={
            "moved_80": _between(moved, time) if waits else None,
            "harvests": harvests,
        }
    )


def _between(days: npt.NDArray[np.int16], time: WorkCalendar) -> tuple[date, date] | None:
    """Return the days between which four fifths of what is moved (cut) at all is so; None: nothing is."""
    done = days[days >= 0]
    if not len(done):
        return None
    low, high = np.percentile(done, [LOW, HIGH], method="closest_observation")
    return time.date_of(int(low)), time.date_of(int(high))


def _ranged(
    harvest: Harvest,
    batch: Batch,
    to_come: Sequence[Harvest],
    amounts: npt.NDArray[np.float32],
    cut_day: npt.NDArray[np.int16],
    time: WorkCalendar,
) -> Harvest:
    """Return a cut with the range of its days, and of its yield: its share of what that cut brings in all.

    ``amounts`` is what each cut of the batch brings, (cuts, seasons), ``cut_day`` the day of it on each site,
    (cuts, sites, seasons).
    """
    planned = sum(other.amount for other in to_come if other.cut == harvest.cut)
    if planned <= 0 or harvest.cut > len(amounts):
        return harvest
    low, high = np.percentile(amounts[harvest.cut - 1], [LOW, HIGH]) * harvest.amount / planned
    digits = 0 if batch.unit == "heads" else 1
    return harvest.model_copy(
        update={
            "amount_low_80": round(float(low), digits),
            "amount_high_80": round(float(high), digits),
            "on_80": _between(cut_day[harvest.cut - 1], time),
        }
    )
