"""The seed to buy: hand-added from the small plan and a few sowings more."""

from datetime import date

import pytest

from cropcal.planning.schedule.seed_orders import seed_orders


@pytest.fixture
def tables(few_crops, show_plans):
    """Return the crops of the small plan; 1000 lettuce seeds weigh 1.1 g, basil is sown all over a tray."""
    crops = {slug: show_plans.crop(slug, name) for slug, name in show_plans.NAMES.items()}
    crops["basil-sweet"] = show_plans.crop("basil-sweet", "Sweet basil", kind="tray", seed_g_per_1000=1.5)
    return few_crops.model_copy(update={"crops": crops})


def test_one_order_a_crop_and_quarter(small_plan, tables):
    """Lettuce on 2 and 16 March is one order, a fortnight before the 2nd; one of 6 April is another."""
    lettuce = [batch for batch in small_plan.batches if batch.crop == "lettuce-butterhead"]
    later = lettuce[0].model_copy(update={"id": "L3", "sow_on": date(2027, 4, 6)})
    first, second = seed_orders((later, *lettuce), tables)
    assert (first.order_by, first.sow_from, first.sow_until) == (
        date(2027, 2, 16), date(2027, 3, 2), date(2027, 3, 16),
    )  # fmt: skip
    assert (first.seeds, first.plugs) == (5 + 2, 4 + 2)
    assert first.weight_g == pytest.approx(7 * 1.1 / 1000)
    assert (second.order_by, second.seeds, second.plugs) == (date(2027, 3, 23), 5, 4)


def test_every_seed_of_the_plan_is_bought_once(small_plan, tables):
    """Over all orders: as many seeds as the batches sow, and no plug for what is sown all over."""
    orders = seed_orders(small_plan.batches, tables)
    assert sum(order.seeds for order in orders) == 5 + 6 + 3 + 8 + 2
    assert {order.crop: order.plugs for order in orders}["basil-sweet"] == 0
    assert [order.order_by for order in orders] == sorted(order.order_by for order in orders)


def test_what_is_sown_already_is_not_bought_again(small_plan, tables):
    """From 9 March on only coriander and the second lettuce are still to be sown."""
    orders = seed_orders(small_plan.batches, tables, date(2027, 3, 9))
    assert {(order.crop, order.seeds) for order in orders} == {("coriander", 8), ("lettuce-butterhead", 2)}


def test_an_empty_plan_needs_no_seed(tables):
    """No batch, no order."""
    assert seed_orders((), tables) == ()
