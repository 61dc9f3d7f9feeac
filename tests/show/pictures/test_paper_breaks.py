"""Where paper breaks: nothing lost, no heading alone, no column overfull, no block torn without need."""

from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.show.pictures.paper_breaks import HAIR_IN, LEAST_TOGETHER, MOST_BLANK, PaperBlock, columns
from tests.support.depth import examples

COLUMN_IN = 10.0
BLOCK = st.builds(
    PaperBlock,
    heading_in=st.floats(0.2, 0.8),
    items_in=st.lists(st.floats(0.1, 2.0), max_size=12).map(tuple),
    again_in=st.floats(0.2, 0.8),
    gap_in=st.floats(0.0, 0.3),
)


def height_in(block, piece):
    heading_in = block.again_in if piece.first else block.heading_in
    return heading_in + sum(block.items_in[piece.first : piece.end])


@settings(max_examples=examples(60), deadline=None, derandomize=True)
@given(st.lists(BLOCK, max_size=12))
def test_whatever_is_printed(blocks):
    """All items once and in order, every heading with an item, nothing below the foot or over another."""
    filled = columns(blocks, COLUMN_IN)
    pieces = [piece for column in filled for piece in column]
    assert [(piece.block, item) for piece in pieces for item in range(piece.first, piece.end)] == [
        (number, item) for number, block in enumerate(blocks) for item in range(len(block.items_in))
    ]
    assert all(piece.end > piece.first for piece in pieces)
    for column in filled:
        assert column
        foot = 0.0
        for piece in column:
            assert piece.top_in >= foot - HAIR_IN
            foot = piece.top_in + height_in(blocks[piece.block], piece)
        assert foot <= COLUMN_IN + HAIR_IN


@settings(max_examples=examples(60), deadline=None, derandomize=True)
@given(st.lists(BLOCK, max_size=12))
def test_a_day_is_torn_only_where_it_must_be(blocks):
    """It is higher than a column, or a third of one would be blank; two items or more stay on either side."""
    for column in columns(blocks, COLUMN_IN):
        for piece in column:
            block = blocks[piece.block]
            left = len(block.items_in) - piece.end
            if not left:
                continue
            too_high = block.heading_in + sum(block.items_in) > COLUMN_IN
            assert too_high or COLUMN_IN - piece.top_in > MOST_BLANK * COLUMN_IN
            assert too_high or (piece.end - piece.first >= LEAST_TOGETHER and left >= LEAST_TOGETHER)


def test_small_blocks_fill_a_column_and_go_on_in_the_next():
    """Ten blocks of 3 in: three to a column, none torn."""
    filled = columns([PaperBlock(1.0, (1.0, 1.0), 1.0)] * 10, COLUMN_IN)
    assert [len(column) for column in filled] == [3, 3, 3, 1]


def test_an_item_higher_than_the_paper_stands_alone():
    """It is not lost, and the loop ends."""
    filled = columns([PaperBlock(1.0, (1.0,), 1.0), PaperBlock(1.0, (12.0, 1.0), 1.0)], COLUMN_IN)
    assert [[(piece.block, piece.first, piece.end) for piece in column] for column in filled] == [
        [(0, 0, 1)],
        [(1, 0, 1)],
        [(1, 1, 2)],
    ]
