"""Whether what the file says of water is consistent."""

from collections.abc import Iterator

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft, readable_parts


def pots_that_count(draft: Draft) -> Iterator[Problem]:
    """Ask how a zone is watered where the volume of its pots is given: without it, it has no effect."""
    for part in readable_parts(draft.zones, "pot_l"):
        if part.record.pot_l is None or "watered" in part.bad:
            continue
        if part.record.watered is None:
            hint = 'like watered = "flood"'
            yield draft.source.problem((*part.path, "pot_l"), "watered as well as pot_l", hint)
        elif part.record.watered == "deep water":
            expected = "no pot_l, for roots hang in the tank"
            yield draft.source.problem((*part.path, "pot_l"), expected, "leave this one out")


def pot_beside_tank(draft: Draft) -> Iterator[Problem]:
    """Ask whether a tank is meant that holds less than a pot."""
    for part in readable_parts(draft.zones, "tank_l"):
        zone = part.record
        if zone.tank_l is not None and zone.pot_l is not None and zone.tank_l <= zone.pot_l:
            expected = "a tank that holds more than a pot"
            yield draft.source.problem((*part.path, "tank_l"), expected, "in litres, for the whole zone")
