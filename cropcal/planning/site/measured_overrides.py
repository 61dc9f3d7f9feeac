"""Measured series in place of assumed or given values: the air of a zone, the watts of lamps by label."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta

import numpy as np
import numpy.typing as npt

from cropcal.planning.power.bill import bill
from cropcal.planning.power.bill_causes import LEAST_OF_LABEL, MOST_OF_LABEL
from cropcal.planning.power.consumption import LAMPS
from cropcal.planning.power.lamp_hours import lit_stretches
from cropcal.planning.site.air import zone_air
from cropcal.planning.site.humidity import measured_humidity
from cropcal.records.journal import AirReading, MeterReading
from cropcal.records.measured import MeasuredAir, Metered
from cropcal.records.space import (
    Fixture,
    Space,
    Zone,
    photoperiod_h,
)
from cropcal.science import heat, series
from cropcal.units import HOURS_PER_DAY

AIR_DAYS = 21
"""Days of the latest air that stand for the air to come (assumed: older air is of another season)."""
LEAST_AIR_DAYS = 3
"""Days with readings that it takes (assumed)."""
STALE_D = 92
"""Days before the plan starts from which the last air reading is of another season (assumed)."""
METER_DAYS = 28
"""Most days over which energy is compared, the latest ones (assumed: lamps are turned and moved)."""
LEAST_METER_DAYS = 2
AGREES = 0.05
"""Meter and file that differ by no more agree (assumed: a plug meter is good to a few %)."""

Array = npt.NDArray[np.float64]
AIR_KEYS = ("air_c", "lamp_on_air_c", "lamp_off_air_c", "room_c", "fan_m3_h", "loss_w_per_k")


def with_measurements(
    space: Space, air: Sequence[AirReading], meter: Sequence[MeterReading], as_written: Space | None = None
) -> Space:
    """Return the space with what was measured in place of what its file says or leaves open.

    Parameters
    ----------
    space
        What the file says, maybe with other values tried.
    air, meter
        The series, by time.
    as_written
        The file without those values: air or watts that are tried are kept.
    """
    as_written = as_written or space
    lamps = as_written.fixtures
    if _watts(space) == _watts(as_written):
        for name in dict.fromkeys(reading.zone for reading in meter):
            space = _with_meter(
                space, as_written, name, [reading for reading in meter if reading.zone == name]
            )
        lamps = space.fixtures
    for zone in as_written.zones:
        zone_readings = [reading for reading in air if reading.zone in ("", zone.name)]
        if zone_readings and _air_keys(space.zone(zone.name)) == _air_keys(zone):
            space = _with_air(space, as_written, zone, zone_readings, lamps)
    return space


def _air_keys(zone: Zone) -> list[object]:
    return [getattr(zone, key) for key in AIR_KEYS]


def _watts(space: Space) -> list[object]:
    return [(lamp.zone, lamp.watts, lamp.watts_from, lamp.count) for lamp in space.fixtures]


def _hours_since(start: datetime, moments: Iterable[datetime]) -> Array:
    return np.array([(moment - start).total_seconds() / 3600 for moment in moments])


def _with_air(
    space: Space, as_written: Space, zone: Zone, readings: Sequence[AirReading], lamps: Sequence[Fixture]
) -> Space:
    """Return the space with the air of a zone in the last weeks under its lamps, and its history."""
    origin = datetime.combine(readings[0].at.date(), time())
    at_h = _hours_since(origin, (reading.at for reading in readings))
    values = np.array([reading.air_c for reading in readings])
    last_day = int(at_h[-1] // 24)
    means = series.daily_means(at_h, values, 0, last_day + 1)
    by_day = {
        origin.date() + timedelta(days=day): float(mean)
        for day, mean in enumerate(means)
        if np.isfinite(mean)
    }
    first_day = max(last_day + 1 - AIR_DAYS, 0)
    days_read = int(np.isfinite(means[first_day:]).sum())
    last = origin.date() + timedelta(days=last_day)
    if days_read < LEAST_AIR_DAYS:
        return space
    on_c, off_c = _lamp_on_and_off(as_written, zone, at_h, values, (first_day, last_day + 1 - first_day))
    before = zone_air(zone, as_written.fixtures)
    same = before.lamp_on_c == before.lamp_off_c
    instead = f"{before.lamp_on_c:.3g}" if same else f"{before.lamp_on_c:.3g} and {before.lamp_off_c:.3g}"
    recent = np.flatnonzero(at_h >= 24.0 * first_day)
    highest = int(recent[np.argmax(values[recent])])
    assumed = any(zone.name in item.key and item.key.endswith("air_c") for item in space.assumed)
    measured = MeasuredAir(
        zone=zone.name,
        lamp_on_c=on_c,
        lamp_off_c=off_c,
        first=origin.date() + timedelta(days=first_day),
        last=last,
        days=days_read,
        instead=f"{instead} °C {'assumed' if assumed else 'by space.toml'}",
        highest_c=float(values[highest]),
        highest_on=readings[highest].at.date(),
        used=(space.settings.start - last).days <= STALE_D,
        by_day=by_day,
        humidity=measured_humidity(
            [reading for reading in readings if (reading.at - origin).days >= first_day],
            origin,
            lambda hours, damp: _lamp_on_and_off(
                as_written, zone, hours, damp, (first_day, last_day + 1 - first_day)
            ),
        ),
    )
    space = space.model_copy(update={"measured_air": (*space.measured_air, measured)})
    if not measured.used:
        return space
    air: dict[str, float | None] = {**dict.fromkeys(AIR_KEYS), "lamp_on_air_c": on_c, "lamp_off_air_c": off_c}
    air |= _room_losses(zone, lamps, on_c, off_c)
    zones = (other.model_copy(update=air) if other.name == zone.name else other for other in space.zones)
    left = (item for item in space.assumed if not (zone.name in item.key and item.key.endswith(AIR_KEYS)))
    return space.model_copy(update={"zones": tuple(zones), "assumed": tuple(left)})


def _room_losses(
    zone: Zone, fixtures: Sequence[Fixture], on_c: float, off_c: float
) -> dict[str, float | None]:
    """Return the room's given air, and fan and wall losses that agree with the measured rise.

    Cures are computed from these. Empty where the zone was measured no warmer than the room's given air.
    """
    if zone.room_c is None or (zone.photoperiod_h is None and zone.lit is None):
        return {}
    lit_h = photoperiod_h(zone)
    rise = float(heat.mean_air_c(on_c, off_c, lit_h)) - zone.room_c
    lamps = [lamp for lamp in fixtures if lamp.zone == zone.name]
    watts = (
        sum(
            lamp.count * (lamp.watts * lit_h + lamp.standby_watts * (HOURS_PER_DAY - lit_h)) for lamp in lamps
        )
        / HOURS_PER_DAY
    )
    if rise <= 0 or watts <= 0:
        return {}
    let_out_w_per_k = watts / rise
    fan = min(zone.fan_m3_h or 0.0, let_out_w_per_k / heat.W_K_PER_M3_H)
    return {
        "room_c": zone.room_c,
        "fan_m3_h": fan if zone.fan_m3_h is not None else None,
        "loss_w_per_k": let_out_w_per_k - fan * heat.W_K_PER_M3_H,
    }


def _lamp_on_and_off(
    space: Space, zone: Zone, at_h: Array, values: Array, days: tuple[int, int]
) -> tuple[float, float]:
    """Return the means with the lamp on and off; both the mean of all where hours or readings are missing."""
    first, count = days
    whole = series.mean_over(at_h, values, [(24.0 * first, 24.0 * (first + count))])
    if zone.lit is None and zone.photoperiod_h is None:
        return whole, whole
    lit = [(on / 60, off / 60) for on, off in lit_stretches(zone, space.tariff)]
    on_c, off_c = series.day_and_night(at_h, values, lit, first, count)
    return (on_c if np.isfinite(on_c) else whole), (off_c if np.isfinite(off_c) else whole)


def _with_meter(space: Space, as_written: Space, name: str, readings: Sequence[MeterReading]) -> Space:
    """Return the space with lamps by label at the watts that a meter leaves for them."""
    zones = [zone for zone in as_written.zones if name in ("", zone.name)]
    stretch = _whole_days(readings)
    if stretch is None or any(zone.lit is None and zone.photoperiod_h is None for zone in zones):
        return space
    first, days, kwh = stretch
    computed, lamps = _computed_kwh(as_written, name, first, days)
    others = [lamp for lamp in as_written.fixtures if not _by_label(lamp, name)]
    by_label = (
        lamps - _computed_kwh(as_written.model_copy(update={"fixtures": tuple(others)}), name, first, days)[1]
    )
    needed = (kwh - (computed - by_label)) / by_label if by_label > 0 else 0.0
    factor = needed if LEAST_OF_LABEL <= needed <= MOST_OF_LABEL else None
    lit_h = {photoperiod_h(zone) for zone in zones if any(f.zone == zone.name for f in as_written.fixtures)}
    metered = Metered(
        zone=name,
        first=first,
        last=first + timedelta(days=days - 1),
        kwh=kwh,
        computed_kwh=computed,
        factor=factor,
        causes=_causes(kwh, computed, lamps, days, factor, lit_h),
    )
    space = space.model_copy(update={"metered": (*space.metered, metered)})
    if factor is None:
        return space
    scaled = (_scaled(lamp, factor) if _by_label(lamp, name) else lamp for lamp in space.fixtures)
    left = (item for item in space.assumed if not item.key.endswith("watts_from"))
    return space.model_copy(update={"fixtures": tuple(scaled), "assumed": tuple(left)})


def _causes(
    kwh: float, computed: float, lamps: float, days: int, factor: float | None, lit_h: set[float]
) -> tuple[str, ...]:
    """Return the possible causes of a difference, the likeliest first; none where meter and file agree."""
    if computed > 0 and abs(kwh / computed - 1) <= AGREES:
        return ()
    causes = []
    if factor is not None:
        causes.append(f"watts from labels: lamps at {factor:.0%} of theirs explain it, and are taken at that")
    times = 1 + (kwh - computed) / lamps if lamps > 0 else 0.0
    if times > 0 and len(lit_h) == 1:
        hours = next(iter(lit_h))
        if hours * times <= HOURS_PER_DAY:
            causes.append(f"the timer: a lamp that is on {hours * times:.1f} h a day in place of {hours:g} h")
    more_w = (kwh - computed) * 1000 / (HOURS_PER_DAY * days)
    if more_w > 0:
        causes.append(
            f"standby of drivers and timers, or a load that is not in the file: {more_w:.0f} W day and night"
        )
    else:
        causes.append(f"not everything is on the meter, or a load is idle: {-more_w:.0f} W day and night")
    return tuple(causes)


def _whole_days(readings: Sequence[MeterReading]) -> tuple[date, int, float] | None:
    """Return the first of the last whole days between readings, how many, and their kWh."""
    origin = datetime.combine(readings[0].at.date(), time())
    at_h = _hours_since(origin, (reading.at for reading in readings))
    last = int(at_h[-1] // 24)
    first = max(int(np.ceil(at_h[0] / 24)), last - METER_DAYS)
    if last - first < LEAST_METER_DAYS:
        return None
    kwh = series.kwh_between(at_h, np.array([reading.kwh for reading in readings]), 24.0 * first, 24.0 * last)
    return origin.date() + timedelta(days=first), last - first, kwh


def _computed_kwh(space: Space, name: str, first: date, days: int) -> tuple[float, float]:
    """Return the kWh of the file's watts and hours, of a zone or of everything, and the lamps' part."""
    zones = tuple(zone for zone in space.zones if name in ("", zone.name))  # others may have no hours
    space_part = space.model_copy(update={"zones": zones})
    lines = [line for line in bill(space_part, first, days) if name in ("", line.zone)]
    return sum(line.kwh for line in lines), sum(line.kwh for line in lines if line.what == LAMPS)


def _by_label(lamp: Fixture, name: str) -> bool:
    return lamp.watts_from == "label" and name in ("", lamp.zone)


def _scaled(lamp: Fixture, factor: float) -> Fixture:
    values = {
        "watts": float(f"{lamp.watts * factor:.3g}"),
        "standby_watts": lamp.standby_watts * factor,
        "watts_from": "meter",
    }
    return lamp.model_copy(update=values)
