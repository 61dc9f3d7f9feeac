"""How a bed suits a crop: the verdict, how densely it stands, and the light when it has grown."""

from typing import Literal

from cropcal.records.base import Record


class Fit(Record):
    """The suitability of one bed for one crop.

    ``plants_m2`` is how densely it stands there with all sites in use (clumps, where several plants share a
    site), ``usual_plants_m2`` how densely in its reference harvest; None in trays, which are sown all over.
    """

    crop: str
    bed: str
    verdict: Literal["ok", "slow", "risk", "no"]
    why: str
    cure: str
    plants_m2: float | None = None
    usual_plants_m2: float | None = None


class FewerSites(Record):
    """A choice in a crowded bed: plants on some of its sites, and days from seed to the first cut then."""

    sites: int
    of: int
    days: float


class Crowding(Record):
    """How densely a crop stands in a bed with all sites in use, days to the first cut, and the choices.

    ``days`` is None where it never gets ready so. ``fewer`` and ``lighter_g`` (fresh mass of a crowded plant
    on the day on which one with room is ready) are set where it is crowded and much later for it.
    ``held_to_record``: its growth is held to the most dry mass a mol of light that is in print.
    """

    crop: str
    bed: str
    plants_m2: float
    usual_plants_m2: float
    g_per_plant: float
    days: float | None
    fewer: FewerSites | None = None
    lighter_g: float | None = None
    held_to_record: bool = False


class Rise(Record):
    """Mean PPFD that a crop gets when it is planted, and when it has grown nearer to the lamp.

    ``too_bright``: the grown crop gets more a day than it tolerates, the young one does not.
    """

    crop: str
    bed: str
    nearer_m: float
    left_m: float
    planted_umol_m2_s: float
    grown_umol_m2_s: float
    too_bright: bool
