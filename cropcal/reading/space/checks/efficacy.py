"""Checks of light against the watts behind it: refused where no lamp gives it, or asked about."""

from collections.abc import Iterator
from typing import Any, Final

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft, Part, readable_parts
from cropcal.reading.text.toml_locations import KeyPath
from cropcal.records.crop import GOOD_UMOL_J, MOST_UMOL_J
from cropcal.records.space import (
    Bed,
    Fixture,
    Reading,
    Zone,
)

LUX_OVER: Final = 1.5
"""Times the light that lux may show, by whatever it is read (about two standard deviations; assumed)."""

GOOD: Final = f"up to {GOOD_UMOL_J:g}, which the best lamps give"


def light_for_its_watts(draft: Draft) -> Iterator[Problem]:
    """Ask that readings over beds do not come to more photons than any lamp gives for its watts."""
    for path, umol_j in _landing(draft):
        if umol_j > MOST_UMOL_J:
            yield _problem(draft, path, umol_j, f"at most {MOST_UMOL_J:g}: no lamp can give more")


def much_light_for_its_watts(draft: Draft) -> Iterator[Problem]:
    """Ask whether light and watts belong together where hardly any lamp gives so much."""
    for path, umol_j in _landing(draft):
        if GOOD_UMOL_J < umol_j <= MOST_UMOL_J:
            yield _problem(draft, path, umol_j, GOOD)
    for part in readable_parts(draft.fixtures, "ppf_umol_s", "watts", "output"):
        umol_j = (part.record.ppf_umol_s or 0.0) * part.record.output / part.record.watts
        if umol_j > GOOD_UMOL_J:
            path, found = (*part.path, "ppf_umol_s"), f"{umol_j:.2g} µmol from the lamp for each joule"
            yield draft.source.problem(path, GOOD, found=found)


def _problem(draft: Draft, path: KeyPath, umol_j: float, expected: str) -> Problem:
    hint = "are watts and count those of all lamps of the zone, and was the light read at several points?"
    return draft.source.problem(path, expected, hint, found=f"{umol_j:.3g} µmol on the leaves for each joule")


def _landing(draft: Draft) -> Iterator[tuple[KeyPath, float]]:
    """Yield each zone lit by lamps alone: its first reading, and the photons on its beds for each joule."""
    parts: list[Part[Any]] = [*draft.fixtures, *draft.beds, *draft.readings, *draft.zones]
    if not draft.unsure.isdisjoint({"fixture", "reading", "bed", "zone"}) or any(part.bad for part in parts):
        return
    for zone in (part.record for part in draft.zones):
        lamps = [part.record for part in draft.fixtures if part.record.zone == zone.name]
        beds = {part.record.name: part.record for part in draft.beds if part.record.zone == zone.name}
        read = [part for part in draft.readings if part.record.bed in beds]
        watts = sum(lamp.watts * lamp.count for lamp in lamps)
        if watts and read and not zone.has_daylight:
            floors = _floors_m2(zone, beds)
            photons = sum(_umol_m2_s(part.record, lamps, draft) * floors[part.record.bed] for part in read)
            yield read[0].path, photons / watts


def _floors_m2(zone: Zone, beds: dict[str, Bed]) -> dict[str, float]:
    """Return the floor of each bed; those without a size share what is left, by sites."""
    sized = {name: (bed.length_m or 0.0) * (bed.width_m or 0.0) for name, bed in beds.items()}
    unsized = sum(bed.site_count for name, bed in beds.items() if not sized[name])
    free = max(zone.area_m2 - sum(sized.values()), 0.0)
    return {name: sized[name] or free * bed.site_count / unsized for name, bed in beds.items()}


def _umol_m2_s(reading: Reading, lamps: list[Fixture], draft: Draft) -> float:
    """Return the mean of a reading; of lux the least that it may stand for."""
    values = [value for row in reading.umol_m2_s or reading.lux or () for value in row]
    mean = sum(values) / len(values) if values else 0.0
    if reading.umol_m2_s is not None:
        return mean
    known = (draft.tables.lamps.get(lamp.lamp) for lamp in lamps)
    factors = [lamp.lux_per_umol for lamp in known if lamp is not None and lamp.lux_per_umol]
    return mean / max(factors) / LUX_OVER if factors else 0.0
