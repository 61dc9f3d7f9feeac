"""What lies where in a zone and how bright it is: records for the map of the light."""

from collections.abc import Sequence
from typing import Literal

from cropcal.planning.site import panels
from cropcal.planning.site.lamp_light import grid
from cropcal.records.plan import BedLight
from cropcal.records.scene import (
    LampOutline,
    LitBed,
    LitSite,
    LitZone,
)
from cropcal.records.space import (
    Bed,
    Space,
    Zone,
    photoperiod_h,
)


def lit_zones(space: Space, lights: Sequence[BedLight]) -> tuple[LitZone, ...]:
    """Return each zone with its beds and their light, in the order of the file.

    Nothing is invented: a bed without a place has none here either, nor has a lamp without a size.
    """
    by_bed = {light.bed: light for light in lights}
    return tuple(
        LitZone(
            name=zone.name,
            length_m=zone.length_m,
            width_m=zone.width_m,
            photoperiod_h=photoperiod_h(zone),
            walls=zone.walls,
            lamp_count=sum(fixture.count for fixture in space.fixtures if fixture.zone == zone.name),
            lamps=_lamps(space, zone),
            beds=tuple(
                _bed(space, zone, bed, by_bed[bed.name]) for bed in space.beds if bed.zone == zone.name
            ),
        )
        for zone in space.zones
    )


def _lamps(space: Space, zone: Zone) -> tuple[LampOutline, ...]:
    sized = tuple(
        fixture
        for fixture in space.fixtures
        if fixture.zone == zone.name and fixture.length_m is not None and fixture.width_m is not None
    )
    nothing = [0.0] * len(sized)  # photons and distances do not matter to an outline
    faces = panels.panels(zone, sized, nothing, nothing)
    return tuple(
        LampOutline(x_m=float(x), y_m=float(y), length_m=float(length), width_m=float(width))
        for (x, y), (length, width) in zip(faces.corner_m, faces.size_m, strict=True)
    )


def _bed(space: Space, zone: Zone, bed: Bed, light: BedLight) -> LitBed:
    rows, columns = grid(bed)
    points = panels.site_points(bed, zone, rows, columns)
    places: list[tuple[float | None, float | None]] = (
        [(None, None)] * bed.site_count if points is None else [(float(x), float(y)) for x, y in points]
    )
    return LitBed(
        name=bed.name,
        kind=bed.kind,
        rows=rows,
        columns=columns,
        x_m=bed.x_m,
        y_m=bed.y_m,
        length_m=bed.length_m,
        width_m=bed.width_m,
        alike=_alike(space, bed),
        source=light.source,
        by_month=bool(light.halves),
        sd_ln=light.sd_ln,
        sites=tuple(
            LitSite(site=number, x_m=x, y_m=y, ppfd_umol_m2_s=ppfd, dli_mol_m2_d=light.dli_mol_m2_d(ppfd))
            for number, ((x, y), ppfd) in enumerate(
                zip(places, light.site_ppfd_umol_m2_s, strict=True), start=1
            )
        ),
    )


def _alike(space: Space, bed: Bed) -> Literal["", "one reading", "floor mean"]:
    """Return why all sites of a bed have one value, if they have it for want of knowledge."""
    reading = next((reading for reading in space.readings if reading.bed == bed.name), None)
    if reading is not None:
        single = sum(map(len, reading.umol_m2_s or reading.lux or ())) == 1 and bed.site_count > 1
        return "one reading" if single else ""
    lamps = tuple(fixture for fixture in space.fixtures if fixture.zone == bed.zone)
    return "" if panels.has_panels(lamps) and bed.x_m is not None else "floor mean"
