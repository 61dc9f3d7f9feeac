"""How a bed does: its light against readings, how it suits crops, what cures it, how densely plants stand."""

from typing import Literal

from cropcal.records.base import Record


class Fit(Record):
    """The suitability of one bed for one crop.

    ``chance_enough``: that the crop gets the least light with which it was tested; ``chance_not_too_much``:
    that its light stays below the ceiling. Both follow from how well the light is known.
    ``plants_m2`` is how densely it stands there with all sites in use (clumps, where several plants share a
    site), ``usual_plants_m2`` how densely in its reference harvest; None in trays, which are sown all over.
    """

    crop: str
    bed: str
    verdict: Literal["ok", "slow", "risk", "no"]
    why: str
    cure: str
    chance_enough: float | None = None
    chance_not_too_much: float | None = None
    plants_m2: float | None = None
    usual_plants_m2: float | None = None

    @property
    def chance_right(self) -> float | None:
        """Return the chance that its light is enough and not too much; None in older plans."""
        if self.chance_enough is None or self.chance_not_too_much is None:
            return None
        return max(self.chance_enough + self.chance_not_too_much - 1, 0.0)


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


StepKind = Literal["hours", "fan", "height", "output", "walls", "bed", "flow", "air", "shade", "watts"]


class CureStep(Record):
    """One thing that is changed, from ``before`` to ``after``.

    ``subject`` is a zone; for "bed" that bed in which the crop is grown instead. ``unit``: h of lamp; m above
    the leaves (the nearest lamp); share of full ("output"), of light thrown back ("walls"), of today's sun
    ("shade"); m3/h ("flow"); C ("air": the mean of a day); W; "" for a fan and another bed.
    """

    kind: StepKind
    subject: str
    before: float = 0.0
    after: float = 0.0
    unit: Literal["h", "m", "1", "m3/h", "C", "W", ""] = ""


class Cure(Record):
    """Steps that let a crop do better in a bed; each cure was computed as its ``settings`` are.

    ``settings``: KEY=VALUE of every ``--set`` that does it. ``verdict_before`` and ``verdict_after``: of the
    crop in the bed (after "bed": in that other bed). ``kwh_per_week`` and ``cost_per_week``: power that it
    takes more, in the mean of a year, negative where it saves; no cost without a tariff. ``days_sooner``:
    how much sooner the first cut is from seed, None where that is not known. ``harms``: other wanted crops
    that then do worse in their best bed, with that verdict.
    """

    crop: str
    bed: str
    steps: tuple[CureStep, ...]
    settings: tuple[str, ...]
    verdict_before: Literal["ok", "slow", "risk", "no"]
    verdict_after: Literal["ok", "slow", "risk", "no"]
    kwh_per_week: float = 0.0
    cost_per_week: float | None = None
    days_sooner: float | None = None
    harms: tuple[Fit, ...] = ()


class TooWeak(Record):
    """A zone whose lamp is too weak for some crops at any hours up to ``longest_h`` a day.

    ``watts_more`` of lamps like those there would do for all of them, at ``hours`` a day.
    """

    zone: str
    crops: tuple[str, ...]
    longest_h: float
    hours: float
    watts_more: float


class Cures(Record):
    """Cures of all crops that do badly, at most two for a crop and bed, and lamps that are too weak."""

    cures: tuple[Cure, ...] = ()
    too_weak: tuple[TooWeak, ...] = ()

    def of(self, crop: str, bed: str) -> tuple[Cure, ...]:
        """Return the cures of a crop in a bed, the smallest step first."""
        return tuple(cure for cure in self.cures if (cure.crop, cure.bed) == (crop, bed))

    def knows(self, crop: str) -> bool:
        """Return whether any cure of a crop was found."""
        return any(cure.crop == crop for cure in self.cures)
