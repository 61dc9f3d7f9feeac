"""The steady rule: the same number sown on the same weekday, week after week, with a head start.

Its numbers are tuned, want by want, in drawn seasons, so that least is missing, with a small price on what is
too much and on each cell.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cropcal.planning.candidates.columns import Option
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.luck.drawn import Stage
from cropcal.planning.luck.world import alternatives
from cropcal.records.space import Want
from cropcal.seasons.world import FloatArray, IntArray, Sowing

SEASONS = 32
"""Drawn seasons by which the rule is tuned."""
SURPLUS, CELL = 0.2, 0.03
"""Price of a want-week too much, and of a cell, in missing want-weeks (assumed)."""
RATES = (0.7, 2.3)
"""Least and most that is tried, for what would do if nothing were lost."""
MOST_TRIED = 9
SWEEPS = 2
HEAD_START_WEEKS = 2
HEAD_STARTS = (0.0, 0.5, 1.0)
"""More that is sown in each of the first weeks, as a share of the usual number."""
FEAST_LEAD_D = 2
"""Days that are left between the day on which most are ready and that of a feast (assumed)."""


@dataclass(frozen=True, order=True)
class SowingHabit:
    """How one want is sown: the option, how often it is cut, and how much every so many weeks.

    ``more`` is sown in each of the first two weeks beside. ``on``: days of sowings for listed days instead.
    """

    want: int
    option: int
    cuts: int
    number: int
    every_weeks: int
    more: int = 0
    on: tuple[int, ...] = ()

    def sowings(self, work_days: IntArray, first: int) -> list[tuple[int, int]]:
        """Return (day, cells) of each sowing from day ``first`` on: the first work day of its weeks."""
        if self.on:
            return [(day, self.number) for day in self.on]
        weeks, at = np.unique(work_days // DAYS_PER_WEEK, return_index=True)
        begin = first // DAYS_PER_WEEK
        rows = []
        for week, day in zip(weeks.tolist(), work_days[at].tolist(), strict=True):
            number = self.number if (week - begin) % self.every_weeks == 0 else 0
            number += self.more if week - begin < HEAD_START_WEEKS else 0
            if day >= first and number:
                rows.append((day, number))
        return rows


@dataclass(frozen=True, eq=False)
class Tuning:
    """What the rule is tuned by: drawn seasons, wants and their amounts, options, the calendar.

    ``first`` is the first day of sowing, ``work_days`` those on which somebody sows.
    """

    stage: Stage
    wants: Sequence[Want]
    counted: FloatArray
    per_week: FloatArray
    options: Sequence[Option]
    time: WorkCalendar
    work_days: IntArray
    first: int

    def sowings(self, choices: Sequence[Iterable[SowingHabit]]) -> list[Sowing]:
        """Return the sowings of some choices of habits, one a block of the seasons."""
        goes = alternatives(self.stage.world)
        cells: dict[tuple[int, int, int, int], list[int]] = {}
        for block, habits in enumerate(choices):
            for habit in habits:
                for day, number in habit.sowings(self.work_days, self.first):
                    key = (day, habit.want, habit.option, habit.cuts)
                    cells.setdefault(key, [0] * len(choices))[block] += number
        return [
            Sowing(
                name=f"{self.options[option].grown.crop.slug} {self.time.date_of(day)} {want}",
                day=day,
                kinds=goes[option],
                cuts=(cuts,) * max(numbers),
                sown_in=np.arange(max(numbers))[:, None] < np.array(numbers),
            )
            for (day, want, option, cuts), numbers in sorted(cells.items())
        ]

    def prices(self, choices: Sequence[Mapping[int, SowingHabit]]) -> FloatArray:
        """Return what each want costs in missing want-weeks, surplus and cells, (choices, wants)."""
        sowings = self.sowings([habits.values() for habits in choices])
        seasons = self.stage.repeated(len(choices)).run(sowings)
        wants, blocks = len(self.wants), len(choices)
        short = seasons.short(self.counted).sum(axis=1).reshape(wants, blocks, -1).mean(axis=2)
        usual = np.where(self.per_week > 0, self.per_week, 1.0)[:, None]
        over = seasons.wasted[:wants].reshape(wants, blocks, -1).mean(axis=2) / usual
        cells = np.zeros((wants, blocks))
        for sowing in sowings:
            if sowing.sown_in is not None:
                cells[self.stage.world.kinds[sowing.kinds[0]].want] += sowing.sown_in.sum(axis=0)
        return np.asarray((short + SURPLUS * over + CELL * cells).T)


def tuned(tuning: Tuning, *, head_start: bool = True) -> tuple[SowingHabit, ...]:
    """Return the habit of each want that can be grown, tuned in the same seasons.

    ``head_start``: whether more may be sown in the first weeks, as where nothing stands yet.
    """
    tried = {want: _choices(tuning, want) for want in range(len(tuning.wants))}
    tried = {want: habits for want, habits in tried.items() if habits}
    if not tried:
        return ()
    longest = max(map(len, tried.values()))
    together = [
        {want: habits[min(number, len(habits) - 1)] for want, habits in tried.items()}
        for number in range(longest)
    ]
    table = tuning.prices(together)
    best = {want: habits[int(np.argmin(table[: len(habits), want]))] for want, habits in tried.items()}
    for _ in range(SWEEPS):
        before = dict(best)
        for want, habits in tried.items():
            choices = [best, *(best | {want: habit} for habit in _near(best[want], habits, head_start))]
            best = choices[int(np.argmin(tuning.prices(choices).sum(axis=1)))]
        if best == before:
            break
    return tuple(best[want] for want in sorted(best))


def _near(habit: SowingHabit, habits: Sequence[SowingHabit], head_start: bool) -> list[SowingHabit]:
    """Return the choices one step away: a little more or less, and other head starts."""
    plain = replace(habit, more=0)
    at = habits.index(plain)
    steps = [habits[near] for near in (at - 1, at + 1) if 0 <= near < len(habits)]
    shares = HEAD_STARTS if head_start and not habit.on else HEAD_STARTS[:1]
    nearby = [replace(step, more=_more(step, share)) for step in steps for share in shares[:2]]
    heads = [replace(plain, more=_more(plain, share)) for share in shares]
    return [choice for choice in dict.fromkeys([*heads, *nearby]) if choice != habit]


def _more(habit: SowingHabit, share: float) -> int:
    return int(np.ceil(habit.number / habit.every_weeks * share))


def _choices(tuning: Tuning, want: int) -> list[SowingHabit]:
    """Return how much of a want may be sown, the least first, each with no head start."""
    usual = _usual_option(tuning, want)
    if usual is None or tuning.per_week[want] <= 0:
        return []
    option, cuts, brings = usual
    needed = float(tuning.per_week[want]) / brings
    if (feasts := tuning.wants[want].on) is not None:
        on = _before_feasts(tuning, option, [tuning.time.day_of(day) for day in feasts])
        numbers = sorted({int(np.ceil(needed * share)) for share in (1.0, 1.25, 1.5, 1.75, 2.0)})
        return [SowingHabit(want, option, cuts, number, 1, on=on) for number in numbers] if on else []
    low, high = needed * RATES[0], needed * RATES[1]
    rhythms = {
        number / every: (number, every)
        for every in (4, 3, 2, 1)
        for number in range(1, int(np.ceil(high * every)) + 1)
        if low <= number / every <= high and (every == 1 or needed * every < 4)
    }
    if not rhythms:
        rhythms = {1.0: (max(round(needed), 1), 1)}
    rates = sorted(rhythms)
    if len(rates) > MOST_TRIED:
        rates = [rates[int(at)] for at in np.linspace(0, len(rates) - 1, MOST_TRIED)]
    return [SowingHabit(want, option, cuts, *rhythms[rate]) for rate in rates]


def _usual_option(tuning: Tuning, want: int) -> tuple[int, int, float] | None:
    """Return option, cuts and yield of a cell of what takes the fewest site-days for what it brings."""
    rows = []
    for number, option in enumerate(tuning.options):
        kind = tuning.stage.world.kinds[number]
        if option.want != want:
            continue
        for cuts in range(1, kind.cuts + 1):
            gaps = float(option.grown.cut_gaps_d[0, : cuts - 1].sum()) if cuts > 1 else 0.0
            days = (kind.site_d + gaps + 1) * kind.sites_each
            brings = kind.full_amount * ((cuts - 1) * (1 - kind.leaves_share) + 1) * kind.stand
            rows.append((days / brings, cuts, number, brings))
    if not rows:
        return None
    _, cuts, number, brings = min(rows)
    return number, cuts, brings


def _before_feasts(tuning: Tuning, option: int, feasts: Sequence[int]) -> tuple[int, ...]:
    """Return for each feast the last work day from which most are ready in time."""
    grown, work = tuning.options[option].grown, tuning.work_days
    lead = int(np.ceil(float(grown.ready_d[2].min()))) + FEAST_LEAD_D
    days = [work[work <= feast - lead] for feast in feasts]
    return tuple(dict.fromkeys(int(day[-1]) for day in days if len(day)))
