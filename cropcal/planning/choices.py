"""The three choices of how much is sown: each searched for in drawn seasons, placed on sites, and told."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from time import perf_counter

import numpy as np

from cropcal.optimize.greedy import greedy
from cropcal.optimize.highs import Ended
from cropcal.optimize.penalties import Weights
from cropcal.optimize.programme import FloatArray, Task
from cropcal.optimize.solve import Solution, evaluated, undominated
from cropcal.optimize.work_rows import WorkLimit
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.luck.day_limit import spread, time_left, without_chores, work_limit
from cropcal.planning.luck.drawn import SEARCH_SEED, TOLD_SEED, Stage
from cropcal.planning.luck.placing import Placed, placed
from cropcal.planning.luck.score import Scorer, prices_of
from cropcal.planning.luck.search import Found, Progress, SowingSearch
from cropcal.planning.luck.sow_more import MoreCells
from cropcal.planning.luck.sowings import (
    PlannedCells,
    Slot,
    Slots,
    Sown,
    carried_on,
    cells_of,
    raised,
    sowings_of_batches,
)
from cropcal.planning.luck.steady import SEASONS, SowingHabit
from cropcal.planning.luck.world import alternatives
from cropcal.planning.power.bill_range import bill_range
from cropcal.planning.realise import PlanBuilder, RealisedPlan, ToldPlan
from cropcal.planning.schedule.empty_beds import dark_days
from cropcal.planning.steady_rule import recorded, rule_habits, rule_sowings
from cropcal.records import chances as records
from cropcal.records.space import SowChoice
from cropcal.seasons.world import World

MORE = (1.2, 1.4, 1.7)
"""Times as much that is tried of what would do in the middle of all seasons, want by want."""
CALM = 0.02
"""Price of a cell that is not sown as in the last plan, in want-weeks (assumed)."""
WORTH = 0.1
"""Gain in want-weeks for which the last plan is changed (assumed)."""
ADVISED = 300
"""Drawn seasons by which the chance of a week with more sown is told."""


@dataclass(frozen=True)
class SearchEffort:
    """How much is tried: the same for all spaces, so that a plan does not depend on the clock.

    Attributes
    ----------
    screening, screens
        Drawn seasons by which changes are screened, and worlds of them, used in turn.
    deciding
        Drawn seasons by which changes are decided on.
    sweeps, sweeps_more
        Most sweeps through the season for the choice of the file, and of going on from there to another.
    rule
        Whether the steady rule is tuned, as a start and to be compared with.
    """

    screening: int = 24
    screens: int = 4
    deciding: int = 96
    sweeps: int = 4
    sweeps_more: int = 1
    rule: bool = True


EFFORT = SearchEffort()
CHOICES: tuple[SowChoice, ...] = ("sparing", "usual", "safe")


@dataclass(frozen=True, eq=False)
class MadePlan:
    """A plan of chosen sowings, and what is told of it."""

    solution: Solution
    realised: RealisedPlan
    told: ToldPlan


@dataclass(frozen=True, eq=False)
class ChosenPlan:
    """The plan that the space asks for, what the choices bring, how it was searched for, or its habits.

    ``plans`` are those of all three choices, where it was searched for.
    """

    plan: MadePlan
    choices: tuple[records.Choice, ...] = ()
    searched: records.Searched | None = None
    habits: tuple[records.Habit, ...] = ()
    sow_more: tuple[records.SowMore, ...] = ()
    plans: Mapping[SowChoice, MadePlan] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class PlanMaker:
    """Makes plans of sowings for one season.

    ``task`` is the season as a programme, with what stands.
    """

    builder: PlanBuilder
    task: Task
    stop: Callable[[], bool] | None = None
    progress: Progress | None = None

    def steady(self) -> ChosenPlan:
        """Return the plan of the tuned steady rule."""
        status: Ended = "steady rule" if self.rule else "empty"
        return ChosenPlan(self.made(self.rule, status), habits=recorded(self.habits, self.builder))

    def chosen(self, choice: SowChoice) -> ChosenPlan:
        """Return the plan of a choice, searched for in drawn seasons, beside the other choices and the rule.

        The search begins at the best of the last plan, the steady rule, and a plan for the middle of all
        seasons. The last plan is changed only where that gains enough.
        """
        if not self.slots.days:
            return ChosenPlan(self.made({}, "empty"))
        begun = perf_counter()
        search = self._search(choice)
        starts: dict[records.StartName, Sown] = {
            "last plan": search.best([self.last, carried_on(self.last, self.middle, self.slots)]),
            "steady rule": self.rule if EFFORT.rule else {},
            "middle": self.middle,
        }
        start = search.best([sown for sown in starts.values() if sown] or [{}])
        more = [raised(sown, factor) for sown in (self.middle, self.last) if sown for factor in MORE]
        mixed = search.want_by_want(start, [*starts.values(), *more]) if EFFORT.sweeps else start
        found = {choice: self._worth_it(search, search.improved(mixed, EFFORT.sweeps))}
        for other in CHOICES:
            if other != choice:
                found[other] = self._search(other).improved(found[choice].sown, EFFORT.sweeps_more)
        alike: dict[frozenset[tuple[Slot, int]], MadePlan] = {}
        for name in CHOICES:
            key = frozenset(found[name].sown.items())
            if key not in alike:
                alike[key] = self.made(found[name].sown, "searched")
        plans = {name: alike[frozenset(found[name].sown.items())] for name in CHOICES}
        rule = self.made(self.rule, "steady rule") if EFFORT.rule and self.rule else None
        its = found[choice]
        return ChosenPlan(
            plan=plans[choice],
            choices=tuple(
                self._recorded(name, plans[name], chosen=name == choice)
                for name in CHOICES
                if plans[name].told.expected.weeks
            ),
            searched=records.Searched(
                start=next((name for name, sown in starts.items() if sown is start), "nothing"),
                trials=sum(each.trials for each in found.values()),
                seconds=round(perf_counter() - begun, 2),
                score=round(its.score, 3),
                score_before=round(its.start_score, 3),
                trials_last=its.last_trials,
                gained_last=round(its.last_gain, 3),
                stopped=any(each.stopped for each in found.values()),
                rule=rule.told.expected if rule is not None else None,
            ),
            sow_more=self._sow_more(its.sown, plans[choice]),
            plans=plans,
        )

    def _sow_more(self, sown: Sown, plan: MadePlan) -> tuple[records.SowMore, ...]:
        """Return what to sow besides where a week is not sure; nothing without a search."""
        if not EFFORT.sweeps or (self.stop is not None and self.stop()):
            return ()
        counted = self.builder.to_come
        counted[[not want.is_numbered for want in self.builder.space.wants]] = 0.0
        counted[:, self.builder.space.settings.weeks :] = 0.0
        return MoreCells(
            slots=self.slots,
            wants=self.builder.space.wants,
            counted=counted,
            chance=plan.told.chance,
            search=self._stages[0],
            fresh=self._stage(ADVISED, TOLD_SEED),
            today=self.builder.today,
        ).advised(sown)

    @cached_property
    def _world(self) -> World:
        """Return the world of one season, for what does not depend on luck."""
        return self.builder.model.stage((), {}, 1, SEARCH_SEED).world

    @cached_property
    def slots(self) -> Slots:
        """Return the sowings that are possible."""
        return Slots(self.builder.model.candidates, self.builder.time, alternatives(self._world))

    @cached_property
    def last(self) -> dict[Slot, int]:
        """Return the sowings still to come of the last plan."""
        return {slot: planned.cells for slot, planned in self._planned.items()}

    @cached_property
    def _planned(self) -> dict[Slot, PlannedCells]:
        """Return the same with the sites that the last plan had for them."""
        resumed = self.builder.resumed
        if resumed is None:
            return {}
        return sowings_of_batches(resumed.still_to_sow, self.slots, resumed.context.land)

    def _placed(self, sown: Sown) -> Placed:
        return placed(sown, self.slots, self._world, self.task, self._planned, self._work(sown))

    def _work(self, sown: Sown) -> WorkLimit | None:
        """Return the work that sowings leave time for on each day, None where it is not limited."""
        resumed = self.builder.resumed
        if self.builder.time.most_minutes_a_day is None:
            return None
        groups = resumed.groups if resumed is not None else ()
        left = time_left(sown, self.slots, self._minutes)
        return work_limit(groups, self.slots.candidates, self.builder.today, self._first_new, left)

    def _in_time(self, sown: Sown) -> Sown:
        """Return sowings that each day has time for."""
        if self.builder.time.most_minutes_a_day is None:
            return sown
        return spread(sown, self.slots, self._minutes, self.last)

    @cached_property
    def _minutes(self) -> FloatArray:
        """Return the minutes of each day for plants, where they are limited, (days,)."""
        return without_chores(self.builder.space.chores, self.builder.time)

    @cached_property
    def habits(self) -> tuple[SowingHabit, ...]:
        """Return the tuned steady rule."""
        return rule_habits(self.builder, self._stage(SEASONS, SEARCH_SEED))

    @cached_property
    def rule(self) -> dict[Slot, int]:
        """Return the sowings of the steady rule."""
        return rule_sowings(self.habits, self.builder, self.slots)

    @cached_property
    def middle(self) -> dict[Slot, int]:
        """Return sowings that would do in the middle of all seasons, found in one pass."""
        kept = undominated(self.task, Weights())
        n = np.zeros(self.task.columns.count, dtype=np.int64)
        n[kept] = greedy(self.task.only(kept), Weights())
        return self.slots.of_columns(n[self._first_new :])

    @property
    def _first_new(self) -> int:
        """Return the number of the first column that is not of what stands already."""
        return self.task.columns.count - self.slots.candidates.count

    @cached_property
    def _standing(self) -> RealisedPlan:
        """Return how what stands goes on beside the last plan's sowings."""
        n = np.zeros(self.task.columns.count, dtype=np.int64)
        if self._first_new:
            n = self._placed(self.last).n
            n[self._first_new :] = 0
        return self.builder.realise(n)

    def _stage(self, seasons: int, seed: int) -> Stage:
        chosen = self._standing.chosen
        return self.builder.model.stage(chosen.parts, chosen.batches, seasons, seed)

    @cached_property
    def _stages(self) -> tuple[Stage, ...]:
        """Return the worlds by which a search screens, and the one by which it decides."""
        screens = [
            self._stage(EFFORT.screening, SEARCH_SEED + 1 + number) for number in range(EFFORT.screens)
        ]
        return (*screens, self._stage(EFFORT.deciding, SEARCH_SEED))

    def _search(self, choice: SowChoice) -> SowingSearch:
        scorer = Scorer(
            stages=self._stages,
            slots=self.slots,
            wants=self.builder.space.wants,
            counted=self.builder.to_come,
            per_week=self.builder.per_week,
            prices=prices_of(choice, self.builder.space.settings.prices),
        )
        return SowingSearch(scorer, SEARCH_SEED, self.last or None, CALM, self.stop, self.progress)

    def _worth_it(self, search: SowingSearch, found: Found) -> Found:
        """Return what was found, or the last plan where that is hardly worse."""
        if not self.last:
            return found
        _, score = search.best_of([self.last])
        return replace(found, sown=self.last, score=score) if score - found.score < WORTH else found

    def made(self, sown: Sown, status: Ended) -> MadePlan:
        """Return the plan of chosen sowings."""
        sown = self._in_time(sown)
        on_sites = self._placed(sown)
        realised = self.builder.realise(on_sites.n, on_sites.cells)
        solution = evaluated(self.task, on_sites.n, status if cells_of(sown) else "empty")
        return MadePlan(solution, realised, self.builder.told(realised))

    def _recorded(self, name: SowChoice, plan: MadePlan, *, chosen: bool) -> records.Choice:
        its = plan.told.expected
        chance = np.where(self.builder.to_come > 0, plan.told.chance, np.nan)
        chance[[not want.is_numbered for want in self.builder.space.wants]] = np.nan
        chance[:, self.builder.space.settings.weeks :] = np.nan
        some = not np.isnan(chance).all()
        power, low, high = self._power_a_month(plan)
        want, week = np.unravel_index(int(np.nanargmin(chance)), chance.shape) if some else (0, 0)
        return records.Choice(
            name=name,
            chosen=chosen,
            cells=its.cells,
            surplus_want_weeks=its.surplus_want_weeks,
            short_want_weeks=its.short_want_weeks,
            short_low_80=its.short_low_80,
            short_high_80=its.short_high_80,
            least_sure=round(float(chance[want, week]), 2) if some else None,
            least_sure_week=self.builder.time.date_of(int(week) * 7) if some else None,
            least_sure_want=int(want) if some else None,
            power_low=round(low, 2),
            power_high=round(high, 2),
            power=round(power, 2),
        )

    def _power_a_month(self, plan: MadePlan) -> tuple[float, float, float]:
        """Return what a mean month's power costs, with its range; in kWh without a tariff."""
        space = self.builder.space
        dark = dark_days(space, plan.realised.sites, plan.told.batches)
        of_plan = bill_range(space, space.settings.start, space.settings.weeks * DAYS_PER_WEEK, dark)
        if of_plan is None:
            return 0.0, 0.0, 0.0
        month = of_plan.a_month
        if month.cost is None or month.cost_low_80 is None or month.cost_high_80 is None:
            return month.kwh, month.kwh_low_80, month.kwh_high_80
        return month.cost, month.cost_low_80, month.cost_high_80
