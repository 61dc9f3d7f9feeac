"""Days from sowing to emergence and the share of seeds that come up, at constant temperatures."""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


def emergence_days(air_c: npt.ArrayLike, node_air_c: npt.ArrayLike, node_days: npt.ArrayLike) -> Array:
    """Return days from sowing to emergence, by linear interpolation of the rate 1/days.

    Parameters
    ----------
    air_c
        Temperature in °C, any shape.
    node_air_c
        Temperatures of the published table in °C, rising, shape (nodes,).
    node_days
        Days the table prints, shape (nodes,); nan where none emerged.

    Returns
    -------
    Array
        Days, shape of ``air_c``; nan outside the table and where the rate is zero (below a billionth).
    """
    days = np.asarray(node_days, float)
    node_rate = np.where(np.isnan(days), 0.0, 1 / days)
    rate = np.interp(np.asarray(air_c, float), np.asarray(node_air_c, float), node_rate, np.nan, np.nan)
    return 1 / np.where(rate > 1e-9, rate, np.nan)


def stand_share(air_c: npt.ArrayLike, node_air_c: npt.ArrayLike, node_stand: npt.ArrayLike) -> Array:
    """Return the share of seeds that become normal seedlings (0 to 1), linear between table nodes.

    Nodes whose stand is nan (not printed) are left out; nan outside the printed ones.
    """
    stand = np.asarray(node_stand, float)
    printed = ~np.isnan(stand)
    if not printed.any():
        return np.full(np.shape(air_c), np.nan)
    nodes = np.asarray(node_air_c, float)[printed]
    share: Array = np.interp(np.asarray(air_c, float), nodes, stand[printed], np.nan, np.nan)
    return share
