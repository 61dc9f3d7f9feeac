"""A bed's readings held against its lamps."""

from cropcal.records.base import Record


class LightCheck(Record):
    """A bed's readings against what its lamps should give: mean by mean.

    ``ratio`` is readings / computed; ``low_80`` to ``high_80`` is where it should lie by the spreads of both.
    ``causes`` is empty where it does, or where nothing usual explains it; else what may be the matter, the
    likeliest first.
    """

    computed_umol_m2_s: float
    ratio: float
    low_80: float
    high_80: float
    causes: tuple[str, ...] = ()

    @property
    def agrees(self) -> bool:
        """Return whether readings lie where the spreads of both let them lie."""
        return self.low_80 <= self.ratio <= self.high_80
