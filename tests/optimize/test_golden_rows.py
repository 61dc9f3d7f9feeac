"""Each kind of row of the programme, as text that can be checked by hand: one toy a row, one file a toy.

The files in ``golden/`` were written by hand from the toy, before they were compared.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cropcal.optimize.assemble import build
from cropcal.optimize.programme import Columns, PreviousPlan, Task
from cropcal.optimize.work_rows import WorkLimit

GOLDEN = Path(__file__).resolve().parents[1] / "golden"


def columns(rows, keeps=0):
    """Return columns in one place from (nursery, sown, planted, freed, {week: amount})."""
    nursery, sown, planted, freed = (np.array([row[at] for row in rows]) for at in range(4))
    supply = [(at, week, amount) for at, row in enumerate(rows) for week, amount in row[4].items()]
    zero = np.zeros(len(rows), dtype=np.int64)
    return Columns(
        want=zero,
        place=zero,
        nursery=nursery,
        sown=sown,
        planted=planted,
        freed=freed,
        cost=np.zeros(len(rows)),
        staleness=np.zeros(len(rows)),
        supply_column=np.array([entry[0] for entry in supply], dtype=np.int64),
        supply_week=np.array([entry[1] for entry in supply], dtype=np.int64),
        supply_amount=np.array([entry[2] for entry in supply], dtype=float),
        supply_keeps=(np.zeros(len(rows), dtype=np.int64) + keeps)[[entry[0] for entry in supply]],
    )


def task(rows, demand, sites=2, cells=(), keeps=0):
    return Task(
        columns=columns(rows, keeps),
        demand=np.array([demand], dtype=float),
        sites=np.array([sites]),
        cells=np.array(cells, dtype=np.int64),
    )


def in_place(*supplies):
    """Return rows sown in place on day 0, freed on day 6."""
    return [(-1, 0, 0, 6, supply) for supply in supplies]


GOING_ON = [
    (0, 3, 10, 36, {5: 1}),
    (0, 3, 14, 36, {5: 1}),
    (-1, 3, 3, 29, {4: 1}),
    (-1, 7, 7, 43, {6: 1}),
]


def stands():
    before = PreviousPlan(
        group=np.array([0, 0, 1, -1]),
        planned=np.array([2, 0, 1, 1]),
        calm=np.array([2.0, 2.0, 20.0, 0.05]),
        stands=np.array([2, 1]),
    )
    return replace(task(GOING_ON, [0, 0, 0, 0, 1, 2, 1], 3, [2]), before=before)


WORK = WorkLimit(
    column=np.array([0, 0, 1, 1]),
    day=np.array([0, 3, 0, 5]),
    minutes=np.ones(4),
    most=np.array([3.0, 1.0, 1.0, 1.0, 1.0, 1.0]),
)
TWO_OR_ONE = in_place({0: 3}, {0: 1})
CASES = {
    "site": (
        ("site", "site"),
        task([(-1, 0, 0, 14, {0: 1}), (-1, 14, 14, 28, {0: 1}), (-1, 7, 7, 14, {0: 1})], [1]),
    ),
    "cell": (
        ("cell", "cell"),
        task(
            [(0, 0, 7, 21, {2: 1}), (0, 0, 14, 28, {3: 1}), (0, 7, 14, 28, {3: 1}), (-1, 0, 0, 28, {3: 1})],
            [0, 0, 1, 2],
            4,
            [3],
        ),
    ),
    "want": (("want", "short", "over"), task(TWO_OR_ONE, [2])),
    "want_by_sites": (("want", "short", "over"), task(in_place({0: 1}), [2])),
    "whole": (("whole", "short"), task(TWO_OR_ONE, [2])),
    "keep": (("keep", "kept"), task(in_place({0: 150}, {0: 120}), [60, 60, 60], keeps=np.array([1, 2]))),
    "spare": (("spare", "kept", "left"), task(in_place({0: 30}), [0, 60], keeps=1)),
    "standing": (("standing", "given_up"), stands()),
    "calm": (("calm", "gone"), stands()),
    "alike": (
        ("alike", "beyond"),
        replace(task(in_place({0: 1}, {1: 1}, {1: 2}), [2, 2]), kind=np.array([0, 0, 1])),
    ),
    "work": (("work", "minutes_over"), replace(task(in_place({0: 1}, {0: 1}), [2]), work=WORK)),
}


def golden(name):
    """Return a golden file without its comments, which begin with a backslash."""
    lines = (GOLDEN / f"{name}.lp").read_text(encoding="utf-8").splitlines(keepends=True)
    return "".join(line for line in lines if not line.startswith("\\"))


@pytest.mark.parametrize("name", list(CASES))
def test_the_rows_are_those_written_by_hand(name, lp_text):
    """Every coefficient, bound and price of one kind of row."""
    (rows, *stretches), toy = CASES[name]
    assert lp_text.as_text(build(toy), (rows,), stretches) == golden(name)


@pytest.mark.parametrize("name", list(CASES))
def test_another_coefficient_is_another_text(name, lp_text):
    """One per cent more in any entry, side, bound or price: the comparison sees each of them."""
    (rows, *stretches), toy = CASES[name]
    programme = build(toy)
    first_rows = next(at for at, group in enumerate(programme.rows) if group.name == rows)
    group = programme.rows[first_rows]

    def differs(changed):
        return lp_text.as_text(changed, (rows,), stretches) != golden(name)

    def with_rows(**parts):
        other = replace(group, **parts)
        return replace(
            programme, rows=(*programme.rows[:first_rows], other, *programme.rows[first_rows + 1 :])
        )

    for at in range(len(group.value)):
        value = group.value.copy()
        value[at] *= 1.01
        assert differs(with_rows(value=value))
    for at in range(len(group.low)):
        moved = group.low.copy(), group.high.copy()
        for side in moved:
            side[at] += 0.01
        assert differs(with_rows(low=moved[0], high=moved[1]))
    shown = [
        at
        for stretch, first, count in programme.names
        if stretch in stretches
        for at in range(first, first + count)
    ]
    assert shown
    for at in shown:
        for part in ("cost", "lower", "upper"):
            values = getattr(programme, part).copy()
            values[at] = 7.0 if np.isinf(values[at]) else values[at] + 0.01
            assert differs(replace(programme, **{part: values}))


def test_every_kind_of_row_has_its_file():
    """Of all rows that the toys lead to, none is without a golden text."""
    made = {rows.name for _, toy in CASES.values() for rows in build(toy).rows}
    assert made == {rows for (rows, *_), _ in CASES.values()}
