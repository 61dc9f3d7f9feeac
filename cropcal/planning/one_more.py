"""One more of something, as a changed space: a site, cells, a work day, an hour of light, watts, a fan."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from cropcal.planning.power.bill import bill
from cropcal.planning.power.lamp_hours import lit_stretches, quiet_overlap_h
from cropcal.records.base import WEEKDAYS
from cropcal.records.crop import Crop, CropTables
from cropcal.records.measured import CopiedReading
from cropcal.records.outlook import ChangeKind
from cropcal.records.space import Bed, Fixture, Reading, Space, Want, Zone, photoperiod_h
from cropcal.science.power import week_table

WATTS = 30.0
"""Watts that are added to the lamps of a zone."""
FEW_CELLS = 3
"""Cells that are added to a nursery without rows."""
HOUR_MIN, DAY_MIN = 60, 24 * 60
PRICED_D = 364
"""Days over which two starts of an hour are compared."""


@dataclass(frozen=True, eq=False)
class ChangedSpace:
    """A changed space, and what is changed in it.

    ``space`` has its wants, zones and beds in the order of the space without the change. ``before`` and
    ``after``: of what is changed, sites, cells, hours or watts. ``like``: an added bed -> that whose sites it
    has. ``crop``: that which is grown instead of another.
    """

    kind: ChangeKind
    subject: str
    space: Space
    before: float = 0.0
    after: float = 0.0
    like: Mapping[str, str] = field(default_factory=dict)
    crop: str | None = None


def changes(space: Space) -> Iterator[ChangedSpace]:
    """Yield one more of everything that a space has: all but its crops."""
    yield from _sites(space)
    yield from _cells(space)
    yield from _work_days(space)
    yield from _hours(space)
    yield from _watts(space)
    yield from _fans(space)


def _sites(space: Space) -> Iterator[ChangedSpace]:
    """Yield the space with a bed of one site more in the middle of each bed of sites, at its mean light."""
    for bed in space.beds:
        if bed.kind == "nursery":
            continue
        extra = _one_site(bed)
        wants = tuple(
            want.model_copy(update={"beds": tuple(sorted((*want.beds, extra.name)))})
            if want.beds is not None and bed.name in want.beds
            else want
            for want in space.wants
        )
        readings = tuple(_mean(reading, extra.name) for reading in space.readings if reading.bed == bed.name)
        more = {
            "beds": (*space.beds, extra),
            "wants": wants,
            "readings": (*space.readings, *readings),
        }
        yield ChangedSpace(
            "site",
            bed.name,
            space.model_copy(update=more),
            bed.site_count,
            bed.site_count + 1,
            like={extra.name: bed.name},
        )


def _one_site(bed: Bed) -> Bed:
    rows, columns = bed.rows or 1, bed.columns or bed.site_count
    length_m = bed.length_m and bed.length_m / columns
    width_m = bed.width_m and bed.width_m / rows
    at = {
        key: start + (whole - part) / 2
        for key, start, whole, part in (
            ("x_m", bed.x_m, bed.length_m, length_m),
            ("y_m", bed.y_m, bed.width_m, width_m),
        )
        if start is not None and whole is not None and part is not None
    }
    one = {"sites": 1, "rows": None, "columns": None, "length_m": length_m, "width_m": width_m}
    return bed.model_copy(update={"name": f"{bed.name}, one more", "out_of_use": (), **one, **at})


def _mean(reading: Reading, bed: str) -> Reading:
    kind = "lux" if reading.umol_m2_s is None else "umol_m2_s"
    values = [value for row in getattr(reading, kind) for value in row]
    same = dict(reading) | {"bed": bed, kind: ((sum(values) / len(values),),)}
    return CopiedReading.model_construct(**same)


def _cells(space: Space) -> Iterator[ChangedSpace]:
    """Yield the space with a short row of cells more in each nursery, as close as the others."""
    for at, bed in enumerate(space.beds):
        if bed.kind != "nursery":
            continue
        if bed.rows and bed.columns and not bed.sites:
            side = "rows" if bed.rows >= bed.columns else "columns"
            along = "width_m" if side == "rows" else "length_m"
            count = getattr(bed, side)
            larger = {side: count + 1}
            grown = (count + 1) / count
        else:
            larger = {"sites": bed.site_count + FEW_CELLS}
            along, grown = "length_m", (bed.site_count + FEW_CELLS) / bed.site_count
        if (size := getattr(bed, along)) is not None:
            larger[along] = size * grown
        wider = bed.model_copy(update=larger)
        beds = (*space.beds[:at], wider, *space.beds[at + 1 :])
        yield ChangedSpace(
            "cells", bed.name, space.model_copy(update={"beds": beds}), bed.site_count, wider.site_count
        )


def _work_days(space: Space) -> Iterator[ChangedSpace]:
    """Yield the space with one more work day, each in turn; it is a harvest day too."""
    settings = space.settings
    for day in WEEKDAYS:
        if day in settings.work_days:
            continue
        more = {"work_days": _in_order((*settings.work_days, day))}
        if settings.harvest_days is not None and day not in settings.harvest_days:
            more["harvest_days"] = _in_order((*settings.harvest_days, day))
        busier = settings.model_copy(update=more)
        count = len(settings.work_days)
        yield ChangedSpace("work day", day, space.model_copy(update={"settings": busier}), count, count + 1)


def _in_order(days: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted(days, key=WEEKDAYS.index))


def _hours(space: Space) -> Iterator[ChangedSpace]:
    """Yield the space with an hour of light more in each zone, where no more of it is in the quiet hours.

    Of two such hours it is the cheaper. Zones whose hours are picked month by month are left out.
    """
    by_month = {hours.zone for hours in space.month_hours}
    for zone in space.zones:
        hours = photoperiod_h(zone)
        if zone.name in by_month or not 0 < hours <= 23:
            continue
        quiet = quiet_overlap_h(zone, lit_stretches(zone, space.tariff))
        longer = [
            _with_zone(space, other)
            for other in _longer(zone)
            if quiet_overlap_h(other, lit_stretches(other, space.tariff)) <= quiet
        ]
        if longer:
            cheapest = min(longer, key=lambda other: sum(power(other, PRICED_D)))
            yield ChangedSpace("lamp hour", zone.name, cheapest, hours, hours + 1)


def _longer(zone: Zone) -> Iterator[Zone]:
    """Yield the zone with an hour more before or after each of its stretches."""
    if zone.lit is None:
        yield zone.model_copy(update={"photoperiod_h": photoperiod_h(zone) + 1})
        return
    minutes = int(week_table(zone.lit).sum()) + 7 * HOUR_MIN
    for at, (on, off) in enumerate(zone.lit):
        for stretch in ((on, (off + HOUR_MIN) % DAY_MIN or DAY_MIN), ((on - HOUR_MIN) % DAY_MIN, off)):
            lit = (*zone.lit[:at], stretch, *zone.lit[at + 1 :])
            if int(week_table(lit).sum()) == minutes:
                yield zone.model_copy(update={"lit": lit})


def _with_zone(space: Space, zone: Zone) -> Space:
    zones = tuple(zone if other.name == zone.name else other for other in space.zones)
    return space.model_copy(update={"zones": zones})


def _watts(space: Space) -> Iterator[ChangedSpace]:
    """Yield the space with more watts of the same lamps over each zone, and as much more light."""
    for zone in space.zones:
        watts = sum(lamp.watts * lamp.count for lamp in space.fixtures if lamp.zone == zone.name)
        if watts and (zone.lit or zone.photoperiod_h):
            more = _brighter(space, zone, (watts + WATTS) / watts)
            yield ChangedSpace("watts", zone.name, more, watts, watts + WATTS)


def _brighter(space: Space, zone: Zone, share: float) -> Space:
    """Return the space with its lamps over a zone, and what was read under them, times a share.

    An air that was given with the lamp on rises above that with it off in the same proportion.
    """
    beds = {bed.name for bed in space.beds if bed.zone == zone.name}
    if zone.air_c is None and zone.lamp_on_air_c is not None and zone.lamp_off_air_c is not None:
        warmer = zone.lamp_off_air_c + share * (zone.lamp_on_air_c - zone.lamp_off_air_c)
        space = _with_zone(space, zone.model_copy(update={"lamp_on_air_c": warmer}))
    return space.model_copy(
        update={
            "fixtures": tuple(
                _stronger(lamp, share) if lamp.zone == zone.name else lamp for lamp in space.fixtures
            ),
            "readings": tuple(
                _scaled(reading, share) if reading.bed in beds else reading for reading in space.readings
            ),
        }
    )


def _stronger(lamp: Fixture, share: float) -> Fixture:
    ppf = lamp.ppf_umol_s and lamp.ppf_umol_s * share
    return lamp.model_copy(update={"watts": lamp.watts * share, "ppf_umol_s": ppf})


def _scaled(reading: Reading, share: float) -> Reading:
    kind = "lux" if reading.umol_m2_s is None else "umol_m2_s"
    rows = tuple(tuple(value * share for value in row) for row in getattr(reading, kind))
    return reading.model_copy(update={kind: rows})


def _fans(space: Space) -> Iterator[ChangedSpace]:
    """Yield the space with the air moving where it is not."""
    for zone in space.zones:
        if not zone.air_moving:
            yield ChangedSpace(
                "fan", zone.name, _with_zone(space, zone.model_copy(update={"air_moving": True}))
            )


def like_crops(want: Want, grown: str, tables: CropTables) -> tuple[Crop, ...]:
    """Return crops that could stand in for one that is grown for a want: its genus, form and unit."""
    crop = tables.crops[grown]
    return tuple(
        other
        for slug, other in tables.crops.items()
        if slug not in want.crops
        and (other.kind, other.unit) == (crop.kind, crop.unit)
        and other.latin.split(" ")[:1] == crop.latin.split(" ")[:1]
    )


def with_want(space: Space, number: int, want: Want) -> Space:
    """Return the space with another want in place of one."""
    return space.model_copy(update={"wants": (*space.wants[:number], want, *space.wants[number + 1 :])})


def power(space: Space, days: int) -> tuple[float, float]:
    """Return cost, 0 without a tariff, and kWh of the power of a space over some days from its start."""
    lines = bill(space, space.settings.start, days)
    return sum(line.cost or 0.0 for line in lines), sum(line.kwh for line in lines)
