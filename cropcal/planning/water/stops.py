"""How long a pump may stop, and what stands after a stop that was noted. All of it is rough."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import Final, Literal

from cropcal.planning.water.use import Pots
from cropcal.records.journal import PLANT_EVENTS, Entry
from cropcal.records.space import Assumption, Space, Zone
from cropcal.records.water import MOST_HOURS, Dried, PumpStop, StoppedPump
from cropcal.science import water

CELL_L: Final = 0.03
"""Volume of a nursery cell: trays have cells of about 4 cm, filled 2 cm deep (assumed)."""

TRAY_M: Final = 0.02
"""Depth of mat or substrate in a tray (assumed)."""

FLAT: Final = 3
"""How many times sooner roots are through a tray than through a pot (assumed)."""

POT_L: Final = 0.3
"""Volume of a pot where nothing is said of water at all (assumed)."""

DEEP_H: Final = (24.0, 72.0)
"""Hours for which roots that hang in a tank do without its air pump, from the first that suffer (common
practice)."""

SHOWN_D: Final = 14
"""Days after a stop for which it is shown (assumed): by then what dried is plain to see."""

SEEDLING_D: Final = 7
"""Age at which the hours of seedlings are given [d]."""

Stage = Literal["seedlings", "half-grown", "full-grown"]


def may_stop_h(space: Space, pots: Pots, day: date) -> tuple[float, float] | None:
    """Return how long a pump may stop for some pots on a day: first wilting, most of them wilted [h].

    None where no pump waters them, or they are not there.
    """
    bed = space.bed(pots.bed)
    zone = space.zone(bed.zone)
    dry_g = pots.dry_g_on(day)
    if dry_g is None or zone.watered == "hand":
        return None
    if zone.watered == "deep water" and bed.kind == "sites":
        return DEEP_H
    l_per_d = float(water.litres(dry_g)[1])
    if bed.kind == "tray":
        top_m2 = (bed.length_m or zone.length_m) * (bed.width_m or zone.width_m) / bed.site_count
        pot_l = 1000 * TRAY_M * top_m2
    else:
        top_m2 = None
        pot_l = CELL_L if bed.kind == "nursery" else zone.pot_l or POT_L
    age_d = pots.age_d + (day - pots.first).days
    if bed.kind == "tray":
        age_d *= FLAT
    soonest, latest = water.pump_stop_h(pot_l, age_d, l_per_d, top_m2)
    return min(float(soonest), MOST_HOURS), min(float(latest), MOST_HOURS)


def stops_of(space: Space, zone: Zone, pots: Sequence[Pots]) -> tuple[PumpStop, ...]:
    """Return how long the pump of a zone may stop, by stage: for whatever dries first."""
    if zone.watered in (None, "hand"):
        return ()
    by_stage: dict[Stage, list[tuple[float, float, int]]] = {}
    for some in pots:
        for stage, at in _stages(some, is_nursery=space.bed(some.bed).kind == "nursery"):
            hours = may_stop_h(space, some, some.first + timedelta(days=at))
            if hours is not None:
                by_stage.setdefault(stage, []).append((*hours, some.age_d + at))
    order: tuple[Stage, ...] = ("seedlings", "half-grown", "full-grown")
    firsts = [(stage, min(by_stage[stage])) for stage in order if stage in by_stage]
    return tuple(
        PumpStop(stage=stage, age_d=age, low_h=low, high_h=high) for stage, (low, high, age) in firsts
    )


def _stages(pots: Pots, *, is_nursery: bool) -> Iterator[tuple[Stage, int]]:
    """Yield each stage that pots go through in a bed, and on which of their days there."""
    last = len(pots.dry_g) - 1
    if last < 0:
        return
    if is_nursery or pots.age_d == 0:
        yield "seedlings", min(SEEDLING_D, last)
    if not is_nursery:
        yield "half-grown", last // 2
        yield "full-grown", last


def stopped_pumps(
    space: Space, pots: Sequence[Pots], events: Iterable[Entry], on: date
) -> tuple[StoppedPump, ...]:
    """Return the stops of pump or power in the two weeks before a day, with what may have dried in each.

    A batch of which anything was noted since is left out: the grower has looked.
    """
    noted = [event for event in events if event.on <= on]
    return tuple(
        stop
        for event in noted
        if event.event == "outage" and event.what in ("pump", "power")
        and (on - _end(event)).days <= SHOWN_D
        and (stop := _stop(space, pots, event, noted)) is not None
    )  # fmt: skip


def _end(event: Entry) -> date:
    return event.ends.date() if event.ends else event.on


def _hours(event: Entry) -> float | None:
    if event.starts is not None and event.ends is not None:
        return (event.ends - event.starts).total_seconds() / 3600
    return event.amount


def _stop(space: Space, pots: Sequence[Pots], event: Entry, noted: Sequence[Entry]) -> StoppedPump | None:
    hours = _hours(event)
    if hours is None or event.what not in ("pump", "power"):
        return None
    zone = space.bed(event.bed).zone if event.bed in {bed.name for bed in space.beds} else event.zone
    seen = {
        entry.batch
        for entry in noted
        if entry.event in PLANT_EVENTS and (entry.on, entry.line or 0) > (_end(event), event.line or 0)
    }
    worst: dict[tuple[str, str], Dried] = {}
    for some in pots:
        if zone and space.bed(some.bed).zone != zone:
            continue
        may = may_stop_h(space, some, event.on)
        if may is None or hours <= may[0] or some.batch.id in seen:
            continue
        age_d = some.age_d + (event.on - some.first).days
        dried = Dried(
            batch=some.batch.id, crop=some.batch.crop, bed=some.bed, age_d=age_d, low_h=may[0], high_h=may[1],
            frail=age_d <= water.FRAIL_D, loss_share=water.lost_share(hours, *may, age_d),
        )  # fmt: skip
        worst[some.batch.id, some.bed] = dried
    what: Literal["pump", "power"] = "pump" if event.what == "pump" else "power"
    rows = sorted(worst.values(), key=lambda row: (-row.loss_share, row.age_d, row.batch))
    return StoppedPump(on=event.on, what=what, zone=zone, hours=hours, dried=tuple(rows))


def loss_shares(stops: Iterable[StoppedPump]) -> dict[str, float]:
    """Return the share of each batch that is taken to be lost in some stops, by its id (assumed)."""
    lives: dict[str, float] = {}
    for stop in stops:
        for dried in stop.dried:
            lives[dried.batch] = lives.get(dried.batch, 1.0) * (1.0 - dried.loss_share)
    return {batch: 1.0 - share for batch, share in lives.items()}


def loss_notes(stops: Iterable[StoppedPump]) -> Iterator[Assumption]:
    """Yield what is assumed of plants that may have dried, for each stop."""
    for stop in stops:
        shares = [dried.loss_share for dried in stop.dried]
        if not shares or round(100 * max(shares)) < 1:
            continue
        yield Assumption(
            key=f"plants after the {stop.what} stopped on {stop.on.day} {stop.on:%b}",
            value=f"up to {100 * max(shares):.0f}% of a batch lost",
            why="rough: by their age and by what pots hold; a note of how they are takes its place",
        )
