"""How plants grow in ``other_world.py``: a law and a luck of its own, centred on the median days of a space.

Fresh weight W of a plant follows a Gompertz curve: with T its full weight, b a number of the crop and x its
age as a share of the days that it needs, ``ln(W / T) = 1 - b ** (1 - x)``. Full weight is its steepest point,
a third of the weight that it would reach in the end (assumed). The planner's law is another. Only days and
places are taken from the project: its median days to full weight for each crop, site and age of moving, and
what a site then brings.
"""

from dataclasses import dataclass, field
from functools import cached_property
from math import ceil, log
from zlib import crc32

import numpy as np

from cropcal.planning.candidates.prepare import Prepared, prepare
from cropcal.records.crop import CropTables
from cropcal.records.space import Space

ENOUGH = 0.75
"""Share of its full weight at which a plant counts."""
GROWERS, CROPS, LIGHT, EMERGENCE, BATCHES, PLANTS = 0.20, 0.17, 0.10, 0.20, 0.08, 0.20
"""Sds of ln pace between growers, crops of a grower and zones; of ln days to emergence; of ln pace between
batches; of ln weight between plants of a batch."""
STANDS = 0.3
"""Sd of the logit of the share of seeds that come up, by grower and crop (assumed)."""
LOST = 0.04
"""Share of what is planted that dies on its site."""
SLIGHTEST = 1.0
"""Least ln of full weight over that of a seedling: shoots and microgreens hardly gain (assumed)."""
SEED_SHARE = 0.7
"""Dry weight of a seedling per weight of its seed (assumed)."""
NEVER = 30_000

Key = tuple[int, str, int, str | None, int]
"""Want, crop, place, nursery, sites that each plant holds."""


@dataclass(frozen=True, eq=False)
class Way:
    """One crop on one kind of site from one nursery (or sown there), without luck.

    ``left_d``: days on the site until full weight, by the age ``ages_d`` at which it is moved there.
    ``amount`` is what a site brings at full weight, in the crop's unit; ``plants`` stand on it.
    """

    crop: str
    heads: bool
    zone: str
    nursery_zone: str | None
    up_d: float
    ages_d: np.ndarray
    left_d: np.ndarray
    hold_d: float
    b: float
    window_d: int
    cuts: int
    leaves: float
    lag_d: int
    gap_d: float
    keeps_d: int
    amount: float
    plants: float
    stand: float
    seeds: float
    lit: bool
    tray: bool

    @cached_property
    def per_nursery_d(self) -> float:
        """Days on the site that a day in the nursery saves."""
        if len(self.ages_d) < 2:
            return 1.0
        return float((self.left_d[0] - self.left_d[-1]) / (self.ages_d[-1] - self.ages_d[0]))

    @cached_property
    def whole_d(self) -> float:
        """Days from emergence to full weight at the pace of the site."""
        return float(self.left_d[0] + self.per_nursery_d * (self.ages_d[0] - self.up_d))

    def left(self, age_d: np.ndarray) -> np.ndarray:
        """Return the days left on the site for seedlings that are as large as those of an age without luck.

        Beyond the ages of the table they grow on for as many days again as the crop may wait, then no more.
        """
        first, last = self.ages_d[0], self.ages_d[-1]
        beyond = np.clip(age_d - last, 0.0, self.hold_d) + np.minimum(age_d - first, 0.0)
        left = np.interp(age_d, self.ages_d, self.left_d) - self.per_nursery_d * beyond
        return np.maximum(left, 0.02 * self.whole_d)

    @cached_property
    def regrown_per_d(self) -> float:
        """Share of its age that it regains a day after a cut, by the project's days between cuts."""
        back = log(1.0 - log(self.leaves)) / log(self.b) if self.leaves > 0 else 1.0
        return back / max(self.gap_d - self.lag_d, 1.0)


@dataclass(frozen=True)
class Place:
    """Like sites of one bed (numbers from 1), and the days on which they cannot be used: first, last."""

    bed: str
    kind: str
    sites: tuple[int, ...]
    closed: tuple[tuple[int, int], ...]


@dataclass(frozen=True, eq=False)
class Ground:
    """A space as the other world needs it; wants are those of ``space``, in its order.

    ``eaten_at_most`` is what a want takes in a week, ``wanted`` the same from the first week on in which it
    can be cut, whatever a plan promises, both (wants, weeks). ``feasts``: days on which a want is wanted
    that is not wanted by the week, at most one a week.
    """

    space: Space
    places: tuple[Place, ...]
    cells: dict[str, int]
    ways: dict[Key, Way]
    work_days: np.ndarray
    harvest_days: np.ndarray
    days: int
    weeks: int
    eaten_at_most: np.ndarray
    wanted: np.ndarray
    per_week: np.ndarray
    clean_days: int
    feasts: dict[int, tuple[int, ...]]

    def place_of(self, bed: str, site: int) -> int:
        """Return the number of the place to which a site of a bed belongs."""
        return next(i for i, place in enumerate(self.places) if place.bed == bed and site in place.sites)


