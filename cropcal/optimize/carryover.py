"""How much of each week's cut to keep for later weeks, once the cuts are known."""

from dataclasses import replace

import numpy as np

from cropcal.optimize.highs import run
from cropcal.optimize.penalties import Weights, convex, ranges
from cropcal.optimize.programme import (
    FloatArray,
    IntArray,
    Programme,
    Rows,
    Task,
)

TINY = 1e-7
OLDEST_FIRST = 1e-3
"""Weight of keeping one thing twice as long instead of two things once: small, so that among equals the
oldest is eaten first."""


def best_carryover(task: Task, weights: Weights, n: IntArray) -> FloatArray:
    """Return the best amount to keep along each line of ``task.store``, in the unit of its want.

    Want by want a small linear programme: fresh first, then what weighs least. Heads are kept whole.
    """
    store, weeks = task.store, task.demand.shape[1]
    amounts = np.zeros(len(store.source))
    if not len(amounts):
        return amounts
    entries, size = task.entries, task.demand.size
    amount = n[entries.column] * entries.share * task.scale.ravel()[entries.want_week]
    longest = int(store.later.max())
    by_keeping = [
        np.bincount(entries.want_week, amount * (entries.keeps >= later), size)
        for later in range(longest + 1)
    ]
    cut = np.stack(by_keeping).reshape(-1, *task.demand.shape).astype(np.float64)
    for want in np.unique(store.source // weeks).tolist():
        own_lines = np.flatnonzero(store.source // weeks == want)
        asked = task.demand[want]
        if (cut[1:, want] > TINY).any() and np.abs(cut[0, want] - asked).max() > TINY:
            lines = (store.source[own_lines] % weeks, store.target[own_lines] % weeks, store.later[own_lines])
            weight = float(task.weight[want])
            own_weights = replace(weights, short=weight * weights.short, surplus=weight * weights.surplus)
            amounts[own_lines] = _carryover_of_want(
                cut[:, want], asked, task.usual[want], task.piece[want], lines, own_weights
            )
    return amounts


def _carryover_of_want(
    cut: FloatArray,
    asked: FloatArray,
    usual: float,
    piece: float,
    lines: tuple[IntArray, IntArray, IntArray],
    weights: Weights,
) -> FloatArray:
    """Return the amounts of one want to keep; ``cut`` (later, weeks) keeps for at least ``later`` weeks."""
    source, target, later = lines
    size, counts = len(source), asked > 0
    scale = np.where(counts, asked, usual)
    week, width, price = _shortage_pieces(asked, piece, weights)
    short, over = size + np.arange(len(week)), size + len(week) + np.arange(len(asked))
    weeks = np.arange(len(asked))
    balance = Rows(
        "week",
        np.concatenate([target, source, week, weeks]),
        np.concatenate([np.arange(size), np.arange(size), short, over]),
        np.concatenate([np.ones(size), -np.ones(size), np.ones(len(week)), -np.ones(len(weeks))]),
        asked - cut[0],
        asked - cut[0],
    )
    at, line = np.nonzero(later[None, :] >= np.arange(1, len(cut))[:, None])
    limit = Rows(
        "keep",
        at * len(weeks) + source[line],
        line,
        np.ones(len(line)),
        np.full((len(cut) - 1) * len(weeks), -np.inf),
        cut[1:].ravel(),
    )
    keeping = weights.kept * (later + OLDEST_FIRST * later**2)
    cost = np.concatenate([keeping / usual, price, weights.surplus / scale])
    upper = np.concatenate([asked[target], width, np.full(len(weeks), np.inf)])
    answer = run(Programme(cost, np.zeros(len(cost)), upper, 0, (balance, limit), ()), relaxed=True)
    if answer.values is None:
        message = "nothing kept is always possible, but the solver found no way"
        raise RuntimeError(message)
    amounts = answer.values[:size]
    amounts = np.round(amounts / piece) * piece if piece else amounts
    return np.asarray(np.where(amounts > TINY * usual, amounts, 0.0))


def _shortage_pieces(
    asked: FloatArray, piece: float, weights: Weights
) -> tuple[IntArray, FloatArray, FloatArray]:
    """Return the parts of each week's shortage: week, amount, price per unit; in whole pieces if any."""
    counts = np.flatnonzero(asked > 0)
    if piece:
        size = np.round(asked[counts] / piece).astype(np.int64)
        which, number = ranges(np.zeros_like(size), size)
        share = 1.0 / size[which]
        rise = convex((number + 1) * share, weights) - convex(number * share, weights)
        return counts[which], np.full(len(which), piece), weights.short * rise / piece
    width, slope = np.array(weights.segments).T
    week = np.repeat(counts, len(width))
    tiled = np.tile(width, len(counts)) * asked[week]
    return week, tiled, weights.short * np.tile(slope, len(counts)) / asked[week]
