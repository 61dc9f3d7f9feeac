"""A bed's readings held against its lamps."""

from cropcal.records.base import Record


class LightCheck(Record):
    """A bed's readings against what its lamps should give: mean by mean.

    ``ratio`` is readings / computed; ``low_80`` to ``high_80`` is where it should lie by the spreads of both.
    ``causes`` is empty where it does; else what may be the matter, the likeliest first.
    """

    computed_umol_m2_s: float
    ratio: float
    low_80: float
    high_80: float
    causes: tuple[str, ...] = ()
