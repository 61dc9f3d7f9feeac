"""Checks of lamps: the size and place of their panels, and their photons for their watts."""

from collections.abc import Iterator
from typing import Final

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft, Part, readable_parts
from cropcal.records.space import Fixture

TOUCH_M: Final = 0.001
PANEL_KEYS: Final = ("length_m", "width_m", "x_m", "y_m")
BEST_UMOL_J: Final = 4.1
"""No fixture can give more photons for its power: the limit of blue and red LEDs (Kusuma et al. 2020)."""

LEAST_UMOL_J: Final = 0.2
"""No lamp sold for light gives fewer photons for its power: a glowing bulb gives about 0.3 (from memory)."""

LEAST_LM_W: Final = 10.0
"""Lumens of a watt below which nobody sells a lamp: a glowing bulb gives 10 to 15 (common practice)."""


def whole_panel(draft: Draft) -> Iterator[Problem]:
    """Ask for a width beside a panel's length, and for both, and the other one, beside a coordinate."""
    for part in readable_parts(draft.fixtures, *PANEL_KEYS):
        given = [key for key in PANEL_KEYS if getattr(part.record, key) is not None]
        needed = PANEL_KEYS if {"x_m", "y_m"} & {*given} else PANEL_KEYS[:2]
        lacking = " and ".join(key for key in needed if key not in given)
        if given and lacking:
            path, found = (*part.path, given[0]), f"{given[0]} without {lacking}"
            yield draft.source.problem(path, f"{lacking} as well as {given[0]}", found=found)


def panel_over_the_floor(draft: Draft) -> Iterator[Problem]:
    """Ask that a panel, or a row of them, hangs over the lit floor of its zone and nowhere else."""
    zones = {
        part.record.name: part.record for part in readable_parts(draft.zones, "name", "length_m", "width_m")
    }
    for part in readable_parts(draft.fixtures, "zone", "count", *PANEL_KEYS):
        lamp, zone = part.record, zones.get(part.record.zone)
        if zone is None or lamp.length_m is None or lamp.width_m is None:
            continue
        expected = f"a panel within its lit floor of {zone.length_m:g} by {zone.width_m:g} m"
        if lamp.count > 1 and lamp.x_m is not None:
            path, found = (*part.path, "count"), f"{lamp.count} lamps in one place"
            hint = "leave x_m and y_m out for a row of them, or write a [[fixture]] for each"
            yield draft.source.problem(path, "one lamp", hint, found=found)
            continue
        row_m = lamp.length_m * lamp.count
        for key, start, size, room in (
            ("length_m", lamp.x_m or 0.0, row_m, zone.length_m),
            ("width_m", lamp.y_m or 0.0, lamp.width_m, zone.width_m),
        ):
            if start + size > room + TOUCH_M:
                yield draft.source.problem((*part.path, key), expected, found=_extent(part, key))


def dims_below_its_output(draft: Draft) -> Iterator[Problem]:
    """Ask that a lamp is not set below the least to which it can be turned down."""
    for part in readable_parts(draft.fixtures, "output", "dims_to"):
        lamp = part.record
        if lamp.dims_to is not None and lamp.dims_to > lamp.output:
            expected = f"at most its output of {lamp.output:g}: the least it can be turned down to"
            yield draft.source.problem((*part.path, "dims_to"), expected)


def standby_below_watts(draft: Draft) -> Iterator[Problem]:
    """Ask that a lamp that is off draws less than one that is on."""
    for part in readable_parts(draft.fixtures, "watts", "standby_watts"):
        if part.record.standby_watts >= part.record.watts:
            expected = f"less than watts, which is {part.record.watts:g}"
            yield draft.source.problem((*part.path, "standby_watts"), expected, "what it draws when off")


def _extent(part: Part[Fixture], key: str) -> str:
    lamp = part.record
    size, start = (lamp.length_m, lamp.x_m) if key == "length_m" else (lamp.width_m, lamp.y_m)
    many = f"{lamp.count} in a row of " if lamp.count > 1 and key == "length_m" else ""
    return f"{many}{size:g} m" + (f" from {start:g} m on" if start else "")


def photons_for_its_watts(draft: Draft) -> Iterator[Problem]:
    """Ask that a photon flux is not more than any lamp gives for its watts: most often it is lumens."""
    for part in readable_parts(draft.fixtures, "ppf_umol_s", "watts", "output", "lamp"):
        lamp = part.record
        most = BEST_UMOL_J * lamp.watts / lamp.output
        if lamp.ppf_umol_s is None:
            continue
        if lamp.ppf_umol_s * lamp.output < LEAST_UMOL_J * lamp.watts:
            flux = lamp.ppf_umol_s * lamp.watts / lamp.output
            hint = f"µmol a joule? {lamp.ppf_umol_s:g} from {lamp.watts:g} W are {flux:.3g} µmol/s"
            expected = f"at least {LEAST_UMOL_J * lamp.watts / lamp.output:.3g} µmol/s from {lamp.watts:g} W"
            yield draft.source.problem((*part.path, "ppf_umol_s"), expected, hint)
            continue
        if lamp.ppf_umol_s <= most:
            continue
        known = draft.tables.lamps.get(lamp.lamp)
        if lamp.ppf_umol_s * lamp.output < LEAST_LM_W * lamp.watts:
            hint = "are these the watts and the photons of one lamp?"
        elif known and known.lux_per_umol:
            flux = lamp.ppf_umol_s / known.lux_per_umol
            hint = (
                f"looks like lumens: {lamp.ppf_umol_s:g} lm of {lamp.lamp} light are about {flux:.3g} µmol/s"
            )
        else:
            hint = "looks like lumens, which say too little about this lamp's light: look for PPF in µmol/s"
        dimmed = f" at output {lamp.output:g}" if lamp.output < 1 else ""
        expected = f"at most {most:.3g} µmol/s from {lamp.watts:g} W{dimmed}"
        yield draft.source.problem((*part.path, "ppf_umol_s"), expected, hint)
