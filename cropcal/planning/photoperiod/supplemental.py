"""Lamp hours by month where the sun comes in: enough light, no day too long, at the least cost."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cropcal.planning.photoperiod.explanation import Case
from cropcal.planning.photoperiod.monthly_switch import WORTH_IT
from cropcal.planning.photoperiod.requirements import LightRequirement, requirements
from cropcal.planning.photoperiod.settings import (
    Grid,
    Judged,
    air_of,
    allowed_timers,
    best_setting,
    grid,
    judge,
)
from cropcal.planning.power.lamp_hours import Stretches
from cropcal.planning.power.quarter_hour_prices import Array, ByQuarter
from cropcal.planning.site.air import zone_air
from cropcal.planning.site.sunlight import Sun, planned_halves, sun_of
from cropcal.records.crop import CropTables
from cropcal.records.plan import BedLight
from cropcal.records.space import Space, Zone
from cropcal.science import timing

LENGTHS = np.arange(4, 97)
"""Lamp hours that are tried beside the sun: 1 to 24, by quarters; none at all is tried too."""

MONTHS = 12
EVEN = 1e-6
PARTS = 10**6
"""Parts of a crop in which counts over several months are given."""

Score = tuple[float, ...]
"""Crops that will not do, may go wrong, of unknown limit; light lacking; quiet minutes: less is better."""


@dataclass(frozen=True, eq=False)
class YearHours:
    """One zone's case over the planned months, and lamp hours of each month of the year.

    ``saves`` is the share of the lamp's cost that changing by month saves; where ``by_month`` is one setting
    for all, changes do not pay.
    """

    case: Case
    by_month: tuple[Stretches, ...]
    saves: float

    @property
    def changes(self) -> bool:
        """Return whether the timer is set anew in the course of the year."""
        return len(set(self.by_month)) > 1


@dataclass(frozen=True, eq=False)
class Month:
    """One month: suitability of every timer with that month's sun, and of no lamp at all."""

    judged: Judged
    off: Judged
    picked: int

    def score(self, timer: int | None) -> Score:
        """Return how a timer (None: lamp off) suits crops and quiet."""
        of, at = (self.off, 0) if timer is None else (self.judged, timer)
        counts = (of.forbidden, of.at_risk, of.unknown, of.lacking)
        return (*(float(each[0, at]) for each in counts), float(of.on.quiet_min[at]))

    def money(self, timer: int | None) -> float:
        """Return the cost of a timer in this month, of 1 kW; 0 with the lamp off."""
        return 0.0 if timer is None else float(self.judged.on.money[timer])

    def best(self, last: int | None, *, first: bool) -> int | None:
        """Return the timer to set: none if the sun alone does as well, the last if it is about as good."""
        aim = self.score(self.picked)
        if _as_good(self.score(None), aim):
            return None
        kept = not first and last is not None and _as_good(self.score(last), aim)
        return last if kept and self.money(last) <= self.money(self.picked) * (1 + WORTH_IT) else self.picked


def year_hours(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    zone: Zone,
    prices: dict[bool, ByQuarter],
) -> YearHours | None:
    """Return the hours of a zone with a window, by month; None where nothing is wanted or no sun known.

    The lamp is on at today's output. A month's timer suits its crops as well as any, with the sun's light and
    hours counted in, and costs least of those; it is left as it is where a change saves next to nothing.
    """
    sun = sun_of(space, follows_clock=zone.timer_follows_clock)
    wanted = requirements(space, tables, lights, zone)
    if sun is None or not wanted:
        return None
    by_quarter = prices[zone.timer_follows_clock]
    hottest = min(need.limits.max_c for need in wanted)
    air = air_of(zone, space.fixtures)
    on = grid(zone, np.ones(1), by_quarter, air, LENGTHS, hottest)
    months = [_month(number, zone, sun, wanted, on, by_quarter, air.off_c) for number in range(MONTHS)]
    weights = planned_halves(space).reshape(MONTHS, 2).sum(axis=1)
    together = _unchanged(months, weights)
    single = best_setting(together, allowed_timers(together.on))
    picks: list[int | None] = []
    for month in months:
        picks.append(month.best(picks[-1] if picks else None, first=not picks))
    watts = zone_air(zone, space.fixtures).watts
    asked = tuple(replace(need, sun_mol_m2_d=_mean_sun(zone, sun, weights)) for need in wanted)
    case = Case(zone, asked, together, single, by_quarter, watts)
    unchanged = _planned_mean(months, weights, [single[1]] * MONTHS)
    by_month = _planned_mean(months, weights, picks)
    saves = 1 - by_month[1] / unchanged[1] if unchanged[1] > 0 else 0.0
    worth = not _as_good(unchanged[0], by_month[0]) or saves >= WORTH_IT
    stretches = tuple(() if pick is None else on.timers.stretches_min(pick) for pick in picks)
    alone = (on.timers.stretches_min(single[1]),) * MONTHS
    return YearHours(case, stretches if worth else alone, max(saves, 0.0) if worth else 0.0)


