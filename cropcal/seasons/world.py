"""What a season needs: days, sites, cells, wants, how each crop grows in each drawn season, and sowings.

Days are counted from the plan's start. Arrays with one entry a drawn season have the length ``seasons``.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]
BoolArray = npt.NDArray[np.bool_]

NEVER = -1
"""No week of a want is served."""
MOST_COPIES = 8
"""Repeated worlds that are kept."""


@dataclass(frozen=True, eq=False)
class Rates:
    """How fast a plant gains mass in one place, (stretches of the year, seasons) each.

    With ``x = ln(exp(slope * mass) - 1)``, where mass is g dry a plant, ``x`` rises by ``speed`` a day (the
    expolinear equation of ``science.growth``: slope is k times density, speed is k times C).
    """

    slope: FloatArray
    speed: FloatArray

    def repeated(self, blocks: int) -> "Rates":
        """Return the rates with their seasons repeated."""
        return Rates(np.tile(self.slope, blocks), np.tile(self.speed, blocks))


@dataclass(frozen=True, eq=False)
class Kind:
    """One crop for one want in one place, from one nursery or sown in place.

    Attributes
    ----------
    want, place, nursery
        Numbers; ``nursery`` is -1 for what is sown in place.
    group
        Number of what is raised alike: a seedling may go to the place of any kind of its group.
    heads
        Whether a site brings one head; else grams.
    full_amount
        What a site brings at full mass: 1 head, or g.
    sites_each
        Sites that one plant holds.
    plants
        Plants on a site; only their number that stand matters for grams.
    stand
        Chance that one of them comes up (given the seeds sown for it).
    thick
        Sown so thickly that the planned number stands: trays and shoots.
    window_d, keeps_d
        Days for which it stays good on its site, once full, and after its cut.
    cuts, leaves_share, lag_d
        Most cuts, share of the mass that a cut leaves, days until it grows again.
    young_d, old_d
        Age in days at which it may be moved at the earliest, and beyond which seedlings are thrown away.
    serves
        Week of its want that a cut on each day serves, ``NEVER``: none; (days,).
    starts_d
        Days from sowing until it grows, (seasons,).
    start_g, full_g
        Dry mass of a plant when it starts, (seasons,), and at which it is full grown.
    in_nursery, on_site
        Its rates; None where it is never in a nursery.
    fixed_d, fixed_yield
        For shoots: days from sowing until they are full, and their yield as a share, (seasons,) each.
    site_d
        Median days on its site until it is full: for sites that are soon out of use.
    """

    want: int
    place: int
    nursery: int
    group: int
    heads: bool
    full_amount: float
    sites_each: int
    plants: int
    stand: float
    thick: bool
    window_d: int
    keeps_d: int
    cuts: int
    leaves_share: float
    lag_d: int
    young_d: int
    old_d: int
    serves: IntArray
    starts_d: FloatArray
    start_g: FloatArray
    full_g: float
    in_nursery: Rates | None
    on_site: Rates | None
    fixed_d: FloatArray | None = None
    fixed_yield: FloatArray | None = None
    site_d: float = 0.0

    def repeated(self, blocks: int) -> "Kind":
        """Return the kind with its seasons repeated."""
        return replace(
            self,
            starts_d=np.tile(self.starts_d, blocks),
            start_g=np.tile(self.start_g, blocks),
            fixed_d=None if self.fixed_d is None else np.tile(self.fixed_d, blocks),
            fixed_yield=None if self.fixed_yield is None else np.tile(self.fixed_yield, blocks),
            in_nursery=None if self.in_nursery is None else self.in_nursery.repeated(blocks),
            on_site=None if self.on_site is None else self.on_site.repeated(blocks),
        )


@dataclass(frozen=True, eq=False)
class World:
    """A space over a season: days, sites, cells, wants, kinds; ``seasons`` are drawn.

    Attributes
    ----------
    days
        Length of the season.
    work, harvest
        Whether somebody sows and moves, and cuts, on each day, (days,); on none that is over.
    stretch
        Number of the stretch of the year (of ``Rates``) that each day lies in, (days,).
    wanted
        Amount of each want in each week, (wants, weeks); 0: nothing is wanted, or it does not count.
    sites, cells
        Sites of each place, cells of each nursery, by day, (places, days) and (nurseries, days): 0 where
        they are out of use.
    clean_days
        Days from the last cut until a site may be planted.
    kinds
        How each crop grows in each place.
    least_share
        Share of the full mass from which a plant counts.
    plant_sd, batch_sd
        Spread of ln mass between plants, and between batches.
    lost
        Share of the planted that is lost before its cut.
    most_minutes
        Minutes of work on any one day; what is over waits for the next. None: as many as it takes.
    blocks
        Choices of sowings that are compared: ``seasons`` is that many times the drawn ones, block by block,
        with the same luck in each.
    """

    days: int
    work: BoolArray
    harvest: BoolArray
    stretch: IntArray
    wanted: FloatArray
    sites: IntArray
    cells: IntArray
    clean_days: int
    kinds: tuple[Kind, ...]
    seasons: int
    least_share: float
    plant_sd: float
    batch_sd: float
    lost: float
    most_minutes: float | None = None
    blocks: int = 1

    def repeated(self, blocks: int) -> "World":
        """Return the world with its seasons repeated, to compare so many choices of sowings in one run.

        The same world is returned when it is asked for again; all share what is remembered.
        """
        if blocks == 1:
            return self
        if blocks not in self._copies:
            while len(self._copies) >= MOST_COPIES:
                del self._copies[next(iter(self._copies))]
            copy = replace(
                self,
                seasons=self.seasons * blocks,
                blocks=self.blocks * blocks,
                kinds=tuple(kind.repeated(blocks) for kind in self.kinds),
            )
            copy.__dict__["remembered"] = self.remembered
            self._copies[blocks] = copy
        return self._copies[blocks]

    @cached_property
    def remembered(self) -> dict[object, object]:
        """Return what was worked out for one block of the seasons and never changes, such as luck, by key."""
        return {}

    @cached_property
    def _copies(self) -> dict[int, "World"]:
        return {}


@dataclass(frozen=True, eq=False)
class Sowing:
    """Cells of one crop sown on one day: ``kinds`` where they may go, the planned place first.

    ``cuts`` has one entry a cell: how often it is cut. ``name`` is that of its luck. ``sown_in`` says which
    cells are sown in which block of the seasons, (cells, blocks); None: all of them. ``first_cell``: cells
    before these that share the name, for parts of one sowing.
    """

    name: str
    day: int
    kinds: tuple[int, ...]
    cuts: tuple[int, ...]
    sown_in: BoolArray | None = None
    first_cell: int = 0

    @property
    def cells(self) -> int:
        """Return the cells sown."""
        return len(self.cuts)


@dataclass(frozen=True, eq=False)
class Standing:
    """Plants of one batch that stand already, alike: still in the nursery, or on their sites.

    Attributes
    ----------
    name
        That of their luck.
    sown, planted
        Day on which they were sown, and took their sites; before the first day it is negative.
    kinds
        As in ``Sowing``; only the first on a site.
    cuts, done
        Cuts of each cell (site) in all, and those that are done.
    waits
        Whether they are still in the nursery.
    mass_g, from_d
        Dry mass of a plant, and the day from which it grows on from there, (seasons,) each.
    come_up
        Whether they are known to have come up.
    not_before
        First day on which they may be cut.
    first_cell
        As in ``Sowing``.
    lost
        Share of them that is lost already, though nobody has noted it: their pump stopped.
    """

    name: str
    sown: int
    planted: int
    kinds: tuple[int, ...]
    cuts: tuple[int, ...]
    done: int
    waits: bool
    mass_g: FloatArray
    from_d: FloatArray
    come_up: bool
    not_before: int
    first_cell: int = 0
    lost: float = 0.0


@dataclass(frozen=True)
class Delivery:
    """What was cut for a want before the first day: on which day, and the last on which it is good."""

    want: int
    day: int
    last_good: int
    amount: float
