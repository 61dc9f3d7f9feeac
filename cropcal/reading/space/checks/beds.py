"""Checks of beds: sites, size, position in the zone, and whether their light can be known."""

from collections.abc import Iterator
from itertools import combinations
from typing import Any, Final

from cropcal.problems import Problem
from cropcal.reading.space.checks.plan import stretch_is_known
from cropcal.reading.space.checks.wants import BED_KIND, known_crop
from cropcal.reading.space.draft import Draft, Part, readable_parts
from cropcal.reading.text.suggestions import listed
from cropcal.records.space import Bed, Zone

LEAST_M: Final = 0.005
"""Half a centimetre: narrower than any strip of LEDs (assumed)."""
TOUCH_M: Final = 0.001
"""Beds may reach this far over an edge: nobody measures a shelf to less than a millimetre."""


def sizes_are_real(draft: Draft) -> Iterator[Problem]:
    """Ask that floors, beds and lamps are of a realistic size."""
    tables: tuple[tuple[Part[Any], ...], ...] = (draft.zones, draft.beds, draft.fixtures)
    for parts in tables:
        for key in ("length_m", "width_m"):
            for part in readable_parts(parts, key):
                size_m = getattr(part.record, key)
                if size_m is not None and size_m < LEAST_M:
                    yield draft.source.problem((*part.path, key), f"a length in metres from {LEAST_M:g} on")


def sites_agree(draft: Draft) -> Iterator[Problem]:
    """Ask for columns beside rows, and that sites, where given too, are their product."""
    for part in readable_parts(draft.beds, "sites", "rows", "columns"):
        bed, source = part.record, draft.source
        if (bed.rows is None) != (bed.columns is None):
            there, lacking = ("columns", "rows") if bed.rows is None else ("rows", "columns")
            yield source.problem(
                (*part.path, there), f"{lacking} as well as {there}", "or sites alone", found=f"only {there}"
            )
        elif bed.sites is not None and bed.rows is not None and bed.columns is not None:
            grid = bed.rows * bed.columns
            if grid != bed.sites:
                expected = f"{grid}, which is rows times columns"
                yield source.problem((*part.path, "sites"), expected, "leave sites out")


def known_crops_of_beds(draft: Draft) -> Iterator[Problem]:
    """Ask that the crops a bed is kept for are in the crop table."""
    for part in readable_parts(draft.beds, "crops"):
        for place, slug in enumerate(part.record.crops or ()):
            yield from known_crop(draft, (*part.path, "crops", place), slug)


def out_of_use_in_order(draft: Draft) -> Iterator[Problem]:
    """Ask that sites are out of use from a day to one not before it."""
    for part in readable_parts(draft.beds, "out_of_use"):
        for place, closure in enumerate(part.record.out_of_use):
            path = (*part.path, "out_of_use", place)
            if closure.from_ is not None and closure.until is not None and closure.until < closure.from_:
                expected = f"a day not before from, {closure.from_}"
                yield draft.source.problem((*path, "until"), expected, "are the two swapped?")


def sites_out_of_use(draft: Draft) -> Iterator[Problem]:
    """Ask that the sites that are out of use are there; a nursery counts cells, not which."""
    for part in readable_parts(draft.beds, "out_of_use", "kind", "sites", "rows", "columns"):
        bed = part.record
        for place, closure in enumerate(bed.out_of_use):
            path = (*part.path, "out_of_use", place, "sites")
            if closure.sites is not None and bed.kind == "nursery":
                yield draft.source.problem(path, "sites left out: a nursery is out of use as a whole")
            elif closure.sites is not None and max(closure.sites) > bed.site_count:
                yield draft.source.problem(path, f"sites of this bed, 1 to {bed.site_count}")


def whole_position(draft: Draft) -> Iterator[Problem]:
    """Ask for a width beside a length, and beside a coordinate for the other one and the size."""
    for part in readable_parts(draft.beds, "length_m", "width_m", "x_m", "y_m"):
        bed = part.record
        given = [key for key in ("x_m", "y_m", "length_m", "width_m") if getattr(bed, key) is not None]
        needed = (
            ["x_m", "y_m", "length_m", "width_m"] if {"x_m", "y_m"} & {*given} else ["length_m", "width_m"]
        )
        lacking = " and ".join(key for key in needed if key not in given)
        if given and lacking:
            path, found = (*part.path, given[0]), f"{given[0]} without {lacking}"
            yield draft.source.problem(path, f"{lacking} as well as {given[0]}", found=found)


