"""Candidate columns of the programme: every way to grow one site, on the real calendar.

A candidate is a crop in a bed for one want, sown and transplanted on work days and cut on harvest days.
Growth comes from ``crop_growth``; here it meets the calendar.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain, combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from cropcal.optimize.programme import (
    Columns,
    FloatArray,
    IntArray,
)
from cropcal.planning.candidates.service_weeks import NEVER, CalendarLimits, clear_of
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.growth.crop_growth import GRAM_DIGITS, LAST_DAY, GrowthTable
from cropcal.records.space import Want

MOST_CHOICES, FEW_CHOICES = 5, 2
"""Work days offered for transplanting each sowing: all while seedlings can wait, if they are so few (four a
week or less), else the first ones. An extra work day can make a plan worse where it takes a choice away."""

MOST_WEEKDAYS_VARIED = 3
"""Harvest weekdays up to which plants that are cut again may be cut on some of them only: so again an extra
day takes no choice away."""

NO_DAY = -1
FAR = 10**6


@dataclass(frozen=True, eq=False)
class Option:
    """One crop in one bed for one want: its growth, where it stands, and what a day there costs.

    ``sites_each``: sites that one plant (clump) holds: its own, and those left empty beside it.
    ``site_day_cost`` is the cost of one site a day.
    """

    want: int
    place: int
    nursery: int
    grown: GrowthTable
    site_day_cost: float
    cell_day_cost: float
    sites_each: int = 1


@dataclass(frozen=True, eq=False)
class CandidateColumns:
    """Candidate columns, with option, age row, cut days and amounts, from which batches are made.

    ``limits``: what the calendar allows each option; empty: everything. ``cuts``, ``amounts``, ``lows`` and
    ``highs`` have shape (n, C), unused cuts hold ``NO_DAY`` and 0.
    """

    options: tuple[Option, ...]
    option: IntArray
    age: IntArray
    sown: IntArray
    planted: IntArray
    cuts: IntArray
    amounts: FloatArray
    lows: FloatArray
    highs: FloatArray
    freed: IntArray
    staleness: FloatArray
    limits: tuple[CalendarLimits, ...] = ()

    @property
    def count(self) -> int:
        """Return the number of candidates."""
        return len(self.option)


def candidate_columns(
    options: tuple[Option, ...],
    time: WorkCalendar,
    clean_days: int,
    sown_before: int | None = None,
    limits: tuple[CalendarLimits, ...] = (),
) -> CandidateColumns:
    """Return every way to grow one site within the plan, in a canonical order.

    ``sown_before``: only those sown before this day. ``limits``: what the calendar allows each option; cuts
    on days that serve no week of the want are dropped.
    """
    last = time.days if sown_before is None else sown_before
    parts = [_option_columns(index, option, time, clean_days, last) for index, option in enumerate(options)]
    parts = (
        [_allowed_by_calendar(part, limit) for part, limit in zip(parts, limits, strict=True)]
        if limits
        else parts
    )
    return CandidateColumns(options=options, **_joined(parts or [_no_columns()]), limits=limits)


def programme_columns(candidates: CandidateColumns) -> Columns:
    """Return the candidates as columns of the programme; nothing is kept where no calendar limits them."""
    options = candidates.options
    want = np.array([option.want for option in options], dtype=np.int64)
    place = np.array([option.place for option in options], dtype=np.int64)
    nursery = np.array([option.nursery for option in options], dtype=np.int64)
    held = np.array([option.sites_each for option in options], dtype=np.int64)
    site_cost = held * np.array([option.site_day_cost for option in options])
    cell_cost = np.array([option.cell_day_cost for option in options])
    row, cut = np.nonzero(candidates.cuts != NO_DAY)
    days = candidates.cuts[row, cut]
    week, keeps = days // DAYS_PER_WEEK, np.zeros_like(days)
    if candidates.limits:
        at = candidates.option[row], days
        week = np.stack([limit.week for limit in candidates.limits])[at]
        keeps = np.stack([limit.keeps for limit in candidates.limits])[at]
    return Columns(
        want=want[candidates.option],
        place=place[candidates.option],
        nursery=nursery[candidates.option],
        sown=candidates.sown,
        planted=candidates.planted,
        freed=candidates.freed,
        cost=(candidates.freed - candidates.planted) * site_cost[candidates.option]
        + (candidates.planted - candidates.sown) * cell_cost[candidates.option],
        staleness=candidates.staleness,
        supply_column=row.astype(np.int64),
        supply_week=week.astype(np.int64),
        supply_amount=candidates.amounts[row, cut],
        supply_keeps=keeps.astype(np.int64),
        held=held[candidates.option],
    )


def variety_kinds(wants: Sequence[Want], candidates: CandidateColumns) -> IntArray | None:
    """Return the variety number of each candidate (-1: no variety asked), None if no want asks for it."""
    named = [(option.want, option.grown.crop.slug) for option in candidates.options]
    number = variety_numbers(wants)
    return (
        np.array([number.get(name, -1) for name in named], dtype=np.int64)[candidates.option]
        if number
        else None
    )


def variety_numbers(wants: Sequence[Want]) -> dict[tuple[int, str], int]:
    """Return a number for each pair of a want that asks for variety and one of its crops."""
    pairs = [
        (at, slug) for at, want in enumerate(wants) if want.variety for slug in dict.fromkeys(want.crops)
    ]
    return {pair: number for number, pair in enumerate(pairs)}


Part = dict[str, npt.NDArray[Any]]


def _joined(parts: list[Part]) -> Part:
    """Put parts one after another, filling up those with fewer cuts."""
    most = max(part["cuts"].shape[1] for part in parts)
    joined: Part = {}
    for name in parts[0]:
        tables = [part[name] for part in parts]
        if tables[0].ndim == 2:
            filler = NO_DAY if name == "cuts" else 0.0
            tables = [
                np.pad(table, ((0, 0), (0, most - table.shape[1])), constant_values=filler)
                for table in tables
            ]
        joined[name] = np.concatenate(tables)
    return joined


def _no_columns() -> Part:
    none = np.zeros(0, dtype=np.int64)
    table = np.zeros((0, 1))
    return {
        "option": none, "age": none, "sown": none, "planted": none, "cuts": table.astype(np.int64),
        "amounts": table, "lows": table, "highs": table, "freed": none, "staleness": np.zeros(0),
    }  # fmt: skip


def _allowed_by_calendar(part: Part, limit: CalendarLimits) -> Part:
    """Return the candidates that the calendar allows."""
    cuts, last = part["cuts"], part["cuts"].max(axis=1)
    good = np.all((cuts == NO_DAY) | (limit.week[cuts] != NEVER), axis=1)
    good &= clear_of(part["planted"], last, limit.closed) & clear_of(
        part["sown"], part["planted"], limit.nursery_closed
    )
    return {name: table[good] for name, table in part.items()}


def _option_columns(
    index: int, option: Option, time: WorkCalendar, clean_days: int, sown_before: int
) -> Part:
    """Return the candidates of one option: a cut on each harvest day of the window, then repeated cuts."""
    sown, planted, age = sowing_days(option.grown, time, sown_before)
    single = _single_cuts(option.grown, time, sown, planted, age)
    parts = [single]
    parts += [
        _repeated_cuts(option.grown, harvest, (sown, planted, age), cuts)
        for cuts in range(2, option.grown.crop.cuts_max + 1)
        for harvest in weekday_patterns(time.harvest_days)
    ]
    joined = _distinct(_joined(parts))
    joined["freed"] = joined["cuts"].max(axis=1) + clean_days
    joined["option"] = np.full(len(joined["sown"]), index, dtype=np.int64)
    return joined


def sowing_days(
    grown: GrowthTable, time: WorkCalendar, sown_before: int
) -> tuple[IntArray, IntArray, IntArray]:
    """Return sowing day, planting day and row of the transplant age, for each pair that work days allow."""
    if grown.sown_d is not None and grown.planted_d is not None:
        row = np.flatnonzero(grown.sown_d < sown_before)
        return grown.sown_d[row], grown.planted_d[row], row
    work = time.work_days
    sow = work[work < sown_before]
    if grown.nursery is None:
        return sow, sow, np.zeros(len(sow), dtype=np.int64)
    first, last = int(grown.ages_d[0]), int(grown.ages_d[-1])
    low, high = np.searchsorted(work, sow + first), np.searchsorted(work, sow + last, side="right")
    at = low[:, None] + np.arange(MOST_CHOICES)[None, :]
    many = (high - low > MOST_CHOICES)[:, None] & (np.arange(MOST_CHOICES) >= FEW_CHOICES)
    planted = work[np.minimum(at, len(work) - 1)] if len(work) else np.zeros(at.shape, dtype=np.int64)
    row, choice = np.nonzero((at < high[:, None]) & ~many)
    sown, chosen = sow[row], planted[row, choice]
    return sown, chosen, chosen - sown - first


def _single_cuts(
    grown: GrowthTable, time: WorkCalendar, sown: IntArray, planted: IntArray, age: IntArray
) -> Part:
    """Return one candidate for every harvest day within the window."""
    ready = np.ceil(grown.ready_d[1][age]).astype(np.int64)
    first, last = ready - grown.early_d, ready + grown.crop.window_d
    low = np.searchsorted(time.harvest_days, sown + first)
    high = np.searchsorted(time.harvest_days, sown + last, side="right")
    row = np.repeat(np.arange(len(sown)), high - low)
    start = np.repeat(np.cumsum(high - low) - (high - low), high - low)
    cut = time.harvest_days[np.repeat(low, high - low) + np.arange(len(row)) - start]
    after = cut - sown[row]
    row, cut, after = (values[after <= LAST_DAY] for values in (row, cut, after))
    width = np.maximum(last - ready, 1)[row]
    return {
        "age": age[row],
        "sown": sown[row],
        "planted": planted[row],
        "cuts": cut[:, None],
        "amounts": grown.amount[age[row], after][:, None],
        "lows": grown.low[age[row], after][:, None],
        "highs": grown.high[age[row], after][:, None],
        "staleness": np.clip((after - ready[row]) / width, 0.0, 1.0),
    }


def weekday_patterns(harvest: IntArray) -> list[IntArray]:
    """Return the days on which plants may be cut again: all harvest days, or those of some weekdays."""
    weekdays = np.unique(harvest % DAYS_PER_WEEK).tolist()
    if len(weekdays) > MOST_WEEKDAYS_VARIED:
        return [harvest]
    choices = [list(combinations(weekdays, size)) for size in range(len(weekdays), 0, -1)]
    return [harvest[np.isin(harvest % DAYS_PER_WEEK, weekdays_cut)] for weekdays_cut in chain(*choices)]


def _distinct(part: Part) -> Part:
    """Return the candidates without duplicates (same days of sowing, planting, cuts), in their order."""
    days = np.column_stack([part["sown"], part["planted"], part["cuts"]])
    first = np.sort(np.unique(days, axis=0, return_index=True)[1])
    return {name: table[first] for name, table in part.items()}


def _repeated_cuts(
    grown: GrowthTable, harvest: IntArray, sowings: tuple[IntArray, IntArray, IntArray], cuts: int
) -> Part:
    """Return the candidates with ``cuts`` cuts: each on the first harvest day when ready, or just before."""
    sown, planted, age = sowings
    ready = np.ceil(grown.ready_d[1][age]).astype(np.int64)
    good = np.ones(len(sown), dtype=bool)
    days: list[IntArray] = []
    late: list[IntArray] = []
    for cut in range(cuts):
        due = days[-1] + np.ceil(grown.cut_gaps_d[age, cut - 1]).astype(np.int64) if cut else sown + ready
        day = _nearest(harvest, due, grown)
        good &= (day != NO_DAY) & (day - sown <= LAST_DAY)
        days.append(day)
        late.append(day - due)
    table, delay = np.stack(days, axis=1)[good], np.stack(late, axis=1)[good]
    age, sown, planted, ready = age[good], sown[good], planted[good], ready[good]
    share = np.full(cuts, 1.0 - grown.crop.cut_leaves_share)
    share[-1] = 1.0
    # regrowth weighs as much some days before or after it is due as the first growth does
    at = np.clip(ready[:, None] + delay, 0, LAST_DAY)
    result: Part = {"age": age, "sown": sown, "planted": planted, "cuts": table}
    for name, amounts in (("amounts", grown.amount), ("lows", grown.low), ("highs", grown.high)):
        result[name] = np.round(amounts[age[:, None], at] * share, GRAM_DIGITS)
    result["staleness"] = np.zeros(len(sown))
    return result


def _nearest(harvest: IntArray, due: IntArray, grown: GrowthTable) -> IntArray:
    """Return the first harvest day from the due day to the end of its window, else the last before it."""
    if not len(harvest):
        return np.full(len(due), NO_DAY, dtype=np.int64)
    after = np.searchsorted(harvest, due)
    later = np.where(after < len(harvest), harvest[np.minimum(after, len(harvest) - 1)], FAR)
    earlier = np.where(after > 0, harvest[np.maximum(after - 1, 0)], -FAR)
    in_time, in_advance = later <= due + grown.crop.window_d, earlier >= due - grown.early_d
    return np.where(in_time, later, np.where(in_advance, earlier, NO_DAY)).astype(np.int64)
