"""Seed orders: one for each crop and calendar quarter; and orders of young plants."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, timedelta

from cropcal.records.crop import CropTables
from cropcal.records.plan import Batch, SeedOrder

LEAD_D = 14
"""Days before the first sowing by which seed is best ordered (common practice: a week or two by post)."""

_NO_PLUGS = ("tray", "shoots")


def seed_orders(
    batches: Iterable[Batch], tables: CropTables, since: date | None = None
) -> tuple[SeedOrder, ...]:
    """Return one order for each crop and quarter in which it is sown, by the day to order it.

    Seed of leafy crops keeps for a year and longer, cool and dry (common practice), so nobody need buy more
    often; the seeds of a batch include spares for those that do not come up. Bought young plants do not keep:
    they are one order for each planting, of plugs and no seed.

    Parameters
    ----------
    batches
        The batches of a plan.
    tables
        The crops.
    since
        The first day that counts: batches sown before need no seed. None: all of them.
    """
    groups: dict[tuple[str, bool, date], list[Batch]] = defaultdict(list)
    for batch in batches:
        on, bought = batch.sow_on, batch.plug_age_d is not None
        if (batch.seeds or bought) and (since is None or on >= since):
            together = on if bought else date(on.year, (on.month - 1) // 3 * 3 + 1, 1)
            groups[batch.crop, bought, together].append(batch)
    orders = []
    for (slug, _, _), members in groups.items():
        crop = tables.crops[slug]
        seeds, first = sum(batch.seeds for batch in members), min(batch.sow_on for batch in members)
        orders.append(
            SeedOrder(
                crop=slug,
                order_by=first - timedelta(days=LEAD_D),
                sow_from=first,
                sow_until=max(batch.sow_on for batch in members),
                seeds=seeds,
                plugs=0 if crop.kind in _NO_PLUGS else sum(batch.cells or batch.sites for batch in members),
                weight_g=seeds * crop.seed_g_per_1000 / 1000,
            )
        )
    return tuple(sorted(orders, key=lambda order: (order.order_by, order.crop)))
