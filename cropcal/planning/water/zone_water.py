"""The water of every zone over a plan, and the jobs that come of it."""

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Final

from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.growth.pace import Paces
from cropcal.planning.water.stops import stopped_pumps, stops_of
from cropcal.planning.water.tank import TankYear
from cropcal.planning.water.use import Array, Pots, by_zone, daily_dry_g, daily_pots, water_use
from cropcal.records.crop import CropTables
from cropcal.records.plan import Batch, BedLight, Job, SiteUse
from cropcal.records.space import Space, Zone, photoperiod_h
from cropcal.records.water import FloodRhythm, Litres, StoppedPump, WaterWeek, ZoneWater
from cropcal.records.written_plan import Past
from cropcal.science import water
from cropcal.units import HOURS_PER_DAY

LONG_DARK_H: Final = 6.0
"""Dark hours from which pots are flooded once in between (common practice)."""

PUMPED: Final = (None, "flood", "drip")
"""Ways of watering whose pump runs for minutes; None: the file does not say, but its pump does."""


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
    season = time.since_the_first_day
    pots = by_zone(water_use(space, tables, lights, paces).pots(batches, sites), space)
    rows: list[ZoneWater] = []
    jobs: list[Job] = []
    for zone in space.zones:
        if not pots[zone.name]:
            continue
        rows.append(_of_zone(space, zone, pots[zone.name], time))
        if zone.tank_l is not None:
            jobs += TankYear(zone, zone.tank_l, *_litres(pots[zone.name], season), season).jobs(space.chores)
    return tuple(rows), tuple(job for job in jobs if job.on >= time.start)


def _litres(pots: Sequence[Pots], time: WorkCalendar) -> tuple[Array, Array, Array]:
    """Return the litres of some pots on each day of a calendar: low, middle and high, (days,) each."""
    return water.litres(daily_dry_g(pots, time.start, time.days))


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


def _of_zone(space: Space, zone: Zone, pots: Sequence[Pots], time: WorkCalendar) -> ZoneWater:
    low, middle, high = _litres(pots, time)
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
    return ZoneWater(
        zone=zone.name,
        watered=zone.watered,
        weeks=tuple(weeks),
        tank=tank.summary() if tank is not None else None,
        rhythm=rhythm_of(space, zone),
        stops=stops_of(space, zone, pots),
    )


def rhythm_of(space: Space, zone: Zone) -> FloodRhythm | None:
    """Return the rhythm of floods (or drips) of a zone, None where nothing says that it has one.

    A pump whose minutes are in the file counts first, then what is usual for the pots of a zone that is
    flooded. ``pot_l`` has to be filled in.
    """
    for load in space.loads:
        if "pump" not in load.name.casefold() or load.zone not in (None, zone.name):
            continue
        if load.on_minutes is not None and load.every_minutes is not None and zone.watered in PUMPED:
            return FloodRhythm(
                zone=zone.name,
                minutes=max(round(load.on_minutes), 1),
                every_minutes=max(round(load.every_minutes), 1),
                in_dark=None,
                known="file",
            )
    if zone.watered != "flood" or zone.pot_l is None:
        return None
    dark_h = HOURS_PER_DAY - photoperiod_h(zone)
    return FloodRhythm(
        zone=zone.name,
        minutes=int(water.flood_minutes(zone.pot_l)),
        every_minutes=round(60 * float(water.flood_every_h(zone.pot_l))),
        in_dark=1 if dark_h >= LONG_DARK_H else 0,
        known="common practice",
        pot_l=zone.pot_l,
        pot_assumed=_is_pot_assumed(space, zone),
    )


def _is_pot_assumed(space: Space, zone: Zone) -> bool:
    """Return whether the volume of a zone's pots was filled in."""
    place = next(at for at, other in enumerate(space.zones, 1) if other.name == zone.name)
    quoted = zone.name.replace("\\", "\\\\").replace('"', '\\"')
    keys = {f"zone.{zone.name}.pot_l", f'zone."{quoted}".pot_l', f"zone[{place}].pot_l"}
    return any(item.key in keys for item in space.assumed)
