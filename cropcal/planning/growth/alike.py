"""One warning for many beds: those with the same words together, and many that differ only in numbers."""

import re
from collections.abc import Iterable, Sequence

MOST_NAMED, MOST_ALIKE = 4, 3
"""Beds named in a line, and lines that may differ in nothing but their numbers (our choice)."""
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def grouped(rows: Iterable[tuple[str, str, str]]) -> list[str]:
    """Return a line for each distinct warning, in the order of the first of each.

    Parameters
    ----------
    rows
        Crop ("" where it is about none), bed, and what is wrong there.
    """
    beds: dict[tuple[str, str], list[str]] = {}
    for crop, bed, words in rows:
        beds.setdefault((crop, words), []).append(bed)
    alike: dict[tuple[str, str], list[tuple[str, list[str]]]] = {}
    for (crop, words), where in beds.items():
        alike.setdefault((crop, _NUMBER.sub("#", words)), []).append((words, where))
    lines = []
    for (crop, _), same in alike.items():
        if len(same) > MOST_ALIKE:
            first = same[0][1][0]
            more = sum(len(where) for _, where in same) - 1
            same = [(f"{same[0][0]} (numbers for {first})", [first, *[""] * more])]
        lines += [f"{_where(crop, where)}: {words}" for words, where in same]
    return lines


def _where(crop: str, beds: Sequence[str]) -> str:
    """Return a crop and its beds: "Basil in box 1, box 2 and 68 more beds"."""
    named = [bed for bed in beds[: MOST_NAMED if len(beds) > MOST_NAMED + 1 else len(beds)] if bed]
    more = len(beds) - len(named)
    shown = ", ".join(named) + (f" and {more} more bed{'s' if more > 1 else ''}" if more else "")
    return f"{crop} in {shown}" if crop else shown
