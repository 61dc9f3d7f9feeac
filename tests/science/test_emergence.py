"""Emergence against Harrington & Minges 1954: every table node, and each inner one left out."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cropcal.science.emergence import emergence_days, stand_share

REFERENCE = Path(__file__).resolve().parents[1] / "reference"


def table(name):
    """Return {crop: (temperatures tested, values printed)}, nan for NG (none germinated)."""
    lines = (REFERENCE / name).read_text(encoding="utf-8").splitlines()
    head, *rows = csv.reader(line for line in lines if not line.startswith("#"))
    curves = {}
    for crop, *cells in rows:
        tested = np.array([cell != "-" for cell in cells])
        air = np.array(head[1:], float)[tested]
        curves[crop] = air, np.array([cell.replace("NG", "nan") for cell in cells])[tested].astype(float)
    return curves


DAYS = table("emergence_harrington_minges_1954.csv")
STAND = table("stand_harrington_minges_1954.csv")

LEFT_OUT = [
    (crop, at)
    for crop, (air, days) in DAYS.items()
    for at in range(1, len(air) - 1)
    if 10 <= air[at] <= 25 and not np.isnan(days[at])
]
MISSES = {  # days off by more than 1.6 when left out, and why
    ("parsley", 15.0): 1.9,  # its table starts at 10 °C, where the curve bends most
    ("celery", 10.0): 2.6,  # 16 d at 10 °C and 12 at 15, between 41 at 5 and 7 at 20: no smooth rate curve
    ("celery", 15.0): -2.3,
    ("celery", 20.0): 17.0,  # its other neighbour is 25 °C, where none germinated
}


@pytest.mark.parametrize("crop", list(DAYS))
def test_nodes_are_exact(crop):
    """Data entry: at the table's own temperatures the table's own days come back, none where none emerged."""
    air, days = DAYS[crop]
    np.testing.assert_allclose(emergence_days(air, air, days), days, rtol=1e-12)


@pytest.mark.parametrize(("crop", "at"), LEFT_OUT)
def test_left_out_node_is_found_again(crop, at):
    """Each node from 10 to 25 °C, left out, is found by its neighbours within 1.6 d, or is a listed miss."""
    air, days = DAYS[crop]
    others = np.arange(len(air)) != at
    error = emergence_days(air[at], air[others], days[others]) - days[at]
    if (crop, air[at]) in MISSES:
        assert error == pytest.approx(MISSES[crop, air[at]], abs=0.05)
    else:
        assert abs(error) <= 1.6


def test_most_nodes_are_no_miss():
    """Of the eleven crops but celery, only parsley at 15 °C is off by more than 1.6 d."""
    assert len({crop for crop, _ in LEFT_OUT}) == 12
    assert [miss for miss in MISSES if miss[0] != "celery"] == [("parsley", 15.0)]


@pytest.mark.parametrize("crop", ["lettuce", "spinach"])
def test_none_comes_up_in_the_heat(crop):
    """Lettuce and spinach: none germinated at 35 °C, and it takes longer and longer from 30 °C on."""
    air, days = DAYS[crop]
    assert np.isnan(emergence_days([35, 37, 40], air, days)).all()
    assert np.all(np.diff(emergence_days([30, 31, 33, 34.9], air, days)) > 0)


def test_outside_the_table_is_unknown():
    """Below and above the tested temperatures nothing is promised."""
    air, days = DAYS["parsley"]
    assert np.isnan(emergence_days([9.9, 30.1, np.nan], air, days)).all()
    assert np.isnan(stand_share([-1, 41], *STAND["lettuce"])).all()


def test_stand_of_lettuce_and_spinach():
    """Data entry: lettuce 99 % at 25 °C and 12 % at 30; spinach 82 % at 15 and 28 % at 25."""
    np.testing.assert_allclose(stand_share([25, 30], *STAND["lettuce"]), [99, 12])
    np.testing.assert_allclose(stand_share([15, 25], *STAND["spinach"]), [82, 28])
    assert stand_share(27.5, *STAND["lettuce"]) == pytest.approx((99 + 12) / 2)


def test_stand_not_printed():
    """Nodes without a printed stand are passed over; without any the stand is unknown."""
    assert stand_share(15, [10, 15, 20], [0.8, np.nan, 0.6]) == pytest.approx(0.7)
    assert np.isnan(stand_share([15, 20], [10, 20], [np.nan, np.nan])).all()


@given(crop=st.sampled_from(list(DAYS)), air=st.lists(st.floats(-5, 45), min_size=1, max_size=5))
def test_between_nodes_days_lie_between_theirs(crop, air):
    """Interpolated days lie between those of the two nodes around, and come in the shape asked for."""
    node_air, node_days = DAYS[crop]
    found = emergence_days(np.array(air)[:, None], node_air, node_days)
    assert found.shape == (len(air), 1)
    for one, days in zip(air, found[:, 0], strict=True):
        if np.isnan(days):
            continue
        right = min(max(np.searchsorted(node_air, one), 1), len(node_air) - 1)
        around = np.nan_to_num(node_days[right - 1 : right + 1], nan=np.inf)
        assert around.min() * (1 - 1e-9) <= days <= around.max() * (1 + 1e-9)
