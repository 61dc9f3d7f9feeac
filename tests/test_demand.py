"""Which weeks of a want count, by cases one can follow."""

from datetime import date

import numpy as np

from cropcal.planning.demand import TOO_SHORT, demand
from cropcal.planning.planner import plan
from cropcal.planning.programme import Columns
from cropcal.planning.serving import Serving
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


def looked_at(wants, time, tables, candidates=NOTHING, growable=frozenset()):
    """Return what counts of wants with a number."""
    numbers = np.array([want.per_week or want.amount for want in wants], dtype=float)
    return demand(Serving(wants, tables.crops, time), numbers, candidates, growable)


def test_what_grows_too_slowly_for_the_plan_is_not_called_short(tables):
    """Lettuce could grow here, but a plan of four weeks ends first: no week counts."""
    got = looked_at(LETTUCE, FOUR_WEEKS, tables, growable=frozenset({0}))
    assert set(got.why[0]) == {TOO_SHORT}


def test_what_cannot_grow_at_all_is_short(tables):
    """Nothing here brings it, at any time: every week counts."""
    got = looked_at(LETTUCE, FOUR_WEEKS, tables)
    assert set(got.why[0]) == {""}


SHELF = """
[[zone]]
name = "shelf"
length_m = 1.0
width_m = 0.5
photoperiod_h = 16
air_c = 21
[[bed]]
name = "pots"
zone = "shelf"
sites = 8
[[fixture]]
zone = "shelf"
watts = 100
ppf_umol_s = 230
[plan]
start = 2027-01-04
weeks = {weeks}
[[want]]
crops = ["lettuce-butterhead"]
per_week = 1
"""


def test_a_plan_that_is_too_short_says_how_long_the_crop_takes(read_text, tables):
    """In three weeks nothing can be ready, and the days that it takes are told; in twenty none are."""
    short, long = (plan(read_text(SHELF.format(weeks=weeks)), tables) for weeks in (3, 20))
    told = "to the first cut here, more than a plan of 3 weeks has room for; the soonest would be in the week"
    firsts = [result.outcome.steady[0].first_week for result in (short, long)]
    assert firsts[0] == firsts[1] > date(2027, 1, 25)
    assert [told in line for line in short.warnings].count(True) == 1
    assert not any("from sowing to the first cut" in line for line in long.warnings)
    assert not any(row.counted for row in short.supply)
