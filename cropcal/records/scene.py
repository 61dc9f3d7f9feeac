"""The floor plan of a zone with the light of each site, from which the light map is drawn."""

from typing import Literal

from cropcal.records.base import Record
from cropcal.records.forecast import Range80
from cropcal.units import MOL_PER_UMOL_H


class LampOutline(Record):
    """One lamp's shining face as seen from above: front left corner and size, m."""

    x_m: float
    y_m: float
    length_m: float
    width_m: float


class LitSite(Record):
    """Light of one site, and its centre on the zone's floor if that is known."""

    site: int
    x_m: float | None
    y_m: float | None
    ppfd_umol_m2_s: float
    dli_mol_m2_d: float


class LitBed(Record):
    """A bed with the light of its sites, counted row by row from the front left.

    ``alike`` says why all sites have the same value: one reading, or the mean of the lit floor.
    ``by_month``: there is daylight too, and the DLI of a site is the lamp's alone, on its longest days.
    """

    name: str
    kind: Literal["sites", "tray", "nursery"]
    rows: int
    columns: int
    x_m: float | None
    y_m: float | None
    length_m: float | None
    width_m: float | None
    alike: Literal["", "one reading", "floor mean"]
    source: str
    sd_ln: float
    sites: tuple[LitSite, ...]
    by_month: bool = False


class LitZone(Record):
    """A zone with its beds; only lamps of known size have an outline.

    ``walls`` are the reflectances of the left, right, front and back side.
    """

    name: str
    length_m: float
    width_m: float
    photoperiod_h: float
    walls: tuple[float, float, float, float]
    lamp_count: int
    lamps: tuple[LampOutline, ...]
    beds: tuple[LitBed, ...]

    def dli_mol_m2_d(self, ppfd_umol_m2_s: float) -> float:
        """Return the daily light integral of a PPFD at the zone's hours."""
        return ppfd_umol_m2_s * self.photoperiod_h * MOL_PER_UMOL_H


class LightRange(Record):
    """Daily light of one bed (80 % range of its mean) and the limits of one crop, mol m⁻² d⁻¹.

    ``ceiling`` depends on whether a fan moves the leaves there.
    """

    crop: str
    bed: str
    dli: Range80
    least: float
    target: float
    ceiling: float