def inside_the_zone(draft: Draft) -> Iterator[Problem]:
    """Ask that a bed lies inside its zone or, without a position, would fit there some way round."""
    for part, zone in _sized(draft):
        bed, length, width = part.record, part.record.length_m or 0.0, part.record.width_m or 0.0
        expected = f"a bed inside its zone of {zone.length_m:g} by {zone.width_m:g} m"
        if bed.x_m is None or bed.y_m is None:
            room = sorted((zone.length_m, zone.width_m))
            if any(
                size > across + TOUCH_M for size, across in zip(sorted((length, width)), room, strict=True)
            ):
                found = f"a bed of {length:g} by {width:g} m"
                yield draft.source.problem((*part.path, "length_m"), expected, found=found)
            continue
        for at, start, size, across in (
            ("x_m", bed.x_m, length, zone.length_m),
            ("y_m", bed.y_m, width, zone.width_m),
        ):
            if start + size > across + TOUCH_M:
                wrong = f'it reaches to {start + size:.4g} m, and zone "{zone.name}" ends at {across:g} m'
                cure = f"lower {at}, or {'length_m' if at == 'x_m' else 'width_m'} of the bed"
                yield draft.source.fault((*part.path, at), wrong, cure)


def beds_do_not_overlap(draft: Draft) -> Iterator[Problem]:
    """Ask that no two beds with positions lie over each other; edges may touch."""
    placed = [
        part for part, _ in _sized(draft) if part.record.x_m is not None and part.record.y_m is not None
    ]
    for first, second in combinations(placed, 2):
        if first.record.zone == second.record.zone and _overlap(first.record, second.record):
            wrong = f'it overlaps the bed "{first.record.name}" of line {draft.source.line(first.path)}'
            yield draft.source.fault(second.path, wrong, "move one of them by x_m or y_m, or make it smaller")


def _overlap(first: Bed, second: Bed) -> bool:
    return all(
        getattr(a, at) + getattr(a, size) > getattr(b, at) + TOUCH_M
        for at, size in (("x_m", "length_m"), ("y_m", "width_m"))
        for a, b in ((first, second), (second, first))
    )


def room_on_the_floor(draft: Draft) -> Iterator[Problem]:
    """Ask that beds of which not all have a position find room together on the lit floor."""
    if "bed" in draft.unsure or any("zone" in part.bad for part in draft.beds):
        return
    for part in readable_parts(draft.zones, "name", "length_m", "width_m"):
        beds = [bed for bed in draft.beds if bed.record.zone == part.record.name]
        if any(bed.bad & {"length_m", "width_m"} for bed in beds) or all(
            bed.record.x_m is not None for bed in beds
        ):
            continue
        areas = [(bed.record.length_m or 0.0) * (bed.record.width_m or 0.0) for bed in beds]
        floor, taken = part.record.area_m2, sum(areas)
        sized = listed([bed.record.name for bed, area in zip(beds, areas, strict=True) if area])
        if taken > floor * (1 + TOUCH_M):
            wrong = f"its beds ({sized}) take {taken:.3g} m², more than its lit floor of {floor:.3g} m²"
            cure = "make a bed smaller, or correct length_m and width_m of the zone"
            yield draft.source.fault(part.path, wrong, cure)
        elif taken > floor * (1 - TOUCH_M):
            for bed in (bed for bed, area in zip(beds, areas, strict=True) if not area):
                wrong = (
                    f'no floor is left for it in zone "{part.record.name}": {sized} take'
                    f"{'s' if len(areas) - areas.count(0.0) == 1 else ''} all {floor:.3g} m²"
                )
                cure = f"make {sized} smaller, or the zone larger; without a size it gets what is left"
                yield draft.source.fault(bed.path, wrong, cure)


def _sized(draft: Draft) -> Iterator[tuple[Part[Bed], Zone]]:
    """Yield the beds of known size in zones of known size."""
    zones = {
        part.record.name: part.record for part in readable_parts(draft.zones, "name", "length_m", "width_m")
    }
    for part in readable_parts(draft.beds, "zone", "length_m", "width_m", "x_m", "y_m"):
        zone = zones.get(part.record.zone)
        if zone is not None and part.record.length_m is not None and part.record.width_m is not None:
            yield part, zone


