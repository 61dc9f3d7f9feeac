"""The lamps over one bed: their photons, and the light they give it at any distance, between any walls."""

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
import numpy.typing as npt

from cropcal.planning.site import panels
from cropcal.records.crop import CropTables, Lamp
from cropcal.records.space import (
    Assumption,
    Bed,
    Fixture,
    Space,
    Zone,
)
from cropcal.science import light

Array = npt.NDArray[np.float64]

DEFAULT_LAMP_TO_CANOPY_M = 0.30
NEAREST_M = 0.01
"""No lamp is counted nearer than this."""
CLEAR_OF_LAMP_M = 0.05
"""Leaves nearer to any lamp than this get too hot and bleach (common practice)."""
PROBES = 25
"""Sites at most over which a mean is taken where only a ratio of means is needed."""


@dataclass(frozen=True)
class Photons:
    """The photons of all lamps of one fixture; ``known`` is the key of ``light.LN_SD`` for their source."""

    fixture: Fixture
    lamp: Lamp
    ppf_umol_s: float
    known: str
    how: str


@dataclass(frozen=True)
class LampLight:
    """Lamps of known photons and distances over one bed.

    ``distances_stated``: the distances come from the file and are not assumed.
    """

    bed: Bed
    zone: Zone
    photons: tuple[Photons, ...]
    distances_m: tuple[float, ...]
    distances_stated: bool

    @property
    def fixtures(self) -> tuple[Fixture, ...]:
        """Return the fixtures whose photons these are."""
        return tuple(photons.fixture for photons in self.photons)

    @property
    def ppf_umol_s(self) -> list[float]:
        """Return the photons of each fixture."""
        return [photons.ppf_umol_s for photons in self.photons]

    @property
    def sized(self) -> bool:
        """Return whether the size of every lamp is known."""
        return panels.has_panels(self.fixtures)

    @property
    def sites_known(self) -> bool:
        """Return whether each site's light is known apart from the others'."""
        return self.sized and panels.site_points(self.bed, self.zone, *grid(self.bed)) is not None

    @property
    def by_watts(self) -> bool:
        """Return whether any lamp's photons come from its watts."""
        return any(photons.known != "spec sheet" for photons in self.photons)

    def shares(self) -> list[tuple[float, float]]:
        """Return the least and the most of each fixture's light that lands, where sizes are not known.

        Least under a lamp as wide as the lit floor, most under a small one over its middle.
        """
        zone, walls = self.zone, sum(self.zone.walls) / len(self.zone.walls)
        return [
            (
                float(light.landing_share(zone.length_m, zone.width_m, distance, walls)),
                float(light.small_lamp_share(zone.length_m, zone.width_m, distance, walls)),
            )
            for distance in self.distances_m
        ]

    def sites_umol_m2_s(self) -> Array:
        """Return the PPFD of each site; one mean for all where the sites are not known apart."""
        if not self.sites_known:
            mean = self._at(panels.floor_points(self.zone)).mean() if self.sized else self._landing()
            return np.full(self.bed.site_count, mean)
        points = panels.site_points(self.bed, self.zone, *grid(self.bed))
        assert points is not None
        return self._at(points)

    def mean_umol_m2_s(
        self, nearer_m: float = 0.0, walls: tuple[float, float, float, float] | None = None
    ) -> float:
        """Return the mean PPFD of (a sample of) the sites, lamps ``nearer_m`` nearer, between other walls."""
        moved = replace(
            self,
            distances_m=tuple(max(distance - nearer_m, NEAREST_M) for distance in self.distances_m),
            zone=self.zone if walls is None else self.zone.model_copy(update={"walls": walls}),
        )
        if not self.sized:
            return moved._landing()
        points = panels.site_points(self.bed, self.zone, *grid(self.bed))
        if points is None:
            points = panels.floor_points(self.zone)
        sample = np.linspace(0, len(points) - 1, min(len(points), PROBES)).round().astype(int)
        return float(moved._at(points[sample]).mean())

    def source_text(self) -> str:
        """Return in a few words where the light comes from and how it gets to the bed."""
        if self.sized:
            where = [
                f"a panel of {fixture.length_m:g} x {fixture.width_m:g} m, {distance:g} m above the leaves"
                for fixture, distance in zip(self.fixtures, self.distances_m, strict=True)
            ]
        else:
            where = [f"{_percents(*share)} lands on the floor" for share in self.shares()]
        how = "; ".join(f"{photons.how}, {place}" for photons, place in zip(self.photons, where, strict=True))
        return how if self.distances_stated else f"{how}; how high the lamp hangs is not given"

    def assumed(self) -> tuple[Assumption, ...]:
        """Return the assumptions about where the light goes."""
        zone, key = self.zone, f"light in {self.zone.name}"
        if self.sites_known:
            return ()
        if self.sized:
            value = "the mean of the lit floor at every site"
            why = "assumed: the bed has no x_m and y_m"
            return (Assumption(key=f"light of {self.bed.name}", value=value, why=why),)
        walls = sum(zone.walls) / len(zone.walls)
        return tuple(
            Assumption(
                key=key,
                value=f"{_geometric_mean(*share):.0%} of it lands on {zone.length_m:g} x {zone.width_m:g} m",
                why=f"assumed: {share[0]:.0%} from a lamp as wide as the floor, {share[1]:.0%} from a small "
                f"one over its middle; {distance:g} m above the leaves, walls that reflect {walls:.0%}",
            )
            for share, distance in zip(self.shares(), self.distances_m, strict=True)
        )

    def _landing(self) -> float:
        landed = [
            light.mean_ppfd(ppf, _geometric_mean(*share), self.zone.area_m2)
            for ppf, share in zip(self.ppf_umol_s, self.shares(), strict=True)
        ]
        return float(np.sum(landed))

    def _at(self, points: Array) -> Array:
        lamps = panels.panels(self.zone, self.fixtures, self.ppf_umol_s, list(self.distances_m))
        return panels.ppfd_at(points, lamps, self.zone)


