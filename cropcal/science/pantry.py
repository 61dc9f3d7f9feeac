"""What is wanted week by week, fed from what is ready: oldest first, as long as it is good.

Amounts are arrays with one entry a drawing, so that thousands of seasons are eaten through at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Ready:
    """An amount that can be eaten from one week on.

    Parameters
    ----------
    order
        What sorts before it is eaten before it.
    week, last
        The week in which it is ready, and the last in which it is good.
    amount
        How much it is, shape (drawings,).
    grows
        By which factor what is left is heavier in a later week than in that before, by week; none: 1.
    """

    order: tuple[int, str]
    week: int
    last: int
    amount: Array
    grows: dict[int, Array] = field(default_factory=dict)


def demand_met(ready: Sequence[Ready], wanted: Array, draws: int) -> Flags:
    """Return whether what is wanted is there, shape (weeks, drawings).

    Each week takes what it wants, or what there is of it, from what is ready and still good; ``wanted`` has
    shape (weeks,). What was ready before the first week is there in it.
    """
    met = np.ones((len(wanted), draws), dtype=bool)
    begins: dict[int, list[Ready]] = {}
    for lot in ready:
        begins.setdefault(max(lot.week, 0), []).append(lot)
    here: list[tuple[Ready, Array]] = []
    for week, needed in enumerate(wanted):
        here = [(lot, left * lot.grows.get(week, 1.0)) for lot, left in here if lot.last >= week]
        here += [(lot, lot.amount) for lot in begins.get(week, ()) if lot.last >= week]
        if needed <= 0:
            continue
        here.sort(key=lambda row: row[0].order)
        lacks = np.full(draws, float(needed))
        after = []
        for lot, left in here:
            taken = np.minimum(left, lacks)
            lacks = lacks - taken
            after.append((lot, left - taken))
        here = after
        met[week] = lacks <= needed * 1e-9
    return met
