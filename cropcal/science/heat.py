"""Air temperature among the plants: all power drawn becomes heat, which fan and walls carry to the room.

Steady state: heat in equals heat out. The air itself settles in seconds to minutes; a tub of water takes
hours, so with much water the swing between lamp on and off is smaller than computed here, while the mean over
the day is the same, for the balance is linear. Cooling by transpiration is left out, so the result is on the
warm side.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

AIR_KJ_M3_K = 1.2
"""Heat capacity of a cubic metre of air: 1.202 kg/m3 x 1.005 kJ/kgK is 1.208 (The Engineering
ToolBox, "Sensible heat flow"), 1.207 by the 1.08 Btu/h, cfm and F of ASHRAE's standard air; 1.2 in round
numbers, on the warm side."""

W_K_PER_M3_H = AIR_KJ_M3_K / 3.6
"""Heat that a flow of 1 m3/h removes, W/K."""


def air_c(
    room_c: npt.ArrayLike, watts: npt.ArrayLike, flow_m3_h: npt.ArrayLike, loss_w_per_k: npt.ArrayLike
) -> Array:
    """Return the steady air temperature: the room's plus the rise."""
    room = np.asarray(room_c, float)
    warmer: Array = room + rise_k(watts, flow_m3_h, loss_w_per_k)
    return warmer


def rise_k(watts: npt.ArrayLike, flow_m3_h: npt.ArrayLike, loss_w_per_k: npt.ArrayLike) -> Array:
    """Return the steady temperature rise of the air over the room.

    Parameters
    ----------
    watts
        Drawn inside, from the wall: lamps, drivers, and fans that blow in, W.
    flow_m3_h
        Flow of room air, m3/h.
    loss_w_per_k
        Heat loss through walls (or open sides), W/K.

    Returns
    -------
    Array
        K, in the broadcast shape; 0 without watts, infinite where nothing removes the heat.

    Raises
    ------
    ValueError
        If an argument is negative.
    """
    power, flow, loss = _not_negative(watts, flow_m3_h, loss_w_per_k)
    return _ratio(power, W_K_PER_M3_H * flow + loss)


def flow_for_rise_m3_h(
    watts: npt.ArrayLike,
    rise: npt.ArrayLike,
    loss_w_per_k: npt.ArrayLike,
    fan_w_per_m3_h: npt.ArrayLike = 0.0,
) -> Array:
    """Return the flow that keeps the rise down to ``rise`` (K); the inverse of ``rise_k``.

    Parameters
    ----------
    watts
        Drawn inside without the fan, W.
    rise
        K.
    loss_w_per_k
        W/K.
    fan_w_per_m3_h
        Power of the fan for each m3/h, all of it heat inside; 0 for one that blows out.

    Returns
    -------
    Array
        m3/h; 0 where the losses suffice, infinite where no flow does (no rise allowed, or the fan warms as
        much as it cools).

    Raises
    ------
    ValueError
        If an argument is negative.
    """
    power, warmer, loss, fan = _not_negative(watts, rise, loss_w_per_k, fan_w_per_m3_h)
    left = np.maximum(power - loss * warmer, 0.0)
    return _ratio(left, np.maximum(W_K_PER_M3_H * warmer - fan, 0.0))


def watts_for_rise(rise: npt.ArrayLike, flow_m3_h: npt.ArrayLike, loss_w_per_k: npt.ArrayLike) -> Array:
    """Return the watts that make a rise (K): the other inverse of ``rise_k``.

    Raises
    ------
    ValueError
        If an argument is negative.
    """
    warmer, flow, loss = _not_negative(rise, flow_m3_h, loss_w_per_k)
    power: Array = warmer * (W_K_PER_M3_H * flow + loss)
    return power


def mean_air_c(lamp_on_c: npt.ArrayLike, lamp_off_c: npt.ArrayLike, lit_h: npt.ArrayLike) -> Array:
    """Return the daily mean of two temperatures, the first for ``lit_h`` hours."""
    on, off, hours = (np.asarray(value, float) for value in (lamp_on_c, lamp_off_c, lit_h))
    mean: Array = (on * hours + off * (24.0 - hours)) / 24.0
    return mean


def _not_negative(*values: npt.ArrayLike) -> tuple[Array, ...]:
    arrays = tuple(np.asarray(value, float) for value in values)
    if any((array < 0).any() for array in arrays):
        message = "watts, flow, losses and rise must not be negative"
        raise ValueError(message)
    return arrays


def _ratio(above: Array, below: Array) -> Array:
    """Return above / below: 0 where ``above`` is 0, infinite where only ``below`` is 0."""
    over, under = np.broadcast_arrays(above, below)
    ratio = np.where(over > 0, np.inf, 0.0)
    np.divide(over, under, out=ratio, where=(over > 0) & (under > 0))
    return ratio
