"""Checks of air: told in one way only, and a room beside what carries heat into it."""

from collections.abc import Iterator
from typing import Final

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft

OWN_AIR: Final = ("air_c", "lamp_on_air_c", "lamp_off_air_c")
INTO_THE_ROOM: Final = ("fan_m3_h", "loss_w_per_k")


def one_air(draft: Draft) -> Iterator[Problem]:
    """Ask that a zone gives its air as one temperature, as two, or from the room's, in one way only."""
    for part in draft.zones:
        given = [key for key in (*OWN_AIR, "room_c") if (*part.path, key) in draft.source.spots]
        if "room_c" in given and len(given) > 1:
            expected = f"room_c or {given[0]}, not both"
            hint = "leave this one out where the air among the leaves is known"
            yield draft.source.problem((*part.path, "room_c"), expected, hint)
        if "air_c" in given and len({*given} & {*OWN_AIR}) > 1:
            expected = "air_c alone, or lamp_on_air_c and lamp_off_air_c"
            yield draft.source.problem((*part.path, "air_c"), expected, "leave this one out")


def room_beside_fan(draft: Draft) -> Iterator[Problem]:
    """Ask for the room's air beside a fan or a loss: they say how near to it the zone's air is."""
    for part in draft.zones:
        spots = draft.source.spots
        given = [key for key in INTO_THE_ROOM if (*part.path, key) in spots]
        if not given or (*part.path, "room_c") in spots:
            continue
        own = next((key for key in OWN_AIR if (*part.path, key) in spots), None)
        for key in given:
            hint = f"leave this one out, since {own} is given" if own else "give the air around the zone"
            yield draft.source.problem((*part.path, key), f"room_c beside {key}", hint)
