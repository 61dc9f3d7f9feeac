"""What may hurt people, plants or the house: heat, lamps too near, too much current, too many watts."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final, Literal

from cropcal.planning.growth.crop_in_bed import suits_bed
from cropcal.planning.site.air import zone_air
from cropcal.planning.site.lamp_light import clearance_m
from cropcal.records.crop import CropTables
from cropcal.records.hazard import (
    Dense,
    Hazard,
    Heat,
    Overload,
    TooNear,
)
from cropcal.records.journal import Entry
from cropcal.records.space import Bed, Fixture, Space

HOT_C: Final = 40.0
"""Air above which lamps, drivers and plugs are past what most are rated for (common practice; makers print
40 C as the highest ambient of most drivers and lamps for plants)."""

HOT_LAMP_M: Final = 0.2
"""Lamps that need more clearance than this are hot enough to scorch what comes near: grown plants count too,
and an unknown distance (assumed)."""

MOST_W_M2: Final = 2000.0
"""Lamp watts over a square metre of floor from which something is wrong: at 2 umol/J that is twice the light
of the midday sun (assumed)."""

LOW_V: Final = 150.0
"""Mains below this have sockets for 15 A, those above it for 10 to 16 A."""

SOCKET_A: Final = {True: 12.0, False: 10.0}
"""What a usual socket, plug and lead carry for hours, at mains below and above ``LOW_V``.

