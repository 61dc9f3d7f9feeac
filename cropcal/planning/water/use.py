"""What the plants of a plan use of water, day by day: by how fast they grow."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from cropcal.planning.growth.crop_growth import Stages, plants_per_site
from cropcal.planning.growth.pace import UNLEARNED, Pace, Paces
from cropcal.planning.history.calibration import stages_of
from cropcal.planning.history.observed_conditions import Conditions, observed_conditions
from cropcal.records.batch_history import BatchHistory
from cropcal.records.crop import Crop, CropTables, cut_at
from cropcal.records.plan import Batch, BedLight, SiteUse
from cropcal.records.space import Space
from cropcal.science import growth, water

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Pots:
    """Pots (sites or cells) of one batch that are in one bed from and until the same days.

    Attributes
    ----------
    batch, bed
        The batch, and where they are.
    count
        How many.
    first
        Their first day there.
    age_d
        Days from sowing to that day.
    dry_g
        What the shoots in one pot gain on each day from the first on [g dry], shape (days,); of seed-fed
        shoots, what would take as much water.
    """

    batch: Batch
    bed: str
    count: int
    first: date
    age_d: int
    dry_g: Array

    def dry_g_on(self, day: date) -> float | None:
        """Return the gain in one pot on a day, None: it is not there."""
        at = (day - self.first).days
        return float(self.dry_g[at]) if 0 <= at < len(self.dry_g) else None


@dataclass(frozen=True, eq=False)
class WaterUse:
    """Works out the pots of batches: the space, its conditions as the file has them, the crops, paces."""

    space: Space
    tables: CropTables
    conditions: Conditions
    paces: Paces

    def pots(self, batches: Iterable[Batch], sites: Iterable[SiteUse]) -> tuple[Pots, ...]:
        """Return all pots of some batches, by batch; ``sites`` are those that they hold."""
        held: dict[str, list[SiteUse]] = {}
        for use in sites:
            if use.planted:
                held.setdefault(use.batch, []).append(use)
        return tuple(pots for batch in batches for pots in self._of(batch, held.get(batch.id, ())))

    def _of(self, batch: Batch, uses: Sequence[SiteUse]) -> Iterator[Pots]:
        crop = cut_at(self.tables.crops[batch.crop], batch.cut_at_g)
        sown = batch.sow_on - timedelta(days=batch.plug_age_d or 0)
        last = max([batch.clear_on, *(use.held_until for use in uses)])
        stages = self._stages(batch, crop, sown, last)
        if stages is None and crop.kind != "shoots":
            return
        days = (last - sown).days + 1
        alike: dict[tuple[date, date, tuple[date, ...]], int] = {}
        for use in uses:
            key = (use.held_from, use.held_until, use.cuts)
            alike[key] = alike.get(key, 0) + 1
        moves = [since for since, _, _ in alike] or [batch.planted_on]
        if stages is not None and batch.nursery is not None and batch.nursery in self.conditions.spots:
            gain = _gains(stages, crop, days, ())
            until = (max(moves) - sown).days
            yield Pots(batch, batch.nursery, batch.cells, sown, 0, gain[:until] * crop.plants_per_site)
        if batch.bed not in self.conditions.spots:
            return
        place = self.conditions.spots[batch.bed].shared_out(batch.sites_each)
        plants = plants_per_site(crop, place)
        for (since, until_on, cuts), count in alike.items():
            cut_d = tuple((cut - sown).days for cut in cuts)
            if stages is None:  # shoots live on their seed
                gain = np.full(days, water.growth_for(water.MAT_L_M2_D * place.site_area_m2))
            else:
                gain = _gains(stages, crop, days, cut_d) * plants
            first, end = (since - sown).days, (until_on - sown).days
            yield Pots(batch, batch.bed, count, since, first, gain[first:end])

    def _stages(self, batch: Batch, crop: Crop, sown: date, last: date) -> Stages | None:
        if crop.kind == "shoots":
            return None
        history = BatchHistory(
            batch=batch.id, crop=batch.crop, bed=batch.bed, nursery=batch.nursery, sown_on=sown,
            moved_on=batch.transplant_on, planned=batch,
        )  # fmt: skip
        pace: Pace = self.paces.get((batch.crop, batch.bed), UNLEARNED)
        return stages_of(crop, self.tables, history, *self.conditions.stages(history, last), pace)


def water_use(
    space: Space, tables: CropTables, lights: Iterable[BedLight], paces: Paces | None = None
) -> WaterUse:
    """Return what works out the water of batches in a space whose light is known."""
    return WaterUse(space, tables, observed_conditions(space, lights, ()), paces or {})


def _gains(stages: Stages, crop: Crop, days: int, cuts: Sequence[int]) -> Array:
    """Return what one plant gains on each day after sowing [g dry], (days,); each cut leaves a share."""
    zero = np.zeros(1)
    start, start_g, *rest = stages.one_for_each(0, zero, zero, zero)
    number = np.arange(days + 1, dtype=float)
    mass = growth.mass_by_day(number, start, start_g, *rest)[0]
    gain: Array = np.maximum(np.diff(mass, prepend=0.0)[1:], 0.0)
    for cut in cuts[: crop.cuts_max - 1] if crop.cuts_max > 1 else ():
        left = crop.cut_leaves_share * mass[min(max(cut, 0), days)]
        begins = float(cut + crop.cut_lag_d)
        mass = np.where(
            number < begins,
            np.where(number < cut, mass, left),
            growth.mass_by_day(number, np.array([begins]), np.array([left]), *rest)[0],
        )
        gain[cut:] = np.maximum(np.diff(mass)[cut:], 0.0)
    return gain


def daily_dry_g(pots: Iterable[Pots], first: date, days: int) -> Array:
    """Return what all shoots in some pots gain on each day from ``first`` [g dry], shape (days,)."""
    total = np.zeros(days)
    for some in pots:
        shift = (some.first - first).days
        begin, end = max(shift, 0), min(shift + len(some.dry_g), days)
        if end > begin:
            total[begin:end] += some.count * some.dry_g[begin - shift : end - shift]
    return total


def daily_pots(pots: Iterable[Pots], first: date, days: int) -> npt.NDArray[np.int64]:
    """Return how many pots are there on each day from ``first``, shape (days,)."""
    total = np.zeros(days, dtype=np.int64)
    for some in pots:
        shift = (some.first - first).days
        total[max(shift, 0) : max(shift + len(some.dry_g), 0)] += some.count
    return total


def by_zone(pots: Iterable[Pots], space: Space) -> Mapping[str, list[Pots]]:
    """Return the pots in each zone."""
    zone_of = {bed.name: bed.zone for bed in space.beds}
    found: dict[str, list[Pots]] = {zone.name: [] for zone in space.zones}
    for some in pots:
        found[zone_of[some.bed]].append(some)
    return found
