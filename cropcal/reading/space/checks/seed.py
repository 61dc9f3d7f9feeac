"""Checks of the seed on hand."""

from collections.abc import Iterator

from cropcal.problems import Problem
from cropcal.reading.space.checks.wants import known_crop
from cropcal.reading.space.draft import Draft, readable_parts


def known_crops(draft: Draft) -> Iterator[Problem]:
    """Ask that the crops are in the crop table."""
    for part in readable_parts(draft.seed, "crop"):
        yield from known_crop(draft, (*part.path, "crop"), part.record.crop)


def one_amount(draft: Draft) -> Iterator[Problem]:
    """Ask for a number of seeds or their weight."""
    for part in readable_parts(draft.seed, "seeds", "g"):
        row = part.record
        if row.seeds is None and row.g is None:
            cure = "add seeds = how many there are, or g = what they weigh"
            yield draft.source.fault(part.path, "how much seed there is is not said", cure)
        elif row.seeds is not None and row.g is not None:
            wrong, cure = "seeds and g both say how much seed there is", "leave one of the two out"
            yield draft.source.fault(part.path, wrong, cure)


def packed_and_counted(draft: Draft) -> Iterator[Problem]:
    """Ask that seed was packed before it was counted."""
    for part in readable_parts(draft.seed, "year", "counted"):
        year, counted = part.record.year, part.record.counted
        latest = counted or draft.settings.record.start
        if year is not None and "start" not in draft.settings.bad and year > latest.year:
            expected = f"the year in which it was packed, {latest.year} or before"
            yield draft.source.problem((*part.path, "year"), expected)
