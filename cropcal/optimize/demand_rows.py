"""Demand rows: what each week gets of what is wanted; and the cuts that whole sites imply."""

import numpy as np

from cropcal.optimize.capacity_rows import VariableBlocks
from cropcal.optimize.penalties import Weeks, ranges, shortage_steps
from cropcal.optimize.programme import (
    MOST_KEPT,
    FloatArray,
    IntArray,
    Rows,
)

STEPS_AT, STEPS_BY = (0.0, 0.5, 1.0), (1.0, 2.0, 3.0)
"""Rounding steps of ``rounding_rows``: smallest, middle, largest share of a week; whole, halved, by three."""


def demand_rows(blocks: VariableBlocks) -> list[Rows]:
    """Return sum(share x n) + kept for it - kept for later + short - over = top, one row a week that counts.

    ``top`` is 1. Where every column brings the same share a site, it is what the sites that meet the week
    bring, and each piece of ``short`` is one site wide: plans cost the same, half sites cost more
    (``shortage_steps``). Then the rows ``whole``; and where something keeps, ``spare`` and ``keep``.
    """
    task = blocks.task
    entries, store, per_want = task.entries, task.store, task.demand.shape[1]
    wanted = np.flatnonzero(task.demand.ravel() > 0)
    size = len(wanted)
    use = np.flatnonzero(entries.counted)
    row = np.searchsorted(wanted, entries.want_week[use])
    order = np.lexsort((entries.share[use], row))
    touched = np.isin(wanted, np.concatenate([store.source, store.target]))
    loose = touched & (task.piece[wanted // per_want] == 0)
    weeks = Weeks(size, row[order], entries.column[use][order], entries.share[use][order], loose)
    level = shortage_steps(weeks, blocks.weights)
    weight = task.weight[wanted // per_want]
    blocks.constant += float(weight @ level.base)
    short = blocks.add("short", level.price * weight[level.row], 0.0, level.width)
    over = blocks.add("over", blocks.weights.surplus * weight, 0.0, np.inf)
    scale = task.scale.ravel()
    usual = task.usual[store.source // per_want]
    price = np.asarray(blocks.weights.kept * store.later, dtype=np.float64)
    kept = blocks.add("kept", price, 0.0, scale[store.target] / usual)
    into, out_of = usual / scale[store.target], usual / scale[store.source]
    target = np.searchsorted(wanted, store.target)
    counts = np.flatnonzero(task.demand.ravel()[store.source] > 0)
    each = np.arange(size)
    exact = Rows(
        "want",
        np.concatenate([weeks.row, target, np.searchsorted(wanted, store.source[counts]), level.row, each]),
        np.concatenate([weeks.column, kept, kept[counts], short, over]),
        np.concatenate([weeks.share, into, -out_of[counts], np.ones(len(short)), -np.ones(size)]),
        level.top,
        level.top,
    )
    other = (
        np.concatenate([level.row, target]),
        np.concatenate([short, kept]),
        np.concatenate([np.ones(len(short)), into]),
    )
    rows = [exact, rounding_rows(weeks, other)]
    return [*rows, _spare_rows(blocks, kept, out_of), _keep_rows(blocks, kept)] if len(kept) else rows


def _spare_rows(blocks: VariableBlocks, kept: IntArray, out_of: FloatArray) -> Rows:
    """Return sum(share x n) - kept for later - over = 0, one row a week that does not count."""
    task = blocks.task
    entries, store = task.entries, task.store
    weeks = np.flatnonzero(task.spare)
    entry, arcs = np.flatnonzero(task.spare[entries.want_week]), np.flatnonzero(task.spare[store.source])
    weight = task.weight[weeks // task.demand.shape[1]]
    over = blocks.add("left", blocks.weights.surplus * weight, 0.0, np.inf)
    zero = np.zeros(len(weeks))
    return Rows(
        "spare",
        np.concatenate(
            [
                np.searchsorted(weeks, entries.want_week[entry]),
                np.searchsorted(weeks, store.source[arcs]),
                np.arange(len(weeks)),
            ]
        ),
        np.concatenate([entries.column[entry], kept[arcs], over]),
        np.concatenate([entries.share[entry], -out_of[arcs], -np.ones(len(weeks))]),
        zero,
        zero,
    )


def _keep_rows(blocks: VariableBlocks, kept: IntArray) -> Rows:
    """Return kept for ``later`` weeks or longer <= cut that keeps for ``later`` weeks, by week of the cut.

    So nothing is kept twice. Amounts are in usual weeks of the want.
    """
    task = blocks.task
    entries, store = task.entries, task.store
    ratio = (task.scale / task.usual[:, None]).ravel()
    row: list[IntArray] = []
    variable: list[IntArray] = []
    value: list[FloatArray] = []
    first = 0
    for later in range(1, MOST_KEPT + 1):
        weeks = np.unique(store.source[store.later >= later])
        if later > 1:  # where all that keeps keeps so long, the row of fewer weeks says as much
            weeks = weeks[np.isin(weeks, entries.want_week[entries.keeps == later - 1])]
        entry = np.flatnonzero((entries.keeps >= later) & np.isin(entries.want_week, weeks))
        arcs = np.flatnonzero((store.later >= later) & np.isin(store.source, weeks))
        row += [
            first + np.searchsorted(weeks, entries.want_week[entry]),
            first + np.searchsorted(weeks, store.source[arcs]),
        ]
        variable += [entries.column[entry], kept[arcs]]
        value += [entries.share[entry] * ratio[entries.want_week[entry]], -np.ones(len(arcs))]
        first += len(weeks)
    return Rows(
        "keep",
        np.concatenate(row),
        np.concatenate(variable),
        np.concatenate(value),
        np.zeros(first),
        np.full(first, np.inf),
    )


def rounding_rows(weeks: Weeks, other: tuple[IntArray, IntArray, FloatArray]) -> Rows:
    """Return sum(F(share) x n) + (short + kept for it) / (step x f) >= k + 1 where 1 / step = k + f.

    One or more for each uneven week; ``other`` is what may be in the place of sites: week, variable, share.

    F(s) = floor(s / step) + min(1, rest / f), at most k + 1: mixed integer rounding of the want row
    (Nemhauser and Wolsey 1990, from memory). It holds for whole sites and cuts off split ones: a site that
    brings more than a week's want meets it once, not one and a half times.
    """
    first, size = weeks.first, np.diff(weeks.first)
    rough = np.flatnonzero(~weeks.even & (size > 0))
    at = first[rough] + (np.array(STEPS_AT)[:, None] * (size[rough] - 1)).round().astype(np.int64)
    step = np.minimum(weeks.share[at] / np.array(STEPS_BY)[:, None, None], 1.0)
    week = np.broadcast_to(rough, step.shape)
    week, step = np.unique(np.stack([week.ravel(), step.ravel().round(9)]), axis=1)
    k = np.where(step < 1.0, np.floor(1.0 / step + 1e-9), 0.0)
    f = 1.0 / step - k
    good = (step >= 1.0) | ((f > 0.02) & (f < 0.98))
    week, step, k, f = week[good].astype(np.int64), step[good], k[good], f[good]
    row, entry = ranges(first[week], size[week])
    times = weeks.share[entry] / step[row]
    rounded = np.floor(times + 1e-9)
    rounded = np.minimum(rounded + np.clip((times - rounded) / f[row], 0.0, 1.0), k[row] + 1.0)
    turn = np.argsort(other[0], kind="stable")
    begins = np.searchsorted(other[0][turn], np.arange(weeks.count + 1))
    piece_row, piece = ranges(begins[week], np.diff(begins)[week])
    piece = turn[piece]
    return Rows(
        "whole",
        np.concatenate([row, piece_row]),
        np.concatenate([weeks.column[entry], other[1][piece]]),
        np.concatenate([rounded, other[2][piece] / (step * f)[piece_row]]),
        k + 1.0,
        np.full(len(week), np.inf),
    )
