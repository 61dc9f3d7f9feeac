"""Sowings as batches on sites: nothing is lost on the way, and the plan brings what its sowings bring."""

from collections import Counter
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import season_makers
import small_space

from cropcal.planning.luck.placing import placed
from cropcal.planning.luck.sowings import cells_of, in_order
from cropcal.seasons.simulate import LATE_SOWING_D

SPACES = Path(__file__).resolve().parents[2] / "spaces" / "luck"
MIXED = small_space.text(weeks=14, more=season_makers.SHOOTS + season_makers.BASIL).replace("1.1", "1.6", 1)
TEXTS = {"lettuce": small_space.text(weeks=14, sites=6), "mixed": MIXED}
DEEP = {file.stem: file.read_text(encoding="utf-8") for file in sorted(SPACES.glob("*.toml"))}
LUCK, FRESH = 200, 20
NEAR, NEAR_SHARE = 0.3, 0.1
"""What a placed plan may be worse or better than its sowings: want-weeks, and a part of what is short."""
each_space = pytest.mark.parametrize(
    "text",
    [
        pytest.param(TEXTS["mixed"], id="mixed"),
        pytest.param(TEXTS["lettuce"], id="lettuce", marks=pytest.mark.deep),
        *(pytest.param(text, id=f"large {name}", marks=pytest.mark.deep) for name, text in DEEP.items()),
    ],
)


@dataclass(frozen=True, eq=False)
class OnSites:
    """Sowings that were searched for, the columns that they take, and the plan of them."""

    made: object
    sown: dict
    n: np.ndarray
    realised: object

    def could_stand(self, want, crop):
        """Return whether a cell of a sowing in place that has no site would fit anywhere beside the plan."""
        columns, its = self.made.task.columns, self.made.slots.candidates
        used = np.zeros((len(self.made.task.sites), int(columns.freed.max())), dtype=int)
        for at in np.flatnonzero(self.n):
            used[columns.place[at], columns.planted[at] : columns.freed[at]] += self.n[at] * columns.held[at]
        room = self.made.task.sites[:, None] - used
        assert (room >= 0).all()
        mine = np.array([(it.want, it.grown.crop.slug) == (want, crop) for it in its.options])[its.option]
        left = np.where(mine, self.n, 0)
        for slot, cells in in_order(self.sown):
            own = mine & (its.sown >= slot.day) & (its.sown <= slot.day + LATE_SOWING_D)
            own &= self.made.slots.cuts == slot.cuts
            if (its.options[slot.option].want, its.options[slot.option].grown.crop.slug) != (want, crop):
                continue
            for at in np.flatnonzero(own & (left > 0)):
                taken = min(left[at], cells)
                left[at], cells = left[at] - taken, cells - taken
            for at in np.flatnonzero(own) if cells else ():
                free = room[columns.place[at], columns.planted[at] : columns.freed[at]]
                if (free >= columns.held[at]).all():
                    return True
        return False


@pytest.fixture(scope="module")
def on_sites(tables):
    """Return a function from a text to its sowings, searched for with few seasons, and the plan of them."""

    @cache
    def of(text):
        made = season_makers.maker(text, tables)
        search = season_makers.search(season_makers.scorer(made, (8, 16)))
        sown = search.improved(made.middle, 2).sown
        its = placed(sown, made.slots, made._world, made.task)
        return OnSites(made, sown, its.n, made.builder.realise(its.n, its.cells))

    return of


@each_space
def test_all_cells_that_are_sown_stand_in_the_batches(text, on_sites):
    """Of each want and crop as many as were chosen; those raised in a nursery on the chosen days.

    Of what is sown in place, some may find no room if everything comes as forecast.
    """
    its = on_sites(text)
    options = its.made.slots.candidates.options
    chosen, planned, late = Counter(), Counter(), []
    for slot, cells in its.sown.items():
        chosen[options[slot.option].want, options[slot.option].grown.crop.slug] += cells
    days = {(options[slot.option].want, options[slot.option].grown.crop.slug, slot.day) for slot in its.sown}
    for batch in its.realised.batches:
        planned[batch.want, batch.crop] += batch.cells or batch.sites
        day = its.made.builder.time.day_of(batch.sow_on)
        if batch.nursery and (batch.want, batch.crop, day) not in days:
            late.append(batch)
    assert not late
    raised = {(batch.want, batch.crop) for batch in its.realised.batches if batch.nursery}
    for want, crop in chosen:
        if (want, crop) in raised or its.could_stand(want, crop):
            assert planned[want, crop] == chosen[want, crop]
    assert not planned - chosen
    assert sum(chosen.values()) == cells_of(its.sown)


@each_space
def test_no_site_is_held_twice(text, on_sites):
    """Day by day, also while it is cleaned; and no more cells of a nursery than it has."""
    its = on_sites(text)
    held = Counter(
        (use.bed, use.site, use.held_from + timedelta(days=day))
        for use in its.realised.sites
        for day in range((use.held_until - use.held_from).days)
    )
    assert held
    assert max(held.values()) == 1
    assert {name for name, _, _ in held} <= {bed.name for bed in its.made.builder.space.beds}


@each_space
def test_the_plan_brings_what_its_sowings_bring(text, on_sites):
    """Expected short want-weeks of both in as many seasons drawn afresh."""
    its = on_sites(text)
    builder = its.made.builder
    stage = builder.model.stage((), {}, LUCK, FRESH)
    bare = stage.run(its.made.slots.season_sowings([its.sown]))
    plan = builder.drawn(its.realised, LUCK, FRESH).seasons
    short, of_plan = (one.short(builder.to_come).sum(axis=(0, 1)).mean() for one in (bare, plan))
    assert of_plan == pytest.approx(short, abs=NEAR + NEAR_SHARE * short)
    without = stage.run([]).short(builder.to_come).sum(axis=(0, 1)).mean()
    assert short < 0.8 * without, "the sowings bring something"


def test_what_never_finds_a_site_is_joined_to_the_nearest_sowing_of_its_crop(tables):
    """Ten cells on each of three days for two sites: the plan sows all thirty, as the seasons did."""
    made = season_makers.maker(small_space.text(weeks=14, sites=2), tables)
    (option,) = made.slots.days
    sown = {made.slots.slot(option, day, 1): 10 for day in made.slots.days[option][:3]}
    its = placed(sown, made.slots, made._world, made.task)
    batches = made.builder.realise(its.n, its.cells).batches
    assert sum(batch.cells for batch in batches) == cells_of(sown)


def test_nothing_sown_is_placed_as_nothing(tables):
    made = season_makers.maker(small_space.text(weeks=14), tables)
    its = placed({}, made.slots, made._world, made.task)
    assert not its.n.any()
    assert not its.cells
    realised = made.builder.realise(its.n, its.cells)
    assert realised.batches == ()
    assert np.array_equal(realised.ready, np.zeros_like(realised.ready))
