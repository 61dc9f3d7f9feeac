"""Growth rate of a crop here relative to the book, with its spread: by default, and as learned."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cropcal.science import growth


@dataclass(frozen=True)
class Pace:
    """Calibration of the book forecast for one grower, crop and bed, in ln, with spreads.

    ``ln_speed`` comes on top of the usual lead of professional rooms; ``ln_emergence`` lengthens the days to
    emergence. ``ln_light`` corrects the light that is computed; ``sd_ln_light`` is what is left of its spread
    (None: all of it), once the part that goes with the speed is taken out: ``light_with_speed`` a unit of it,
    since a harvest cannot tell a slow grower from a dim lamp.
    """

    ln_speed: float = 0.0
    sd_ln_speed: float = float(np.hypot(growth.GROWER_SD, growth.CROP_SD))
    ln_emergence: float = 0.0
    sd_ln_emergence: float = growth.EMERGENCE_SD
    ln_light: float = 0.0
    sd_ln_light: float | None = None
    light_with_speed: float = 0.0
    shared_ln_speed: float = growth.GROWER_SD
    """How much of the spread of its speed all crops of this grower share."""


UNLEARNED = Pace()

Paces = Mapping[tuple[str, str], Pace]
"""The pace of each crop in each bed, by slug and name; one that is not there is unlearned."""
