"""How many cases a test draws: a sixth by default, all with ``CROPCAL_DEPTH=full``, as .ci/run does.

They are the same in each run: a commit is green or red for everybody. ``CROPCAL_CASES=new`` draws others.
"""

import os
from collections.abc import Iterable

import pytest

FULL = os.environ.get("CROPCAL_DEPTH", "quick") == "full"
NEW_CASES = os.environ.get("CROPCAL_CASES") == "new"


def examples(number: int, quick: int | None = None) -> int:
    """Return how many of a number of examples are drawn at this depth: by default never fewer than three.

    ``quick``: how many by default, where each takes long.
    """
    return number if FULL else quick or max(number // 6, min(number, 3))


def few_of(cases: Iterable, number: int) -> list:
    """Return the cases with all but the first of them marked for the deep tier."""
    return [
        case
        if place < number
        else pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=pytest.mark.deep)
        for place, case in enumerate(cases)
    ]
