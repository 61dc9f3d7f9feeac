"""A plan from the relaxed programme: split sites made whole a few at a time, the rest relaxed anew."""

import numpy as np

from cropcal.optimize.highs import Relaxed
from cropcal.optimize.programme import IntArray, Programme

WHOLE = 1e-6
"""A value this near to a whole number counts as whole."""


def dive(programme: Programme, relaxed: Relaxed, *, near: float, share: float) -> IntArray:
    """Return whole sites of each column, shape (whole,), that fit.

    Parameters
    ----------
    programme
        What to minimise.
    relaxed
        Its relaxation, to be solved with split sites. When its time is up, what is whole by then is returned.
    near
        Fraction from which a split site is rounded up to one.
    share
        Least share of all split sites rounded up in each step, those with the largest fractions.
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
        else:  # it does not fit, or time is up
            upper[turn[0]] = lower[turn[0]]
            answer = relaxed.solve(lower, upper)
    return np.round(lower[:size]).astype(np.int64)
