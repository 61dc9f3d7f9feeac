"""More sowings than the median needs, so that each wanted week is met with the chance asked for.

The search starts from the plan for the median and takes step after step: a site is cut on a surer day, or one
more is sown where there is room. A step is taken only if it makes its week surer and no other week less
sure, unless that one still has the chance asked for. At the end all that can be left out is left out.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import islice

import numpy as np

from cropcal.optimize.programme import FloatArray, IntArray, Task
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.realise import PlanBuilder, RealisedPlan
from cropcal.planning.risk.lots import sown_lots
from cropcal.planning.risk.quantiles import dependable_shares
from cropcal.planning.risk.simulation import RandomStreams, chance_met
from cropcal.planning.schedule.batches import NOTHING_EARLIER, batches
from cropcal.records.service import Service, Unsure

DRAWS = 2_000
"""Draws during the search; the final plan is simulated with the usual number."""
MARGIN = 0.01
"""Margin above the chance asked for, as these draws are rough."""
SURER = 0.004
"""Least gain in the chance of a week by a step."""
TRIED = 5
"""Steps of each kind tried for a week, the most promising first."""
PASSES = 12
"""Rounds in which every unsure week may take a step."""
MOST_RELIED_ON = 2.0
"""Cap on the expected supply in a week, as a multiple of the demand (assumed)."""
NO_ROOM, UNKNOWN, NO_USE, NEVER = (
    "no room for more",
    "its pace is not known yet",
    "more sowings did not do",
    "nothing can be ready then",
)


def reach_service_level(
    builder: PlanBuilder, task: Task, n: IntArray, first: RealisedPlan, stop: Callable[[], bool]
) -> tuple[IntArray, RealisedPlan, Service | None]:
    """Return sites of each column for the chance asked for, the plan of that, and the report.

    ``n`` and ``first`` are the plan for the median; they are returned as they are if no chance is asked for.
    ``stop`` is asked before each step; True ends the search.
    """
    asked = builder.space.settings.service
    if asked is None:
        return n, first, None
    steps = ServiceSearch(builder, task, asked, n.copy(), first)
    steps.search(stop)
    stopped = stop()
    realised = builder.realise(steps.n)
    plain = builder.realise(n, over_sown=False)
    cost = float((steps.n - n) @ task.columns.cost)
    return steps.n, realised, _report(steps, plain, realised, cost, stopped=stopped)


@dataclass(eq=False)
class ServiceSearch:
    """A search that makes a plan surer step by step; ``n`` are the sites of each column."""

    builder: PlanBuilder
    task: Task
    asked: float
    n: IntArray
    first: RealisedPlan
    luck: RandomStreams = field(default_factory=lambda: RandomStreams(draws=DRAWS))
    why: dict[tuple[int, int], str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Set up the sites and cells held on each day, and the dependable yield of each candidate."""
        columns, builder = self.task.columns, self.builder
        self.candidates = builder.resumed.candidates if builder.resumed is not None else builder.candidates
        self.begins = columns.count - self.candidates.count
        entries = columns.supply_column >= self.begins
        share = np.zeros(len(columns.supply_column))
        share[entries] = dependable_shares(self.candidates, self.asked)
        self.relied = share
        days = int(columns.freed.max(initial=0)) + 1
        self.site_use = np.zeros((len(self.task.sites), days), dtype=np.int64)
        self.cell_use = np.zeros((max(len(self.task.cells), 1), days), dtype=np.int64)
        self.start = self.n.copy()
        for column in np.flatnonzero(self.n).tolist():
            self._hold(column, int(self.n[column]))
        self.goal = np.minimum(self.asked + MARGIN, 0.995)
        numbered = [want.is_numbered for want in builder.space.wants]
        self.counts = (builder.wanted.counted > 0) & np.array(numbered, dtype=bool)[:, None]
        self.chance = np.full(self.counts.shape, np.nan)
        for want in np.flatnonzero(self.counts.any(axis=1)).tolist():
            self.chance[want] = self._simulated(want)
        self.least = np.minimum(np.nan_to_num(self.chance), self.asked)
        self.enough = np.minimum(builder.wanted.counted, first_ready(self.task, self.n))

    def search(self, stop: Callable[[], bool]) -> None:
        """Take steps until no week takes one, then leave out sowings that are not needed."""
        if self.task.before is not None:
            self._as_planned(self.task.before.planned, stop)
        for _ in range(PASSES):
            unsure = np.argwhere(self.counts & (self.chance < self.goal)).tolist()
            unsure.sort(key=lambda at: (self.chance[at[0], at[1]], at[1], at[0]))
            if not [1 for want, week in unsure if not stop() and self._step(want, week)]:
                break
        self._leave_out(self.start, stop)

    def _as_planned(self, planned: IntArray, stop: Callable[[], bool]) -> None:
        """Sow the extra sowings of the previous plan, rather than others that are as good."""
        for column in (self.begins + np.flatnonzero((planned > self.n)[self.begins :])).tolist():
            while self.n[column] < planned[column] and self._fits([(column, 1)]):
                self.n[column] += 1
                self._hold(column, 1)
        for want in np.flatnonzero(self.counts.any(axis=1)).tolist():
            self.chance[want] = self._simulated(want)
        self._leave_out(planned, stop)
        self.start = np.maximum(self.n, planned)

    def _leave_out(self, least: IntArray, stop: Callable[[], bool]) -> None:
        """Leave out sowings beyond ``least`` that do no good, the last first."""
        more = np.flatnonzero((self.n > least)[self.begins :])[::-1] + self.begins
        for column in more.tolist():
            while not stop() and self.n[column] > least[column] and self._take([(column, -1)], None):
                pass

    def _step(self, want: int, week: int) -> bool:
        """Make one week surer by the smallest step that does; return whether there is one."""
        options = self._options(want, week)
        if not options:
            self.why[want, week] = NEVER
            return False
        used = [(column, amount) for column, amount in options if self.n[column] > 0]
        relied_on = sum(float(self.n[column]) * amount for column, amount in used)
        lacks = float(self.builder.wanted.counted[want, week]) - relied_on
        swaps = [
            (amount - old_amount < lacks, abs(amount - old_amount - lacks), [(old, -1), (new, 1)])
            for old, old_amount in used
            for new, amount in options
            if amount > old_amount * (1 + 1e-9)
        ]
        swaps.sort()
        for moves in islice((swap[2] for swap in swaps if self._fits(swap[2])), TRIED):
            if self._take(moves, (want, week)):
                return True
        if relied_on >= MOST_RELIED_ON * self.builder.wanted.counted[want, week]:
            self.why[want, week] = NO_USE
            return False
        tried = 0
        for sooner in (0, 1):  # a surplus of the week before keeps, or stays on its site
            more = self._options(want, week - sooner) if sooner else options
            fit = ([(column, 1)] for column, amount in more if amount > 0 and self._fits([(column, 1)]))
            for moves in islice(fit, TRIED):
                tried += 1
                if self._take(moves, (want, week)):
                    return True
        best = max(self.relied[self._entries(want, week)])
        self.why[want, week] = UNKNOWN if best < 1 / MOST_RELIED_ON else NO_USE if tried else NO_ROOM
        return False

    def _entries(self, want: int, week: int) -> IntArray:
        """Return the cuts for a want in a week of candidates still to sow."""
        columns = self.task.columns
        mine = (columns.supply_week == week) & (columns.want[columns.supply_column] == want)
        return np.flatnonzero(mine & (columns.supply_column >= self.begins))

    def _options(self, want: int, week: int) -> list[tuple[int, float]]:
        """Return (column, dependable yield) of each candidate with a yield in a week, the largest first."""
        columns, entry = self.task.columns, self._entries(want, week)
        brings, column = self.relied[entry] * columns.supply_amount[entry], columns.supply_column[entry]
        order = np.lexsort((column, columns.cost[column], -brings))
        return list(zip(column[order].tolist(), brings[order].tolist(), strict=True))

    def _fits(self, moves: list[tuple[int, int]]) -> bool:
        """Return whether sites and cells are free for the moves."""
        for column, by in moves:
            self._hold(column, by)
        columns = self.task.columns
        good = True
        for column, by in moves:
            if by > 0:
                place, nursery = int(columns.place[column]), int(columns.nursery[column])
                span = slice(int(columns.planted[column]), int(columns.freed[column]))
                wait = slice(int(columns.sown[column]), int(columns.planted[column]))
                good &= bool((self.site_use[place, span] <= self.task.sites[place]).all())
                if nursery >= 0:
                    good &= bool((self.cell_use[nursery, wait] <= self.task.cells[nursery]).all())
        for column, by in moves:
            self._hold(column, -by)
        return good

    def _hold(self, column: int, by: int) -> None:
        columns = self.task.columns
        place, nursery = int(columns.place[column]), int(columns.nursery[column])
        if place >= 0:
            held = by * int(columns.held[column])
            self.site_use[place, int(columns.planted[column]) : int(columns.freed[column])] += held
        if nursery >= 0:
            self.cell_use[nursery, int(columns.sown[column]) : int(columns.planted[column])] += by

    def _take(self, moves: list[tuple[int, int]], target: tuple[int, int] | None) -> bool:
        """Take a step if its target gets surer and no other week worse; without a target, only the latter."""
        want, alike = int(self.task.columns.want[moves[0][0]]), self._repetition()
        for column, by in moves:
            self.n[column] += by
        if self._repetition() > alike + 1e-9:
            for column, by in moves:
                self.n[column] -= by
            return False
        chance = self._simulated(want)
        ready = first_ready(self.task, self.n)[want]
        mine = self.counts[want]
        least = self.least[want] if target else np.minimum(self.chance[want], self.goal)
        good = bool(np.all(chance[mine] >= least[mine] - 1e-9) and np.all(ready >= self.enough[want] - 1e-6))
        if target:
            good &= bool(chance[target[1]] >= self.chance[target] + SURER)
        if not good:
            for column, by in moves:
                self.n[column] -= by
            return False
        for column, by in moves:
            self._hold(column, by)
        self.chance[want] = chance
        return True

    def _repetition(self) -> float:
        """Return the excess of one crop in wants that ask for variety."""
        return float(self.task.alike.beyond(self.n).sum()) if self.task.alike is not None else 0.0

    def _simulated(self, want: int) -> FloatArray:
        """Return the simulated chance of each week of one want, (weeks,)."""
        builder, new = self.builder, self.n[self.begins :]
        earlier = builder.resumed.earlier if builder.resumed is not None else NOTHING_EARLIER
        of_want = self.task.columns.want[self.begins :] == want
        places = builder.assessment.land.places
        n_of_want = np.where(of_want, new, 0)
        fresh, holds = batches(self.candidates, n_of_want, places, builder.time, earlier)
        fresh = builder.spare(fresh, [batch for batch in self.first.batches if batch.want != want])
        lots = sown_lots(
            self.candidates,
            n_of_want,
            holds,
            {batch.id: batch for batch in fresh},
            builder.assessment.land,
            builder.serving,
        )
        lots += [lot for lot in self.first.standing if lot.want == want]
        wanted = np.zeros_like(builder.wanted.counted)
        wanted[want] = builder.wanted.counted[want]
        return np.asarray(chance_met(lots, wanted, builder.already, self.luck)[want])


