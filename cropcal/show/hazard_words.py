"""Hazards in words: what is wrong, how far from safe, and what to do. They come first on every screen."""

from collections.abc import Mapping, Sequence
from math import ceil
from typing import Any

from cropcal.problems import Problem
from cropcal.records.hazard import (
    Dense,
    Hazard,
    Heat,
    Overload,
    TooNear,
)
from cropcal.show import text
from cropcal.show.wording import crop_name

ELECTRICIAN = "local rules come first, and fixed wiring is work for a licensed electrician"
CATCHES_FIRE_M = 0.2
BELIEVED_C = 60.0
"""Above this no air temperature is given to a degree: equipment fails before that."""


def words(hazard: Hazard, names: Mapping[str, str]) -> str:
    """Return one hazard as a sentence or two; ``names``: slug -> name of the crop."""
    match hazard:
        case Heat():
            return _heat(hazard)
        case TooNear():
            return _near(hazard, names)
        case Overload():
            return _overload(hazard)
        case Dense():
            return _dense(hazard)


def sentences(hazards: Sequence[Hazard], names: Mapping[str, str]) -> list[str]:
    """Return each hazard in words."""
    return [words(hazard, names) for hazard in hazards]


def first_lines(hazards: Sequence[Hazard], names: Mapping[str, str]) -> str:
    """Return the lines that come before everything else on a screen; "" where there is no hazard."""
    lines = [text.wrap(f"Danger: {line}", later="  ") for line in sentences(hazards, names)]
    return "\n".join([*lines, "", ""]) if lines else ""


def doubt(problem: Problem) -> str:
    """Return the question whether an unusual value is meant."""
    return f"Is this meant? {text.clean(str(problem))}"


def form(hazards: Sequence[Hazard], names: Mapping[str, str]) -> dict[str, Any]:
    """Return ``hazards[]``: the code, the numbers and the words of each."""
    return {
        "hazards": [{**hazard.model_dump(mode="json"), "words": words(hazard, names)} for hazard in hazards]
    }


def _heat(heat: Heat) -> str:
    on = f" for {text.day_year(heat.on)}" if heat.on else ""
    known = {
        "computed": "by the room, watts, fan and walls of the file",
        "file": "by the file",
        "noted": f"noted{on}",
        "air.csv": f"the highest in air.csv{on}",
    }[heat.seen]
    air = f"about {heat.air_c:.0f} °C" if heat.air_c <= BELIEVED_C else f"far over {BELIEVED_C:.0f} °C"
    return (
        f"{text.clean(heat.zone)}: air of {air} ({known}). From {heat.limit_c:.0f} °C on it is"
        " too hot for plants, and past what most lamps, drivers and plugs are made for. Switch the lamp off"
        " and let the heat out first: vents open, a fan, fewer watts."
    )


def _near(near: TooNear, names: Mapping[str, str]) -> str:
    lamp = f"{text.clean(near.zone)}: the {text.clean(near.lamp)} lamp of {near.watts:g} W"
    by = "its maker asks for" if near.by == "maker" else "the usual least for its kind and watts is"
    least = f"{by} {ceil(near.clearance_m * 100 - 1e-6)} cm"
    check = "" if near.by == "maker" else "; what its maker says comes first (clearance_m)"
    if near.distance_m is None or near.left_m is None:
        not_given = "gets hot, and the file does not say how high it hangs (lamp_to_canopy_m)"
        return f"{lamp} {not_given}: {least} from leaves{check}."
    where = f"hangs {near.distance_m * 100:.0f} cm above the leaves"
    if near.crop:
        where = f"will be {near.left_m * 100:.0f} cm above grown {crop_name(near.crop, names)}"
    fire = ", and paper or cloth may catch fire" if near.clearance_m > CATCHES_FIRE_M else ""
    return f"{lamp} {where}, {least}: leaves scorch{fire}. Hang it higher{check}."


def _overload(load: Overload) -> str:
    mains = f"{load.mains_v:.0f} V" + ("" if load.mains_stated else ", assumed from the timezone: mains_v")
    draws = f"{load.watts:.0f} W, {load.amps:.1f} A ({mains})"
    match load.part:
        case "timer":
            return (
                f"{text.clean(load.zone)}: its lamps draw {draws}; a usual plug-in timer switches about"
                f" {load.limit_a:g} A of lamps with drivers or ballasts: above that its contacts may weld,"
                " and the lamp stays on. Take a timer that is made for it, or a contactor"
                f" ({ELECTRICIAN}; then write the amps of its circuit as supply_a under [place])."
            )
        case "supply":
            return (
                f"lamps and loads together draw {draws}; {load.limit_a:g} A is 80% of supply_a, the most for"
                f" hours on end. Take fewer watts, or have a larger supply installed: {ELECTRICIAN}."
            )
        case "socket":
            return (
                f"lamps and loads together draw {draws}; a usual socket, plug and lead carry"
                f" {load.limit_a:g} A for hours on end, a timer less. Do not put them on one socket: have"
                f" separate circuits installed ({ELECTRICIAN}), then write their amps as supply_a under"
                " [place]."
            )


def _dense(dense: Dense) -> str:
    return (
        f"{text.clean(dense.zone)}: {dense.watts:.0f} W of lamps are {dense.w_per_m2:.0f} W for each square"
        f" metre of its floor; above {dense.limit_w_per_m2:.0f} W leaves burn and the heat stays. Are watts,"
        " count and the size of the zone right?"
    )
