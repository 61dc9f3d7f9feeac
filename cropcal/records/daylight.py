"""The sun over a year: the light of each half month in a bed, and the result of ``cropcal daylight``."""

from collections.abc import Iterable
from datetime import date

from cropcal.records.base import Record
from cropcal.records.space import Assumption

HALVES = 24
"""Half months of a year: 1st to 15th, 16th to the end."""


MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def half_of(day: date) -> int:
    """Return the number of the half month in which a day lies, 0 for the first of January."""
    return 2 * (day.month - 1) + (day.day > 15)


def half_month_name(half: int) -> str:
    """Return the name of a half month, 0 to 23: "early Jan" is the 1st to 15th."""
    return _rough(half, half)


def rough_spans(halves: Iterable[int], of: int) -> str:
    """Return half months as at most two spans, "Feb to mid Mar", else as a count: "in 11 of 13 half months".

    Parameters
    ----------
    halves
        The half months, 0 to 23.
    of
        The number of half months they are picked from.
    """
    picked = sorted(set(halves))
    starts = [half for half in picked if (half - 1) % HALVES not in picked]
    if not starts:
        return "all year"
    if len(starts) > 2:
        return f"in {len(picked)} of {of} half months"
    spans = []
    for start in starts:
        end = start
        while (end + 1) % HALVES in picked:
            end = (end + 1) % HALVES
        spans.append(_rough(start, end))
    return " and ".join(spans)


def _rough(start: int, end: int) -> str:
    """Return a run of half months: "Feb", "late Feb", "mid Feb to Apr", "Feb to mid Mar"."""
    first, last = MONTHS[start // 2], MONTHS[end // 2]
    if start == end:
        return f"{'late' if start % 2 else 'early'} {first}"
    if first == last and start < end:
        return first
    return f"{'mid ' if start % 2 else ''}{first} to {'' if end % 2 else 'mid '}{last}"


def month_spans(months: Iterable[int]) -> str:
    """Return months (January is 0) as spans: "Nov to Feb", "all year"; a span may cross the year's end."""
    picked = sorted(set(months))
    if len(picked) == 12:
        return "all year"
    spans = []
    for start in (month for month in picked if (month - 1) % 12 not in picked):
        end = start
        while (end + 1) % 12 in picked:
            end = (end + 1) % 12
        spans.append(MONTHS[start] if start == end else f"{MONTHS[start]} to {MONTHS[end]}")
    return " and ".join(spans)


class HalfMonth(Record):
    """A day of one half month in a bed: light from the sun, hours of the lamp and of any light.

    ``day_seen_h`` is the day length as plants perceive it: 24 h less the longest unbroken dark.
    """

    sun_mol_m2_d: float
    sun_h: float
    lamp_h: float
    light_h: float
    day_seen_h: float


class CropNeed(Record):
    """Daily light that one wanted crop needs in a zone, and the lamp hours that give it in each month.

    ``enough_h`` is for good growth, ``best_h`` for its target; None where the lamp cannot give it.
    """

    crop: str
    name: str
    least_mol_m2_d: float
    enough_mol_m2_d: float
    best_mol_m2_d: float
    ceiling_mol_m2_d: float
    longest_day_h: float | None
    enough_h: tuple[float | None, ...]
    best_h: tuple[float | None, ...]


class ZoneSun(Record):
    """One zone over the twelve months: light of sun and lamp, hours, and the needs of the crops.

    ``lit`` and ``up``: when lamp and sun give light in each half month, minutes of the timer's clock.
    ``needed_h`` are the lamp hours with which every wanted crop gets its target, None where the lamp cannot.
    """

    zone: str
    has_window: bool
    has_lamp: bool
    sun_mol_m2_d: tuple[float, ...]
    lamp_mol_m2_d: tuple[float, ...]
    lamp_h: tuple[float, ...]
    day_seen_h: tuple[float, ...]
    enough_h: tuple[float | None, ...]
    needed_h: tuple[float | None, ...]
    sd_ln_sun: float
    crops: tuple[CropNeed, ...]
    lit: tuple[tuple[tuple[int, int], ...], ...]
    up: tuple[tuple[tuple[int, int], ...], ...]
    sun_by_day_mol_m2_d: tuple[float, ...]
    why: str


class DaylightYear(Record):
    """Everything ``cropcal daylight`` knows: the year of the plan's start, month by month, January first."""

    place: str
    year: int
    latitude: float
    longitude: float
    day_length_h: tuple[float, ...]
    outdoor_mol_m2_d: tuple[float, ...]
    outdoor_by_day_mol_m2_d: tuple[float, ...]
    source: str
    sd_ln_outdoor: float
    zones: tuple[ZoneSun, ...]
    warnings: tuple[str, ...]
    assumptions: tuple[Assumption, ...]
