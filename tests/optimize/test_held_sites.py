"""Plants that hold several sites: on no day are more held than there are, whoever makes the plan."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.optimize.assemble import build
from cropcal.optimize.greedy import greedy
from cropcal.optimize.highs import run
from cropcal.optimize.penalties import Weights
from cropcal.optimize.solve import solve
from cropcal.optimize.steady_state import largest_alone
from tests.support.depth import examples
from tests.support.tiny_tasks import columns, fits, task


@st.composite
def spaced_tasks(draw):
    """Return tasks of up to ten columns that hold one to four sites each, in a bed of up to nine sites."""
    rows, held = [], []
    for _ in range(draw(st.integers(2, 10))):
        sown = draw(st.integers(0, 4)) * 7
        nursery = draw(st.sampled_from([-1, 0]))
        planted = sown + 7 if nursery == 0 else sown
        freed = planted + draw(st.integers(8, 25))
        rows.append((0, 0, nursery, sown, planted, freed, 1.0, {min((freed - 1) // 7, 7): 1.0}))
        held.append(draw(st.integers(1, 4)))
    demand = [[draw(st.integers(0, 4)) for _ in range(8)]]
    built = task(rows, demand, [draw(st.integers(1, 9))], [draw(st.integers(0, 6))])
    return replace(built, columns=replace(built.columns, held=np.array(held, dtype=np.int64)))


@settings(max_examples=examples(60))
@given(spaced_tasks())
def test_no_day_holds_more_sites_than_there_are(case):
    """The greedy plan and the searched one fit, day by day."""
    weights = Weights(staleness=0.0)
    found = solve(case, weights=weights, time_limit_s=5.0)
    for n in (greedy(case, weights), found.n):
        assert fits(case, n)
    whole = build(case, weights).all_held(greedy(case, weights))
    assert found.value <= run(whole, relaxed=True).value + 1e-6


@pytest.mark.parametrize("each", [1, 2, 3, 4])
def test_steady_supply_counts_every_held_site(each):
    """Twelve sites, each free again after a week: a plant a site brings 12 a week, one on three sites 4."""
    weekly = columns([(0, 0, -1, 0, 0, 7, 1.0, {0: 1.0})])
    spaced = replace(weekly, held=np.array([each], dtype=np.int64))
    none = np.zeros(0, dtype=np.int64)
    assert largest_alone(spaced, np.array([12]), none, 1) == pytest.approx([12 / each])


def test_the_room_is_chosen_where_there_is_room():
    """Of two ways to the same head, one on two sites for one week, one on one site for four: less is held."""
    rows = [
        (0, 0, -1, 21, 21, 28, 2.0, {3: 1.0}),
        (0, 0, -1, 0, 0, 28, 4.0, {3: 1.0}),
    ]
    built = task(rows, [[0, 0, 0, 2]], [4])
    spaced = replace(built, columns=replace(built.columns, held=np.array([2, 1])))
    assert solve(spaced).n.tolist() == [2, 0]
    tight = replace(spaced, sites=np.array([2]))
    assert solve(tight).n.tolist() == [0, 2]
