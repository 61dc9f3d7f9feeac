"""Checks of how many sites and how close they stand: refused where no plant can, or asked about."""

from collections.abc import Iterator
from typing import Final

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft, Part, readable_parts
from cropcal.records.space import Bed
from cropcal.records.values import MOST_SITES

MANY_SITES: Final = 5000
"""Sites of all beds together above which a home or a canteen has most likely mistyped (assumed)."""
CLOSEST_PER_M2: Final = {"sites": 2500.0, "nursery": 10_000.0}
"""Sites 2 cm and cells 1 cm apart: no plant of the table stands closer by itself (assumed)."""
CLOSE_PER_M2: Final = {"sites": 400.0, "nursery": 4000.0}
"""Sites 5 cm apart, closer than any crop of the table that stands in sites; cells 1.6 cm apart, closer than
usual plug trays (common practice)."""


def not_too_many_sites(draft: Draft) -> Iterator[Problem]:
    """Ask that a grid has no more sites than any bed may."""
    for part in readable_parts(draft.beds, "rows", "columns"):
        count = (part.record.rows or 1) * (part.record.columns or 1)
        if count > MOST_SITES:
            path, found = (*part.path, "rows"), f"{count:,} sites (rows times columns)"
            yield draft.source.problem(path, f"at most {MOST_SITES:,} sites in a bed", found=found)


def room_for_each_site(draft: Draft) -> Iterator[Problem]:
    """Ask that sites do not stand closer than any plant can."""
    yield from _crowded(draft, CLOSEST_PER_M2, {})


def many_sites(draft: Draft) -> Iterator[Problem]:
    """Ask whether thousands of sites are meant: planning them takes long."""
    count = sum(part.record.site_count for part in draft.beds)
    if count > MANY_SITES:
        largest = max(draft.beds, key=lambda part: part.record.site_count)
        found, expected = f"{count:,} sites in all", f"at most {MANY_SITES:,} in a small space"
        yield draft.source.problem(largest.path, expected, "planning so many may take minutes", found=found)


def close_sites(draft: Draft) -> Iterator[Problem]:
    """Ask whether sites are meant to stand closer than usual."""
    yield from _crowded(draft, CLOSE_PER_M2, CLOSEST_PER_M2)


def _crowded(draft: Draft, least: dict[str, float], most: dict[str, float]) -> Iterator[Problem]:
    """Yield beds with more sites to a square metre than ``least``, not more than ``most``, by kind."""
    for part, floor_m2 in _floors(draft):
        bed, count = part.record, part.record.site_count
        if (
            floor_m2 == 0
            or bed.kind not in least
            or not least[bed.kind] < count / floor_m2 <= most.get(bed.kind, float("inf"))
        ):
            continue
        what = "cells" if bed.kind == "nursery" else "sites"
        apart_cm, least_cm = (100 / dense**0.5 for dense in (count / floor_m2, least[bed.kind]))
        found = f"{count:,} {what} on {floor_m2:.3g} m², {apart_cm:.2g} cm apart"
        key = "rows" if bed.rows is not None else "sites"
        expected = f"{what} at least {least_cm:.2g} cm apart"
        yield draft.source.problem((*part.path, key), expected, found=found)


def _floors(draft: Draft) -> Iterator[tuple[Part[Bed], float]]:
    """Yield beds of known count with their own floor, or all that the zone has where they have no size."""
    zones = {
        part.record.name: part.record for part in readable_parts(draft.zones, "name", "length_m", "width_m")
    }
    for part in readable_parts(draft.beds, "zone", "kind", "sites", "rows", "columns", "length_m", "width_m"):
        bed, zone = part.record, zones.get(part.record.zone)
        if bed.length_m is not None and bed.width_m is not None:
            yield part, bed.length_m * bed.width_m
        elif zone is not None:
            yield part, zone.area_m2
