"""The air of a zone: what the file says of it, or the room's warmed by the lamps; and how to cool it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from math import ceil, floor

from cropcal.planning.power.lamp_hours import quiet_by_lamp_h
from cropcal.planning.site.humidity import humidity_note
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
"""Air of a zone without any statement of air (files that were read always have one)."""

FAN_W_PER_M3_H = 0.1
"""What a small fan draws for each m3/h, all of it counted as heat inside (assumed: 5 to 15 W move 100)."""

FAN_STEP_M3_H = 5
"""Flows are offered in such steps."""

MOST_FAN_M3_H_M2 = 500.0
"""Flow for each m2 of floor above which a fan is no answer (assumed: 0.14 m/s all over)."""


COLDEST_ROOM_C = 5.0
"""Coldest room offered as a cure (assumed)."""


WARMER_WITHOUT_FAN_K = 1.0
"""Rise without the fan that is worth a word (assumed)."""


@dataclass(frozen=True)
class Air:
    """The air of a zone with the lamp on and off, the hours it is on, and the watts it then turns to heat.

    ``highest_c`` is that of the hours in which the fan is off for quiet, None where no hour is warmer than
    these means.
    """

    lamp_on_c: float
    lamp_off_c: float
    lit_h: float
    watts: float
    highest_c: float | None = None

    @property
    def mean_c(self) -> float:
        """Return the daily mean: growth follows it (Mortensen 2014), and the crops' ceilings are means."""
        if self.lamp_on_c == self.lamp_off_c:
            return self.lamp_on_c
        return float(heat.mean_air_c(self.lamp_on_c, self.lamp_off_c, self.lit_h))


def zone_air(zone: Zone, fixtures: Iterable[Fixture]) -> Air:
    """Return the air of a zone; ``fixtures`` may hang anywhere, those of other zones are passed over.

    In quiet hours its fan is off.
    """
    lit_h = photoperiod_h(zone)
    lamps = [fixture for fixture in fixtures if fixture.zone == zone.name]
    watts = sum(lamp.watts * lamp.count for lamp in lamps)
    if zone.lamp_on_air_c is not None and zone.lamp_off_air_c is not None and zone.air_c is None:
        return Air(zone.lamp_on_air_c, zone.lamp_off_air_c, lit_h, watts)
    if zone.room_c is not None:
        blown = room_air_c(zone, lamps, zone.fan_m3_h or 0.0)
        if not zone.fan_m3_h or not zone.quiet:
            return Air(*blown, lit_h, watts)
        still, quiet_h = room_air_c(zone, lamps, 0.0), quiet_by_lamp_h(zone)
        on_c, off_c = (
            warm + (hot - warm) * quiet / hours if quiet else warm
            for warm, hot, quiet, hours in zip(blown, still, quiet_h, (lit_h, 24.0 - lit_h), strict=True)
        )
        highest_c = max(hot for hot, quiet in zip(still, quiet_h, strict=True) if quiet)
        return Air(on_c, off_c, lit_h, watts, highest_c)
    same = AIR_C if zone.air_c is None else zone.air_c
    return Air(same, same, lit_h, watts)


def room_air_c(zone: Zone, lamps: Iterable[Fixture], flow_m3_h: float) -> tuple[float, float]:
    """Return the air of a zone in a room of known air with the lamp on and off, while so much air flows."""
    lamps = list(lamps)
    watts = [
        sum(lamp.watts * lamp.count for lamp in lamps),
        sum(lamp.standby_watts * lamp.count for lamp in lamps),
    ]
    on, off = heat.air_c(zone.room_c or 0.0, watts, flow_m3_h, zone.loss_w_per_k or 0.0)
    return float(on), float(off)


def fan_warning(zone: Zone, fixtures: Iterable[Fixture]) -> str | None:
    """Return what it means that the fan is off in quiet hours with the lamp on, None if nothing.

    None too where the air was measured or given, for then it is that of the fan as it really runs.
    """
    if not zone.fan_m3_h or zone.room_c is None or zone.lamp_on_air_c is not None:
        return None
    quiet_h, _ = quiet_by_lamp_h(zone)
    lamps = [fixture for fixture in fixtures if fixture.zone == zone.name]
    blown_c, still_c = room_air_c(zone, lamps, zone.fan_m3_h)[0], room_air_c(zone, lamps, 0.0)[0]
    if not quiet_h or still_c - blown_c < WARMER_WITHOUT_FAN_K:
        return None
    return (
        f"zone {zone.name}: the fan too is off in quiet hours, {7 * quiet_h:.3g} h a week of them with the "
        f"lamp on: the air then goes up to {still_c:.0f} °C in place of {blown_c:.0f} °C. Move the lamp's "
        "hours, or let the fan run and take those hours out of quiet"
    )


