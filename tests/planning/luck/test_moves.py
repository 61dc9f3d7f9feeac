"""Moves of the search: what they give exists, nothing is taken that is not there, and all can be undone."""

import pytest
import season_makers
import small_space
from depth import examples
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.luck.moves import SHIFTS, WHOLE_SHIFTS, Move, Moves
from cropcal.planning.luck.sowings import cells_of, changed

TEXT = small_space.text(weeks=16, more=season_makers.SHOOTS + season_makers.BASIL).replace("1.1", "1.6", 1)
KINDS = {"more", "two more", "less", "none", "another day", "another crop", "cut otherwise"}


@pytest.fixture(scope="module")
def slots(tables):
    """Return the slots of a space with three wants, one of two crops, one that is cut again."""
    return season_makers.maker(TEXT, tables).slots


@st.composite
def drawn(draw, slots):
    """Return sowings, moves of them, and the days between which they are drawn."""
    every = season_makers.all_slots(slots)
    sown = draw(st.dictionaries(st.sampled_from(every), st.integers(1, 4), max_size=6))
    first = draw(st.integers(0, max(slot.day for slot in every)))
    last = first + draw(st.integers(0, 60))
    moves = Moves(slots, draw(st.integers(1, 10**6)))
    return sown, moves.draw(sown, draw(st.integers(1, 60)), first, last), (first, last)


@settings(max_examples=examples(200))
@given(data=st.data())
def test_every_move_leaves_sowings_that_are_possible(slots, data):
    """No count below one, only slots that exist, nothing given before the days nor taken outside them."""
    every = set(season_makers.all_slots(slots))
    sown, moves, (first, last) = data.draw(drawn(slots))
    assert len(set(moves)) == len(moves)
    for move in moves:
        after = move.applied(sown)
        assert after is not None, "what is drawn can be done"
        assert set(after) <= every
        assert all(cells >= 1 for cells in after.values())
        assert move.taken is None or first <= move.taken.day <= last
        assert move.given is None or move.given.day >= first
        assert move.given is None or move.taken is not None or move.given.day <= last
        same = {slot: cells for slot, cells in sown.items() if slot.day < first}
        assert {slot: cells for slot, cells in after.items() if slot.day < first} == same


@settings(max_examples=examples(200))
@given(data=st.data())
def test_a_move_and_its_opposite_give_the_same_sowings(slots, data):
    """Given back what was taken, and as much; a change of some cells is as large as it says."""
    sown, moves, _ = data.draw(drawn(slots))
    before = dict(sown)
    for move in moves:
        after = move.applied(sown)
        cells = move.cells or sown[move.taken]
        assert Move("back", move.given, move.taken, cells).applied(after) == sown
        gained = cells * ((move.given is not None) - (move.taken is not None))
        assert cells_of(after) - cells_of(sown) == gained
        assert changed(sown, after) == cells * ((move.given is not None) + (move.taken is not None))
    assert sown == before, "the sowings given are left as they were"


@settings(max_examples=examples(100))
@given(data=st.data())
def test_each_kind_of_move_does_what_its_name_says(slots, data):
    """Days by so many work days, crops of the same want or another on the same day, cuts by one."""
    _, moves, _ = data.draw(drawn(slots))
    for move in moves:
        if move.kind == "another day":
            days = slots.days[move.taken.option]
            by = days.index(move.given.day) - days.index(move.taken.day)
            assert by in (SHIFTS if move.cells else WHOLE_SHIFTS)
            assert move.given.option == move.taken.option
        elif move.kind == "another crop":
            assert (move.given.day, move.given.option != move.taken.option) == (move.taken.day, True)
        elif move.kind == "cut otherwise":
            assert move.taken[:2] == move.given[:2]
            assert abs(move.taken.cuts - move.given.cuts) == 1


def test_all_kinds_of_moves_are_drawn(slots):
    """And each slot can be sown in from nothing."""
    sown = dict.fromkeys(season_makers.all_slots(slots)[::7], 2)
    moves = Moves(slots, 3)
    seen = [move for _ in range(30) for move in moves.draw(sown, 200, 0, 200)]
    assert {move.kind for move in seen} == KINDS
    given = {move.given for _ in range(30) for move in moves.draw({}, 200, 0, 200)}
    assert given == set(season_makers.all_slots(slots))


def test_what_is_not_there_cannot_be_taken(slots):
    first, second, *_ = season_makers.all_slots(slots)
    assert Move("less", first, None).applied({second: 3}) is None
    assert Move("two", first, second, 2).applied({first: 1}) is None
    assert Move("all", first, second, 0).applied({first: 3, second: 1}) == {second: 4}