def _as_good(score: Score, other: Score) -> bool:
    """Return whether a score is as good as another or better, the first difference deciding."""
    for value, other_value in zip(score, other, strict=True):
        if abs(value - other_value) > EVEN:
            return value < other_value
    return True


def _sun_of_month(number: int, zone: Zone, sun: Sun) -> float:
    return float(sun.outdoor_mol_m2_d[2 * number : 2 * number + 2].mean() * zone.daylight_share[number])


def _mean_sun(zone: Zone, sun: Sun, weights: Array) -> float:
    return float(sum(weights[number] * _sun_of_month(number, zone, sun) for number in range(MONTHS)))


def _month(
    number: int,
    zone: Zone,
    sun: Sun,
    wanted: Sequence[LightRequirement],
    on: Grid,
    prices: ByQuarter,
    off_c: Array,
) -> Month:
    """Return the suitability of every timer in one month of the year."""
    up = np.zeros(timing.QUARTERS_PER_DAY, np.bool_)
    if zone.daylight_share[number] > 0:
        whole = sun.up[2 * number] | sun.up[2 * number + 1]
        up = whole.reshape(timing.QUARTERS_PER_DAY, -1).mean(axis=1) >= 0.5
    asked = [replace(need, sun_mol_m2_d=_sun_of_month(number, zone, sun)) for need in wanted]
    of_month = prices.money_by_month[:, prices.months % MONTHS == number].sum(axis=1)
    money = timing.lit_sum(on.timers, of_month) if of_month.any() else on.money
    seen = timing.day_length_with_sun(on.timers, up) / 4
    judged = judge(asked, replace(on, seen_h=seen, money=money))
    day_h = (
        float(
            timing.day_length_with_sun(timing.blocks([1]).take(np.zeros(1, np.int64)), up, lamp_on=False)[0]
        )
        / 4
    )
    off = judge(asked, _never_lit(on, day_h, off_c))
    return Month(judged, off, best_setting(judged, allowed_timers(judged.on))[1])


def _never_lit(on: Grid, day_h: float, off_c: Array) -> Grid:
    """Return a grid of one setting: the lamp is never on."""
    zero, air = np.zeros(1), np.full((1, 1), float(off_c.mean()))
    return replace(
        on,
        timers=timing.blocks([1]).take(np.zeros(1, np.int64)),
        lit_h=zero,
        seen_h=np.full(1, day_h),
        quiet_min=zero,
        on_h=zero,
        money=zero,
        mean_air_c=air,
        top_air_c=air,
    )


def _unchanged(months: Sequence[Month], weights: Array) -> Judged:
    """Return the suitability of every timer over the planned months if it is never changed."""
    planned = [(month.judged, weight) for month, weight in zip(months, weights, strict=True) if weight > 0]
    judged = [judgement for judgement, _ in planned]

    def total(name: str) -> Array:
        return np.asarray(sum(getattr(judgement, name) * weight for judgement, weight in planned))

    first = judged[0]
    return replace(
        first,
        on=replace(
            first.on,
            seen_h=np.max([judgement.on.seen_h for judgement in judged], axis=0),
            money=np.asarray(sum(judgement.on.money for judgement in judged)),
        ),
        codes=tuple(
            np.max([judgement.codes[number] for judgement in judged], axis=0)
            for number in range(len(first.codes))
        ),
        forbidden=np.rint(total("forbidden") * PARTS).astype(np.int64),
        at_risk=np.rint(total("at_risk") * PARTS).astype(np.int64),
        unknown=np.rint(total("unknown") * PARTS).astype(np.int64),
        lacking=total("lacking"),
        lost=np.min([judgement.lost for judgement in judged], axis=0),
    )


def _planned_mean(
    months: Sequence[Month], weights: Array, picks: Sequence[int | None]
) -> tuple[Score, float]:
    """Return score and money of a year's settings over the planned months."""
    rows = [(month.score(pick), month.money(pick)) for month, pick in zip(months, picks, strict=True)]
    score = tuple(
        float(sum(row[0][at] * weight for row, weight in zip(rows, weights, strict=True))) for at in range(5)
    )
    return score, sum(row[1] for row, weight in zip(rows, weights, strict=True) if weight > 0)
