"""Lamp hours by month where the sun comes in: enough light, no day too long, at the least cost.

A month with more sun never has more lamp hours than one with less: all months are picked together.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

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
from cropcal.planning.power.lamp_hours import MIDDLE_OF_LIGHT_MIN, Stretches
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
LACKING = 6
"""Place of the light that lacks in a score."""
NEVER = (12 * PARTS, *(0,) * 8)
"""What no month may cost: more than quiet hours broken for nothing in all of them."""

Score = tuple[float, ...]
"""1 where quiet hours are broken for nothing; crops that will not do, are at risk, of unknown limit; crops
whose day the lamp makes too long, or longer where the sun's is already; crops with burnt tips; light lacking;
quiet minutes: less is better."""


@dataclass(frozen=True, eq=False)
class YearHours:
    """One zone's case over the planned months, and lamp hours of each month of the year.

    ``saves`` is the share of the lamp's cost that changing by month saves; where ``by_month`` is one setting
    for all, changes do not pay. ``lacking``: months, January 0, in which a crop still lacks light to grow
    well; ``too_long``: those with a day that is longer than a crop is known to stand.
    """

    case: Case
    by_month: tuple[Stretches, ...]
    saves: float
    lacking: tuple[int, ...]
    too_long: tuple[int, ...]

    @property
    def changes(self) -> bool:
        """Return whether the timer is set anew in the course of the year."""
        return len(set(self.by_month)) > 1


@dataclass(frozen=True, eq=False)
class Month:
    """One month: suitability of every timer with that month's sun, and of no lamp at all.

    ``longest_h``: the longest day that each crop is known to stand.
    """

    judged: Judged
    off: Judged
    sun_mol_m2_d: float
    longest_h: Sequence[float]

    @cached_property
    def of_length(self) -> dict[int, int | None]:
        """Return the best timer of each length that may be picked, by its quarters of an hour; None at 0."""
        on = self.judged.on
        likely = np.flatnonzero(allowed_timers(on))
        middle = timing.distance_from_middle(on.timers, MIDDLE_OF_LIGHT_MIN // 15)
        cost = np.round(on.money / self.dearest, 9)
        keys = (on.timers.start, middle, np.round(on.on_h, 6), cost, *self.scores[::-1])
        length = on.timers.total[likely]
        order = np.lexsort((*(key[likely] for key in keys), length))
        first = np.flatnonzero(np.diff(length[order], prepend=-1))
        best = likely[order[first]].tolist()
        return {0: None, **dict(zip(length[order[first]].tolist(), best, strict=True))}

    @cached_property
    def dearest(self) -> float:
        """Return the cost of the dearest timer."""
        return max(float(self.judged.on.money.max()), EVEN)

    @cached_property
    def scores(self) -> tuple[Array, ...]:
        """Return the score of every timer, the most important part first, each (N,)."""
        quiet = self.judged.on.quiet_min
        kept = (quiet == 0) & (self.judged.lost[0] < len(self.judged.codes))
        loud = (quiet > 0) & kept.any()
        seen_h, sun_h = self.judged.on.seen_h, float(self.off.on.seen_h[0])
        longer = np.sum([seen_h > max(longest_h, sun_h) for longest_h in self.longest_h], axis=0)
        counts = (*(each[0] for each in self.judged.harm), longer, self.judged.burnt[0])
        return loud, *counts, np.round(self.judged.lacking[0], 6), quiet

    def score(self, timer: int | None) -> Score:
        """Return how a timer (None: lamp off) suits crops and quiet."""
        if timer is not None:
            return tuple(float(part[timer]) for part in self.scores)
        harm = (float(each[0, 0]) for each in self.off.harm)
        return 0.0, *harm, 0.0, float(self.off.burnt[0, 0]), round(float(self.off.lacking[0, 0]), 6), 0.0

    def is_lacking(self, timer: int | None) -> bool:
        """Return whether a crop lacks light to grow well."""
        return self.score(timer)[LACKING] > 0

    def is_too_long(self, timer: int | None) -> bool:
        """Return whether the day is longer than a crop is known to stand."""
        on, at = (self.off.on, 0) if timer is None else (self.judged.on, timer)
        return bool(on.seen_h[at] > min(self.longest_h))

    def money(self, timer: int | None) -> float:
        """Return the cost of a timer in this month, of 1 kW; 0 with the lamp off."""
        return 0.0 if timer is None else float(self.judged.on.money[timer])

    def quarters(self, timer: int | None) -> int:
        """Return the quarters of an hour that the lamp is on."""
        return 0 if timer is None else int(self.judged.on.timers.total[timer])

    def price(self, timer: int | None) -> tuple[int, ...]:
        """Return score and cost in whole parts, so that sums over months have no rounding."""
        return tuple(round(part * PARTS) for part in (*self.score(timer), self.money(timer) / self.dearest))


def _picks(months: Sequence[Month]) -> list[int | None]:
    """Return the timer of each month that is best in the sum of all, none longer in more sun than in less.

    A timer is left as it is from one month to the next where it does as well and a change saves next to
    nothing.
    """
    brightest_first = sorted(range(len(months)), key=lambda number: -months[number].sun_mol_m2_d)
    lengths = sorted({length for month in months for length in month.of_length})
    best: list[tuple[tuple[int, ...], tuple[int, ...]]] = [((0,) * 9, ())] * len(lengths)
    for number in brightest_first:
        month, least = months[number], None
        row = []
        for at, length in enumerate(lengths):
            least = best[at] if least is None else min(least, best[at])
            price = month.price(month.of_length[length]) if length in month.of_length else NEVER
            row.append((tuple(map(sum, zip(least[0], price, strict=True))), (*least[1], length)))
        best = row
    picked = dict(zip(brightest_first, min(best)[1], strict=True))
    picks = [month.of_length[picked[number]] for number, month in enumerate(months)]
    for number in range(1, len(months)):
        month, last, own = months[number], picks[number - 1], picks[number]
        changed = [*picks[:number], last, *picks[number + 1 :]]
        quarters = [months[at].quarters(changed[at]) for at in brightest_first]
        as_cheap = month.money(last) <= month.money(own) * (1 + WORTH_IT)
        if as_cheap and _as_good(month.score(last), month.score(own)) and quarters == sorted(quarters):
            picks = changed
    return picks


def year_hours(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    zone: Zone,
    prices: dict[bool, ByQuarter],
) -> YearHours | None:
    """Return the hours of a zone with a window, by month; None where nothing is wanted or no sun known.

    The lamp is on at today's output. A month's timer suits its crops as well as any, with the sun's light and
    hours counted in, as far as no month has more lamp hours than one with less sun; of those it costs least.
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
    picks = _picks(months)
    watts = zone_air(zone, space.fixtures).watts
    asked = tuple(replace(need, sun_mol_m2_d=_mean_sun(zone, sun, weights)) for need in wanted)
    case = Case(zone, asked, together, single, by_quarter, watts)
    unchanged = _planned_mean(months, weights, [single[1]] * MONTHS)
    by_month = _planned_mean(months, weights, picks)
    saves = 1 - by_month[1] / unchanged[1] if unchanged[1] > 0 else 0.0
    worth = not _as_good(unchanged[0], by_month[0]) or saves >= WORTH_IT
    stretches = tuple(() if pick is None else on.timers.stretches_min(pick) for pick in picks)
    alone = (on.timers.stretches_min(single[1]),) * MONTHS
    kept = picks if worth else [single[1]] * MONTHS
    return YearHours(
        case,
        stretches if worth else alone,
        max(saves, 0.0) if worth else 0.0,
        tuple(at for at, month in enumerate(months) if month.is_lacking(kept[at])),
        tuple(at for at, month in enumerate(months) if month.is_too_long(kept[at])),
    )


