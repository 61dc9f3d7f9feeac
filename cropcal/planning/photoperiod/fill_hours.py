"""Hours for every zone: those of the file, and where it gives none, those that are picked."""

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta

import numpy as np

from cropcal.planning.photoperiod import explanation as reasons
from cropcal.planning.photoperiod.explanation import Case
from cropcal.planning.photoperiod.requirements import requirements
from cropcal.planning.photoperiod.settings import (
    USUAL_LENGTH,
    Grid,
    air_of,
    allowed_timers,
    best_setting,
    brightness_levels,
    grid,
    judge,
    mean_output,
)
from cropcal.planning.photoperiod.supplemental import YearHours, year_hours
from cropcal.planning.photoperiod.tradeoff import ZoneModel, days_to_harvest, first_nursery
from cropcal.planning.power.lamp_hours import Stretches, lit_by_month
from cropcal.planning.power.quarter_hour_prices import Array, ByQuarter, quarter_prices
from cropcal.planning.site.air import zone_air
from cropcal.planning.site.bed_light import bed_lights
from cropcal.planning.site.sunlight import planned_halves
from cropcal.records.base import stretch_hours
from cropcal.records.crop import CropTables
from cropcal.records.daylight import month_spans
from cropcal.records.hours import TimerLine, hours_key
from cropcal.records.plan import BedLight
from cropcal.records.space import (
    Assumption,
    Fixture,
    MonthHours,
    Reading,
    Space,
    Zone,
)
from cropcal.science.power import lamp_watts


def with_hours(space: Space, tables: CropTables) -> Space:
    """Return the space with hours for every zone: where the file gives none, those that are picked.

    A lamp that can be turned down is set to the picked output, its watts and readings with it. What was
    picked is listed as assumed. A space whose zones all have hours comes back as it is.
    """
    space = _daylight_only(space)
    open_zones = [zone for zone in space.zones if zone.lit is None and zone.photoperiod_h is None]
    if not open_zones:
        return space
    lights = bed_lights(space, tables)
    prices = quarter_prices(space)
    for zone in _nursery_first(open_zones, space):
        if zone.has_daylight and (year := year_hours(space, tables, lights, zone, prices)) is not None:
            space = _with_year(space, year)
            continue
        space = _with_pick(space, zone_case(space, tables, lights, zone, prices))
    return space


def _nursery_first(zones: Sequence[Zone], space: Space) -> list[Zone]:
    """Return the zone of the seedlings first: days to harvest elsewhere depend on its light."""
    nursery = first_nursery(space)
    return sorted(zones, key=lambda zone: nursery is None or zone.name != nursery.zone)


def _daylight_only(space: Space) -> Space:
    """Return the space with no lamp hours in zones that have a window and no lamp."""
    dark = without_lamp(space)
    if not dark:
        return space
    off = {"lit": (), "photoperiod_h": None}
    zones = tuple(zone.model_copy(update=off) if zone.name in dark else zone for zone in space.zones)
    return space.model_copy(update={"zones": zones})


def without_lamp(space: Space) -> frozenset[str]:
    """Return the zones that have a window and no lamp."""
    lamped = {lamp.zone for lamp in space.fixtures} | {
        space.bed(reading.bed).zone for reading in space.readings
    }
    return frozenset(zone.name for zone in space.zones if zone.has_daylight and zone.name not in lamped)


def timer_lines(space: Space, dark: Mapping[str, Collection[date]] | None = None) -> tuple[TimerLine, ...]:
    """Return how each timer of a settled space is set, one line a stretch.

    ``dark``: days on which the lamp of a zone is off all day, by its name.
    """
    return tuple(
        line
        for zone in space.zones
        for line in zone_timer(space, zone, lit_by_month(space, zone), (dark or {}).get(zone.name, ()))
    )


def zone_timer(
    space: Space, zone: Zone, by_month: tuple[Stretches, ...], dark: Collection[date] = ()
) -> tuple[TimerLine, ...]:
    """Return how one timer is set over the planned weeks: anew where its hours change with the month.

    A lamp that stays off in some months, or on ``dark`` days, has a line of output 0.
    """
    output, start = mean_output(space, zone.name), space.settings.start
    lines: list[TimerLine] = []
    last: Stretches | None = None
    for day in (start + timedelta(days=number) for number in range(space.settings.weeks * 7)):
        lit = () if day in dark else by_month[day.month - 1]
        if lit == last or (last is None and not any(by_month)):
            continue
        last = lit
        for on, off in lit or ((0, 0),):
            shown = output if lit else 0.0
            lines.append(TimerLine(zone=zone.name, start=day, on=on, off=off, output=shown))
    return tuple(lines)


