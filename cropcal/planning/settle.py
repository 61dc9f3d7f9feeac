"""Hours for every zone: those of the file, and where it gives none, those that are picked."""

import numpy as np

from cropcal.planning import reasons
from cropcal.planning.air import zone_air
from cropcal.planning.choice import (
    USUAL_LENGTH,
    air_of,
    best,
    brightness_levels,
    grid,
    judge,
    mean_output,
    offered,
)
from cropcal.planning.hours import lit_stretches
from cropcal.planning.light_budget import bed_lights
from cropcal.planning.needs import needs
from cropcal.planning.prices import ByQuarter, quarter_prices
from cropcal.planning.reasons import Case
from cropcal.records.crop import CropTables
from cropcal.records.hours import TimerLine
from cropcal.records.plan import BedLight
from cropcal.records.space import Assumption, Fixture, Reading, Space, Zone
from cropcal.science.power import lamp_watts


def settled(space: Space, tables: CropTables) -> Space:
    """Return the space with hours for every zone: where the file gives none, those that are picked.

    A lamp that can be turned down is set to the picked output, its watts and readings with it. What was
    picked is listed as assumed. A space whose zones all have hours comes back as it is.
    """
    open_zones = [zone for zone in space.zones if zone.lit is None and zone.photoperiod_h is None]
    if not open_zones:
        return space
    lights = bed_lights(space, tables)
    prices = quarter_prices(space)
    for zone in open_zones:
        case = case_of(space, tables, lights, zone, prices)
        space = _with_pick(space, case)
    return space


def timer_lines(space: Space) -> tuple[TimerLine, ...]:
    """Return how each timer of a settled space is set, one line a stretch."""
    return tuple(
        TimerLine(
            zone=zone.name, start=space.settings.start, on=on, off=off, output=mean_output(space, zone.name)
        )
        for zone in space.zones
        for on, off in lit_stretches(zone, space.tariff)
    )


def case_of(
    space: Space,
    tables: CropTables,
    lights: tuple[BedLight, ...],
    zone: Zone,
    prices: dict[bool, ByQuarter],
) -> Case:
    """Return one zone with what is wanted there, every timer setting, and the best."""
    wanted = needs(space, tables, lights, zone)
    hottest = min((need.limits.max_c for need in wanted), default=np.inf)
    on = grid(
        zone,
        brightness_levels(space, zone),
        prices[zone.timer_follows_clock],
        air_of(zone, space.fixtures),
        hottest_c=hottest,
    )
    judged = judge(wanted, on)
    among = offered(on) if wanted else on.timers.total == USUAL_LENGTH
    watts = zone_air(zone, space.fixtures).watts
    return Case(zone, wanted, judged, best(judged, among), prices[zone.timer_follows_clock], watts)


def _with_pick(space: Space, case: Case) -> Space:
    """Return the space with the picked hours and output of one zone."""
    output, timer = case.place
    share = float(case.on.brightness[output])
    lit = case.on.timers.stretches_min(timer)
    hours = float(case.on.lit_h[timer])
    named = Assumption(
        key=f"hours of {case.zone.name}",
        value=f"{reasons.spell(lit)} ({hours:g} h)"
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
            "zones": tuple(zone if one.name == zone.name else one for one in space.zones),
            "fixtures": tuple(
                _turned(one, share) if one.zone == zone.name else one for one in space.fixtures
            ),
            "readings": tuple(_dimmed(one, share) if one.bed in beds else one for one in space.readings),
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
