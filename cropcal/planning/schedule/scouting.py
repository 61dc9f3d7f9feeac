"""The scouting list of a week: emergence, crops ready soon, seed to order, faults that may show."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from math import inf

from cropcal.planning.history.diagnosis import WELL_LIT_SEEDLINGS_MOL_M2_D
from cropcal.planning.schedule.seed_orders import seed_orders
from cropcal.planning.site.air import zone_air
from cropcal.planning.site.humidity import humidity_hints
from cropcal.records.crop import Crop, CropTables, ValueSource
from cropcal.records.daylight import half_of
from cropcal.records.journal import Entry
from cropcal.records.plan import Batch, BedLight
from cropcal.records.space import Space
from cropcal.records.week import Look, Seen

SOON_D = 7
"""Days after the week within which a first cut counts as soon (our choice)."""
STILL_LEAFY_D = 14
"""Age from which leaves are large enough to show burnt tips or to bolt (assumed)."""


def scouting_list(
    batches: Sequence[Batch],
    events: Sequence[Entry],
    space: Space,
    tables: CropTables,
    lights: Iterable[BedLight],
    on: date,
) -> tuple[Look, ...]:
    """Return what to look at in the Monday-to-Sunday week that holds a day.

    Parameters
    ----------
    batches
        The batches of the plan.
    events
        Journal entries that hold: seedlings that were counted and batches that were cut or lost are not
        asked about again.
    space, tables, lights
        The space, the crops, and the light of each bed.
    on
        Any day of the week.
    """
    monday = on - timedelta(days=on.weekday())
    sunday = monday + timedelta(days=6)
    noted = _noted(events)
    there = [batch for batch in batches if batch.sow_on <= sunday and batch.clear_on >= monday]
    lost = _lost_plants(events, tables)
    there = [
        batch for batch in there if lost[batch.id] < batch.sites * tables.crops[batch.crop].plants_per_site
    ]
    return (
        *_emerging(there, noted, monday, sunday),
        *_ready_soon(there, noted, sunday),
        *_orders(batches, space, tables, monday, sunday),
        *_faults(there, space, tables, {light.bed: light for light in lights}, monday),
        *_damp_air(there, space),
    )


def _damp_air(there: Iterable[Batch], space: Space) -> list[Look]:
    """Return what the humidity may do in each zone with standing crops; the zone stands in place of a bed."""
    zones = {space.bed(bed).zone for batch in there for bed in (batch.bed, batch.nursery) if bed}
    return [
        Look(what="humidity", crop="", bed=zone, says=hint)
        for zone, hint in humidity_hints(space)
        if zone in zones
    ]


def _noted(events: Iterable[Entry]) -> dict[tuple[str, str], float]:
    """Return the amount noted by (batch, event); 1 for an entry without an amount."""
    amounts: dict[tuple[str, str], float] = defaultdict(float)
    for event in events:
        amounts[event.batch, event.event] += 1.0 if event.amount is None else event.amount
    return amounts


def _lost_plants(events: Iterable[Entry], tables: CropTables) -> dict[str, float]:
    """Return the plants noted as lost by batch; infinite for an entry without a number: all of them."""
    lost: dict[str, float] = defaultdict(float)
    for event in events:
        if event.event == "lost" and event.crop in tables.crops:
            each = 1 if event.unit in ("", "plants", "heads") else tables.crops[event.crop].plants_per_site
            lost[event.batch] += (inf if event.amount is None else event.amount) * each
    return lost


def _emerging(
    there: Iterable[Batch], noted: dict[tuple[str, str], float], monday: date, sunday: date
) -> list[Look]:
    """Return the batches that should emerge in this week, by day."""
    due: dict[tuple[date, str, str], list[str]] = defaultdict(list)
    for batch in there:
        if (
            batch.plug_age_d is None
            and monday <= batch.emerge_on <= sunday
            and (batch.id, "emerged") not in noted
        ):
            due[batch.emerge_on, batch.crop, batch.nursery or batch.bed].append(batch.id)
    return [
        Look(what="up", crop=crop, bed=bed, batches=tuple(ids), on=on)
        for (on, crop, bed), ids in sorted(due.items())
    ]


def _ready_soon(there: Iterable[Batch], noted: dict[tuple[str, str], float], sunday: date) -> list[Look]:
    """Return the batches whose first cut comes after this week, but soon, by day."""
    soon = [
        batch
        for batch in there
        if batch.ready_from <= sunday + timedelta(days=SOON_D)
        and batch.harvests
        and batch.harvests[0].on > sunday
        and (batch.id, "harvested") not in noted
    ]
    return [
        Look(
            what="ready",
            crop=batch.crop,
            bed=batch.bed,
            batches=(batch.id,),
            on=batch.ready_from,
            low_80=batch.ready_from_low_80,
            high_80=batch.ready_from_high_80,
        )
        for batch in sorted(soon, key=lambda batch: batch.ready_from)
    ]


def _orders(
    batches: Iterable[Batch], space: Space, tables: CropTables, monday: date, sunday: date
) -> list[Look]:
    return [
        Look(what="order plants", crop=order.crop, on=order.order_by, found=float(order.plugs))
        if order.is_plants
        else Look(what="order", crop=order.crop, on=order.order_by, found=order.weight_g)
        for order in seed_orders(batches, tables, on_hand=space.seed)
        if monday <= order.order_by <= sunday and (order.seeds or order.is_plants)
    ]


def _faults(
    there: Iterable[Batch], space: Space, tables: CropTables, lights: dict[str, BedLight], monday: date
) -> list[Look]:
    """Return the faults that hours, air and light make likely for the standing crops of each bed."""
    seedlings: dict[str, list[str]] = defaultdict(list)
    leafy: dict[tuple[str, str], list[str]] = defaultdict(list)
    for batch in there:
        if batch.transplant_on is not None and batch.transplant_on >= monday:
            seedlings[batch.nursery or batch.bed].append(batch.id)
        elif tables.crops[batch.crop].kind != "shoots":
            if (monday - batch.sow_on).days >= STILL_LEAFY_D:
                leafy[batch.crop, batch.bed].append(batch.id)
            elif batch.transplant_on is None and tables.crops[batch.crop].kind != "tray":
                seedlings[batch.bed].append(batch.id)
    faults = []
    for bed, ids in seedlings.items():
        dli = lights[bed].with_sun_mol_m2_d(half_of(monday)) if bed in lights else WELL_LIT_SEEDLINGS_MOL_M2_D
        if dli < WELL_LIT_SEEDLINGS_MOL_M2_D:
            faults.append(_fault("leggy", "", bed, ids, (dli, WELL_LIT_SEEDLINGS_MOL_M2_D)))
    for (slug, bed), ids in leafy.items():
        if bed in lights:
            faults += _leaf_faults(tables.crops[slug], lights[bed], space, ids, half_of(monday))
    return faults


def _leaf_faults(crop: Crop, light: BedLight, space: Space, ids: Sequence[str], half: int) -> list[Look]:
    zone = space.zone(light.zone)
    air_c = zone_air(zone, space.fixtures).mean_c
    day_h = light.halves[half].day_seen_h if light.halves else light.photoperiod_h
    ceiling = crop.dli_max_mol_m2_d if zone.air_moving else crop.dli_max_still_air_mol_m2_d
    ceiling_column = "dli_max_mol_m2_d" if zone.air_moving else "dli_max_still_air_mol_m2_d"
    looks: tuple[tuple[Seen, float, float | None, str], ...] = (
        ("bolting", day_h, crop.photoperiod_max_h, "photoperiod_max_h"),
        ("heat", air_c, crop.air_quality_max_c, "air_quality_max_c"),
        ("tip burn", light.with_sun_mol_m2_d(half), ceiling, ceiling_column),
    )
    return [
        _fault(
            what,
            crop.slug,
            light.bed,
            ids,
            (value, limit),
            crop.source_of(column),
            still_air=not zone.air_moving,
        )
        for what, value, limit, column in looks
        if limit is not None and value > limit
    ]


def _fault(
    what: Seen,
    crop: str,
    bed: str,
    ids: Sequence[str],
    numbers: tuple[float, float],
    source: ValueSource | None = None,
    *,
    still_air: bool = False,
) -> Look:
    return Look(
        what=what,
        crop=crop,
        bed=bed,
        batches=tuple(ids),
        found=numbers[0],
        limit=numbers[1],
        source=source.words if source is not None and source.is_weak else "",
        still_air=still_air,
    )
