"""Water vapour in air: saturation, dew point, and how strongly air draws water from leaves.

All by Allen, Pereira, Raes and Smith 1998, "Crop evapotranspiration", FAO Irrigation and Drainage Paper 56,
chapter 3; its equation 11 is that of Tetens (1930). Over water, from about 0 to 50 °C.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def saturation_kpa(air_c: npt.ArrayLike) -> Array:
    """Return the vapour pressure of air that can hold no more water, kPa (FAO-56, equation 11)."""
    air = np.asarray(air_c, float)
    pressure: Array = 0.6108 * np.exp(17.27 * air / (air + 237.3))
    return pressure


def vapour_kpa(air_c: npt.ArrayLike, humidity_percent: npt.ArrayLike) -> Array:
    """Return the vapour pressure of air at a relative humidity, kPa (FAO-56, equation 10 for the vapour).

    Parameters
    ----------
    air_c
        Temperature, °C.
    humidity_percent
        Relative humidity, 0 to 100 %.

    Returns
    -------
    Array
        kPa, in the broadcast shape.

    Raises
    ------
    ValueError
        If a humidity is not from 0 to 100 %.
    """
    humidity = np.asarray(humidity_percent, float)
    if ((humidity < 0) | (humidity > 100)).any():
        message = "a relative humidity must be from 0 to 100%"
        raise ValueError(message)
    pressure: Array = saturation_kpa(air_c) * humidity / 100.0
    return pressure


def deficit_kpa(air_c: npt.ArrayLike, humidity_percent: npt.ArrayLike) -> Array:
    """Return the vapour pressure deficit, kPa: saturation less vapour; arguments as for ``vapour_kpa``."""
    deficit: Array = saturation_kpa(air_c) - vapour_kpa(air_c, humidity_percent)
    return deficit


def dew_point_c(vapour: npt.ArrayLike) -> Array:
    """Return the temperature at which dew forms, °C (FAO-56, annex 3, equation 3-11: the inverse of 11).

    ``vapour`` is the vapour pressure, kPa; dry air (0) has a dew point of minus infinity.
    """
    pressure = np.asarray(vapour, float)
    with np.errstate(divide="ignore"):
        ratio = np.log(pressure / 0.6108)
    dry = np.isneginf(ratio)
    ratio = np.where(dry, 0.0, ratio)
    dew: Array = np.where(dry, -np.inf, 237.3 * ratio / (17.27 - ratio))
    return dew