def _as_good(score: Score, other: Score) -> bool:
    """Return whether a score is as good as another or better, the first difference deciding."""
    for value, other_value in zip(score, other, strict=True):
        if abs(value - other_value) > EVEN:
            return value < other_value
    return True


def _sun_of_month(number: int, zone: Zone, sun: Sun) -> float:
    its_days = np.array([day.month == number + 1 for day in sun.days])
    return float(sun.by_day_mol_m2_d[its_days].mean() * zone.daylight_share[number])


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
    longest_h = [
        need.limits.watched_h if np.isnan(need.limits.longest_h) else need.limits.longest_h for need in wanted
    ]
    return Month(judged, off, _sun_of_month(number, zone, sun), longest_h)


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
        burnt=np.rint(total("burnt") * PARTS).astype(np.int64),
        lacking=total("lacking"),
        lost=np.min([judgement.lost for judgement in judged], axis=0),
    )


def _planned_mean(
    months: Sequence[Month], weights: Array, picks: Sequence[int | None]
) -> tuple[Score, float]:
    """Return score and money of a year's settings over the planned months."""
    rows = [(month.score(pick), month.money(pick)) for month, pick in zip(months, picks, strict=True)]
    score = tuple(
        float(sum(part * weight for part, weight in zip(parts, weights, strict=True)))
        for parts in zip(*(row[0] for row in rows), strict=True)
    )
    return score, sum(row[1] for row, weight in zip(rows, weights, strict=True) if weight > 0)
