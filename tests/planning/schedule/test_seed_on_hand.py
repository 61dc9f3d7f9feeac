"""Seed on hand: what is bought and what is taken from it are what the sowings need."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cropcal.planning.schedule.seed_orders import seed_orders
from cropcal.reading.crops.read import read_crop_tables
from cropcal.records.crop import SeedOnHand
from cropcal.records.plan import Batch
from cropcal.show.terminal.plan import on_hand

START = date(2027, 1, 4)
TABLES = read_crop_tables(None)[0]
NAMES = {slug: crop.name for slug, crop in TABLES.crops.items()}
BASIL, ROCKET = "basil", "arugula-baby"


def batch(number, crop, after_d, seeds):
    on = START + timedelta(days=after_d)
    return Batch(
        id=f"b{number}", want=0, crop=crop, bed="row", nursery=None, sow_on=on, emerge_on=on,
        transplant_on=None, ready_from=on, ready_from_low_80=on, ready_from_high_80=on, ready_until=on,
        clear_on=on, sites=1, cells=0, seeds=seeds, unit="g", harvests=(),
    )  # fmt: skip


sowings = st.lists(
    st.tuples(st.sampled_from([BASIL, ROCKET]), st.integers(0, 200), st.integers(1, 60)), max_size=12
)
packets = st.lists(
    st.builds(
        SeedOnHand,
        crop=st.sampled_from([BASIL, ROCKET]),
        seeds=st.integers(1, 300),
        year=st.none() | st.integers(2020, 2027),
        counted=st.none() | st.dates(START, START + timedelta(days=200)),
    ),
    max_size=4,
)


@settings(max_examples=60)
@given(rows=sowings, there=packets, since=st.none() | st.integers(0, 200))
def test_bought_and_on_hand_are_what_is_needed(rows, there, since):
    """By crop: bought + taken = needed from the day on, and no more is taken than there was."""
    batches = [batch(number, *row) for number, row in enumerate(rows)]
    first = None if since is None else START + timedelta(days=since)
    orders = seed_orders(batches, TABLES, first, there)
    for crop in (BASIL, ROCKET):
        mine = [order for order in orders if order.crop == crop]
        needed = sum(its.seeds for its in batches if its.crop == crop and (not first or its.sow_on >= first))
        assert sum(order.seeds + order.on_hand for order in mine) == needed
        assert sum(order.on_hand for order in mine) <= sum(row.seeds for row in there if row.crop == crop)
        assert all(order.seeds >= 0 and order.on_hand >= 0 for order in mine)
        grams = [order.seeds * TABLES.crops[crop].seed_g_per_1000 / 1000 for order in mine]
        assert [order.weight_g for order in mine] == pytest.approx(grams)


def test_seed_is_ordered_for_the_first_sowing_that_lacks_it():
    """Thirty seeds are there for two sowings of twenty: ten are bought, in time for the second."""
    batches = [batch(1, BASIL, 0, 20), batch(2, BASIL, 28, 20)]
    (order,) = seed_orders(batches, TABLES, None, [SeedOnHand(crop=BASIL, seeds=30)])
    assert (order.seeds, order.on_hand) == (10, 30)
    assert order.sow_from == START + timedelta(days=28)
    assert order.order_by == START + timedelta(days=14)


def test_sowings_before_today_have_used_their_seed():
    """Planned again after the first sowing, ten of thirty are left; counted anew after it, all thirty are."""
    batches = [batch(1, BASIL, 0, 20), batch(2, BASIL, 28, 40)]
    today = START + timedelta(days=14)
    (order,) = seed_orders(batches, TABLES, today, [SeedOnHand(crop=BASIL, seeds=30)])
    assert (order.seeds, order.on_hand) == (30, 10)
    (order,) = seed_orders(batches, TABLES, today, [SeedOnHand(crop=BASIL, seeds=30, counted=today)])
    assert (order.seeds, order.on_hand) == (10, 30)


def test_the_oldest_is_used_first_and_a_gram_is_so_many_seeds():
    """Of 2024 before 2026; the weight of a thousand seeds is that of the crop table."""
    there = [
        SeedOnHand(crop=BASIL, seeds=50, year=2026),
        SeedOnHand(crop=BASIL, g=TABLES.crops[BASIL].seed_g_per_1000 / 100, year=2024),
    ]
    (order,) = seed_orders([batch(1, BASIL, 0, 10)], TABLES, None, there)
    assert (order.on_hand, order.packed) == (10, (2024,))
    (order,) = seed_orders([batch(1, BASIL, 0, 60)], TABLES, None, there)
    assert (order.on_hand, order.packed) == (60, (2024, 2026))
    assert (order.seeds, order.is_plants) == (0, False)


def test_of_old_seed_a_word_is_said():
    """Two calendar years after its packing; of newer seed nothing but how much of it is used."""
    rows = [batch(1, BASIL, 0, 10)]
    old = on_hand(seed_orders(rows, TABLES, None, [SeedOnHand(crop=BASIL, seeds=50, year=2025)]), NAMES)
    new = on_hand(seed_orders(rows, TABLES, None, [SeedOnHand(crop=BASIL, seeds=50, year=2026)]), NAMES)
    old = " ".join(old.split())
    assert "Old seed germinates less well (Basil of 2025)" in old
    assert "common practice" in old
    assert new == "Seed you have, already taken off: 10 of Basil."
    assert on_hand(seed_orders(rows, TABLES), NAMES) == ""
