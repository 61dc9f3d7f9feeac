"""A bed's light readings compared with its lamps."""

from cropcal.records.base import Record


class LightCheck(Record):
    """A bed's readings against what its lamps should give: mean by mean.

    ``ratio`` is readings / computed; ``low_80`` to ``high_80`` is its expected range by the spreads of both.
    ``causes`` is empty inside that range, or where nothing usual explains the ratio; else the possible
    causes, the likeliest first.
    """

    computed_umol_m2_s: float
    ratio: float
    low_80: float
    high_80: float
    causes: tuple[str, ...] = ()

    @property
    def agrees(self) -> bool:
        """Return whether the readings lie within the expected range."""
        return self.low_80 <= self.ratio <= self.high_80
