"""Harvests before today: how much was eaten by then, and what is left for later weeks.

Each past week ate what it wanted of the stock, the oldest first, except what the previous plan set aside.
So no part that was eaten keeps beyond the week that ate it.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from cropcal.optimize.programme import Columns, FloatArray
from cropcal.planning.candidates.service_weeks import NEVER, ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.replan.standing import StandingBatch
from cropcal.records.plan import Supply
from cropcal.records.space import Want

Stock = Mapping[tuple[int, int, int], float]
"""Amounts by want, week of the cut, and weeks for which it can still be kept."""

CRUMB = 1e-9


def cut_already(
    standing: Sequence[StandingBatch], serving: ServiceWeeks
) -> dict[tuple[int, int, int], float]:
    """Return the amounts harvested until now, by (want, week, weeks for which they keep)."""
    amounts: dict[tuple[int, int, int], float] = {}
    for batch in standing:
        for harvest in batch.harvests:
            week = (
                serving.week(batch.planned.want, batch.planned.crop, harvest.on)
                if batch.planned.want >= 0
                else NEVER
            )
            if week != NEVER and harvest.amount > 0:
                day = serving.time.day_of(harvest.on)
                key = (
                    batch.planned.want,
                    week,
                    serving.weeks_kept(batch.planned.want, batch.planned.crop, day),
                )
                amounts[key] = amounts.get(key, 0.0) + harvest.amount
    return amounts


def stored_after_week(supply: Sequence[Supply], wants: Sequence[Want], time: WorkCalendar) -> FloatArray:
    """Return the stock of the previous plan at the end of each week, shape (wants, weeks)."""
    week_of = {row.week: time.day_of(row.week) // DAYS_PER_WEEK for row in supply}
    ahead = max([0, *(-week for week in week_of.values())])
    stored = np.zeros((len(wants), ahead + time.weeks))
    for row in supply:
        week = ahead + week_of[row.week]
        if week < stored.shape[1] and row.want < len(wants) and wants[row.want].label == row.label:
            stored[row.want, week] += row.for_later - row.from_before
    return np.cumsum(stored, axis=1)[:, ahead:]


def with_keeping_weeks(
    cut: Stock, demand: FloatArray, reserve: FloatArray, now: int
) -> dict[tuple[int, int, int], float]:
    """Return the amounts cut, each with the weeks for which it was kept, or can be kept if it is left.

    Parameters
    ----------
    cut
        Amounts cut before today.
    demand, reserve
        Demand of each want in each week, and stock to be left at its end, shape (wants, weeks).
    now
        The week of today: a cut in this week may be eaten in it.
    """
    kept: dict[tuple[int, int, int], float] = {}
    left = {key: amount for key, amount in cut.items() if key[0] < len(demand)}

    def take(key: tuple[int, int, int], until: int, amount: float) -> None:
        want, week, _ = key
        kept[want, week, until] = kept.get((want, week, until), 0.0) + amount
        left[key] -= amount

    for want in sorted({want for want, _, _ in left}):
        for at in range(min(now, demand.shape[1])):
            here = sorted(key for key in left if key[0] == want and key[1] <= at <= key[1] + key[2])
            there = sum(left[key] for key in here)
            hungry = min(float(demand[want, at]), max(there - float(reserve[want, at]), 0.0))
            for key in here:
                part = min(left[key], hungry)
                if part > CRUMB:
                    take(key, at - key[1], part)
                    hungry -= part
    for key, amount in left.copy().items():
        if amount > CRUMB:
            take(key, key[2], amount)
    return kept


def stock_columns(stock: Stock, today: int) -> Columns:
    """Return the stock as columns that hold no sites, one for each want and keeping time.

    It counts for the week of its cut, or is kept from there; the past does not change.
    """
    named = sorted({(want, keeps) for want, _, keeps in stock})
    rows = [
        (named.index((want, keeps)), week, amount) for (want, week, keeps), amount in sorted(stock.items())
    ]
    now, nowhere = (np.full(len(named), number, dtype=np.int64) for number in (today, -1))
    return Columns(
        want=np.array([want for want, _ in named], dtype=np.int64),
        place=nowhere,
        nursery=nowhere,
        sown=now,
        planted=now,
        freed=now,
        cost=np.zeros(len(named)),
        staleness=np.zeros(len(named)),
        supply_column=np.array([row[0] for row in rows], dtype=np.int64),
        supply_week=np.array([row[1] for row in rows], dtype=np.int64),
        supply_amount=np.array([row[2] for row in rows], dtype=np.float64),
        supply_keeps=np.array([named[row[0]][1] for row in rows], dtype=np.int64),
    )
