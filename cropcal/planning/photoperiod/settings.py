"""Every setting of a lamp timer in one zone: how it suits the crops, what it costs, and which is best."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from cropcal.planning.growth.crop_in_bed import LONGEST_DAY_H
from cropcal.planning.photoperiod.requirements import LightRequirement
from cropcal.planning.power.lamp_hours import MIDDLE_OF_LIGHT_MIN, quiet_minutes
from cropcal.planning.power.quarter_hour_prices import Array, ByQuarter
from cropcal.planning.site.air import room_air_c, zone_air
from cropcal.records.base import WEEKDAYS
from cropcal.records.space import Fixture, Space, Zone
from cropcal.science import timing
from cropcal.science.distinct import distinct
from cropcal.science.suiting import (
    BOLT,
    BURN,
    DARK,
    HOT,
    SLOW,
    UNKNOWN,
    Codes,
    codes,
    dominant_code,
)
from cropcal.science.timing import Timers
from cropcal.units import MOL_PER_UMOL_H

Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]

LENGTHS = np.arange(16, 97)
"""Hours of light that are tried: 4 to 24, by quarters."""
USUAL_LENGTH = 64
"""Quarters of an hour a lamp is on where nothing is wanted (common practice: 16 h)."""
SHORTEST_OF_TWO = 4
"""Least quarters of a stretch where the light comes in two (assumed)."""
OUTPUT_STEP = 0.1
"""Steps in which a lamp is turned down (assumed: what its knob can be set to)."""
SLOWEST = 1.25
"""Most days to harvest that are accepted, over the fewest (assumed: few wait longer to save power).

