"""Every way to grow a site, enumerated again by plain loops over days."""

from dataclasses import replace
from datetime import date, timedelta
from math import ceil

import numpy as np
import pytest
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.candidates.columns import (
    NO_DAY,
    Option,
    candidate_columns,
    programme_columns,
)
from cropcal.planning.candidates.work_calendar import work_calendar
from cropcal.planning.growth.crop_growth import grow
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.space import Settings

SPOT = GrowingConditions(
    bed="b", dli_mol_m2_d=13.0, sd_ln_light=0.2, photoperiod_h=16.0, air_c=21.0, air_moving=True,
    co2_enriched=False, site_area_m2=0.03,
)  # fmt: skip


def offer(tables, slug, with_nursery):
    nursery = replace(SPOT, bed="n", site_area_m2=0.002) if with_nursery else None
    grown = grow(tables.crops[slug], tables, SPOT, nursery)
    return Option(0, 0, 0 if with_nursery else -1, grown, 0.5, 0.125)


def by_loops(one, time, clean_days):
    """Return {(sown, planted, cuts, freed)} by trying every day of the plan for everything."""
    grown, crop = one.grown, one.grown.crop
    work, harvest = set(time.work_days.tolist()), set(time.harvest_days.tolist())
    found = set()
    weekdays = sorted({day % 7 for day in harvest})
    patterns = [harvest]
    if len(weekdays) <= 3:
        patterns = [
            {day for day in harvest if weekdays.index(day % 7) in chosen}
            for chosen in ({0}, {1}, {2}, {0, 1}, {0, 2}, {1, 2}, {0, 1, 2})
            if max(chosen) < len(weekdays)
        ]
    for sown in sorted(work):
        if grown.nursery is None:
            planted_days = [sown]
        else:
            ages = range(crop.nursery_d, crop.nursery_d + crop.nursery_hold_d + 1)
            planted_days = [sown + age for age in ages if sown + age in work]
            planted_days = planted_days[:2] if len(planted_days) > 5 else planted_days
        for planted in planted_days:
            age = 0 if grown.nursery is None else planted - sown - crop.nursery_d
            ready = sown + ceil(grown.ready_d[1, age])
            early = max(6 - crop.window_d, 0) if crop.kind in ("bunch", "tray") else 0
            for cut in range(ready - early, ready + crop.window_d + 1):
                if cut in harvest:
                    found.add((sown, planted, (cut,), cut + clean_days))
            for some in patterns:
                days, due = [], ready
                for number in range(crop.cuts_max):
                    in_time = range(due, due + crop.window_d + 1)
                    in_advance = range(due - 1, due - early - 1, -1)
                    day = next((d for d in (*in_time, *in_advance) if d in some), None)
                    if day is None:
                        break
                    days.append(day)
                    if number:
                        found.add((sown, planted, tuple(days), day + clean_days))
                    if number < crop.cuts_max - 1:
                        due = day + ceil(grown.cut_gaps_d[age, number])
    return found


@settings(max_examples=examples(25))
@given(
    st.sampled_from(["lettuce-looseleaf", "basil", "parsley", "spinach-baby", "pea-shoots", "radish"]),
    st.booleans(),
    st.sets(st.sampled_from(["mon", "tue", "thu", "sat", "sun"]), min_size=1, max_size=5),
    st.integers(0, 5),
    st.integers(0, 20),
)
def test_every_way_is_found_and_no_other(tables, slug, with_nursery, weekdays, clean_days, break_week):
    """Vectorised and by loops: the same sowings, transplants, cuts and clearings."""
    crop = tables.crops[slug]
    away = date(2027, 1, 4) + timedelta(days=7 * break_week + 2)
    time = work_calendar(
        Settings(
            start=date(2027, 1, 4),
            weeks=22,
            work_days=tuple(sorted(weekdays)),
            breaks=((away, away + timedelta(days=8)),),
        )
    )
    one = offer(tables, slug, with_nursery and crop.nursery_d > 0)
    found = candidate_columns((one,), time, clean_days)
    got = {
        (int(s), int(p), tuple(int(day) for day in cuts if day != NO_DAY), int(f))
        for s, p, cuts, f in zip(found.sown, found.planted, found.cuts, found.freed, strict=True)
    }
    assert len(got) == found.count
    assert got == by_loops(one, time, clean_days)


def test_a_cost_is_that_of_its_days(tables):
    """Days on the site times what a day there costs, and days in the nursery likewise."""
    time = work_calendar(Settings(start=date(2027, 1, 4), weeks=20, work_days=("mon",)))
    found = candidate_columns((offer(tables, "lettuce-looseleaf", True),), time, 1)
    made = programme_columns(found)
    assert made.cost == pytest.approx(
        (found.freed - found.planted) * 0.5 + (found.planted - found.sown) * 0.125
    )
    assert np.all(made.supply_week == found.cuts[:, 0] // 7)


def test_leaves_left_standing_are_not_counted(tables):
    """Of a cut that is to grow again a share stays; the last cut takes all."""
    time = work_calendar(Settings(start=date(2027, 1, 4), weeks=26, work_days=("mon", "thu")))
    one = offer(tables, "basil", True)
    found = candidate_columns((one,), time, 0)
    twice = (found.cuts != NO_DAY).sum(axis=1) == 2
    assert twice.any()
    share = 1 - tables.crops["basil"].cut_leaves_share
    for row in np.flatnonzero(twice):
        after = found.cuts[row, 0] - found.sown[row]
        whole = one.grown.amount[found.age[row], after]
        assert found.amounts[row, 0] == np.round(whole * share, 1)


def test_no_offer_no_way():
    """Nothing that may grow gives no columns, and no error."""
    time = work_calendar(Settings(start=date(2027, 1, 4), weeks=4, work_days=("mon",)))
    assert programme_columns(candidate_columns((), time, 1)).count == 0
