"""The air of a zone: what the file says of it, or the room's warmed by the lamps; and how to cool it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import ceil, floor

from cropcal.records.measured import MeasuredAir
from cropcal.records.space import (
    Assumption,
    Fixture,
    Space,
    Zone,
    photoperiod_h,
)
from cropcal.science import heat

AIR_C = 21.0
"""Air of a zone of which nothing at all is said (files that were read always say something)."""

FAN_W_PER_M3_H = 0.1
"""What a small fan draws for each m3/h, all of it counted as heat inside (assumed: 5 to 15 W move 100)."""

FAN_STEP_M3_H = 5
"""Flows are offered in such steps."""

MOST_FAN_M3_H_M2 = 500.0
"""Flow for each m2 of floor above which a fan is no answer (assumed: 0.14 m/s all over)."""


COLDEST_ROOM_C = 5.0
"""A colder room than this is no answer (assumed)."""


@dataclass(frozen=True)
class Air:
    """The air of a zone with the lamp on and off, the hours it is on, and the watts it then turns to heat."""

    lamp_on_c: float
    lamp_off_c: float
    lit_h: float
    watts: float

    @property
    def mean_c(self) -> float:
        """Return the daily mean: growth follows it (Mortensen 2014), and the crops' ceilings are means."""
        if self.lamp_on_c == self.lamp_off_c:
            return self.lamp_on_c
        return float(heat.mean_air_c(self.lamp_on_c, self.lamp_off_c, self.lit_h))


def zone_air(zone: Zone, fixtures: Iterable[Fixture]) -> Air:
    """Return the air of a zone; ``fixtures`` may hang anywhere, those of other zones are passed over."""
    lit_h = photoperiod_h(zone)
    lamps = [fixture for fixture in fixtures if fixture.zone == zone.name]
    watts = sum(lamp.watts * lamp.count for lamp in lamps)
    if zone.lamp_on_air_c is not None and zone.lamp_off_air_c is not None and zone.air_c is None:
        return Air(zone.lamp_on_air_c, zone.lamp_off_air_c, lit_h, watts)
    if zone.room_c is not None:
        standby = sum(lamp.standby_watts * lamp.count for lamp in lamps)
        on, off = heat.air_c(zone.room_c, [watts, standby], zone.fan_m3_h or 0.0, zone.loss_w_per_k or 0.0)
        return Air(float(on), float(off), lit_h, watts)
    same = AIR_C if zone.air_c is None else zone.air_c
    return Air(same, same, lit_h, watts)


def cooling(zone: Zone, air: Air, ceiling_c: float) -> str:
    """Return what would keep the daily mean below a ceiling it is not below now, in words.

    Each cure alone does. Without the room's temperature there is nothing to reckon with.
    """
    if zone.room_c is None:
        return ""
    flow, loss = zone.fan_m3_h or 0.0, zone.loss_w_per_k or 0.0
    room_at_most = ceiling_c - (air.mean_c - zone.room_c)
    cooler = f"a room of {_half_below(room_at_most):g} C" if room_at_most > COLDEST_ROOM_C else ""
    if ceiling_c <= zone.room_c:
        return f"{cooler}: the room alone is too warm" if cooler else ""
    mean_w = heat.watts_for_rise(air.mean_c - zone.room_c, flow, loss)
    fan = float(heat.flow_for_rise_m3_h(mean_w, ceiling_c - zone.room_c, loss, FAN_W_PER_M3_H))
    cures = []
    if fan <= MOST_FAN_M3_H_M2 * zone.area_m2:
        more = FAN_STEP_M3_H * (floor(fan / FAN_STEP_M3_H) + 1)
        cures.append(f"a fan of about {more} m3/h would keep it under {ceiling_c:g} C")
    too_many_w = heat.watts_for_rise(air.mean_c - ceiling_c, flow, loss) * 24.0 / air.lit_h
    lamp = ceil(air.watts - float(too_many_w) - 1e-9) - 1
    cures += [f"at most {lamp} W of lamp" if lamp > 0 else "", cooler]
    return "; or ".join(cure for cure in cures if cure)


def period_text(first: date, last: date) -> str:
    """Return a stretch of days as people say it: "3 weeks to 14 Mar 2027"."""
    days = (last - first).days + 1
    weeks = days // 7
    length = f"{days} days" if weeks < 2 else f"{weeks} weeks"
    return f"{length} to {last.day} {last:%b %Y}"


def measured_source(seen: MeasuredAir) -> str:
    """Return from where measured air is known."""
    return f"measured by air.csv, {period_text(seen.first, seen.last)}"


def _measured_note(seen: MeasuredAir) -> Assumption:
    on, off = f"{seen.lamp_on_c:.1f}", f"{seen.lamp_off_c:.1f}"
    why = f"{measured_source(seen)}, in place of {seen.instead}"
    if not seen.used:
        why = f"{measured_source(seen)}: too long before the plan starts, so planned with {seen.instead}"
    value = f"{on} C" if on == off else f"{on} C with the lamp on, {off} C off"
    return Assumption(key=f"air of {seen.zone}", value=value, why=why)


def _half_below(value: float) -> float:
    """Return the next half below a value."""
    return (ceil(value * 2 - 1e-9) - 1) / 2


def measured_notes(space: Space) -> tuple[Assumption, ...]:
    """Return what was measured, by what and when."""
    watts = (
        Assumption(
            key="watts" if not seen.zone else f"watts of {seen.zone}",
            value=f"lamps draw {seen.factor:.0%} of what their labels say",
            why=f"measured by meter.csv, {period_text(seen.first, seen.last)}; loads as told",
        )
        for seen in space.metered
        if seen.factor is not None
    )
    return (*(_measured_note(seen) for seen in space.measured_air), *watts)


def room_notes(space: Space) -> tuple[Assumption, ...]:
    """Return how warm zones were measured to be, or get in rooms of known air and what that leaves out."""
    found = [*measured_notes(space)]
    measured = {seen.zone for seen in space.measured_air if seen.used}
    for zone in space.zones:
        if (
            zone.room_c is None
            or zone.name in measured
            or not any(bed.zone == zone.name for bed in space.beds)
        ):
            continue
        air = zone_air(zone, space.fixtures)
        fan, loss = zone.fan_m3_h or 0.0, zone.loss_w_per_k or 0.0
        told = (
            f"the room's {zone.room_c:g} C, all {air.watts:g} W of lamps turned to heat, fan {fan:g} m3/h, "
            f"walls {loss:g} W/K; the plants' own cooling is left out, so rather too warm than too cool"
        )
        found.append(
            Assumption(
                key=f"air of {zone.name}",
                value=f"{air.lamp_on_c:.0f} C with the lamp on, {air.lamp_off_c:.0f} C off",
                why=f"from {told}" if air.watts else f"from {told}; no [[fixture]], so no lamp heat counted",
            )
        )
    return tuple(found)