This is all that an hour of light is worth: its power is paid as long as a crop takes longer than that, or
lacks light to grow well, and never beyond. Leaf tips may burn for it, but no crop is lost for it.
"""
SAME = 1e-9
"""Relative difference of costs that is only rounding."""


@dataclass(frozen=True, eq=False)
class QuarterHourAir:
    """Air of each quarter of a day with the lamp on at today's output, and with it off, in °C, (96,).

    ``hottest_on_c`` is that of the warmest day of a week with the lamp on, None where all are alike.
    """

    on_c: Array
    off_c: Array
    hottest_on_c: Array | None = None

    def mean_c(self, timers: Timers, brightness: Array) -> Array:
        """Return the day's mean, shape (outputs, timers): the lamp's heat goes with its watts."""
        gain = timing.lit_sum(timers, self.on_c - self.off_c) / timing.QUARTERS_PER_DAY
        return np.asarray(self.off_c.mean() + brightness[:, None] * gain)

    def highest_lit_c(self, timers: Timers, brightness: Array) -> Array:
        """Return the highest while the lamp is on, shape (outputs, timers)."""
        rise = (self.on_c if self.hottest_on_c is None else self.hottest_on_c) - self.off_c
        return np.array([timing.lit_highest(timers, self.off_c + share * rise) for share in brightness])


def air_of(zone: Zone, fixtures: Iterable[Fixture]) -> QuarterHourAir:
    """Return the air of a zone: all hours alike but for the lamp, and for a fan that is off in quiet ones."""
    flat = np.ones(timing.QUARTERS_PER_DAY)
    if not zone.quiet or not zone.fan_m3_h or zone.room_c is None or zone.lamp_on_air_c is not None:
        air = zone_air(zone, fixtures)
        return QuarterHourAir(flat * air.lamp_on_c, flat * air.lamp_off_c)
    lamps = [fixture for fixture in fixtures if fixture.zone == zone.name]
    blown = np.outer(room_air_c(zone, lamps, zone.fan_m3_h), flat)
    still = np.outer(room_air_c(zone, lamps, 0.0), flat)
    share = quiet_minutes(zone).reshape(timing.QUARTERS_PER_DAY, -1).mean(axis=1) / len(WEEKDAYS)
    on_c, off_c = blown + share * (still - blown)
    return QuarterHourAir(on_c, off_c, np.where(share > 0, still[0], blown[0]))


@dataclass(frozen=True, eq=False)
class Grid:
    """N timer settings and O outputs of one zone. Money and hours are those of 1 kW over the priced days.

    ``brightness`` (O,) is light and watts relative to today's; ``lit_h``, ``seen_h``, ``quiet_min`` (a week),
    ``on_h`` and ``money`` (N,); ``mean_air_c`` and ``top_air_c`` (O, N).
    """

    timers: Timers
    brightness: Array
    lit_h: Array
    seen_h: Array
    quiet_min: Array
    on_h: Array
    money: Array
    mean_air_c: Array
    top_air_c: Array

    @cached_property
    def kinds_of_light(self) -> tuple[Array, Ints]:
        """Return the distinct (brightness, lit hours, mean air), (3, kinds), and which it is, (O, N).

        Starts differ in nothing that a crop's growth knows.
        """
        shape = self.mean_air_c.shape
        rows = (self.brightness[:, None], self.lit_h, np.round(self.mean_air_c, 9))
        every = np.stack([np.broadcast_to(row, shape).ravel() for row in rows])
        kinds, kind = np.unique(every, axis=1, return_inverse=True)
        return kinds, np.asarray(kind).reshape(shape)


def brightness_levels(space: Space, zone: Zone) -> Array:
    """Return the light of each output a zone's lamps can be set to, relative to today's, brightest first.

    Several lamps are turned together. Without ``dims_to`` on each of them there is only today's output.
    """
    lamps = [fixture for fixture in space.fixtures if fixture.zone == zone.name]
    if not lamps or any(lamp.dims_to is None for lamp in lamps):
        return np.ones(1)
    now = mean_output(space, zone.name)
    lowest = max((lamp.dims_to or 1.0) / lamp.output for lamp in lamps)
    highest = min(1.0 / lamp.output for lamp in lamps)
    steps = np.arange(1, round(1 / OUTPUT_STEP) + 1) * OUTPUT_STEP / now
    kept = steps[(steps > lowest * (1 + SAME)) & (steps < highest * (1 - SAME))]
    return distinct(np.round([lowest, *kept, 1.0, highest], 12))[::-1]


def mean_output(space: Space, zone: str) -> float:
    """Return the lamps' output as a share of full, the mean of a zone's fixtures."""
    outputs = [fixture.output for fixture in space.fixtures if fixture.zone == zone]
    return sum(outputs) / len(outputs) if outputs else 1.0


def grid(
    zone: Zone,
    brightness: Array,
    by_quarter: ByQuarter,
    air: QuarterHourAir,
    lengths: npt.NDArray[np.int64] = LENGTHS,
    hottest_c: float = np.inf,
) -> Grid:
    """Return every timer setting of a zone; two stretches only where one cannot keep the quiet hours.

    Of pairs with the same hours of light and the same day as plants see it only one is kept: the one with
    least light in air of ``hottest_c`` or more, then the cheapest.
    """
    quiet = quiet_minutes(zone).reshape(timing.QUARTERS_PER_DAY, -1).sum(axis=1)
    timers = timing.blocks(lengths)
    loud = timing.lit_sum(timers, quiet)
    lengths_kept = timers.total[loud < 0.5]
    forced = distinct(lengths[~np.isin(lengths, lengths_kept)])
    if len(forced):
        two = timing.pairs(quiet == 0, SHORTEST_OF_TWO)
        two = two.take(np.flatnonzero(np.isin(two.total, forced)))
        hot = timing.lit_sum(two, air.on_c >= hottest_c)
        timers = timing.concatenate([timers, _cheapest_of_each(two, hot, by_quarter.money)])
    return as_grid(timers, quiet, brightness, by_quarter, air)


def as_grid(
    timers: Timers, quiet: npt.ArrayLike, brightness: Array, by_quarter: ByQuarter, air: QuarterHourAir
) -> Grid:
    """Return the grid of some timers: hours, day length, quiet minutes, cost and air."""
    return Grid(
        timers=timers,
        brightness=brightness,
        lit_h=timers.total / 4,
        seen_h=timing.day_length(timers) / 4,
        quiet_min=np.round(timing.lit_sum(timers, quiet)),
        on_h=timing.lit_sum(timers, by_quarter.hours_h),
        money=timing.lit_sum(timers, by_quarter.money),
        mean_air_c=air.mean_c(timers, brightness),
        top_air_c=air.highest_lit_c(timers, brightness),
    )


def _cheapest_of_each(two: Timers, hot: Array, money_by_quarter: Array) -> Timers:
    """Keep of each (hours of light, day seen) the pair that is best in heat, then in cost."""
    kind = two.total * (timing.QUARTERS_PER_DAY + 1) + timing.day_length(two)
    order = np.lexsort((timing.lit_sum(two, money_by_quarter), hot, kind))
    first = np.flatnonzero(np.diff(kind[order], prepend=-1))
    return two.take(order[first])


def suit_codes(need: LightRequirement, on: Grid) -> Codes:
    """Return the suitability codes of a crop for each output and timer, shape (O, N)."""
    dli = _dli(need, on)
    each = [codes(light, on.seen_h, on.mean_air_c, on.top_air_c, need.limits) for light in dli]
    return each[0] if len(each) == 1 else dominant_code(np.array(each), need.sites)


def shortfall(need: LightRequirement, on: Grid, crop_codes: Codes) -> Array:
    """Return the share of light that a crop lacks to grow well, mean of its sites, (O, N).

    0 where most sites have enough, and where nothing grows in this air. A crop that may bolt or suffers from
    heat lacks light like any other.
    """
    lacking = np.maximum(1 - _dli(need, on) / need.limits.enough_dli, 0.0)
    mean = np.tensordot(need.sites / need.sites.sum(), lacking, axes=1)
    return np.where(np.isin(crop_codes, (SLOW, UNKNOWN, BOLT, HOT, DARK)), mean, 0.0)


def _dli(need: LightRequirement, on: Grid) -> Array:
    light = need.ppfd_umol_m2_s[:, None, None] * on.brightness[:, None] * on.lit_h * MOL_PER_UMOL_H
    return np.asarray(light + need.sun_mol_m2_d)


@dataclass(frozen=True, eq=False)
class Judged:
    """Suitability of a grid for the crops of a zone: codes of each, and counts of crops, all (O, N).

    ``at_risk`` counts those that bolt or are too hot, ``burnt`` those whose leaf tips may burn. ``lost``
    counts those that will not do or are at risk, each once. ``days``: from sowing to harvest, of each crop;
    empty where growth is not looked at.
    """

    on: Grid
    codes: tuple[Codes, ...]
    forbidden: Ints
    at_risk: Ints
    lost: Ints
    unknown: Ints
    burnt: Ints
    lacking: Array
    days: tuple[Array, ...] = ()

    @cached_property
    def slowness(self) -> Array:
        """Return days to harvest over the fewest, of the crop that is slowed most, (O, N).

        The fewest are those of the allowed settings that suit the crops as well as any, burnt tips or not. 1
        where nothing is ever ready; infinite where a crop is not, and would be otherwise.
        """
        worst = np.ones(self.lacking.shape)
        for days, fewest in zip(self.days, self.fewest_days, strict=True):
            if np.isfinite(fewest):
                worst = np.maximum(worst, np.where(np.isfinite(days), days, np.inf) / fewest)
        return worst

    @cached_property
    def fewest_days(self) -> tuple[float, ...]:
        """Return the fewest days to harvest of each crop, as for ``slowness``; nan where never ready."""
        at = suiting_best(self, allowed_timers(self.on))
        fewest = []
        for days, crop_codes in zip(self.days, self.codes[: len(self.days)], strict=True):
            grows = days[at][np.isfinite(days[at]) & (crop_codes[at] < DARK)]
            fewest.append(float(grows.min()) if len(grows) else np.nan)
        return tuple(fewest)

    @property
    def harm(self) -> tuple[Ints, ...]:
        """Return the counts of crops that come before all else, the gravest first, each (O, N)."""
        return self.forbidden, self.at_risk, self.unknown

    @property
    def right(self) -> Bools:
        """Return where every crop does well, and no power is saved at its cost."""
        unhurt = sum(self.harm) + self.burnt == 0
        return np.asarray(unhurt & (self.lacking == 0) & (self.slowness <= SLOWEST * (1 + SAME)))


def judge(
    needs: Sequence[LightRequirement],
    on: Grid,
    known_codes: Sequence[Codes] | None = None,
    days: Sequence[Array] = (),
) -> Judged:
    """Return the suitability of a grid for all crops; too long a day counts even beside something graver.

    ``known_codes``: each crop's codes on that grid where they are known already; ``days``: to its harvest.
    """
    all_codes = tuple(suit_codes(need, on) for need in needs) if known_codes is None else tuple(known_codes)
    forbidden, at_risk, lost, unknown, burnt = (np.zeros(on.mean_air_c.shape, np.int64) for _ in range(5))
    lacking = np.zeros(on.mean_air_c.shape)
    for need, crop_codes in zip(needs, all_codes, strict=True):
        known = not np.isnan(need.limits.longest_h)
        too_long = on.seen_h > (need.limits.longest_h if known else need.limits.watched_h)
        forbidden += crop_codes >= DARK
        at_risk += ((crop_codes > BURN) & (crop_codes < DARK)) | (known & too_long)
        lost += (crop_codes > BURN) | (known & too_long)
        unknown += (not known) & too_long
        burnt += crop_codes == BURN
        lacking += shortfall(need, on, crop_codes)
    return Judged(on, all_codes, forbidden, at_risk, lost, unknown, burnt, lacking, tuple(days))


def allowed_timers(on: Grid) -> Bools:
    """Return which timers may be picked at all: no day longer than any printed use, shape (N,)."""
    longest = max(LONGEST_DAY_H, float(on.seen_h.min()))  # the sun alone may be up for longer
    return (on.lit_h <= LONGEST_DAY_H) & (on.seen_h <= longest)


def suiting_best(judged: Judged, among: Bools) -> tuple[Ints, Ints]:
    """Return output and timer (their places) of every setting that suits the crops as well as any.

    Quiet hours are kept wherever some crop is not lost. Then fewest crops that will not do, fewest that bolt
    or are too hot, fewest whose limit is not known.
    """
    at, _ = _suiting_each(judged, np.where(among, 0, -1))
    return at


def _suiting_each(judged: Judged, group: Ints) -> tuple[tuple[Ints, Ints], Ints]:
    """Return the same for each group of timers, and the group of each; ``group`` (N,) is -1 for none."""
    outputs, timers = len(judged.on.brightness), np.flatnonzero(group >= 0)
    at = np.repeat(np.arange(outputs), len(timers)), np.tile(timers, outputs)
    kept = (judged.on.quiet_min[at[1]] == 0) & (judged.lost[at] < max(len(judged.codes), 1))
    some = np.isin(group, group[at[1][kept]])
    at = _at(at, np.flatnonzero(kept | ~some[at[1]]))
    for counts in judged.harm:
        at = _at(at, _least(counts[at], group[at[1]]))
    return at, group[at[1]]


def best_setting(judged: Judged, among: Bools) -> tuple[int, int]:
    """Return output and timer (their places) of the best setting among some timers, (N,).

    Of those that suit the crops as well as any:

    1. days to harvest no more than ``SLOWEST`` times the fewest, else as near as can be,
    2. fewest crops whose leaf tips may burn,
    3. least light lacking for good growth,
    4. fewest quiet minutes,
    5. least money, then least power, then most hours (a dimmer lamp for longer),
    6. middle nearest to 14:00, then the earlier start.
    """
    return best_settings(judged, np.where(among, 0, -1))[0]


def best_settings(judged: Judged, group: Ints) -> list[tuple[int, int]]:
    """Return the best setting of each group of timers, in order; ``group`` (N,) is -1 for none."""
    return best_of(judged, *_suiting_each(judged, group))


def best_of(judged: Judged, at: tuple[Ints, Ints], group: Ints) -> list[tuple[int, int]]:
    """Return the best of each group of settings that suit the crops alike, by what ``best_setting`` lists.

    ``group`` is that of each setting.
    """
    on = judged.on
    keys: tuple[Callable[[], Array | Ints], ...] = (
        lambda: np.maximum(judged.slowness[at], SLOWEST),
        lambda: judged.burnt[at],
        lambda: judged.lacking[at],
        lambda: on.quiet_min[at[1]],
        lambda: on.money[at[1]] * on.brightness[at[0]],
        lambda: on.on_h[at[1]] * on.brightness[at[0]],
        lambda: -on.lit_h[at[1]],
        lambda: timing.distance_from_middle(on.timers.take(at[1]), MIDDLE_OF_LIGHT_MIN // 15),
        lambda: on.timers.start[at[1]],
    )
    for key in keys:
        least = _least(key(), group)
        at, group = _at(at, least), group[least]
    _, first = np.unique(group, return_index=True)
    return list(zip(at[0][first].tolist(), at[1][first].tolist(), strict=True))


def fitting(
    judged: Judged, needs: Sequence[LightRequirement], place: tuple[int, int]
) -> list[tuple[int, int]]:
    """Return the best timer of each length that suits the crops as well as ``place``, at its output.

    Seedlings get no less light than there: their growth later on tells nothing of leggy ones.
    """
    on, (output, timer) = judged.on, place
    outputs, timers = suiting_best(judged, allowed_timers(on))
    timers = timers[(outputs == output) & (on.quiet_min[timers] <= on.quiet_min[timer])]
    timers = timers[judged.burnt[output, timers] <= judged.burnt[output, timer]]
    for need, crop_codes in zip(needs, judged.codes, strict=True):
        if need.crop is None:
            lacking = shortfall(need, on, crop_codes)[output]
            timers = timers[lacking[timers] <= lacking[timer] + SAME]
    length = np.searchsorted(distinct(on.lit_h), on.lit_h[timers])
    return best_of(judged, (np.full(len(timers), output), timers), length)


def _least(values: Array | Ints, group: Ints) -> Ints:
    """Return the places of the least values of each group, but for rounding."""
    least = np.full(int(group.max(initial=0)) + 1, np.inf)
    np.minimum.at(least, group, values)
    return np.flatnonzero(values <= (least + SAME * np.maximum(np.abs(least), 1e-3))[group])


def _at(at: tuple[Ints, Ints], places: Ints) -> tuple[Ints, Ints]:
    return at[0][places], at[1][places]


def is_right(judged: Judged, place: tuple[int, int]) -> bool:
    """Return whether every crop does well there and no quiet hour is broken."""
    return bool(judged.right[place]) and float(judged.on.quiet_min[place[1]]) == 0
