"""The nursery rows that seedlings take up in the calendar picture."""

from collections.abc import Iterable, Sequence

from cropcal.records.plan import Batch


def packed(batches: Iterable[Batch], nursery: str) -> list[tuple[Batch, int]]:
    """Return the batches of a nursery, each with the first row from which its cells are free."""
    placed: list[tuple[Batch, int]] = []
    own = [batch for batch in batches if batch.nursery == nursery and batch.transplant_on and batch.cells]
    for batch in sorted(own, key=lambda batch: (batch.sow_on, batch.id)):
        taken = sorted(
            (place, place + other.cells)
            for other, place in placed
            if other.transplant_on and other.transplant_on > batch.sow_on
        )
        free = 0
        for first, after in taken:
            if first - free >= batch.cells:
                break
            free = max(free, after)
        placed.append((batch, free))
    return placed


def most_cells(places: Sequence[tuple[Batch, int]]) -> int:
    """Return the most cells that hold seedlings on one day."""
    batches = [batch for batch, _ in places]
    return max(
        (
            sum(b.cells for b in batches if b.transplant_on and b.sow_on <= batch.sow_on < b.transplant_on)
            for batch in batches
        ),
        default=1,
    )


def rows_used(places: Iterable[tuple[Batch, int]]) -> int:
    """Return how many rows the lane needs."""
    return max((place + batch.cells for batch, place in places), default=1)
