"""Whether it pays to set a timer anew in the course of the season: only where prices change by month."""

from datetime import date

import numpy as np

from cropcal.planning.photoperiod.explanation import Case
from cropcal.records.hours import TimerLine
from cropcal.science import timing

WORTH_IT = 0.03
"""Share of the lamp's cost that changing the timer has to save (assumed: it is forgotten once, too)."""


def monthly_timer(case: Case, start: date, output: float) -> tuple[tuple[TimerLine, ...], float]:
    """Return the timer's settings from each day on which it is set anew, and the share that saves.

    The length of the day and the output stay those of the pick; only its start may move, month by month, to
    where it suits crops and quiet hours as well as the pick. One setting and 0 where changes do not pay.
    """
    on, timer = case.on, case.place[1]
    single = tuple(
        TimerLine(zone=case.zone.name, start=start, on=a, off=b, output=output)
        for a, b in on.timers.stretches_min(timer)
    )
    likely = _as_good(case)
    if len(single) > 1 or not len(likely):
        return single, 0.0
    cost = timing.lit_sum(on.timers.take(likely), case.prices.money_by_month.T)
    own = cost[:, likely == timer].sum()
    saves = 1 - float(cost.min(axis=1).sum() / own) if own > 0 else 0.0
    if saves < WORTH_IT:
        return single, 0.0
    lines: list[TimerLine] = []
    last = int(np.flatnonzero(likely == timer)[0])
    for row, month in zip(cost, case.prices.months, strict=True):
        last = last if row[last] <= row.min() * (1 + 1e-9) else int(row.argmin())
        first, off = on.timers.stretches_min(int(likely[last]))[0]
        since = max(start, date(1970 + int(month) // 12, int(month) % 12 + 1, 1))
        if not lines or (lines[-1].on, lines[-1].off) != (first, off):
            lines.append(TimerLine(zone=case.zone.name, start=since, on=first, off=off, output=output))
    return tuple(lines), saves


def _as_good(case: Case) -> timing.Ints:
    """Return the timers of the pick's length in one stretch that suit crops and quiet as well as it does."""
    on, (output, timer), judged = case.on, case.place, case.judged
    good = (on.timers.total == on.timers.total[timer]) & (on.timers.length_2 == 0)
    good &= on.quiet_min <= on.quiet_min[timer]
    for counts in (*judged.harm, judged.burnt, judged.lacking):
        good &= counts[output] <= counts[output, timer] + 1e-9
    return np.asarray(np.flatnonzero(good))
