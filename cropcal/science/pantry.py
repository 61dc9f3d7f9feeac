"""Weekly demand met from ready produce: oldest first, as long as it keeps.

Amounts are arrays with one entry a draw, so that thousands of seasons are computed at once.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Ready:
    """A lot of produce that is ready from one week on.

    Parameters
    ----------
    order
        Sort key: lower ones are eaten first.
    week, last
        The week in which it is ready, and the last in which it is good.
    amount
        Amount of the lot, shape (draws,).
    grows
        Factor by which the rest gains weight from the week before, by week; 1 where none is given.
    """

    order: tuple[int, str]
    week: int
    last: int
    amount: Array
    grows: dict[int, Array] = field(default_factory=dict)


def demand_met(ready: Sequence[Ready], wanted: Array, draws: int) -> Flags:
    """Return whether the wanted amount is there, shape (weeks, draws).

    Each week takes the wanted amount, or all there is, from the lots that are ready and still good;
    ``wanted`` has shape (weeks,). Lots that were ready before the first week count in it.
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
