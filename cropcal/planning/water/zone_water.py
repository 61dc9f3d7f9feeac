"""The water of every zone over a plan, and the jobs that come of it."""

from collections.abc import Iterable, Sequence
from datetime import timedelta

from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.growth.pace import Paces
from cropcal.planning.water.rhythm import rhythm_of
from cropcal.planning.water.stops import stopped_pumps, stops_of
from cropcal.planning.water.tank import TankYear
from cropcal.planning.water.use import Pots, by_zone, daily_dry_g, daily_pots, water_use
from cropcal.records.crop import CropTables
from cropcal.records.past import Past
from cropcal.records.plan import Batch, BedLight, Job, SiteUse
from cropcal.records.space import Space, Zone
from cropcal.records.water import Litres, StoppedPump, WaterWeek, ZoneWater
from cropcal.science import water


def zone_water(
    space: Space,
    tables: CropTables,
    lights: Iterable[BedLight],
    batches: Sequence[Batch],
    sites: Iterable[SiteUse],
    time: WorkCalendar,
    paces: Paces | None = None,
) -> tuple[tuple[ZoneWater, ...], tuple[Job, ...]]:
    """Return the water of each zone that has plants, and topping up and changing where a tank is given.

    Parameters
    ----------
    space, tables, lights
        The space with its hours, the crops, the light of each bed.
    batches, sites
        Those of the plan.
    time
        The calendar of the plan.
    paces
        How fast crops grow here, as learned.
    """
    pots = by_zone(water_use(space, tables, lights, paces).pots(batches, sites), space)
    told, jobs = [], []
    for zone in space.zones:
        if not pots[zone.name]:
            continue
        row, its_jobs = _of_zone(space, zone, pots[zone.name], time)
        told.append(row)
        jobs += its_jobs
    return tuple(told), tuple(jobs)


def pumps_stopped(
    space: Space,
    tables: CropTables,
    lights: Iterable[BedLight],
    past: Past,
    paces: Paces | None = None,
) -> tuple[StoppedPump, ...]:
    """Return the last stops of pump or power that were noted, and what may have dried, by the last plan."""
    if not any(event.event == "outage" and event.what in ("pump", "power") for event in past.events):
        return ()
    pots = water_use(space, tables, lights, paces).pots(past.batches, past.sites)
    return stopped_pumps(space, pots, past.events, past.on)


def _of_zone(
    space: Space, zone: Zone, pots: Sequence[Pots], time: WorkCalendar
) -> tuple[ZoneWater, list[Job]]:
    low, middle, high = water.litres(daily_dry_g(pots, time.start, time.days))
    count = daily_pots(pots, time.start, time.days)
    weeks = []
    for week in range(time.weeks):
        days = slice(week * DAYS_PER_WEEK, (week + 1) * DAYS_PER_WEEK)
        if count[days].any():
            litres = Litres(
                low=float(low[days].mean()), middle=float(middle[days].mean()), high=float(high[days].mean())
            )
            on = time.start + timedelta(weeks=week)
            weeks.append(WaterWeek(week=on, l_per_d=litres, plants=int(count[days].max())))
    tank = TankYear(zone, zone.tank_l, low, middle, high, time) if zone.tank_l is not None else None
    told = ZoneWater(
        zone=zone.name,
        watered=zone.watered,
        weeks=tuple(weeks),
        tank=tank.told() if tank is not None else None,
        rhythm=rhythm_of(space, zone),
        stops=stops_of(space, zone, pots),
    )
    return told, list(tank.jobs(space.chores)) if tank is not None else []