def ground(space: Space, tables: CropTables) -> Ground:
    """Return a space with its sites, days, wants, and how each crop does where, without luck.

    Raises ValueError where daylight counts: it is not in this world.
    """
    ready = prepare(space, tables)
    places = tuple(
        Place(place.bed.name, place.bed.kind, place.sites, tuple(place.closed(ready.time)))
        for place in ready.assessment.land.places
    )
    ways = {}
    for option in ready.assessment.options:
        if option.grown.sown_d is not None:
            raise ValueError("daylight is not in this world")
        key = (option.want, option.grown.crop.slug, option.place, option.grown.nursery, option.sites_each)
        ways[key] = _way(ready.space, option.grown)
    takes, first = _takes(ready), _first_weeks(ready)
    return Ground(
        space=ready.space,
        places=places,
        cells={bed.name: bed.site_count for bed in ready.space.beds if bed.kind == "nursery"},
        ways=ways,
        work_days=ready.time.work_days,
        harvest_days=ready.time.harvest_days,
        days=ready.time.days,
        weeks=ready.time.weeks,
        eaten_at_most=takes,
        wanted=np.where(np.arange(ready.time.weeks) >= first[:, None], takes, 0.0),
        per_week=ready.per_week,
        clean_days=space.settings.clean_days,
        feasts={
            index: tuple(sorted(ready.time.day_of(on) for on in want.on))
            for index, want in enumerate(ready.space.wants)
            if want.on is not None
        },
    )


def _takes(ready: Prepared) -> np.ndarray:
    """Return what each want takes in each week if it can, (wants, weeks): also before a plan promises any."""
    takes = ready.wanted.counted.copy()
    for index, want in enumerate(ready.space.wants):
        weeks = [week for week in ready.serving.weeks(index) if not ready.time.weeks_without_harvest[week]]
        early = [week for week in weeks if not takes[index, : week + 1].any()]
        a_week = ready.per_week[index]
        takes[index, early] = np.floor(a_week) if want.counted_in == "heads" else a_week
    return takes


def _first_weeks(ready: Prepared) -> np.ndarray:
    """Return the week in which each want can be cut first, without luck, (wants,)."""
    first = np.full(len(ready.space.wants), ready.time.weeks)
    work, harvest = ready.time.work_days, ready.time.harvest_days
    for option in ready.assessment.options:
        grown = option.grown
        for age, ready_d in zip(grown.ages_d, grown.ready_d[1], strict=True):
            sown = work[np.isin(work + age, work)]
            if len(sown):
                day = sown[0] + ceil(ready_d) - grown.early_d
                cut = harvest[harvest >= day]
                if len(cut):
                    first[option.want] = min(first[option.want], cut[0] // 7)
    return first


def _way(space: Space, grown) -> Way:
    crop, bed = grown.crop, space.bed(grown.spot.bed)
    median = grown.ready_d[1]
    at = int(np.ceil(median[0]))
    full = float(grown.amount[0, at])
    per_plant = float(grown.g_per_plant[1, 0, at])
    plants = 1.0 if crop.unit == "heads" else max(full / per_plant, 1.0)
    seedling_g = crop.seed_g_per_1000 / 1000 * SEED_SHARE / crop.dry_matter
    return Way(
        crop=crop.slug,
        heads=crop.unit == "heads",
        zone=bed.zone,
        nursery_zone=space.bed(grown.nursery).zone if grown.nursery else None,
        up_d=float(grown.emergence_d[1]),
        ages_d=grown.ages_d.astype(float),
        left_d=median - grown.ages_d,
        hold_d=float(crop.nursery_hold_d),
        b=1.0 + max(log(crop.target_g / seedling_g), SLIGHTEST),
        window_d=crop.window_d,
        cuts=crop.cuts_max,
        leaves=crop.cut_leaves_share,
        lag_d=crop.cut_lag_d,
        gap_d=float(grown.cut_gaps_d[0, 0]) if crop.cuts_max > 1 else 1.0,
        keeps_d=crop.keeping_d or 0,
        amount=full if crop.unit == "heads" or crop.kind == "shoots" else plants * crop.target_g,
        plants=plants,
        stand=grown.stand,
        seeds=float(crop.seeds_per_plant),
        lit=crop.kind != "shoots",
        tray=crop.kind in ("tray", "shoots"),
    )


@dataclass(frozen=True, eq=False)
class Luck:
    """What differs from season to season; the same for the same names, whatever else is drawn."""

    seed: int
    seasons: int
    noise: float
    pace: float
    losses: bool
    _drawn: dict[tuple[str, ...], np.ndarray] = field(default_factory=dict)

    def stream(self, *names: str) -> np.random.Generator:
        """Return the random generator of a name."""
        return np.random.default_rng([self.seed, *(crc32(name.encode()) for name in names)])

    def shared(self, sd: float, *names: str) -> np.ndarray:
        """Return what is common to all of one name in each season, shape (seasons,)."""
        if names not in self._drawn:
            self._drawn[names] = self.stream(*names).standard_normal(self.seasons)
        return sd * self.noise * self._drawn[names]

    def light(self, zone: str | None, way: Way) -> np.ndarray:
        """Return ln pace by the light of a zone."""
        return self.shared(LIGHT if way.lit and zone else 0.0, "light", zone or "")

    def crop_pace(self, crop: str) -> np.ndarray:
        """Return ln pace of a crop of each season's grower."""
        return self.pace + self.shared(GROWERS, "grower") + self.shared(CROPS, "crop", crop)

    def up_d(self, way: Way) -> np.ndarray:
        """Return days from sowing to emergence."""
        return way.up_d * np.exp(self.shared(EMERGENCE, "emergence", way.crop))

    def comes_up(self, way: Way) -> np.ndarray:
        """Return the share of seeds that come up."""
        if not self.losses:
            return np.ones(self.seasons)
        odds = way.stand / (1.0 - way.stand) if way.stand < 1.0 else np.inf
        odds = odds * np.exp(self.shared(STANDS, "germination", way.crop))
        return np.where(np.isinf(odds), 1.0, 1.0 - 1.0 / (1.0 + odds))
