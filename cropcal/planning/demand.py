"""How much of each want counts in each week, and why a week does not count."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cropcal.planning.programme import Columns, FloatArray
from cropcal.planning.worktime import DAYS_PER_WEEK, Worktime
from cropcal.records.space import Want

TOO_SHORT = "the plan ends before its first harvest"
NONE_DUE = "none due this week"


@dataclass(frozen=True, eq=False)
class Demand:
    """Amounts wanted, shape (wants, weeks); ``why`` says why a week does not count ("" where it does)."""

    amount: FloatArray
    why: npt.NDArray[np.str_]

    @property
    def counted(self) -> FloatArray:
        """Return the amounts with those of weeks that do not count set to 0."""
        return np.where(self.why == "", self.amount, 0.0)


def demand(
    wants: tuple[Want, ...],
    per_week: FloatArray,
    time: Worktime,
    candidates: Columns,
    growable: frozenset[int] = frozenset(),
) -> Demand:
    """Return what counts.

    A week without a harvest day in it, outside a want's from and until, or before the want's first possible
    harvest does not count. A want that nothing can ever bring counts in every other week: it is short.
    A want that could be grown (``growable``), but not before the plan ends, does not count at all.
    Heads are wanted whole: half a head a week is one head every second week.
    """
    why = np.full((len(wants), time.weeks), "", dtype="<U48")
    amount = np.repeat(per_week[:, None], time.weeks, axis=1)
    for index, want in enumerate(wants):
        days = time.harvest_days
        if want.from_ is not None:
            days = days[days >= time.day_of(want.from_)]
        if want.until is not None:
            days = days[days <= time.day_of(want.until)]
        weeks = np.bincount(days // DAYS_PER_WEEK, minlength=time.weeks) > 0
        mine = candidates.supply_week[candidates.want[candidates.supply_column] == index]
        if len(mine):
            why[index, : mine.min()] = "before the first possible harvest"
        elif index in growable:
            why[index] = TOO_SHORT
        why[index, ~weeks] = "not wanted then"
        why[index, time.weeks_without_harvest] = "break, nobody cuts"
        if want.unit == "heads":
            counts = np.flatnonzero(why[index] == "")
            amount[index, counts] = _whole(float(per_week[index]), len(counts))
            why[index, counts[amount[index, counts] == 0]] = NONE_DUE
    return Demand(amount=amount, why=why)


def _whole(per_week: float, weeks: int) -> FloatArray:
    """Spread a number of heads a week over weeks in whole heads, as evenly as can be, the first at once."""
    due = np.ceil(per_week * np.arange(weeks + 1) - 1e-9)
    return np.diff(due)
