"""What sites leave short and over if all comes as forecast and each week eats the oldest first."""

import numpy as np

from cropcal.optimize.programme import IntArray, Task


def short_and_surplus(task: Task, n: IntArray) -> tuple[float, float]:
    """Return short and surplus want-weeks when each week eats what is oldest first, as long as it keeps."""
    entries, (wants, weeks) = task.entries, task.demand.shape
    used = n[entries.column] > 0
    longest = int(entries.keeps.max(initial=0))
    cut = np.zeros((longest + 1, wants * weeks))
    amount = n[entries.column[used]] * entries.share[used] * task.scale.ravel()[entries.want_week[used]]
    np.add.at(cut, (entries.keeps[used], entries.want_week[used]), amount)
    cut = cut.reshape(longest + 1, wants, weeks)
    # left[k]: what may still be kept for k more weeks, by want
    left = np.zeros((longest + 1, wants))
    short = over = np.zeros(wants)
    for week in range(weeks):
        left += cut[:, :, week]
        need = task.demand[:, week].copy()
        for age in range(longest + 1):
            taken = np.minimum(left[age], need)
            left[age] -= taken
            need -= taken
        scale = task.scale[:, week]
        short = short + need / scale
        over = over + left[0] / scale
        left = np.concatenate([left[1:], np.zeros((1, wants))])
    return float(short.sum()), float(over.sum() + (left.sum(axis=0) / task.usual).sum())
