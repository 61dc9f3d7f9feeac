"""Constants that turn one unit into another, each with its origin."""

from math import exp, floor, log10
from typing import Final

MOL_PER_UMOL_H: Final = 0.0036
"""mol in one µmol s⁻¹ kept up for one hour: 3600 s / 1e6 (definition)."""

HOURS_PER_DAY: Final = 24.0

Z_80: Final = 1.2815515655446004
"""Standard normal quantile at 0.90: the middle 80 % lies within ± this many standard deviations."""


def known_to(sd_ln: float) -> str:
    """Return how far off light may be in four cases of five: "29 %" for a standard deviation of ln of 0.20.

    The one figure for how well light is known, on every screen and in every list.
    """
    return f"{100 * (exp(Z_80 * sd_ln) - 1):.0f}%"


def rough_range(low: float, high: float) -> str:
    """Return a range of something that is only roughly known: "0.3-0.9", "3.5-9", "15-40", "under 0.1"."""
    if high < 0.1:
        return "under 0.1"
    return "-".join(dict.fromkeys(map(_roughly, (low, high))))


def _roughly(value: float) -> str:
    if value < 1:
        return f"{max(round(value, 1), 0.1):g}"
    step = 0.5 if value < 10 else 10 ** floor(log10(value)) / 10 if value >= 100 else 1.0
    return f"{round(value / step) * step:g}"


def signs(unit: str) -> str:
    """Return a unit of a column as people read it: "mol/m²/d" for "mol/m2/d", "°C" for "C"."""
    return "°C" if unit == "C" else unit.replace("umol", "µmol").replace("m2", "m²").replace("m3", "m³")


MINOR_DIGITS: Final = {
    **dict.fromkeys(("CLP", "ISK", "JPY", "KRW", "PYG", "UGX", "VND", "XAF", "XOF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}
"""Decimals of a currency's smallest unit where they are not two (ISO 4217, from memory)."""

YEARS = range(2000, 2200)
"""Years that a date may be in; one before or after is a typing mistake."""

SOW_MIN, MOVE_MIN, CUT_MIN = 0.5, 1.0, 1.0
"""Minutes of work to sow a cell, to move a seedling, to cut and clear a site (assumed)."""
