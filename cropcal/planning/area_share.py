"""How many sites a want takes up all the time: what is begun a week, times the weeks that it stands."""

import numpy as np

from cropcal.optimize.programme import IntArray
from cropcal.planning.candidates.prepare import Prepared
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.records.outlook import Occupied


def occupied(ready: Prepared, n: IntArray) -> tuple[Occupied, ...]:
    """Return what each want with a weekly number takes up, at what a site brings and stands in a plan.

    Sites held = sites begun a day x days on the site (Little 1961, Operations Research 9:383-387, from
    memory), which holds for every stretch that begins and ends alike. Clean days count. A want of which
    nothing is grown is left out.
    """
    columns = ready.task.columns
    brings = np.bincount(columns.supply_column, columns.supply_amount, columns.count)
    found = []
    for index, want in enumerate(ready.space.wants):
        mine = np.flatnonzero((columns.want == index) & (n > 0))
        if want.per_week is None or not len(mine):
            continue
        sites = int(n[mine].sum())
        per_site = float(n[mine] @ brings[mine]) / sites
        days = float(n[mine] @ (columns.freed - columns.planted)[mine]) / sites
        found.append(
            Occupied(
                want=index,
                label=want.label,
                per_week=want.per_week,
                per_site=per_site,
                unit=want.counted_in,
                days=days,
                sites=want.per_week / per_site * days / DAYS_PER_WEEK,
            )
        )
    return tuple(found)
