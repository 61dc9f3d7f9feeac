"""The largest steady supply: what a space could bring week after week if every week were the same.

Linear programmes over the columns sown within one cycle. A column that holds its site for more than a cycle
holds several sites at once, one for each cycle it spans. Sites may be split, so the answers are upper bounds.
"""

import numpy as np

from cropcal.optimize.highs import run
from cropcal.optimize.programme import (
    Columns,
    FloatArray,
    IntArray,
    Programme,
    Rows,
)

WHOLE_FIRST = 1000.0
"""Weight of wants with a number against those without in the mix."""

PARTS = ((0.5, 1.6), (0.25, 1.25), (0.25, 1.0))
"""Parts of a want with a number, and the weight of a share in each: as a plan weighs a missing one."""


def largest_alone(
    columns: Columns, sites: IntArray, cells: IntArray, wants: int, cycle_days: int = 7
) -> FloatArray:
    """Return the amount of each want that a cycle could bring if nothing else were grown, shape (wants,)."""
    rows = capacity_limits(columns, sites, cells, cycle_days)
    amount = _supply_per_site(columns)
    best = np.zeros(wants)
    for want in range(wants):
        own = columns.want == want
        if own.any():
            upper = np.where(own, np.inf, 0.0)
            best[want] = -run(_programme(-amount * own, upper, rows), relaxed=True).value
    return best


def largest_mix(
    columns: Columns,
    sites: IntArray,
    cells: IntArray,
    fixed: FloatArray,
    share: FloatArray,
    by_itself: FloatArray,
    cycle_days: int = 7,
) -> FloatArray:
    """Return the amount of each want per cycle if all share the space, shape (wants,).

    Parameters
    ----------
    columns, sites, cells, cycle_days
        As in ``largest_alone``.
    fixed
        Amount wanted a cycle, 0 where a want has no number, shape (wants,). These come first. Where they do
        not all fit, the first part of each counts more than the rest of another, so that shortage is spread;
        one that cannot be met takes nothing from those that can.
    share
        Weight of each want without a number, relative to what it could reach alone, shape (wants,).
    by_itself
        What ``largest_alone`` returned.
    """
    size = columns.count
    capacity = capacity_limits(columns, sites, cells, cycle_days)
    amount = _supply_per_site(columns)
    numbered = fixed > 0
    scale = np.where(numbered, fixed, share * by_itself)
    reachable = np.flatnonzero((scale > 0) & (by_itself > 0))
    if not len(reachable):
        return np.zeros(len(fixed))
    # variables: columns, then the parts met of each numbered want, then the level of the others
    first = np.flatnonzero(numbered[reachable])
    parts = size + np.arange(len(first) * len(PARTS)).reshape(len(first), len(PARTS))
    level = size + parts.size
    others = np.flatnonzero(~numbered[reachable])
    column = np.flatnonzero(np.isin(columns.want, reachable))
    row_of = np.searchsorted(reachable, columns.want[column])
    supply = Rows(
        "supply",
        np.concatenate([row_of, np.repeat(first, len(PARTS)), others]),
        np.concatenate([column, parts.ravel(), np.full(len(others), level)]),
        np.concatenate([amount[column] / scale[columns.want[column]], -np.ones(parts.size + len(others))]),
        np.zeros(len(reachable)),
        np.full(len(reachable), np.inf),
    )
    width, worth = np.array(PARTS).T
    cost = np.concatenate([np.full(size, 1e-9), np.tile(-WHOLE_FIRST * worth, len(first)), [-1.0]])
    upper = np.concatenate(
        [np.full(size, np.inf), np.tile(width, len(first)), [np.inf if len(others) else 0.0]]
    )
    answer = run(_programme(cost, upper, [*capacity, supply]), relaxed=True)
    got = np.zeros(len(fixed))
    if answer.values is not None:
        met = np.full(len(reachable), answer.values[level])
        met[first] = answer.values[parts].sum(axis=1)
        got[reachable] = scale[reachable] * met
    return got


def _programme(cost: FloatArray, upper: FloatArray, rows: list[Rows]) -> Programme:
    return Programme(cost=cost, lower=np.zeros(len(cost)), upper=upper, whole=0, rows=tuple(rows), names=())


def _supply_per_site(columns: Columns) -> FloatArray:
    return np.bincount(columns.supply_column, columns.supply_amount, columns.count).astype(np.float64)


def capacity_limits(columns: Columns, sites: IntArray, cells: IntArray, cycle_days: int) -> list[Rows]:
    """Return the rows that keep sites and cells held on each day of the cycle within capacity."""
    return [
        _held_rows("site", columns.place, columns.planted, columns.freed, sites, cycle_days, columns.held),
        _held_rows(
            "cell",
            columns.nursery,
            columns.sown,
            columns.planted,
            cells,
            cycle_days,
            np.ones_like(columns.held),
        ),
    ]


def _held_rows(
    name: str,
    where: IntArray,
    start: IntArray,
    end: IntArray,
    capacity: IntArray,
    cycle_days: int,
    each: IntArray,
) -> Rows:
    """Return sum(each x times held on that day of the cycle x n) <= capacity, one row a place and day."""
    used = np.flatnonzero(where >= 0)
    day = np.arange(cycle_days)
    # how many days of the span [start, end) fall on each day of the cycle
    times = (end[used, None] - 1 - day) // cycle_days - (start[used, None] - 1 - day) // cycle_days
    column, at = np.nonzero(times)
    return Rows(
        name,
        where[used[column]] * cycle_days + at,
        used[column],
        (times[column, at] * each[used[column]]).astype(np.float64),
        np.full(len(capacity) * cycle_days, -np.inf),
        np.repeat(capacity, cycle_days).astype(np.float64),
    )
