"""Whether what the file says of air, water and daylight is consistent."""

from collections.abc import Iterator
from math import acos, cos, degrees, radians, sin
from typing import Final

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft, readable_parts
from cropcal.reading.text.timezones import position

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
    """Ask for the room's air beside a fan or a loss: without it they have no effect."""
    for part in draft.zones:
        spots = draft.source.spots
        given = [key for key in INTO_THE_ROOM if (*part.path, key) in spots]
        if not given or (*part.path, "room_c") in spots:
            continue
        own = next((key for key in OWN_AIR if (*part.path, key) in spots), None)
        for key in given:
            hint = f"leave this one out, since {own} is given" if own else "give the air around the zone"
            yield draft.source.problem((*part.path, key), f"room_c as well as {key}", hint)


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


PLACE = ("place",)


KM_PER_DEG = 111.2


FAR_APART_DEG = 60.0
"""No place lies so far from the main town of its own timezone [degrees]: Kashgar, in the west of China, lies
37 from Shanghai."""


def _given(draft: Draft, key: str) -> bool:
    return (*PLACE, key) in draft.source.spots


def whole_position(draft: Draft) -> Iterator[Problem]:
    """Ask for latitude and longitude together."""
    for key, other in (("latitude", "longitude"), ("longitude", "latitude")):
        if _given(draft, key) and key not in draft.place.bad and not _given(draft, other):
            expected = f"{other} as well as {key}"
            yield draft.source.problem((*PLACE, key), expected, "both, as any map shows them")


def a_clock_for_the_sun(draft: Draft) -> Iterator[Problem]:
    """Ask for the place's timezone where its latitude is given: this computer may be elsewhere."""
    sure = "latitude" not in draft.place.bad and _given(draft, "latitude")
    if sure and not _given(draft, "timezone"):
        expected = "timezone as well as latitude"
        hint = 'add it, like timezone = "Europe/London": the sun goes by the clock of the place'
        yield draft.source.problem((*PLACE, "latitude"), expected, hint)


def place_near_its_clock(draft: Draft) -> Iterator[Problem]:
    """Ask that a place does not lie half a world away from the town that its timezone is named after."""
    place = draft.place.record
    if not {"latitude", "longitude", "timezone"}.isdisjoint(draft.place.bad):
        return
    if place.latitude is None or place.longitude is None or place.timezone is None:
        return
    town = position(place.timezone)
    if town is None:
        return
    apart = _apart_deg((place.latitude, place.longitude), town)
    if apart <= FAR_APART_DEG:
        return
    flipped = {
        "latitude with the other sign?": (-place.latitude, place.longitude),
        "longitude with the other sign?": (place.latitude, -place.longitude),
        "latitude and longitude the wrong way round?": (place.longitude, place.latitude),
    }
    hints = {_apart_deg(other, town): hint for hint, other in flipped.items() if abs(other[0]) <= 90}
    found = f"{place.latitude:g}, {place.longitude:g}, {apart * KM_PER_DEG:,.0f} km from {place.timezone}"
    expected = "a place in its timezone: north and east are above 0, south and west below"
    hint = hints[min(hints)] if min(hints) <= FAR_APART_DEG else "or another timezone"
    yield draft.source.problem((*PLACE, "latitude"), expected, hint, found=found)


def _apart_deg(first: tuple[float, float], second: tuple[float, float]) -> float:
    """Return how far two places lie apart on a great circle, from latitude and longitude [degrees]."""
    (lat, lon), (lat_2, lon_2) = (tuple(map(radians, place)) for place in (first, second))
    cosine = sin(lat) * sin(lat_2) + cos(lat) * cos(lat_2) * cos(lon - lon_2)
    return degrees(acos(min(max(cosine, -1.0), 1.0)))


def a_sun_for_the_window(draft: Draft) -> Iterator[Problem]:
    """Ask for latitude and longitude wherever a zone has daylight."""
    if _given(draft, "latitude") or _given(draft, "longitude"):
        return
    for part in readable_parts(draft.zones, "daylight_share"):
        if part.record.has_daylight:
            if _given(draft, "outdoor_kwh_m2_d"):
                hint = "the length of the day comes from it"
            else:
                hint = "day length and outdoor light come from it, the latter better from outdoor_kwh_m2_d"
            expected = "latitude and longitude under [place] as well"
            yield draft.source.problem((*part.path, "daylight_share"), expected, hint)