def cooling(zone: Zone, air: Air, ceiling_c: float) -> str:
    """Return the cures that would bring the daily mean below a ceiling, in words.

    Each cure is enough by itself. Empty if the room's temperature is not known.
    """
    if zone.room_c is None:
        return ""
    flow, loss = zone.fan_m3_h or 0.0, zone.loss_w_per_k or 0.0
    room_at_most = ceiling_c - (air.mean_c - zone.room_c)
    cooler = f"a room of {_half_below(room_at_most):g} °C" if room_at_most > COLDEST_ROOM_C else ""
    if ceiling_c <= zone.room_c:
        return f"{cooler}: the room alone is too warm" if cooler else ""
    mean_w = heat.watts_for_rise(air.mean_c - zone.room_c, flow, loss)
    fan = float(heat.flow_for_rise_m3_h(mean_w, ceiling_c - zone.room_c, loss, FAN_W_PER_M3_H))
    cures = []
    if fan <= MOST_FAN_M3_H_M2 * zone.area_m2:
        more = FAN_STEP_M3_H * (floor(fan / FAN_STEP_M3_H) + 1)
        always = ", running in quiet hours too," if zone.quiet else ""
        cures.append(f"a fan of about {more} m³/h{always} would keep it under {ceiling_c:g} °C")
    too_many_w = heat.watts_for_rise(air.mean_c - ceiling_c, flow, loss) * 24.0 / air.lit_h
    lamp = ceil(air.watts - float(too_many_w) - 1e-9) - 1
    cures += [f"at most {lamp} W of lamp" if lamp > 0 else "", cooler]
    return "; or ".join(cure for cure in cures if cure)


def period_text(first: date, last: date) -> str:
    """Return a period in words: "3 weeks to 14 Mar 2027"."""
    days = (last - first).days + 1
    weeks = days // 7
    length = f"{days} days" if weeks < 2 else f"{weeks} weeks"
    return f"{length} to {last.day} {last:%b %Y}"


def measured_source(measured: MeasuredAir) -> str:
    """Return the source of measured air: its file and period, in words."""
    return f"measured by air.csv, {period_text(measured.first, measured.last)}"


def _measured_note(measured: MeasuredAir) -> Assumption:
    on, off = f"{measured.lamp_on_c:.1f}", f"{measured.lamp_off_c:.1f}"
    why = f"{measured_source(measured)}, in place of {measured.instead}"
    if not measured.used:
        why = (
            f"{measured_source(measured)}: too long before the plan starts, "
            f"so planned with {measured.instead}"
        )
    value = f"{on} °C" if on == off else f"{on} °C with the lamp on, {off} °C off"
    value += f"; {humidity_note(measured.humidity)}" if measured.humidity else ""
    return Assumption(key=f"air of {measured.zone}", value=value, why=why)


def _half_below(value: float) -> float:
    """Return the next half below a value."""
    return (ceil(value * 2 - 1e-9) - 1) / 2


def measured_notes(space: Space) -> tuple[Assumption, ...]:
    """Return notes on measured air and watts: value, source, period."""
    watts = (
        Assumption(
            key="watts" if not measured.zone else f"watts of {measured.zone}",
            value=f"lamps draw {measured.factor:.0%} of what their labels say",
            why=f"measured by meter.csv, {period_text(measured.first, measured.last)}; loads as given",
        )
        for measured in space.metered
        if measured.factor is not None
    )
    return (*(_measured_note(measured) for measured in space.measured_air), *watts)


def room_notes(space: Space) -> tuple[Assumption, ...]:
    """Return notes on the air of each zone: measured, or computed from its room and lamps."""
    notes = [*measured_notes(space)]
    measured = {measured_zone.zone for measured_zone in space.measured_air if measured_zone.used}
    for zone in space.zones:
        if (
            zone.room_c is None
            or zone.name in measured
            or not any(bed.zone == zone.name for bed in space.beds)
        ):
            continue
        air = zone_air(zone, space.fixtures)
        fan, loss = zone.fan_m3_h or 0.0, zone.loss_w_per_k or 0.0
        off = ", off in quiet hours" if fan and zone.quiet else ""
        basis = (
            f"the room's {zone.room_c:g} °C, all {air.watts:g} W of lamps turned to heat, "
            f"fan {fan:g} m³/h{off}, walls {loss:g} W/K; the plants' own cooling is left out, so rather too "
            "warm than too cool"
        )
        notes.append(
            Assumption(
                key=f"air of {zone.name}",
                value=f"{air.lamp_on_c:.0f} °C with the lamp on, {air.lamp_off_c:.0f} °C off",
                why=f"from {basis}"
                if air.watts
                else f"from {basis}; no [[fixture]], so no lamp heat counted",
            )
        )
    return tuple(notes)
