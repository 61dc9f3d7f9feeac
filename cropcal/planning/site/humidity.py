"""How damp the air of a zone is by its thermometer, and what that may do to leaves: mould, dew, burnt tips.

Hints, no forecast: growth does not go by them. Each names where its limit comes from.
"""

from collections.abc import Callable, Sequence
from datetime import datetime

import numpy as np
import numpy.typing as npt

from cropcal.records.journal import AirReading
from cropcal.records.measured import MeasuredAir, MeasuredHumidity
from cropcal.records.space import Space
from cropcal.science import humidity, series
from cropcal.units import HOURS_PER_DAY

Array = npt.NDArray[np.float64]

LEAST_DAYS = 3
"""Days with readings that it takes, as for the air (assumed)."""

DAMP_PERCENT, DAMP_H = 85.0, 8.0
"""Grey mould starts on a leaf that is wet for 8 to 12 hours in air of 85 % or more (UMass Extension, fact
sheet "Botrytis Blight of Greenhouse Crops"; Michigan State University Extension asks for less than 85 % too).
"""

COLDER_LEAF_K, DEW_H = 1.0, 1.0
"""In the dark, leaves by a cold wall or window are about this much colder than the air (assumed); dew of less
than an hour is not worth a word (assumed)."""

LEAST_VPD_KPA = 0.3
"""Vapour pressure deficit below which air draws too little water through leaves to bring them calcium:
tomato leaves lacked it at 0.15 and 0.25 kPa, not at 0.43 (Holder & Cockshull 1990, Journal of Horticultural
Science 65:31-39); for salads assumed to be the same."""

MOST_VPD_KPA = 1.6
"""Deficit above which growth slows: romaine lettuce grew less at 26 °C and 51 % (1.65 kPa) than at 74 %
(0.87), though its tips burnt later (Collier & Tibbitts 1984, J. Amer. Soc. Hort. Sci. 109:128-131)."""


def measured_humidity(
    readings: Sequence[AirReading],
    origin: datetime,
    lamp_on_and_off: Callable[[Array, Array], tuple[float, float]],
) -> MeasuredHumidity | None:
    """Return how damp it was over some readings, None where humidity was read on fewer than ``LEAST_DAYS``.

    Parameters
    ----------
    readings
        Of one zone, by time.
    origin
        The midnight from which hours count.
    lamp_on_and_off
        Returns the means of a series (hours, values) with the lamp on and off.
    """
    read = [(reading, reading.humidity_percent) for reading in readings]
    damp = [(reading, percent) for reading, percent in read if percent is not None]
    days = {reading.at.date() for reading, _ in damp}
    if len(days) < LEAST_DAYS:
        return None
    at_h = np.array([(reading.at - origin).total_seconds() / 3600 for reading, _ in damp])
    air_c = np.array([reading.air_c for reading, _ in damp])
    percents = np.array([percent for _, percent in damp])
    vapour = humidity.vapour_kpa(air_c, percents)
    on_percent, off_percent = lamp_on_and_off(at_h, percents)
    on_kpa, off_kpa = lamp_on_and_off(at_h, humidity.deficit_kpa(air_c, percents))
    damp_h, damp_last = series.longest_stretch_h(at_h, percents >= DAMP_PERCENT)
    dew_h, dew_last = series.longest_stretch_h(at_h, humidity.dew_point_c(vapour) >= air_c - COLDER_LEAF_K)
    whole = [(float(at_h[0]), float(at_h[-1]) + HOURS_PER_DAY)]
    return MeasuredHumidity(
        days=len(days),
        lamp_on_percent=on_percent,
        lamp_off_percent=off_percent,
        lamp_on_vpd_kpa=on_kpa,
        lamp_off_vpd_kpa=off_kpa,
        dew_point_c=float(humidity.dew_point_c(series.mean_over(at_h, vapour, whole))),
        damp_h=damp_h,
        damp_on=damp[damp_last][0].at.date() if damp_h else None,
        dew_h=dew_h,
        dew_on=damp[dew_last][0].at.date() if dew_h else None,
    )


def humidity_note(damp: MeasuredHumidity) -> str:
    """Return the humidity in words: percent, dew point, and what the air lacks with the lamp on."""
    on, off = f"{damp.lamp_on_percent:.0f}%", f"{damp.lamp_off_percent:.0f}%"
    percent = on if on == off else f"{on} with the lamp on, {off} off"
    return (
        f"humidity {percent}; dew point {damp.dew_point_c:.0f} °C; "
        f"vapour pressure deficit {damp.lamp_on_vpd_kpa:.1f} kPa with the lamp on"
    )


def humidity_hints(space: Space) -> tuple[tuple[str, str], ...]:
    """Return what the measured humidity may do to plants: each time the zone, and the rest of a sentence."""
    return tuple((air.zone, hint) for air in space.measured_air if air.used for hint in _hints(air))


def humidity_warnings(space: Space) -> list[str]:
    """Return the same as whole sentences."""
    return [f"{zone}: {hint}" for zone, hint in humidity_hints(space)]


def _hints(air: MeasuredAir) -> list[str]:
    damp, hints = air.humidity, list[str]()
    if damp is None:
        return hints
    if damp.damp_on is not None and damp.damp_h >= DAMP_H:
        hints.append(
            f"mould may start: air of {DAMP_PERCENT:.0f}% and more for {damp.damp_h:.0f} h in a row up to "
            f"{damp.damp_on.day} {damp.damp_on:%b}; grey mould takes 8 to 12 h on wet leaves "
            "(UMass Extension). Let air through, keep leaves dry, take dead ones away"
        )
    if damp.dew_on is not None and damp.dew_h >= DEW_H:
        hints.append(
            f"dew on cold leaves: the air came within {COLDER_LEAF_K:.0f} °C of its dew point for "
            f"{damp.dew_h:.0f} h in a row up to {damp.dew_on.day} {damp.dew_on:%b}; leaves by a cold wall "
            "are about that much colder (assumed). A fan that runs in the dark keeps them dry"
        )
    kpa = damp.lamp_on_vpd_kpa
    if kpa < LEAST_VPD_KPA:
        hints.append(
            f"leaf tips may burn: with the lamp on the air draws little water from leaves ({kpa:.2f} kPa, "
            f"less than {LEAST_VPD_KPA:g}), so little calcium reaches young ones (Holder & Cockshull 1990, "
            "tomato). Let damp air out, blow air at the inner leaves"
        )
    if kpa > MOST_VPD_KPA:
        hints.append(
            f"dry air slows growth: {kpa:.1f} kPa with the lamp on, more than {MOST_VPD_KPA:g} (Collier & "
            "Tibbitts 1984, lettuce). Cool the air, or let less through"
        )
    return hints
