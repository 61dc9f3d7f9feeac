"""Seed orders: one for each crop and calendar quarter, less the seed on hand; and orders of young plants."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from cropcal.records.crop import CropTables, SeedOnHand
from cropcal.records.plan import Batch, SeedOrder

LEAD_D = 14
"""Days before the first sowing by which seed is best ordered (common practice: a week or two by post)."""

_NO_PLUGS = ("tray", "shoots")


def seed_orders(
    batches: Iterable[Batch],
    tables: CropTables,
    since: date | None = None,
    on_hand: Sequence[SeedOnHand] = (),
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
    on_hand
        Seed that is there. Sowings use it in turn, the oldest first, those before ``since`` too; an order
        that it meets in full has no seeds to buy.
    """
    sown = sorted(batches, key=lambda batch: batch.sow_on)
    drawer = _SeedDrawer.of(on_hand, tables)
    taken = {batch.id: drawer.take(batch) for batch in sown}
    groups: dict[tuple[str, bool, date], list[Batch]] = defaultdict(list)
    for batch in sown:
        on, bought = batch.sow_on, batch.plug_age_d is not None
        if (batch.seeds or bought) and (since is None or on >= since):
            together = on if bought else date(on.year, (on.month - 1) // 3 * 3 + 1, 1)
            groups[batch.crop, bought, together].append(batch)
    orders = []
    for (slug, _, _), members in groups.items():
        crop = tables.crops[slug]
        used = [taken[batch.id] for batch in members]
        short = [batch for batch, its in zip(members, used, strict=True) if its.seeds < batch.seeds]
        seeds = sum(batch.seeds for batch in members) - sum(its.seeds for its in used)
        ordered_for = short or members
        orders.append(
            SeedOrder(
                crop=slug,
                order_by=ordered_for[0].sow_on - timedelta(days=LEAD_D),
                sow_from=ordered_for[0].sow_on,
                sow_until=ordered_for[-1].sow_on,
                seeds=seeds,
                plugs=0 if crop.kind in _NO_PLUGS else sum(batch.cells or batch.sites for batch in members),
                weight_g=seeds * crop.seed_g_per_1000 / 1000,
                on_hand=sum(its.seeds for its in used),
                packed=tuple(sorted({year for its in used for year in its.years})),
                food_grade=crop.is_seedling,
            )
        )
    return tuple(sorted(orders, key=lambda order: (order.order_by, order.crop)))


@dataclass(frozen=True)
class _Taken:
    """Seeds that a sowing takes from what is there, and the years in which they were packed."""

    seeds: int = 0
    years: tuple[int, ...] = ()


@dataclass(eq=False)
class _Packet:
    crop: str
    left: int
    year: int | None
    counted: date


@dataclass(frozen=True, eq=False)
class _SeedDrawer:
    """The seed on hand, oldest first; what is of unknown age comes last."""

    packets: tuple[_Packet, ...]

    @classmethod
    def of(cls, on_hand: Iterable[SeedOnHand], tables: CropTables) -> "_SeedDrawer":
        packets = [
            _Packet(
                crop=row.crop,
                left=row.seeds or int((row.g or 0.0) / tables.crops[row.crop].seed_g_per_1000 * 1000),
                year=row.year,
                counted=row.counted or date.min,
            )
            for row in on_hand
        ]
        return cls(tuple(sorted(packets, key=lambda packet: (packet.year is None, packet.year or 0))))

    def take(self, batch: Batch) -> _Taken:
        """Return what a sowing takes, and take it out."""
        taken, years = 0, []
        for packet in self.packets:
            number = min(packet.left, batch.seeds - taken)
            if packet.crop == batch.crop and number > 0 and packet.counted <= batch.sow_on:
                packet.left -= number
                taken += number
                years += [packet.year] if packet.year is not None else []
        return _Taken(taken, tuple(years))