def first_ready(task: Task, n: IntArray) -> FloatArray:
    """Return the median amount ready for each want in each week, (wants, weeks)."""
    columns = task.columns
    ready = np.zeros(task.demand.shape)
    inside = columns.supply_week < task.demand.shape[1]
    column = columns.supply_column[inside]
    at = (columns.want[column], columns.supply_week[inside])
    np.add.at(ready, at, columns.supply_amount[inside] * n[column])
    return ready


def _report(
    steps: ServiceSearch, plain: RealisedPlan, now: RealisedPlan, cost: float, *, stopped: bool
) -> Service:
    builder, asked = steps.builder, steps.asked
    reached = [np.round(realised.chance, 2) >= asked for realised in (plain, now)]
    unsure = [
        Unsure(
            week=builder.time.date_of(week * DAYS_PER_WEEK),
            want=want,
            label=builder.space.wants[want].label,
            chance=round(float(now.chance[want, week]), 2),
            why=steps.why.get((want, week), NO_USE),
        )
        for week, want in np.argwhere((steps.counts & ~reached[1]).T).tolist()
    ]
    sites, cells, seeds = (
        sum(getattr(batch, name) for batch in now.batches)
        - sum(getattr(batch, name) for batch in plain.batches)
        for name in ("sites", "cells", "seeds")
    )
    return Service(
        asked=asked,
        weeks=int(steps.counts.sum()),
        before=int((steps.counts & reached[0]).sum()),
        reached=int(steps.counts.sum()) - len(unsure),
        sowings_more=len(now.batches) - len(plain.batches),
        sites_more=sites,
        cells_more=cells,
        seeds_more=seeds,
        cost_more=cost,
        unsure=tuple(unsure),
        stopped=stopped,
    )
