"""A plan from the relaxed programme: split sites made whole a few at a time, the rest relaxed anew."""

import numpy as np

from cropcal.optimize.highs import Relaxed
from cropcal.optimize.programme import IntArray, Programme

WHOLE = 1e-6
"""How near to a whole number counts as one."""


def dive(programme: Programme, relaxed: Relaxed, *, near: float, share: float) -> IntArray:
    """Return whole sites of each column, shape (whole,), that fit.

    Parameters
    ----------
    programme
        What to minimise.
    relaxed
        The same, to be solved with split sites. Where its time is up, what is whole by then is returned.
    near
        Split sites that are such a part or more are made one site.
    share
        So are at least such a part of all that are split, those of the largest parts.
    """
    size = programme.whole
    lower, upper = programme.lower.copy(), programme.upper.copy()
    answer = relaxed.solve(lower, upper)
    while answer is not None:
        n = answer[0][:size]
        floor = np.floor(n + WHOLE)
        part = n - floor
        lower[:size] = np.maximum(lower[:size], floor)
        split = np.flatnonzero(part > WHOLE)
        if not len(split):
            break
        turn = split[np.argsort(-part[split], kind="stable")]
        most = max(1, int(share * len(split)), int((part >= near).sum()))
        for few in (turn[:most], turn[:1]):
            tried = lower.copy()
            tried[few] += 1.0
            answer = relaxed.solve(tried, upper)
            if answer is not None:
                lower = tried
                break
        else:  # there is no room for it, or time is up
            upper[turn[0]] = lower[turn[0]]
            answer = relaxed.solve(lower, upper)
    return np.round(lower[:size]).astype(np.int64)
