"""The demand of each want in each week, and why a week does not count."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import numpy.typing as npt

from cropcal.optimize.programme import Columns, FloatArray, IntArray
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.records.plan import NOT_WANTED
from cropcal.records.space import Want

TOO_SHORT = "the plan ends before its first harvest"
TOO_SOON = "before the first possible harvest"
TOO_UNSURE = "few growers have any yet"
NONE_DUE = "none due this week"
NOT_SOWN = "sown after the plan ends"
NOBODY_CUTS = "break, nobody cuts"


@dataclass(frozen=True, eq=False)
class Demand:
    """Amounts wanted, shape (wants, weeks); ``why`` says why a week does not count ("" where it does).

    A plan aims at the first possible harvest, but what is counted begins with the first week that most
    growers reach: the weeks between are too unsure to be promised (``TOO_UNSURE``).
    """

    amount: FloatArray
    why: npt.NDArray[np.str_]

    def with_stock(self, standing: Columns) -> FloatArray:
        """Return the demand where plants stand already: also in weeks too early for new sowings.

        Standing crops are then cut as they are wanted; such a week is never short.
        """
        want = standing.want[standing.supply_column]
        some = np.zeros(self.amount.shape, dtype=bool)
        some[want, standing.supply_week] = True
        early = some & (self.why == TOO_SOON)
        return np.where((self.why == "") | (self.why == TOO_UNSURE) | early, self.amount, 0.0)

    @property
    def aimed(self) -> FloatArray:
        """Return the amounts that a plan aims at: those that count, and those of the weeks just before."""
        return np.where((self.why == "") | (self.why == TOO_UNSURE), self.amount, 0.0)

    @property
    def eaten(self) -> FloatArray:
        """Return the amounts that are eaten if they are there, also before anything is promised."""
        early = (self.why == TOO_UNSURE) | (self.why == TOO_SOON)
        return np.where((self.why == "") | early, self.amount, 0.0)

    def promised_from(self, first_weeks: IntArray) -> "Demand":
        """Return the demand that counts from the first promised week of each want on, shape (wants,)."""
        why, week = self.why.copy(), np.arange(self.why.shape[1])
        early = (why == "") & (week < first_weeks[:, None])
        return replace(self, why=np.where(early, TOO_UNSURE, why))

    @property
    def counted(self) -> FloatArray:
        """Return the amounts with those of weeks that do not count set to 0."""
        return np.where(self.why == "", self.amount, 0.0)


def demand(
    serving: ServiceWeeks,
    per_week: FloatArray,
    candidates: Columns,
    growable: frozenset[int] = frozenset(),
) -> Demand:
    """Return the demand of each want in each week.

    ``per_week`` is what is wanted a week, or on each listed day of a want that has some: such a want counts
    in the weeks of its days. A week without a harvest day in it, outside a want's from and until, or before
    the want's first possible harvest does not count. A want that nothing can ever bring counts in every other
    week: it is short, as is a listed day for which every harvest day is too early. A want that could be grown
    (``growable``), but not before the plan ends, does not count at all. A calendar that begins in the midst
    of a season counts as all of the season does: no want has its first harvest anew, and heads are due in the
    same weeks.
    Heads are wanted whole: half a head a week is one head every second week.
    """
    gone = serving.time.gone_weeks
    if gone:
        serving = ServiceWeeks(serving.wants, serving.crops, serving.time.since_the_first_day)
    wants, time = serving.wants, serving.time
    why = np.full((len(wants), time.weeks), "", dtype="<U48")
    amount = np.repeat(per_week[:, None], time.weeks, axis=1)
    for index, want in enumerate(wants):
        served = np.zeros(time.weeks, dtype=bool)
        served[serving.weeks(index)] = True
        supply_weeks = candidates.supply_week[candidates.want[candidates.supply_column] == index]
        if len(supply_weeks):
            why[index, : supply_weeks.min()] = TOO_SOON
        elif index in growable:
            why[index] = TOO_SHORT
        why[index, ~served] = NOT_WANTED
        if want.on is not None:
            why[index, _weeks_of(want.on, time) & ~served] = NOBODY_CUTS
            too_early = np.flatnonzero(_weeks_of(serving.unkept_days(index), time))
            first = supply_weeks.min(initial=time.weeks) if len(supply_weeks) else 0
            why[index, too_early] = np.where(too_early < first, TOO_SOON, "")
            continue
        why[index, time.weeks_without_harvest] = NOBODY_CUTS
        if want.counted_in == "heads":
            counts = np.flatnonzero(why[index] == "")
            amount[index, counts] = _whole(float(per_week[index]), len(counts))
            why[index, counts[amount[index, counts] == 0]] = NONE_DUE
    return Demand(amount=amount[:, gone:], why=why[:, gone:])


def as_far_as_sown(wanted: Demand, candidates: Columns, end: int, beyond: IntArray) -> Demand:
    """Return the demand with no more weeks from ``end`` on than a sowing before it can bring.

    ``beyond`` is how many weeks of each want count from there on, as far as some candidate serves them.
    """
    why = wanted.why.copy()
    of = candidates.want[candidates.supply_column]
    weeks = np.arange(why.shape[1])
    for index in range(len(why)):
        reached = np.isin(weeks, candidates.supply_week[of == index]) & (weeks < end + beyond[index])
        why[index, (weeks >= end) & ~reached] = NOT_SOWN
    return Demand(amount=wanted.amount, why=why)


def ramped_up(
    wanted: Demand, wants: Sequence[Want], candidates: Columns, early: FloatArray, gone_weeks: int = 0
) -> Demand:
    """Return the demand with more of the wants without a number in the weeks before the others begin.

    Until the first harvest of a want with a number, what grows in the same places may have all of their room.
    ``early`` is how much that is a week, shape (wants,); ``gone_weeks`` of the season are over already.
    """
    amount, why = wanted.amount.copy(), wanted.why.copy()
    places = [{*candidates.place[candidates.want == index].tolist()} for index in range(len(wants))]
    of = candidates.want[candidates.supply_column]
    for index, want in enumerate(wants):
        rivals = [
            other
            for other, rival in enumerate(wants)
            if rival.is_numbered and places[index] & places[other] and np.any(of == other)
        ]
        if want.is_numbered or not rivals:
            continue
        first = max(min(int(candidates.supply_week[of == other].min()) for other in rivals) - gone_weeks, 0)
        weeks = np.flatnonzero(np.isin(why[index, :first], ("", NONE_DUE)))
        whole = want.counted_in == "heads"
        more = _whole(float(early[index]), len(weeks)) if whole else early[index]
        amount[index, weeks] = np.maximum(amount[index, weeks], more)
        why[index, weeks] = np.where(amount[index, weeks] > 0, "", NONE_DUE)
    return Demand(amount=amount, why=why)


def _weeks_of(days: Sequence[date], time: WorkCalendar) -> npt.NDArray[np.bool_]:
    """Return, for each week, whether one of the days lies in it."""
    in_week = np.zeros(time.weeks, dtype=bool)
    for on in days:
        week = time.day_of(on) // DAYS_PER_WEEK
        if 0 <= week < time.weeks:
            in_week[week] = True
    return in_week


def _whole(per_week: float, weeks: int) -> FloatArray:
    """Return whole heads for each week, spread as evenly as possible, the first at once."""
    due = np.ceil(per_week * np.arange(weeks + 1) - 1e-9)
    return np.diff(due)