Below: 80 % of a circuit of 15 A. The NFPA 70 (National Electrical Code), art. 210.19(A) and 210.20(A), wants
125 % of a continuous load; continuous is three hours and more (art. 100; from memory). Above: leads are made
for 13 A, some older ones for 10 A (Electrical Safety First, Extension leads, cable reels and block adaptors);
sockets for 10, 13 or 16 A by country: the least of them (common practice).
"""

TIMER_A: Final = 5.0
"""Lamps with drivers or ballasts that a usual plug-in timer switches: at switch-on they draw many times their
running current, so that makers allow a third or less of what is printed for heaters (common practice)."""

SUPPLY_SHARE: Final = 0.8
"""Share of a laid-out supply that lamps may draw for hours (NFPA 70, art. 210.20(A), as above)."""

LOW_V_ZONES: Final = ("America/", "US/", "Canada/", "Asia/Tokyo", "Asia/Taipei", "Japan", "Pacific/Honolulu")
HIGH_V_ZONES: Final = (
    "America/Argentina/", "America/Asuncion", "America/Buenos_Aires", "America/Cayenne", "America/Godthab",
    "America/La_Paz", "America/Lima", "America/Montevideo", "America/Nuuk", "America/Punta_Arenas",
    "America/Santiago",
)  # fmt: skip
"""Timezones by which mains of 120 or of 230 V are taken (common practice; both are found in Brazil)."""


def hazards(space: Space, tables: CropTables, events: Sequence[Entry] = ()) -> tuple[Hazard, ...]:
    """Return the known hazards of a space, heat first.

    Parameters
    ----------
    space
        The space, with its defaults and measured series filled in.
    tables
        The lamps by kind, and how tall crops grow.
    events
        The entries of the journal; the last air noted in each zone counts.
    """
    return (*_heat(space, events), *_near(space, tables), *_current(space), *_dense(space))


def mains_v(space: Space) -> float:
    """Return the voltage of the mains: as given, else the usual one of the timezone [V]."""
    if space.place.mains_v is not None:
        return space.place.mains_v
    zone = space.place.timezone or ""
    low = zone.startswith(LOW_V_ZONES) and not zone.startswith(HIGH_V_ZONES)
    return 120.0 if low else 230.0


def heat_noted(event: Entry) -> Heat | None:
    """Return the hazard in a journal entry of air, None if it was not that hot."""
    if event.event != "air" or event.amount is None or event.amount < HOT_C:
        return None
    return Heat(zone=event.zone, air_c=event.amount, limit_c=HOT_C, seen="noted", on=event.on)


def _heat(space: Space, events: Sequence[Entry]) -> Iterator[Heat]:
    only = space.zones[0].name if len(space.zones) == 1 else ""
    last = {event.zone or only: event for event in events if event.event == "air"}
    measured = {series.zone: series for series in space.measured_air if series.used}
    for zone in space.zones:
        if not _in_use(space, zone.name):
            continue
        air = zone_air(zone, space.fixtures)
        hottest_c = max(air.lamp_on_c, air.lamp_off_c, air.highest_c or air.lamp_off_c)
        series = measured.get(zone.name)
        noted = heat_noted(last[zone.name]) if zone.name in last else None
        if series is not None and series.highest_c >= HOT_C:
            yield Heat(
                zone=zone.name, air_c=series.highest_c, limit_c=HOT_C, seen="air.csv", on=series.highest_on
            )
        elif noted is not None:
            yield noted.model_copy(update={"zone": zone.name})
        elif series is None and hottest_c >= HOT_C:
            known: Literal["file", "computed"] = "file" if zone.room_c is None else "computed"
            yield Heat(zone=zone.name, air_c=hottest_c, limit_c=HOT_C, seen=known)


def _in_use(space: Space, zone: str) -> bool:
    return zone in {bed.zone for bed in space.beds} | {lamp.zone for lamp in space.fixtures}


def _near(space: Space, tables: CropTables) -> Iterator[TooNear]:
    """Yield each fixture that hangs too near, once, by the bed over which it hangs lowest."""
    taken = {item.key for item in space.assumed}
    for number, fixture in enumerate(space.fixtures, 1):
        beds = [bed for bed in space.beds if bed.zone == fixture.zone]
        distance_assumed = f"fixture[{number}].lamp_to_canopy_m" in taken
        too_near = [
            hazard
            for bed in beds
            if (hazard := _over(fixture, bed, distance_assumed, space, tables)) is not None
        ]
        if too_near:
            yield min(too_near, key=lambda hazard: -1.0 if hazard.left_m is None else hazard.left_m)


def _over(
    fixture: Fixture, bed: Bed, distance_assumed: bool, space: Space, tables: CropTables
) -> TooNear | None:
    clearance = clearance_m(fixture, tables.lamps[fixture.lamp])
    distance = bed.lamp_to_canopy_m or (None if distance_assumed else fixture.lamp_to_canopy_m)
    hot = clearance > HOT_LAMP_M
    near = TooNear(
        zone=fixture.zone,
        lamp=fixture.lamp,
        watts=fixture.watts,
        clearance_m=clearance,
        by="kind" if fixture.clearance_m is None else "maker",
        distance_m=distance,
        left_m=distance,
    )
    if distance is None:
        return near if hot else None
    if distance < clearance - 1e-9:
        return near
    wanted = dict.fromkeys(slug for want in space.wants for slug in want.crops)
    crops = [tables.crops[slug] for slug in wanted if suits_bed(tables.crops[slug], bed)]
    if not hot or not crops:
        return None
    tallest = max(crops, key=lambda crop: crop.height_cm)
    left = distance - tallest.height_cm / 100
    if left >= clearance - 1e-9:
        return None
    return near.model_copy(update={"crop": tallest.slug, "left_m": max(left, 0.0)})


def _current(space: Space) -> Iterator[Overload]:
    """Yield overloads of socket, timer or supply, with all lamps and loads on at once."""
    volts = mains_v(space)
    stated = space.place.mains_v is not None
    lamps = {
        zone: sum(fixture.watts * fixture.count for fixture in group)
        for zone, group in groupby(
            sorted(space.fixtures, key=lambda fixture: fixture.zone), lambda fixture: fixture.zone
        )
    }
    total = sum(lamps.values()) + sum(load.watts for load in space.loads)
    supply = space.place.supply_a
    parts: list[tuple[Literal["socket", "timer", "supply"], str, float, float]]
    if supply is not None:
        parts = [("supply", "", total, SUPPLY_SHARE * supply)]
    else:
        limit = SOCKET_A[volts < LOW_V]
        parts = [("socket", "", total, limit)]
        if total / volts <= limit:  # else the socket is the graver one, and a timer carries less
            parts += [("timer", zone, watts, TIMER_A) for zone, watts in lamps.items()]
    for part, zone, watts, limit in parts:
        if watts / volts > limit:
            yield Overload(
                zone=zone, part=part, watts=watts, mains_v=volts, mains_stated=stated, amps=watts / volts,
                limit_a=limit,
            )  # fmt: skip


def _dense(space: Space) -> Iterator[Dense]:
    for zone in space.zones:
        watts = sum(lamp.watts * lamp.count for lamp in space.fixtures if lamp.zone == zone.name)
        if watts / zone.area_m2 > MOST_W_M2:
            yield Dense(zone=zone.name, watts=watts, w_per_m2=watts / zone.area_m2, limit_w_per_m2=MOST_W_M2)
