"""PPFD and DLI of every bed, from whatever the space file gives, with their spread."""

from collections.abc import Sequence
from typing import Literal

import numpy as np
import numpy.typing as npt

from cropcal.planning.site import lamp_factor as correct
from cropcal.planning.site import light_uncertainty as measure
from cropcal.planning.site import readings_against_lamps as compare
from cropcal.planning.site.lamp_factor import Witness
from cropcal.planning.site.lamp_light import (
    LampLight,
    grid,
    lamps_over,
    nearest_lamp,
)
from cropcal.planning.site.sunlight import with_sun
from cropcal.records.crop import CropTables
from cropcal.records.measured import CopiedReading, NotedReading
from cropcal.records.plan import BedLight
from cropcal.records.space import (
    Bed,
    Reading,
    Space,
    photoperiod_h,
)
from cropcal.science import light
from cropcal.science.geometry import ppfd_from_lux

Array = npt.NDArray[np.float64]
Source = Literal["readings", "lux meter", "phone lux"]


def bed_lights(space: Space, tables: CropTables, beds: tuple[Bed, ...] | None = None) -> tuple[BedLight, ...]:
    """Return the light of each bed, in the order of the file, or of some ``beds`` of it.

    Readings over the bed win; else the lamps of its zone, from their photon flux or their watts, corrected by
    what was read over other beds under them. What the sun adds stands apart, in ``halves``.

    Raises
    ------
    ValueError
        If a bed has neither readings nor lamps, or lux readings under lamps without a known factor; the
        reader lets no such file through.
    """
    beds = space.beds if beds is None else beds
    lamps = {bed.name: lamps_over(bed, space, tables) for bed in space.beds}
    readings = {reading.bed: reading for reading in space.readings}
    zones = {bed.zone for bed in beds}
    read = {
        bed.name: _from_reading(bed, space, lamps[bed.name], readings[bed.name])
        for bed in space.beds
        if bed.name in readings and bed.zone in zones
    }
    lights = []
    for bed in beds:
        over = lamps[bed.name]
        if bed.name in read:
            lights.append(read[bed.name][0])
        elif over is not None:
            seen = [witness for lit, witness in read.values() if lit.zone == bed.zone and witness]
            seen.sort(key=lambda witness: witness.bed)
            lights.append(_from_lamps(bed, space, over, seen))
        elif space.zone(bed.zone).has_daylight:
            lights.append(_daylight_only(bed))
        else:
            message = f"{bed.name} has neither readings nor lamps"
            raise ValueError(message)
    return tuple(with_sun(space, light) for light in lights)


def _daylight_only(bed: Bed) -> BedLight:
    return BedLight(
        bed=bed.name,
        zone=bed.zone,
        source="daylight",
        how="no lamp: the sun alone",
        sd_ln=0.0,
        photoperiod_h=0.0,
        site_ppfd_umol_m2_s=(0.0,) * bed.site_count,
        sites_known=False,
    )


ALIKE = 1.25
"""Sites whose brightest has no more than this many times the light of the dimmest count as alike (assumed:
within a batch the plants differ about as much by themselves)."""

MOST_CLASSES = 3


def site_groups(light: BedLight) -> tuple[tuple[int, ...], ...]:
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


def light_of_sites(light: BedLight, sites: tuple[int, ...]) -> BedLight:
    """Return the light of some sites of a bed only."""
    return light.model_copy(
        update={"site_ppfd_umol_m2_s": tuple(light.site_ppfd_umol_m2_s[site - 1] for site in sites)}
    )


def _from_reading(
    bed: Bed, space: Space, lamps: LampLight | None, reading: Reading
) -> tuple[BedLight, Witness | None]:
    """Return the light read over a bed, compared with that of its lamps, and what it says of them."""
    rows, columns = grid(bed)
    read, source, how = _as_ppfd(reading, lamps)
    if isinstance(reading, NotedReading) and reading.on is not None:
        how += f" of {reading.on.day} {reading.on:%b %Y}, from the journal"
    sites = light.site_values(read, rows, columns)
    sd_ln = light.LN_SD[source]
    distance_m, clearance_m = _distance_and_clearance(lamps)
    check, witness, slips = None, None, ""
    if lamps is not None:
        errors = measure.light_errors(lamps)
        computed = lamps.sites_umol_m2_s()
        check = compare.compare_with_lamps(lamps, float(sites.mean()), sd_ln, errors.sd_ln)
        how += f"; {check.ratio:.2f} of what {'the watts' if lamps.by_watts else 'the spec sheet'} would give"
        slips = correct.too_bright(lamps, check.ratio)
        one_point = correct.POINT * float(np.log(computed).std()) if read.size == 1 else 0.0
        if not isinstance(reading, CopiedReading):
            witness = correct.witness(lamps, errors, check.ratio, source, (sd_ln, one_point))
    bed_light = BedLight(
        bed=bed.name,
        zone=bed.zone,
        source=source,
        how=how,
        sd_ln=sd_ln,
        photoperiod_h=photoperiod_h(space.zone(bed.zone)),
        site_ppfd_umol_m2_s=tuple(float(value) for value in sites),
        sites_known=read.size > 1 or len(sites) == 1,
        lamp_to_canopy_m=distance_m,
        lamp_clearance_m=clearance_m,
        narrower=measure.from_reading(source),
        check=check,
        warnings=_outside_warnings(read.shape, rows, columns),
        slips=(slips,) if slips else (),
    )
    return bed_light, witness


