"""The one thing to find out about a space that would sharpen its plan most."""

from collections.abc import Sequence
from math import hypot

from cropcal.planning.site.light_uncertainty import PAR_METER
from cropcal.records.plan import BedLight, Narrowing
from cropcal.science.growth import CROP_SD, GROWER_SD

PACE_SD = hypot(GROWER_SD, CROP_SD)
"""How unsure the pace of growth is in a new home (sd of ln)."""


def most_unsure(lights: Sequence[BedLight]) -> tuple[BedLight, tuple[Narrowing, ...]] | None:
    """Return the bed whose light is least sure, and what would narrow it: the best at hand, the best of all.

    None where the light of every bed is known better than the pace of growth in a new home: then no
    measurement helps more than the first harvest that is noted.
    """
    worst = max(lights, key=lambda light: light.sd_ln, default=None)
    if worst is None or worst.sd_ln <= PACE_SD or not worst.narrower:
        return None
    at_hand = [narrowing for narrowing in worst.narrower if narrowing.find != PAR_METER]
    return worst, (*at_hand[-1:], worst.narrower[-1]) if at_hand else worst.narrower[-1:]
