"""Checks of daylight: a place on Earth with its clock wherever the sun is to count."""

from collections.abc import Iterator

from cropcal.problems import Problem
from cropcal.reading.draft import Draft, sound

PLACE = ("place",)


def _given(draft: Draft, key: str) -> bool:
    return (*PLACE, key) in draft.source.spots


def whole_position(draft: Draft) -> Iterator[Problem]:
    """Ask for latitude and longitude together."""
    for key, other in (("latitude", "longitude"), ("longitude", "latitude")):
        if _given(draft, key) and key not in draft.place.bad and not _given(draft, other):
            expected = f"{other} beside {key}"
            yield draft.source.problem((*PLACE, key), expected, "both, as any map shows them")


def a_clock_for_the_sun(draft: Draft) -> Iterator[Problem]:
    """Ask for the place's own clock where its sun is asked for: this computer may stand elsewhere."""
    sure = "latitude" not in draft.place.bad and _given(draft, "latitude")
    if sure and not _given(draft, "timezone"):
        expected = "timezone beside latitude"
        hint = 'add it, like timezone = "Europe/London": the sun is told by the clock of the place'
        yield draft.source.problem((*PLACE, "latitude"), expected, hint)


def a_sun_for_the_window(draft: Draft) -> Iterator[Problem]:
    """Ask where on Earth a window is, wherever any light of the sun is to come in."""
    if _given(draft, "latitude") or _given(draft, "longitude"):
        return
    for part in sound(draft.zones, "daylight_share"):
        if part.record.has_daylight:
            if _given(draft, "outdoor_kwh_m2_d"):
                hint = "the length of the day comes from it"
            else:
                hint = "day length and outdoor light come from it, the latter better from outdoor_kwh_m2_d"
            expected = "latitude and longitude under [place] beside it"
            yield draft.source.problem((*part.path, "daylight_share"), expected, hint)
