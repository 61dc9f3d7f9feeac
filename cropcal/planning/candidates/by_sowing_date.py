"""Offers whose growth is that of each of the plan's own sowings: where the sun comes in, light changes."""

from dataclasses import replace

from cropcal.planning.candidates.columns import Option, sowings
from cropcal.planning.candidates.eligible import Capacity
from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.growth.crop_growth import GrowthTable
from cropcal.planning.growth.pace import UNLEARNED, Pace, Paces
from cropcal.planning.growth.seasonal_growth import grow_from
from cropcal.planning.site.growing_conditions import GrowingConditions
from cropcal.records.crop import CropTables


def by_sowing(
    offers: tuple[Option, ...], tables: CropTables, land: Capacity, paces: Paces | None, time: WorkCalendar
) -> tuple[Option, ...]:
    """Return the offers with growth for each of the plan's own sowings; those without a window as they are.

    An offer none of whose sowings gets ready, or enough light, is left out.
    """
    found: dict[tuple[str, int, str | None], GrowthTable | None] = {}
    made = []
    for offer in offers:
        grown, place = offer.grown, land.places[offer.place]
        cradle = land.cradles.get(grown.nursery or "")
        if (
            grown.crop.kind == "shoots"
            or grown.plug_age_d is not None
            or not (place.spot.seasons or (cradle and cradle.seasons))
        ):
            made.append(offer)
            continue
        key = (grown.crop.slug, offer.place, grown.nursery)
        if key not in found:
            pace = (paces or {}).get((grown.crop.slug, place.bed.name), UNLEARNED)
            found[key] = _rows(grown, tables, place.spot, cradle, pace, time)
        rows = found[key]
        if rows is not None:
            made.append(replace(offer, grown=rows))
    return tuple(made)


def _rows(
    grown: GrowthTable,
    tables: CropTables,
    site: GrowingConditions,
    cradle: GrowingConditions | None,
    pace: Pace,
    time: WorkCalendar,
) -> GrowthTable | None:
    """Return the growth of every sowing that work days allow, one row each."""
    sown, planted, _ = sowings(grown, time, time.days)
    dates = [time.date_of(int(day)) for day in sown]
    rows, good = grow_from(grown.crop, tables, site, cradle, pace, dates, planted - sown)
    return None if rows is None else replace(rows, sown_d=sown[good], planted_d=planted[good])