def light_is_known(draft: Draft) -> Iterator[Problem]:
    """Ask that a zone with beds has a fixture, a reading for each of them, or a window."""
    housed: list[Part[Any]] = [*draft.fixtures, *draft.beds, *draft.readings]
    sure = draft.unsure.isdisjoint({"fixture", "reading"}) and draft.bed_names is not None
    if not sure or any(part.bad & {"zone", "bed"} for part in housed):
        return
    read = {part.record.bed for part in draft.readings}
    lamped = {part.record.zone for part in draft.fixtures}
    if not (read <= {*(draft.bed_names or ())} and lamped <= {*(draft.zone_names or ())}):
        return  # a misspelled bed or zone may be the cause
    for part in readable_parts(draft.zones, "name"):
        zone = part.record.name
        dark = [
            bed.record.name for bed in draft.beds if bed.record.zone == zone and bed.record.name not in read
        ]
        sunny = "daylight_share" in part.bad or part.record.has_daylight
        if dark and zone not in lamped and not sunny:
            wrong = f"nothing lights {listed(dark)}: the zone has no lamp, and no light was read there"
            cure = "add a [[fixture]] with its watts for the zone, or a [[reading]] for each bed"
            yield draft.source.fault(part.path, wrong, cure)


def known_crops_growing(draft: Draft) -> Iterator[Problem]:
    """Ask that the crops are in the crop table."""
    for part in readable_parts(draft.growing, "crop"):
        yield from known_crop(draft, (*part.path, "crop"), part.record.crop)


def growing_in_fitting_beds(draft: Draft) -> Iterator[Problem]:
    """Ask that growing plants are in a bed of their kind, or in a nursery if they are planted out later."""
    kinds = {bed.record.name: bed.record.kind for bed in draft.beds if bed.bad.isdisjoint({"name", "kind"})}
    for part in readable_parts(draft.growing, "crop", "bed"):
        crop, kind = draft.tables.crops.get(part.record.crop), kinds.get(part.record.bed)
        if crop is None or kind is None:
            continue
        fitting = {BED_KIND[crop.kind], *(["nursery"] if crop.nursery_d else [])}
        if kind not in fitting:
            names = " or ".join(f'"{name}"' for name in sorted(fitting, reverse=True))
            yield draft.source.problem((*part.path, "bed"), f"a bed of kind = {names} for {crop.slug}")


def room_for_growing(draft: Draft) -> Iterator[Problem]:
    """Ask that no bed holds more than it has sites."""
    for bed in readable_parts(draft.beds, "name", "sites", "rows", "columns"):
        left = bed.record.site_count
        for part in readable_parts(draft.growing, "bed", "sites"):
            if part.record.bed != bed.record.name:
                continue
            if part.record.sites > left:
                name, all_sites = bed.record.name, bed.record.site_count
                wrong = f'{part.record.sites} sites, but bed "{name}" has only {left} of {all_sites} left'
                cure = "lower sites, here or in another [[growing]] of this bed"
                yield draft.source.fault((*part.path, "sites"), wrong, cure)
                break
            left -= part.record.sites


def growing_has_one_age(draft: Draft) -> Iterator[Problem]:
    """Ask for the day of sowing, before the plan starts, or for the age on its first day."""
    plan = draft.settings
    for part in readable_parts(draft.growing, "sown", "age_d"):
        row = part.record
        if (row.sown is None) == (row.age_d is None):
            if row.sown is None:
                wrong = "it does not say how old the plants are"
                cure = "add sown = the day of sowing, or age_d = days since then when the plan starts"
            else:
                wrong, cure = "sown and age_d both say how old the plants are", "leave one of the two out"
            yield draft.source.fault(part.path, wrong, cure)
        elif row.sown is not None and stretch_is_known(draft, "start") and row.sown >= plan.record.start:
            expected = f"a day before the plan starts, {plan.record.start}"
            hint = "what is sown later is planned, or noted with cropcal log"
            yield draft.source.problem((*part.path, "sown"), expected, hint)
