"""Checks of readings: their shape, what they were read with, and whether lux can be turned into photons."""

from collections.abc import Iterator
from typing import Final

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft, readable_parts
from cropcal.reading.text.suggestions import listed

GRIDS: Final = ("umol_m2_s", "lux")
DIM_LUX: Final = 100.0
"""Lux under which nothing grows: the light of a corridor, not two umol/m2/s (common practice)."""


def one_kind_of_light(draft: Draft) -> Iterator[Problem]:
    """Ask for PPFD or lux, not both."""
    for part in readable_parts(draft.readings, *GRIDS):
        given = [key for key in GRIDS if getattr(part.record, key) is not None]
        if not given:
            wrong = "it has no light in it"
            cure = "add what was read: umol_m2_s = [[..]], or lux = [[..]] where only lux can be read"
            yield draft.source.fault(part.path, wrong, cure)
        elif len(given) > 1:
            hint = "keep umol_m2_s, which is better known"
            yield draft.source.problem((*part.path, "lux"), "one of them", hint, found="umol_m2_s and lux")


def read_with_a_par_meter(draft: Draft) -> Iterator[Problem]:
    """Ask that PPFD does not come from a phone, whose sensor weighs light as eyes do."""
    for part in readable_parts(draft.readings, *GRIDS, "read_with"):
        stated = (*part.path, "read_with") in draft.source.spots
        if stated and part.record.read_with == "phone" and part.record.umol_m2_s is not None:
            path, expected = (*part.path, "read_with"), 'umol_m2_s read with a PAR "meter"'
            yield draft.source.problem(path, expected, "a phone senses lux: write lux = [[..]]")


def readings_in_rows(draft: Draft) -> Iterator[Problem]:
    """Ask that the rows of a reading are equally long, and not all dark."""
    for key in GRIDS:
        for part in readable_parts(draft.readings, key):
            path, rows = (*part.path, key), getattr(part.record, key)
            if not rows:
                continue  # another check reports an empty list
            for place, row in enumerate(rows):
                if len(row) != len(rows[0]):
                    expected = f"{_numbers(rows[0])}, as in the first row"
                    yield draft.source.problem((*path, place), expected, found=_numbers(row))
            if not any(map(any, rows)) and any(rows):
                yield draft.source.problem(path, "light somewhere", "were the lamps on?")
            if not any(rows):
                yield draft.source.problem(path, "rows of at least one number")


def lux_not_kilolux(draft: Draft) -> Iterator[Problem]:
    """Ask whether a few lux are kilolux: no lamp over plants is as dim as a corridor."""
    for part in readable_parts(draft.readings, "lux"):
        most = max((value for row in part.record.lux or () for value in row), default=0.0)
        if 0 < most < DIM_LUX:
            hint = f"kilolux? write {most * 1000:g} for {most:g} klx"
            yield draft.source.problem(
                (*part.path, "lux"), "the lux of a lamp over plants", hint, found=f"{most:g} lux at most"
            )


def _numbers(row: tuple[float, ...]) -> str:
    return f"{len(row)} number{'' if len(row) == 1 else 's'}"


def one_reading_a_bed(draft: Draft) -> Iterator[Problem]:
    """Ask for no more than one reading a bed."""
    first: dict[str, int | None] = {}
    for part in readable_parts(draft.readings, "bed"):
        path = (*part.path, "bed")
        line = draft.source.line(path)
        if part.record.bed in first:
            hint = f"the other is on line {first[part.record.bed]}: keep the newer"
            yield draft.source.problem(path, "one reading for a bed", hint)
        first.setdefault(part.record.bed, line)


def lux_under_a_known_lamp(draft: Draft) -> Iterator[Problem]:
    """Ask that lux is read only under lamps whose lux per µmol is known."""
    if "fixture" in draft.unsure or any(part.bad & {"zone", "lamp"} for part in draft.fixtures):
        return
    zones = {part.record.name: part.record.zone for part in readable_parts(draft.beds, "name", "zone")}
    if any(part.record.zone not in zones.values() for part in draft.fixtures):
        return  # a misspelled zone may be what leaves the reading without a lamp
    for part in readable_parts(draft.readings, "bed", "lux"):
        if part.record.lux is None or part.record.bed not in zones:
            continue
        over = [lamp.record for lamp in draft.fixtures if lamp.record.zone == zones[part.record.bed]]
        kinds = dict.fromkeys(lamp.lamp for lamp in over)
        unfit = [
            kind for kind in kinds if kind in draft.tables.lamps and not draft.tables.lamps[kind].lux_per_umol
        ]
        path = (*part.path, "lux")
        if not kinds:
            hint = "how much light for plants is in a lux depends on the kind of lamp"
            expected = "a [[fixture]] over its zone that names the lamp"
            yield draft.source.problem(path, expected, hint, found="lux without a lamp")
        elif unfit:
            hint = (
                "lux weighs light as eyes do and misses red and blue several-fold:"
                " take a PAR meter, or leave the reading out and give the spec sheet's ppf_umol_s"
            )
            found = f"lux under {listed(unfit)}"
            yield draft.source.problem(path, "umol_m2_s under this lamp", hint, found=found)