def lamps_over(bed: Bed, space: Space, tables: CropTables) -> LampLight | None:
    """Return the lamps over a bed, None if its zone has none in the file."""
    numbered = [
        (number, fixture) for number, fixture in enumerate(space.fixtures, 1) if fixture.zone == bed.zone
    ]
    if not numbered:
        return None
    fixtures = [fixture for _, fixture in numbered]
    taken = {item.key for item in space.assumed}
    return LampLight(
        bed=bed,
        zone=space.zone(bed.zone),
        photons=tuple(_photons(fixture, tables) for fixture in fixtures),
        distances_m=tuple(
            bed.lamp_to_canopy_m or fixture.lamp_to_canopy_m or DEFAULT_LAMP_TO_CANOPY_M
            for fixture in fixtures
        ),
        distances_stated=bed.lamp_to_canopy_m is not None
        or not any(f"fixture[{number}].lamp_to_canopy_m" in taken for number, _ in numbered),
    )


def _photons(fixture: Fixture, tables: CropTables) -> Photons:
    many = f"{fixture.count} x " if fixture.count > 1 else ""
    lamp = tables.lamps[fixture.lamp]
    if fixture.ppf_umol_s is not None:
        ppf = fixture.ppf_umol_s * fixture.output * fixture.count
        return Photons(
            fixture, lamp, ppf, "spec sheet", f"{many}{fixture.ppf_umol_s:g} µmol/s by the spec sheet"
        )
    ppf = float(light.ppf_from_watts(fixture.watts * fixture.count, lamp.efficacy_umol_j))
    word = "measured" if fixture.watts_from == "meter" else "on the label"
    how = f"{many}{fixture.watts:g} W ({word}) x {lamp.efficacy_umol_j:g} µmol/J"
    return Photons(fixture, lamp, ppf, f"watts {fixture.watts_from}", how)


def clearance_m(fixture: Fixture, lamp: Lamp) -> float:
    """Return how far leaves keep from a lamp: the maker's word, else by its kind and watts.

    The heat that it radiates falls with the square of the distance, so the distance goes by the root of its
    watts (``crops/README.md``).
    """
    if fixture.clearance_m is not None:
        return fixture.clearance_m
    return max(lamp.clearance_1_kw_m * sqrt(fixture.watts / 1000), CLEAR_OF_LAMP_M)


def nearest_lamp(lamps: LampLight) -> tuple[float, float]:
    """Return distance and clearance of the lamp that leaves the least room, m."""
    pairs = (
        (distance, clearance_m(photons.fixture, photons.lamp))
        for photons, distance in zip(lamps.photons, lamps.distances_m, strict=True)
    )
    return min(pairs, key=lambda pair: pair[0] - pair[1])


def grid(bed: Bed) -> tuple[int, int]:
    """Return rows and columns of a bed; sites given only as a number stand in one row."""
    if bed.rows is not None or bed.columns is not None:
        return bed.rows or 1, bed.columns or 1
    return 1, bed.site_count


def _geometric_mean(low: float, high: float) -> float:
    """Return the middle of two shares by ratio."""
    return float(np.sqrt(low * high))


def _percents(low: float, high: float) -> str:
    ends = f"{low:.0%}", f"{high:.0%}"
    return ends[0] if ends[0] == ends[1] else f"{ends[0][:-1]}-{ends[1]}"
