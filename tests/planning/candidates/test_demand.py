"""Which weeks of a want count, by cases one can follow."""

from datetime import date

import numpy as np

from cropcal.optimize.programme import Columns
from cropcal.planning.candidates.demand import TOO_SHORT, demand
from cropcal.planning.candidates.service_weeks import ServiceWeeks
from cropcal.planning.candidates.work_calendar import worktime
from cropcal.planning.planner import plan
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
    return demand(ServiceWeeks(wants, tables.crops, time), numbers, candidates, growable)


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
    """In three weeks nothing can be ready, and the days that it takes are named; in twenty none are."""
    short, long = (plan(read_text(SHELF.format(weeks=weeks)), tables) for weeks in (3, 20))
    told = "to the first cut here, more than a plan of 3 weeks has room for; the soonest would be in the week"
    firsts = [result.outcome.steady[0].first_week for result in (short, long)]
    assert firsts[0] == firsts[1] > date(2027, 1, 25)
    assert [told in line for line in short.warnings].count(True) == 1
    assert not any("from sowing to the first cut" in line for line in long.warnings)
    assert not any(row.counted for row in short.supply)


PORCH = """
[[zone]]
name = "porch"
length_m = 1.5
width_m = 0.6
photoperiod_h = 16
air_c = 20
[[bed]]
name = "gutter"
zone = "porch"
sites = 16
[[bed]]
name = "drawer"
zone = "porch"
kind = "nursery"
sites = 20
[[fixture]]
zone = "porch"
watts = 150
ppf_umol_s = 330
[plan]
start = 2027-01-04
weeks = 20
work_days = ["tue", "fri"]
"""


def test_idle_sites_grow_quick_crops_until_the_first_heads(read_text, tables):
    """Radish, as much as fits: more before the first lettuce than beside it, and no lettuce less for it."""
    lettuce = '[[want]]\ncrops = ["lettuce-butterhead"]\nper_week = 2\n'
    both, alone = (
        plan(read_text(PORCH + lettuce + more), tables) for more in ('[[want]]\ncrops = ["radish"]\n', "")
    )
    first_head, first_root = (both.outcome.steady[want].first_week for want in (0, 1))
    assert first_root < first_head
    radish = {row.week: row.ready for row in both.supply if row.want == 1}
    early = [grams for week, grams in radish.items() if first_root <= week < first_head]
    late = [grams for week, grams in radish.items() if week >= first_head]
    assert min(early) > 1.5 * max(late)
    heads = [[row.ready for row in result.supply if row.want == 0] for result in (both, alone)]
    assert heads[0] == heads[1]


def test_as_much_as_fits_keeps_its_shares(read_text, tables):
    """Two lettuces that grow alike, two shares against one: about twice as many heads, in every month."""
    wants = '[[want]]\ncrops = ["{}"]\nshare = {}\n'
    text = PORCH + wants.format("lettuce-looseleaf", 2) + wants.format("lettuce-romaine", 1)
    result = plan(read_text(text), tables)
    one, other = result.outcome.steady
    relative = (one.in_mix_per_week / one.alone_per_week) / (other.in_mix_per_week / other.alone_per_week)
    assert abs(relative - 2) < 0.05
    got = [sum(row.ready for row in result.supply if row.want == want and row.counted) for want in (0, 1)]
    weeks = [sum(row.counted for row in result.supply if row.want == want) for want in (0, 1)]
    rate = [total / many for total, many in zip(got, weeks, strict=True)]
    assert 1.6 < (rate[0] / one.alone_per_week) / (rate[1] / other.alone_per_week) < 2.4
    assert not any(row.short for row in result.supply)
