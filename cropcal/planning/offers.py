"""Which crop may grow where, for which want: the pairs that the programme chooses from."""

from dataclasses import dataclass

from cropcal.planning.bill import ZoneDay
from cropcal.planning.fits import suits_bed
from cropcal.planning.growing import Grown, Spot, grow, spot
from cropcal.planning.ways import Offer
from cropcal.records.crop import Crop, CropTables
from cropcal.records.plan import BedLight, Fit
from cropcal.records.space import Bed, Space, Want


@dataclass(frozen=True, eq=False)
class Ground:
    """The beds as the programme counts them: places with sites, nurseries with cells, and their spots."""

    places: tuple[Bed, ...]
    nurseries: tuple[Bed, ...]
    spots: dict[str, Spot]
    day_cost: dict[str, float]
    day_kwh: dict[str, float]


def ground(space: Space, lights: tuple[BedLight, ...], zone_days: dict[str, ZoneDay]) -> Ground:
    """Return the beds with what a site in each finds and what it costs a day.

    A zone's power is shared by the floor that its beds cover. Without a tariff, kWh stand for cost.
    """
    by_bed = {light.bed: light for light in lights}
    spots = {bed.name: spot(bed, space.zone(bed.zone), by_bed[bed.name]) for bed in space.beds}
    covered = {zone.name: 0.0 for zone in space.zones}
    for bed in space.beds:
        covered[bed.zone] += spots[bed.name].site_area_m2 * bed.site_count
    share = {bed.name: spots[bed.name].site_area_m2 / covered[bed.zone] for bed in space.beds}
    day_kwh = {bed.name: share[bed.name] * zone_days[bed.zone].kwh for bed in space.beds}
    day_cost = {}
    for bed in space.beds:
        cost = zone_days[bed.zone].cost
        day_cost[bed.name] = day_kwh[bed.name] if cost is None else share[bed.name] * cost
    return Ground(
        places=tuple(bed for bed in space.beds if bed.kind != "nursery"),
        nurseries=tuple(bed for bed in space.beds if bed.kind == "nursery"),
        spots=spots,
        day_cost=day_cost,
        day_kwh=day_kwh,
    )


def offers(space: Space, tables: CropTables, land: Ground, verdicts: tuple[Fit, ...]) -> tuple[Offer, ...]:
    """Return every (want, crop, bed, nursery) that may be grown, in the order of the file.

    A crop is not offered where its verdict is "no", nor where it never gets ready.
    """
    hopeless = {(fit.crop, fit.bed) for fit in verdicts if fit.verdict == "no"}
    grown: dict[tuple[str, str, str], Grown | None] = {}
    found = []
    for index, want in enumerate(space.wants):
        for slug in dict.fromkeys(want.crops):
            for place, bed in enumerate(land.places):
                if not _allowed(want, tables.crops[slug], bed) or (slug, bed.name) in hopeless:
                    continue
                for number, nursery in _nurseries(tables.crops[slug], land):
                    key = (slug, bed.name, nursery.name if nursery else "")
                    if key not in grown:
                        raised = land.spots[nursery.name] if nursery else None
                        grown[key] = grow(tables.crops[slug], tables, land.spots[bed.name], raised)
                    how = grown[key]
                    if how is not None:
                        cell_cost = land.day_cost[nursery.name] if nursery else 0.0
                        found.append(Offer(index, place, number, how, land.day_cost[bed.name], cell_cost))
    return tuple(found)


def _allowed(want: Want, crop: Crop, bed: Bed) -> bool:
    return (
        suits_bed(crop, bed)
        and (want.beds is None or bed.name in want.beds)
        and (want.zones is None or bed.zone in want.zones)
    )


def _nurseries(crop: Crop, land: Ground) -> list[tuple[int, Bed | None]]:
    """Return the nurseries a crop may be raised in; none: it is sown in place."""
    if crop.nursery_d == 0 or not land.nurseries:
        return [(-1, None)]
    return list(enumerate(land.nurseries))
