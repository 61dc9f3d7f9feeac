"""How one batch stands: what was planned of it, and what the journal says happened."""

from datetime import date

from cropcal.records.base import Record
from cropcal.records.crop import Unit
from cropcal.records.plan import Batch


class Standing(Record):
    """One batch as far as it has come.

    Attributes
    ----------
    batch, crop, bed, unit
        Its id, crop slug, bed and unit of harvest.
    planned
        The batch in the plan; None if it was sown besides the plan.
    sown_on, transplanted_on
        Days that were noted; None where nobody noted any.
    up
        Seedlings that were counted last; None if nobody did.
    places
        Sites (or trays) it holds: as noted, else as planned; None if nothing says how many.
    harvested, cuts, taken
        Amount harvested in its unit, number of cuts noted, and whether the plants are taken out.
    lost
        Plants (or sites, or trays) lost.
    late_d
        Days it runs behind its plan by the last sowing or transplanting noted; negative is ahead [d].
    """

    batch: str
    crop: str
    bed: str
    unit: Unit
    planned: Batch | None = None
    sown_on: date | None = None
    emerged_on: date | None = None
    transplanted_on: date | None = None
    up: float | None = None
    places: float | None = None
    harvested: float = 0.0
    cuts: int = 0
    last_cut_on: date | None = None
    taken: bool = False
    lost: float = 0.0
    late_d: int = 0

    @property
    def left(self) -> float | None:
        """Return how many heads or places are left; None if nothing says how many there were."""
        if self.places is None:
            return None
        gone = self.lost + (self.harvested if self.unit == "heads" else 0.0)
        return 0.0 if self.taken else max(self.places - gone, 0.0)
