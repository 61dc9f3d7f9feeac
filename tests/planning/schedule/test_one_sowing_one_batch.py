"""Sowings of a crop on one day for one want in one bed are one batch, over lighter and darker sites too."""

import numpy as np
import pytest
import season_makers
import small_space

from cropcal.planning.luck.world import planned_sowings
from cropcal.planning.schedule.batches import Earlier, batches
from cropcal.planning.schedule.spares import with_cells

TWO_LIGHTS = small_space.text(weeks=10, umol="320, 320, 320, 200, 200, 200", sites=6)


@pytest.fixture(scope="module")
def made(tables):
    """Return what makes plans of a bed that is lighter on one side."""
    return season_makers.maker(TWO_LIGHTS, tables)


def alike(made):
    """Return two columns with the same days of sowing and planting, in two light classes of one bed."""
    its = made.slots.candidates
    first = 0
    for other in range(its.count):
        same = its.sown[other] == its.sown[first] and its.planted[other] == its.planted[first]
        if same and its.option[other] != its.option[first]:
            return first, other
    pytest.fail("the bed has only one light class")
    return None


def chosen(made, **columns):
    n = np.zeros(made.slots.candidates.count, dtype=np.int64)
    for at, count in columns.items():
        n[int(at[1:])] = count
    return n


def test_light_alone_does_not_part_a_batch(made):
    """One id and all sites; ready from the first day of the lighter side to the last of the darker one."""
    first, other = alike(made)
    its, land, time = made.slots.candidates, made.builder.assessment.land, made.builder.time
    n = chosen(made, **{f"c{first}": 2, f"c{other}": 1})
    (batch,), holds = batches(its, n, land.places, time)
    assert (batch.sites, batch.cells, sum(cut.sites for cut in batch.harvests)) == (3, 3, 3)
    assert {hold.batch for hold in holds} == {batch.id}
    assert len({hold.place for hold in holds}) == 2
    alone = [batches(its, chosen(made, **{f"c{at}": 1}), land.places, time)[0][0] for at in (first, other)]
    assert batch.ready_from_low_80 == min(one.ready_from_low_80 for one in alone)
    assert batch.ready_from_high_80 == max(one.ready_from_high_80 for one in alone)
    assert batch.amount == pytest.approx(2 * alone[0].amount + alone[1].amount)
    assert batch.seeds == 2 * alone[0].seeds + alone[1].seeds


def test_another_day_of_planting_parts_it(made):
    """Batches that part later are two from the start, for they are moved on two days."""
    its, land, time = made.slots.candidates, made.builder.assessment.land, made.builder.time
    other = next(
        at
        for at in range(its.count)
        if its.sown[at] == its.sown[0]
        and its.planted[at] != its.planted[0]
        and its.option[at] == its.option[0]
    )
    made_of, _ = batches(its, chosen(made, c0=1, **{f"c{other}": 1}), land.places, time)
    assert len(made_of) == 2


def test_a_plan_that_had_two_batches_keeps_the_first_id(made):
    """Ids of older plans go on: that of the first part, and the other id is given to nothing else."""
    first, other = alike(made)
    its, land, time = made.slots.candidates, made.builder.assessment.land, made.builder.time
    n = chosen(made, **{f"c{first}": 2, f"c{other}": 1})
    day = int(its.sown[first]), int(its.planted[first])
    ids = {(int(its.option[first]), *day): "0907c", (int(its.option[other]), *day): "0907d"}
    earlier = Earlier(ids, frozenset({"0907c", "0907d"}), {})
    assert [batch.id for batch in batches(its, n, land.places, time, earlier)[0]] == ["0907c"]
    darker = Earlier({(int(its.option[other]), *day): "0907d"}, frozenset({"0907d"}), {})
    assert [batch.id for batch in batches(its, n, land.places, time, darker)[0]] == ["0907d"]


def test_no_spare_cell_is_lost_in_the_drawn_seasons(made):
    """A batch over two light classes has all its cells in the seasons by which a plan is judged."""
    first, other = alike(made)
    its, land, time = made.slots.candidates, made.builder.assessment.land, made.builder.time
    n = chosen(made, **{f"c{first}": 2, f"c{other}": 1})
    fresh, holds = batches(its, n, land.places, time)
    key = (fresh[0].want, fresh[0].crop, int(its.sown[first]))
    (batch,) = with_cells(fresh, {key: 4}, time.start)
    sowings, names = planned_sowings(its, n, holds, {batch.id: batch}, made._world)
    assert batch.cells == sum(len(sowing.cuts) for sowing in sowings) == 4
    assert set(names) == {batch.id}
