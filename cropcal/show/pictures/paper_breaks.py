"""Where what is printed breaks between columns and pages; arithmetic on heights, knows no words."""

from collections.abc import Sequence
from dataclasses import dataclass

MOST_BLANK = 1 / 3
"""Share of a column that may stay blank to keep a block whole (our choice)."""
LEAST_TOGETHER = 2
"""Fewest items of a torn block on either side of the break, where there are enough (our choice)."""
HAIR_IN = 1e-6
"""What sums of heights may be off."""


@dataclass(frozen=True)
class PaperBlock:
    """A heading and the items under it.

    Attributes
    ----------
    heading_in
        Height of the heading [in].
    items_in
        Height of each item [in].
    again_in
        Height of the heading where the block goes on in another column [in].
    gap_in
        Blank below the block [in]; none is needed at the foot of a column.
    """

    heading_in: float
    items_in: tuple[float, ...]
    again_in: float
    gap_in: float = 0.0


@dataclass(frozen=True)
class PaperPiece:
    """The items of a block from ``first`` to before ``end``, under a heading; where in the column."""

    block: int
    first: int
    end: int
    top_in: float


def columns(
    blocks: Sequence[PaperBlock], column_in: float, most_blank: float = MOST_BLANK
) -> list[list[PaperPiece]]:
    """Return the pieces in each column, all items in their order.

    No heading stands without an item. A block is torn only where it is higher than a column, or where more
    than ``most_blank`` of the column would stay blank otherwise. An item that with its heading is higher than
    a column stands in one of its own, which it overfills.

    Parameters
    ----------
    blocks
        The blocks; those without items are left out.
    column_in
        Height of every column [in].
    most_blank
        Share of a column that may stay blank to keep a block whole; with 1 a block that fits is never torn.
    """
    filled: list[list[PaperPiece]] = []
    y = column_in
    for number, block in enumerate(blocks):
        first = 0
        while first < len(block.items_in):
            end = _end(block, first, y, column_in, most_blank)
            if end == first:
                y = 0.0
                filled.append([])
                continue
            if not filled:
                filled.append([])
            filled[-1].append(PaperPiece(number, first, end, y))
            y += _heading_in(block, first) + sum(block.items_in[first:end])
            y += block.gap_in if end == len(block.items_in) else column_in
            first = end
    return filled


def _heading_in(block: PaperBlock, first: int) -> float:
    return block.again_in if first else block.heading_in


def _end(block: PaperBlock, first: int, y: float, column_in: float, most_blank: float) -> int:
    """Return up to which item a block fits below ``y``; ``first`` if it goes into the next column."""
    room, items = column_in - y - _heading_in(block, first), block.items_in
    end = first
    while end < len(items) and items[end] <= room + HAIR_IN:
        room -= items[end]
        end += 1
    if end == len(items):
        return end
    fewest = min(LEAST_TOGETHER, len(items) - first)
    end = max(first, min(end, len(items) - LEAST_TOGETHER)) if end - first >= fewest else end
    if y <= 0:
        return max(end, first + 1)
    whole_in = _heading_in(block, first) + sum(items[first:])
    is_torn = whole_in > column_in + HAIR_IN or column_in - y > most_blank * column_in
    return end if is_torn and end - first >= fewest else first
