"""Lamp hours and sowings together: a few lengths of a zone's day, each with its own sowings in drawn seasons.

The tuned steady rule stands for the best sowings of a length: it is found in a second or two.
"""

import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cropcal.optimize.programme import FloatArray
from cropcal.planning.candidates.columns import Option
from cropcal.planning.candidates.demand import Demand
from cropcal.planning.candidates.prepare import Prepared, prepare
from cropcal.planning.growth.pace import Paces
from cropcal.planning.luck.drawn import SEARCH_SEED, TOLD_SEED, Stage
from cropcal.planning.luck.steady import CELL, SEASONS, SowingHabit, Tuning, tuned
from cropcal.planning.photoperiod.fill_hours import with_hours
from cropcal.planning.photoperiod.settings import SLOWEST
from cropcal.planning.power.bill import bill
from cropcal.planning.power.quarter_hour_prices import DAYS_PER_MONTH, priced_days
from cropcal.planning.realise import PlanBuilder
from cropcal.records.crop import CropTables
from cropcal.records.hours import HoursAdvice, HoursChoice, LampLength, ZoneHours
from cropcal.records.space import Space
from cropcal.seasons.world import Sowing

MOST_LENGTHS = 5
"""Lengths of a zone's day that are tried beside the pick, at most."""
APART_H = 0.5
"""Hours by which lengths that are tried differ at least."""
FRESH = 100
"""Drawn seasons by which lengths are compared; they are others than those by which the rule is tuned."""
UNNOTICED = 0.02
"""Share of the wanted weeks that is no reason to pay for more light (assumed)."""


def with_lengths(
    advice: HoursAdvice, space: Space, tables: CropTables, paces: Paces | None = None, *, slow: bool = False
) -> HoursAdvice:
    """Return the advice with some lengths in drawn seasons, for each zone whose hours the file leaves open.

    One zone is varied at a time, the others are at their pick. ``slow``: lengths too at which a crop takes
    more than ``SLOWEST`` times its fewest days. Nothing stands at the start.
    """
    settled = with_hours(space, tables)
    zones = tuple(
        zone.model_copy(update={"lengths": _lengths(zone, settled, tables, paces, slow)})
        for zone in advice.zones
    )
    return advice.model_copy(update={"zones": zones})


def _lengths(
    zone: ZoneHours, settled: Space, tables: CropTables, paces: Paces | None, slow: bool
) -> tuple[LampLength, ...]:
    """Return the lengths of one zone, shortest first; empty where there is no choice.

    Seedlings alone are left out: the pick gives them what keeps them stocky, and more does little.
    """
    if not zone.pick.harvest_days:
        return ()
    most = sys.float_info.max if slow else SLOWEST
    allowed = [
        (choice, its)
        for choice, its in zip(zone.fitting, _times_fewest_days(zone), strict=True)
        if its[1] <= most or choice.lit == zone.pick.lit
    ]
    tried = _spread([choice.photoperiod_h for choice, _ in allowed], zone.pick.photoperiod_h)
    rows = [row for row in allowed if row[0].photoperiod_h in tried]
    if len(rows) < 2:
        return ()
    spaces = [_lit(settled, zone.zone, choice) for choice, _ in rows]
    picked = next(at for at, (choice, _) in enumerate(rows) if choice.lit == zone.pick.lit)
    begun_anew = [its_space.model_copy(update={"horizon": None}) for its_space in spaces]
    outcomes = _in_seasons(
        [prepare(its_space, tables, paces) for its_space in begun_anew], {0, picked, len(rows) - 1}
    )
    if not outcomes:
        return ()
    missing = np.array([outcome.missing for outcome in outcomes])
    best = int(missing.mean(axis=1).argmin())
    more = missing - missing[best]
    over, sd = more.mean(axis=1), more.std(axis=1) / np.sqrt(missing.shape[1])
    bills = [_power_a_month(its_space) for its_space in spaces]
    near = [
        at for at, outcome in enumerate(outcomes) if over[at] <= max(2 * sd[at], UNNOTICED * outcome.wanted)
    ]
    chosen = min(near, key=lambda at: (_price(bills[at]), at))
    return tuple(
        LampLength(
            setting=choice,
            short_want_weeks=float(missing[at].mean()),
            wanted_want_weeks=outcomes[at].wanted,
            over_best=float(over[at]),
            over_best_sd=float(sd[at]),
            cells=outcomes[at].cells,
            kwh_per_month=bills[at][0],
            cost_per_month=bills[at][1],
            slowest=slowest,
            times_fewest_days=ratio,
            picked=choice.lit == zone.pick.lit,
            chosen=at == chosen,
        )
        for at, (choice, (slowest, ratio)) in enumerate(rows)
    )


def _times_fewest_days(zone: ZoneHours) -> list[tuple[str, float]]:
    """Return, for each setting that fits, the crop that it slows most, and its days over its fewest.

    Only crops count that can be had with the pick; infinite where one cannot.
    """

    def times(crop: str, choice: HoursChoice) -> float:
        return choice.harvest_days.get(crop, np.inf) / zone.fewest_days[crop]

    return [
        max(((crop, times(crop, choice)) for crop in zone.pick.harvest_days), key=lambda row: row[1])
        for choice in zone.fitting
    ]


