"""The rows that say what each week gets of what is wanted, and what whole sites imply for them."""

import numpy as np

from cropcal.planning.parts import Parts
from cropcal.planning.programme import IntArray, Rows
from cropcal.planning.shortage import Level, Weeks, ranges, steps

STEPS_AT, STEPS_BY = (0.0, 0.5, 1.0), (1.0, 2.0, 3.0)
"""Rounding steps of ``whole``: smallest, middle and largest share of a week, whole, halved and by three."""


def want(parts: Parts) -> tuple[Rows, Rows]:
    """Return sum(share x n) + short - over = top, one row for each want-week that counts, and ``whole`` rows.

    ``top`` is 1. Where every way brings the same share a site, it is what the sites that meet the week bring,
    and each piece of ``short`` is one site wide: plans cost the same, half sites cost more (``steps``).
    """
    entries = parts.task.entries
    wanted = np.flatnonzero(parts.task.demand.ravel() > 0)
    size = len(wanted)
    use = np.flatnonzero(entries.counted)
    row = np.searchsorted(wanted, entries.want_week[use])
    order = np.lexsort((entries.share[use], row))
    weeks = Weeks(size, row[order], entries.column[use][order], entries.share[use][order])
    level = steps(weeks, parts.weights)
    parts.constant += float(level.base.sum())
    short = parts.add("short", level.price, 0.0, level.width)
    over = parts.add("over", np.full(size, parts.weights.surplus), 0.0, np.inf)
    each = np.arange(size)
    exact = Rows(
        "want",
        np.concatenate([weeks.row, level.row, each]),
        np.concatenate([weeks.column, short, over]),
        np.concatenate([weeks.share, np.ones(len(short)), -np.ones(size)]),
        level.top,
        level.top,
    )
    return exact, whole(weeks, level, short)


def whole(weeks: Weeks, level: Level, short: IntArray) -> Rows:
    """Return sum(F(share) x n) + short / (step x f) >= k + 1 where 1 / step = k + f, for uneven weeks.

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
    begins = np.searchsorted(level.row, np.arange(weeks.count + 1))
    piece_row, piece = ranges(begins[week], np.diff(begins)[week])
    return Rows(
        "whole",
        np.concatenate([row, piece_row]),
        np.concatenate([weeks.column[entry], short[piece]]),
        np.concatenate([rounded, 1.0 / (step * f)[piece_row]]),
        k + 1.0,
        np.full(len(week), np.inf),
    )
