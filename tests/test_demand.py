"""Which weeks of a want count, by cases one can follow."""

from datetime import date

import numpy as np

from cropcal.planning.demand import TOO_SHORT, demand
from cropcal.planning.programme import Columns
from cropcal.planning.worktime import worktime
from cropcal.records.space import Settings, Want

NONE = np.array([], dtype=np.int64)
NOTHING = Columns(
    want=NONE,
    place=NONE,
    nursery=NONE,
    sown=NONE,
    planted=NONE,
    freed=NONE,
    cost=np.array([]),
    staleness=np.array([]),
    supply_column=NONE,
    supply_week=NONE,
    supply_amount=np.array([]),
)
LETTUCE = (Want(crops=("lettuce-butterhead",), per_week=3, unit="heads"),)
FOUR_WEEKS = worktime(Settings(start=date(2027, 1, 4), weeks=4))


def test_what_grows_too_slowly_for_the_plan_is_not_called_short():
    """Lettuce could grow here, but a plan of four weeks ends first: no week counts."""
    got = demand(LETTUCE, np.array([3.0]), FOUR_WEEKS, NOTHING, growable=frozenset({0}))
    assert set(got.why[0]) == {TOO_SHORT}


def test_what_cannot_grow_at_all_is_short():
    """Nothing here brings it, at any time: every week counts."""
    got = demand(LETTUCE, np.array([3.0]), FOUR_WEEKS, NOTHING)
    assert set(got.why[0]) == {""}