def _as_ppfd(reading: Reading, lamps: LampLight | None) -> tuple[Array, Source, str]:
    """Return readings as PPFD in their grid, the kind of source, and the source in words."""
    if reading.umol_m2_s is not None:
        read = np.asarray(reading.umol_m2_s)
        return read, "readings", _readings_text(read.size, "")
    if lamps is None or reading.lux is None:
        message = f"lux over {reading.bed} needs a lamp to be turned into PPFD"
        raise ValueError(message)
    factor = _lux_per_umol(lamps)
    if factor is None:
        message = f"lux over {reading.bed} under a lamp without a known factor"
        raise ValueError(message)
    read = ppfd_from_lux(reading.lux, factor)
    kinds = " and ".join(dict.fromkeys(photons.lamp.lamp for photons in lamps.photons))
    source: Source = "phone lux" if reading.read_with == "phone" else "lux meter"
    word = "lux by phone" if source == "phone lux" else "lux by meter"
    return read, source, f"{_readings_text(read.size, word)} at {factor:.3g} lux per µmol/m²/s ({kinds})"


def _lux_per_umol(lamps: LampLight) -> float | None:
    """Return lux for each µmol/m²/s under some lamps, None if that is not known of each."""
    factors = [photons.lamp.lux_per_umol for photons in lamps.photons]
    known = [factor for factor in factors if factor is not None]
    return light.mixed_lux_per_umol(lamps.ppf_umol_s, known) if len(known) == len(factors) else None


def lux_factors(space: Space, tables: CropTables) -> dict[str, float]:
    """Return lux for each µmol/m²/s over each bed whose lamps are known by kind."""
    over = ((bed.name, lamps_over(bed, space, tables)) for bed in space.beds)
    factors = ((name, _lux_per_umol(lamps)) for name, lamps in over if lamps is not None)
    return {name: factor for name, factor in factors if factor is not None}


def _readings_text(count: int, word: str) -> str:
    many = f"{count} reading" if count == 1 else f"{count} readings"
    return f"{many} of {word} over the bed" if word else f"{many} over the bed"


def _outside_warnings(shape: tuple[int, ...], rows: int, columns: int) -> tuple[str, ...]:
    """Return a warning where sites lie outside the outer readings of a coarser grid."""
    outside = light.sites_beyond((shape[0], shape[1]), rows, columns)
    if not outside:
        return ()
    return (
        f"{outside} of {rows * columns} sites lie outside the outermost readings and count as bright as the "
        "nearest; edges are often dimmer",
    )


def _from_lamps(bed: Bed, space: Space, lamps: LampLight, seen: Sequence[Witness]) -> BedLight:
    """Return the light that the lamps of its zone give a bed: by geometry where their size is known.

    ``seen`` are readings over other beds under the same lamps.
    """
    errors = measure.light_errors(lamps)
    believed = [witness for witness in seen if not witness.slip]
    lamp = correct.lamp_factor(believed, errors.lamp)
    sd_ln = float(np.hypot(lamp.sd_ln, errors.own))
    how = lamps.source_text()
    if believed:
        how += f", times {lamp.factor:.2f}: {correct.came_to(believed)} of it"
    distance_m, clearance_m = _distance_and_clearance(lamps)
    return BedLight(
        bed=bed.name,
        zone=bed.zone,
        source="watts" if lamps.by_watts else "spec sheet",
        how=how,
        sd_ln=sd_ln,
        photoperiod_h=photoperiod_h(space.zone(bed.zone)),
        site_ppfd_umol_m2_s=tuple(float(value) * lamp.factor for value in lamps.sites_umol_m2_s()),
        assumed=lamps.assumed(),
        sites_known=lamps.sites_known,
        lamp_to_canopy_m=distance_m,
        lamp_clearance_m=clearance_m,
        narrower=measure.from_lamps(lamps, errors, sd_ln),
        lamp_factor=lamp.factor,
        slips=tuple(correct.not_believed(witness) for witness in seen if witness.slip),
    )


def _distance_and_clearance(lamps: LampLight | None) -> tuple[float | None, float | None]:
    """Return distance and clearance of the lamp with least room to spare; None if distances are assumed."""
    return nearest_lamp(lamps) if lamps is not None and lamps.distances_stated else (None, None)