def _spread(hours: Sequence[float], pick_h: float) -> set[float]:
    """Return the pick and a few of the other lengths, the shortest and longest among them."""
    if not hours:
        return set()
    half_hours = [value for value in hours if value % APART_H == 0] or list(hours)
    aims = np.linspace(hours[0], hours[-1], MOST_LENGTHS)
    tried = {min(half_hours, key=lambda value: abs(value - aim)) for aim in aims.tolist()}
    return {pick_h, *(value for value in tried if abs(value - pick_h) >= APART_H)}


def _lit(settled: Space, zone: str, choice: HoursChoice) -> Space:
    """Return the space with other hours in one zone."""
    return settled.model_copy(
        update={
            "zones": tuple(
                entry.model_copy(update={"lit": choice.lit}) if entry.name == zone else entry
                for entry in settled.zones
            )
        }
    )


@dataclass(frozen=True, eq=False)
class _Outcome:
    """Missing want-weeks of each drawn season, (seasons,); those that are wanted; and cells sown."""

    missing: FloatArray
    wanted: int
    cells: int


def _in_seasons(ready: Sequence[Prepared], tuned_at: Iterable[int]) -> list[_Outcome]:
    """Return what each of some spaces brings with the sowings that do best there, in the same luck.

    The steady rule is tuned at some of them, and each takes the tuning that is best for it. A want counts
    from the first week in which all can have it; one without a number, with the most that any could bring.
    Empty if no week counts.
    """
    counts = np.array([each.wanted.counted > 0 for each in ready])
    ever = counts.any(axis=2)
    per_week = np.array([each.per_week for each in ready])
    of = np.lexsort((ever, per_week), axis=0)[-1].tolist()  # most wanted, and in some week
    wanted = Demand(
        amount=np.array([ready[at].wanted.amount[want] for want, at in enumerate(of)]),
        why=np.array([ready[at].wanted.why[want] for want, at in enumerate(of)]),
    ).promised_from(np.where(ever, counts.argmax(axis=2), 0).max(axis=0))
    if not wanted.counted.any():
        return []
    per_week = per_week.max(axis=0)
    builders = [
        PlanBuilder(each.space, each.assessment, each.candidates, wanted, each.serving, None, per_week)
        for each in ready
    ]
    tunings = [_tuning(builder) for builder in builders]
    rules = [_by_place(tuned(tunings[at]), builders[at]) for at in sorted(set(tuned_at))]
    return [_best_outcome(*each, rules) for each in zip(builders, tunings, strict=True)]


def _tuning(builder: PlanBuilder) -> Tuning:
    return Tuning(
        stage=builder.model.stage((), {}, SEASONS, SEARCH_SEED),
        wants=builder.space.wants,
        counted=builder.wanted.counted,
        per_week=builder.per_week,
        options=builder.candidates.options,
        time=builder.time,
        work_days=builder.time.work_days,
        first=0,
    )


_Place = tuple[str, str, int, int]
"""Crop, bed and light class, nursery, and sites a plant: what an option is, whatever its number."""


def _place(option: Option, builder: PlanBuilder) -> _Place:
    label = builder.assessment.land.places[option.place].label
    return option.grown.crop.slug, label, option.nursery, option.sites_each


def _by_place(habits: Sequence[SowingHabit], builder: PlanBuilder) -> list[tuple[SowingHabit, _Place]]:
    options = builder.candidates.options
    return [(habit, _place(options[habit.option], builder)) for habit in habits]


def _best_outcome(
    builder: PlanBuilder, tuning: Tuning, rules: Sequence[Sequence[tuple[SowingHabit, _Place]]]
) -> _Outcome:
    """Return what the rule with which least is missing here brings, in seasons that tuned nothing.

    A surplus has no price: else more light would be answered by fewer sowings, and as much be missing.
    """
    number = {
        (option.want, _place(option, builder)): at for at, option in enumerate(builder.candidates.options)
    }
    here = [
        [
            replace(habit, option=number[habit.want, place])
            for habit, place in rule
            if (habit.want, place) in number
        ]
        for rule in rules
    ]
    tried = [tuning.sowings([habits]) for habits in here]

    def price(sowings: Sequence[Sowing]) -> float:
        return float(_missing(tuning.stage, sowings, counted).mean()) + CELL * _cells(sowings)

    counted = tuning.counted
    sowings = min(tried, key=price)
    fresh = builder.model.stage((), {}, FRESH, TOLD_SEED)
    return _Outcome(_missing(fresh, sowings, counted), int((counted > 0).sum()), _cells(sowings))


def _missing(stage: Stage, sowings: Sequence[Sowing], counted: FloatArray) -> FloatArray:
    """Return the missing want-weeks of each drawn season, (seasons,)."""
    return np.asarray(stage.run(sowings).short(counted).sum(axis=(0, 1)))


def _cells(sowings: Sequence[Sowing]) -> int:
    return sum(sowing.cells for sowing in sowings)


def _power_a_month(space: Space) -> tuple[float, float | None]:
    """Return kWh and cost of all power of a space in a mean month, as it is billed over the priced days."""
    days = priced_days(space)
    lines = bill(space, space.first_day, days)
    share = DAYS_PER_MONTH / days
    cost = sum(line.cost or 0.0 for line in lines) * share if space.tariff else None
    return sum(line.kwh for line in lines) * share, cost


def _price(power: tuple[float, float | None]) -> float:
    return power[0] if power[1] is None else power[1]