def _with_year(space: Space, year: YearHours) -> Space:
    """Return the space with the picked hours of each month of one zone; its own are the longest planned."""
    zone = year.case.zone
    weights = planned_halves(space).reshape(12, 2).sum(axis=1)
    planned = [number for number, share in enumerate(weights) if share > 0]
    longest = max((year.by_month[number] for number in planned), key=_total_h)
    named = Assumption(
        key=hours_key(zone.name),
        value=hours_by_month(year.by_month),
        why="no hours given, so picked: what tops up the sun for all wanted crops without too long a day, "
        "at the least cost; see cropcal photoperiod and cropcal daylight",
    )
    with_lit = zone.model_copy(update={"lit": longest})
    return space.model_copy(
        update={
            "zones": tuple(with_lit if other.name == zone.name else other for other in space.zones),
            "month_hours": (*space.month_hours, MonthHours(zone=zone.name, lit=year.by_month)),
            "assumed": (*space.assumed, named),
        }
    )


def _total_h(lit: Stretches) -> float:
    return sum(stretch_hours(stretch) for stretch in lit)


def hours_by_month(by_month: tuple[Stretches, ...]) -> str:
    """Return the hours of each month in words: "Nov to Feb 05:00-19:00 (14 h), May to Aug off"."""
    if len(set(by_month)) == 1:
        return _hours_text(by_month[0])
    months = {lit: [number for number, other in enumerate(by_month) if other == lit] for lit in by_month}
    return "; ".join(f"{month_spans(numbers)} {_hours_text(lit)}" for lit, numbers in months.items())


def _hours_text(lit: Stretches) -> str:
    return f"{reasons.stretches_text(lit)} ({_total_h(lit):g} h)" if lit else "off"


def zone_case(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    zone: Zone,
    prices: dict[bool, ByQuarter],
    settled: Space | None = None,
) -> Case:
    """Return the case of one zone: its requirements, every timer setting judged, and the best one.

    ``settled``: the space with the hours of the zone in which seedlings grow, where ``space`` lacks them.
    """
    settled = settled or space
    wanted = requirements(space, tables, lights, zone)
    hottest = min((need.limits.max_c for need in wanted), default=np.inf)
    on = grid(
        zone,
        brightness_levels(space, zone),
        prices[zone.timer_follows_clock],
        air_of(zone, space.fixtures),
        hottest_c=hottest,
    )
    by_bed = {light.bed: light for light in bed_lights(settled, tables)}
    model = ZoneModel(settled, tables, by_bed, {})

    def days_on(other: Grid) -> list[Array]:
        return [days_to_harvest(need, zone, other, model) for need in wanted]

    judged = judge(wanted, on, days=days_on(on))
    among = allowed_timers(on) if wanted else on.timers.total == USUAL_LENGTH
    watts = zone_air(zone, space.fixtures).watts
    place, by_quarter = best_setting(judged, among), prices[zone.timer_follows_clock]
    return Case(zone, wanted, judged, place, by_quarter, watts, days_on)


def _with_pick(space: Space, case: Case) -> Space:
    """Return the space with the picked hours and output of one zone."""
    output, timer = case.place
    share = float(case.on.brightness[output])
    lit = case.on.timers.stretches_min(timer)
    hours = float(case.on.lit_h[timer])
    named = Assumption(
        key=hours_key(case.zone.name),
        value=f"{reasons.stretches_text(lit)} ({hours:g} h)"
        + ("" if share == 1 else f", light at {share:.0%} of today's"),
        why=f"no hours given, so picked: {reasons.why(case, priced=space.tariff is not None)}; "
        "see cropcal photoperiod",
    )
    air = air_of(case.zone, space.fixtures)
    warm = {} if share == 1 else {"lamp_on_air_c": float(air.off_c[0] + share * (air.on_c[0] - air.off_c[0]))}
    zone = case.zone.model_copy(update={"lit": lit, **(warm if case.zone.lamp_on_air_c is not None else {})})
    beds = {bed.name for bed in space.beds if bed.zone == zone.name}
    return space.model_copy(
        update={
            "zones": tuple(zone if entry.name == zone.name else entry for entry in space.zones),
            "fixtures": tuple(
                _turned(entry, share) if entry.zone == zone.name else entry for entry in space.fixtures
            ),
            "readings": tuple(
                _dimmed(entry, share) if entry.bed in beds else entry for entry in space.readings
            ),
            "assumed": (*space.assumed, named),
        }
    )


def _turned(lamp: Fixture, share: float) -> Fixture:
    return lamp.model_copy(
        update={
            "output": min(lamp.output * share, 1.0),
            "watts": lamp_watts(lamp.watts, share, 1.0, lamp.standby_watts),
        }
    )


def _dimmed(reading: Reading, share: float) -> Reading:
    """Return the reading as it would be with the lamps turned to a share of what they gave."""
    kind = "lux" if reading.umol_m2_s is None else "umol_m2_s"
    rows = tuple(tuple(value * share for value in row) for row in getattr(reading, kind))
    return reading.model_copy(update={kind: rows})
