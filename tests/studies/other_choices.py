"""Plans that ``other_world.py`` compares: three choices of one search, the steady rule, the middle season.

The planner makes them; only the sowings go into the other world.
"""

from dataclasses import dataclass
from functools import cached_property
from math import floor

from other_plants import Ground
from other_sowings import Sowing, enough_cells, ripe_within, rule_here, sowings_of

from cropcal.optimize.solve import solve
from cropcal.planning.candidates.prepare import prepare
from cropcal.planning.choices import CHOICES, ChosenPlan, MadePlan, PlanMaker
from cropcal.planning.luck.sowings import Sown, in_order
from cropcal.planning.realise import PlanBuilder, RealisedPlan
from cropcal.records.crop import CropTables
from cropcal.records.space import Space

SAME_CELLS = 0.05
"""Part by which the cells of the steady rule may differ from those of the usual choice."""
MIDDLE_S = 20.0
"""Most seconds for the programme of the middle season."""


@dataclass(frozen=True, eq=False)
class Compared:
    """All plans of one space, from one search; ``weeks`` are those for which cells are counted."""

    maker: PlanMaker
    here: Ground
    weeks: range

    @cached_property
    def chosen(self) -> ChosenPlan:
        """Return what the search gives: the plans of the three choices."""
        return self.maker.chosen("usual")

    @cached_property
    def plans(self) -> dict[str, MadePlan]:
        """Return the three choices, the steady rule, and the steady rule with as many cells as usual."""
        plans = {name: self.chosen.plans[name] for name in CHOICES}
        plans["steady rule"] = self.maker.steady().plan
        plans["steady rule, cells as usual"] = self.maker.made(self.rule_with_usual_cells(), "steady rule")
        return plans

    def by_name(self) -> dict[str, list[Sowing]]:
        """Return the sowings that are compared: those of all plans, and the plain rule at two rates."""
        sowings = {name: sowings_of(plan.realised, self.here) for name, plan in self.plans.items()}
        enough = enough_cells(self.here)
        for name, factor in (("plain rule", 1.0), ("plain rule + 30 %", 1.3)):
            sowings[name] = rule_here(self.here, {want: factor * cells for want, cells in enough.items()})
        return sowings

    def rule_with_usual_cells(self) -> Sown:
        """Return the steady rule with each of its sowings as much larger or smaller as gives the usual cells.

        All wants get the same factor, and fractions of cells are carried on to the next sowing of the want.
        Halves the range of the factor until the cells in the weeks that count are near enough.
        """
        usual = ripe_within(sowings_of(self.chosen.plans["usual"].realised, self.here), self.here, self.weeks)
        low, high = 0.3, 4.0
        for _ in range(12):
            factor = (low + high) / 2
            sown = self.times(self.maker.rule, factor)
            cells = ripe_within(self.bare(sown), self.here, self.weeks)
            if abs(cells - usual) <= SAME_CELLS / 2 * usual:
                break
            low, high = (low, factor) if cells > usual else (factor, high)
        return sown

    def times(self, sown: Sown, factor: float) -> Sown:
        """Return sowings with so many times as many cells."""
        owed: dict[int, float] = {}
        result = {}
        for slot, cells in in_order(sown):
            want = self.maker.slots.want(slot)
            due = owed.get(want, 0.5) + factor * cells
            owed[want] = due - floor(due)
            if floor(due):
                result[slot] = floor(due)
        return result

    def bare(self, sown: Sown) -> list[Sowing]:
        """Return chosen cells as sowings with no planned sites."""
        sowings = []
        for slot, cells in in_order(sown):
            option = self.maker.slots.candidates.options[slot.option]
            grown = option.grown
            bed = self.here.places[option.place].bed
            sowings.append(Sowing(option.want, grown.crop.slug, bed, grown.nursery, slot.day, cells))
        return sowings


def compared(space: Space, tables: CropTables, here: Ground, weeks: range) -> Compared:
    """Return the plans of a space in which nothing stands yet."""
    return Compared(maker_of(space, tables), here, weeks)


def middle_of(maker: PlanMaker) -> RealisedPlan:
    """Return the plan of the programme of the middle season: the best if there is no luck."""
    return maker.builder.realise(solve(maker.task, time_limit_s=MIDDLE_S).n)


def maker_of(space: Space, tables: CropTables) -> PlanMaker:
    """Return what makes plans of a space in which nothing stands yet."""
    ready = prepare(space, tables, open_end=space.horizon is not None)
    builder = PlanBuilder(
        ready.space, ready.assessment, ready.candidates, ready.wanted, ready.serving, None, ready.per_week
    )
    return PlanMaker(builder, ready.task)
