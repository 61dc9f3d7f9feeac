"""A whole season run forward: what planning again and learning are worth to one simulated grower."""

from datetime import timedelta
from importlib import import_module

import numpy as np
import pytest


@pytest.fixture(scope="module")
def seasons():
    """Return the study of seasons, which lies among the studies."""
    return import_module("seasons")


@pytest.mark.deep
def test_one_slow_grower_eats_more_by_learning(seasons):
    """A room slower than the book, light 40 % off: the year before saves a short week or more of 14.

    Of nine growers looked at this is the one who gains most: it shows that the machinery works, not what it
    is worth. That is said by the study's table of many.
    """
    truth = seasons.Truth("slow", seasons.room(), np.random.default_rng([0, 8]))
    first = seasons.season(truth, 0, learns=False, again=False)
    learned = seasons.season(truth, 0, learns=True, again=True, before=3)
    assert first.short >= 2
    assert learned.short <= first.short - 1
    # nobody eats what did not grow, nor on a day on which nobody cuts
    for run in (first, learned):
        sown = {line.batch: line.amount for line in run.events if line.event == "sown"}
        for batch, cells in sown.items():
            cut = [line for line in run.events if line.event == "harvested" and line.batch == batch]
            assert sum(line.amount for line in cut) <= cells
            assert all(
                (line.on - seasons.START) % timedelta(days=7) in (timedelta(0), timedelta(days=3))
                for line in cut
            )
        stands = [line.amount for line in run.events if line.event == "transplanted"]
        assert max(stands) <= 16
