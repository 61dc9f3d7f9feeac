"""What is advised for a week that is not sure: it holds in seasons that no part of the advice has seen."""

import numpy as np
import pytest
import season_makers
import small_space

from cropcal.planning.luck.sow_more import LEAST_GAIN, UNSURE, MoreCells

OWN_SEED, OWN = 991, 400
NOISE = 0.08
"""What two sets of some hundred seasons differ by in a chance, three standard deviations of it."""


def advice(making, sown, stages=(60, 300)):
    """Return the advice on some sowings, and a function to the chance of a want and week in own seasons."""
    counted = making.builder.to_come
    own = making._stage(OWN, OWN_SEED)

    def chances(chosen):
        seasons = own.run(making.slots.season_sowings([chosen]))
        return (seasons.short(counted) == 0).mean(axis=2)

    more = MoreCells(
        slots=making.slots,
        wants=making.builder.space.wants,
        counted=counted,
        chance=np.where(counted > 0, chances(sown), np.nan),
        search=making._stage(stages[0], 3),
        fresh=making._stage(stages[1], 4),
        today=0,
    )
    return more.advised(sown), chances


@pytest.fixture(scope="module")
def roomy(tables):
    """Return a maker of plans for a space with more room than is wanted."""
    return season_makers.maker(small_space.text(weeks=12, sites=12, per_week=1), tables)


def test_the_advice_makes_the_week_as_sure_as_it_says(roomy):
    """Where too little is sown: more cells on the day named, and the chance rises to what was told."""
    thin = {slot: cells for at, (slot, cells) in enumerate(sorted(roomy.middle.items())) if at % 2}
    rows, chances = advice(roomy, thin)
    assert rows
    for row in rows:
        day = (row.on - roomy.builder.space.settings.start).days
        week = (row.week - roomy.builder.time.date_of(0)).days // 7
        slot = next(
            slot
            for option, days in roomy.slots.days.items()
            if day in days
            for slot in [roomy.slots.slot(option, day, roomy.slots.most_cuts[option, day])]
        )
        fuller = {**thin, slot: thin.get(slot, 0) + row.cells}
        before, after = chances(thin)[row.want, week], chances(fuller)[row.want, week]
        assert before == pytest.approx(row.chance_before, abs=NOISE)
        assert after == pytest.approx(row.chance_after, abs=NOISE)
        assert row.chance_before < UNSURE <= row.chance_after
        assert row.chance_after - row.chance_before >= LEAST_GAIN - 0.01


def test_sure_weeks_get_no_advice(roomy):
    """Where each week is met in most seasons there is nothing to add."""
    ample = {slot: 4 * cells for slot, cells in roomy.middle.items()}
    rows, chances = advice(roomy, ample)
    counted = roomy.builder.to_come
    if (chances(ample)[counted > 0] >= UNSURE).all():
        assert rows == ()
    else:
        assert all(row.chance_before < UNSURE for row in rows)


def test_a_full_space_gets_none(tables):
    """One site for three heads a week: whatever is sown more finds no site."""
    full = season_makers.maker(small_space.text(weeks=12, sites=1, per_week=3), tables)
    rows, _ = advice(full, full.middle)
    assert rows == ()
