"""PPFD and DLI of every bed, from whatever the space file tells, and how sure they are."""

import numpy as np
import numpy.typing as npt

from cropcal.planning import panels
from cropcal.records.crop import CropTables
from cropcal.records.plan import BedLight
from cropcal.records.space import Assumption, Bed, Fixture, Reading, Space, Zone, photoperiod_h
from cropcal.science import light

DEFAULT_LAMP_TO_CANOPY_M = 0.30


def bed_lights(space: Space, tables: CropTables) -> tuple[BedLight, ...]:
    """Return the light of each bed, in the order of the file.

    Readings over the bed win; else the lamps of its zone, from their photon flux or their watts.
    """
    readings = {reading.bed: reading for reading in space.readings}
    return tuple(
        _from_reading(bed, space.zone(bed.zone), readings[bed.name])
        if bed.name in readings
        else _from_lamps(bed, space.zone(bed.zone), space, tables)
        for bed in space.beds
    )


ALIKE = 1.25
"""Sites whose brightest has no more than this many times the light of the dimmest count as alike (assumed:
within a batch the plants differ about as much by themselves)."""

MOST_CLASSES = 3


def like_sites(light: BedLight) -> tuple[tuple[int, ...], ...]:
    """Return the sites of a bed (from 1) in groups of like light, dimmest first; one to three groups.

    Groups are equal steps of light on a logarithmic scale; empty ones are left out.
    """
    ppfd = np.array(light.site_ppfd_umol_m2_s)
    everything = tuple(range(1, len(ppfd) + 1))
    low, high = float(ppfd.min()), float(ppfd.max())
    if low <= 0 or high / low <= ALIKE:
        return (everything,)
    count = min(int(np.ceil(np.log(high / low) / np.log(ALIKE))), MOST_CLASSES)
    step = np.minimum((np.log(ppfd / low) / np.log(high / low) * count).astype(int), count - 1)
    groups = (tuple(int(site) + 1 for site in np.flatnonzero(step == number)) for number in range(count))
    return tuple(group for group in groups if group)


def of_sites(light: BedLight, sites: tuple[int, ...]) -> BedLight:
    """Return the light of some sites of a bed only."""
    return light.model_copy(
        update={"site_ppfd_umol_m2_s": tuple(light.site_ppfd_umol_m2_s[site - 1] for site in sites)}
    )


def _from_reading(bed: Bed, zone: Zone, reading: Reading) -> BedLight:
    rows, columns = _grid(bed)
    grid = np.asarray(reading.umol_m2_s)
    sites = light.site_values(grid, rows, columns)
    return BedLight(
        bed=bed.name,
        zone=zone.name,
        source="readings",
        how=f"{grid.size} readings over the bed",
        sd_ln=light.LN_SD["readings"],
        photoperiod_h=photoperiod_h(zone),
        site_ppfd_umol_m2_s=tuple(float(value) for value in sites),
    )


def _from_lamps(bed: Bed, zone: Zone, space: Space, tables: CropTables) -> BedLight:
    """Return the light that the lamps of its zone give a bed: by geometry where their size is known."""
    fixtures = tuple(fixture for fixture in space.fixtures if fixture.zone == zone.name)
    known = [_photon_flux(fixture, tables) for fixture in fixtures]
    distances = [
        bed.lamp_to_canopy_m or fixture.lamp_to_canopy_m or DEFAULT_LAMP_TO_CANOPY_M for fixture in fixtures
    ]
    flux = [ppf for ppf, _, _ in known]
    look = _by_geometry if panels.has_panels(fixtures) else _by_share
    ppfd, told, assumed = look(bed, zone, fixtures, flux, distances)
    return BedLight(
        bed=bed.name,
        zone=zone.name,
        source="spec sheet" if all(fixture.ppf_umol_s is not None for fixture in fixtures) else "watts",
        how="; ".join(f"{how}, {where}" for (_, how, _), where in zip(known, told, strict=True)),
        sd_ln=max(spread for _, _, spread in known),
        photoperiod_h=photoperiod_h(zone),
        site_ppfd_umol_m2_s=tuple(float(value) for value in ppfd),
        assumed=assumed,
    )


Found = tuple[npt.NDArray[np.float64], list[str], tuple[Assumption, ...]]
"""PPFD of each site, where the light of each fixture goes, and what was assumed."""


def _by_share(
    bed: Bed, zone: Zone, fixtures: tuple[Fixture, ...], flux: list[float], distances: list[float]
) -> Found:
    """Return one mean for all sites: the share of the light that lands, under lamps as wide as the floor."""
    walls = sum(zone.walls) / len(zone.walls)
    shares = [
        float(light.landing_share(zone.length_m, zone.width_m, distance, walls)) for distance in distances
    ]
    total = sum(
        float(light.mean_ppfd(ppf, share, zone.area_m2)) for ppf, share in zip(flux, shares, strict=True)
    )
    assumed = tuple(
        Assumption(
            key=f"light of {bed.name}",
            value=f"{share:.0%} of the light lands on {zone.length_m:g} x {zone.width_m:g} m",
            why=f"assumed: a lamp as wide as the lit floor, {distance:g} m above the leaves, "
            f"walls that reflect {walls:.0%}; one mean for all sites",
        )
        for share, distance in zip(shares, distances, strict=True)
    )
    told = [f"{share:.0%} lands on the floor" for share in shares]
    return np.full(bed.site_count, total), told, assumed


def _by_geometry(
    bed: Bed, zone: Zone, fixtures: tuple[Fixture, ...], flux: list[float], distances: list[float]
) -> Found:
    """Return the light of each site under panels of known size; without a place, the floor's mean."""
    lamps = panels.panels(zone, fixtures, flux, distances)
    points = panels.site_points(bed, zone, *_grid(bed))
    told = [
        f"a panel of {fixture.length_m:g} x {fixture.width_m:g} m, {distance:g} m above the leaves"
        for fixture, distance in zip(fixtures, distances, strict=True)
    ]
    if points is not None:
        return panels.ppfd_at(points, lamps, zone), told, ()
    mean = float(panels.ppfd_at(panels.floor_points(zone), lamps, zone).mean())
    assumed = Assumption(
        key=f"light of {bed.name}",
        value="the mean of the lit floor at every site",
        why="assumed: the bed has no x_m and y_m",
    )
    return np.full(bed.site_count, mean), told, (assumed,)


def _photon_flux(fixture: Fixture, tables: CropTables) -> tuple[float, str, float]:
    """Return the photon flux of all lamps of a fixture, how it is known, and its ln sd."""
    many = f"{fixture.count} x " if fixture.count > 1 else ""
    if fixture.ppf_umol_s is not None:
        flux = fixture.ppf_umol_s * fixture.output * fixture.count
        return flux, f"{many}{fixture.ppf_umol_s:g} umol/s by the spec sheet", light.LN_SD["spec sheet"]
    lamp = tables.lamps[fixture.lamp]
    flux = float(light.ppf_from_watts(fixture.watts * fixture.count, lamp.efficacy_umol_j))
    known = f"watts {fixture.watts_from}"
    word = "measured" if fixture.watts_from == "meter" else "on the label"
    how = f"{many}{fixture.watts:g} W ({word}) x {lamp.efficacy_umol_j:g} umol/J"
    return flux, how, light.LN_SD[known]


def _grid(bed: Bed) -> tuple[int, int]:
    """Return rows and columns of a bed; sites given only as a number stand in one row."""
    if bed.rows is not None or bed.columns is not None:
        return bed.rows or 1, bed.columns or 1
    return 1, bed.site_count
