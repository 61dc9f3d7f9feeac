"""The sun over a year: what half a month brings to a bed, and what ``cropcal daylight`` tells."""

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


def rough_spans(halves: Iterable[int], of: int) -> str:
    """Return half months as two spans at most, "Feb to mid Mar", else counted: "in 11 of 13 half months".

    Parameters
    ----------
    halves
        The half months, 0 to 23.
    of
        Of how many half months they are picked.
    """
    asked = sorted(set(halves))
    starts = [half for half in asked if (half - 1) % HALVES not in asked]
    if not starts:
        return "all year"
    if len(starts) > 2:
        return f"in {len(asked)} of {of} half months"
    said = []
    for start in starts:
        end = start
        while (end + 1) % HALVES in asked:
            end = (end + 1) % HALVES
        said.append(_rough(start, end))
    return " and ".join(said)


def _rough(start: int, end: int) -> str:
    """Return a run of half months: "Feb", "late Feb", "mid Feb to Apr", "Feb to mid Mar"."""
    first, last = MONTHS[start // 2], MONTHS[end // 2]
    if start == end:
        return f"{'late' if start % 2 else 'early'} {first}"
    if first == last and start < end:
        return first
    return f"{'mid ' if start % 2 else ''}{first} to {'' if end % 2 else 'mid '}{last}"


def month_spans(months: Iterable[int]) -> str:
    """Return months (January is 0) as spans: "Nov to Feb", "all year"; one across the year's end is one."""
    asked = sorted(set(months))
    if len(asked) == 12:
        return "all year"
    said = []
    for start in (month for month in asked if (month - 1) % 12 not in asked):
        end = start
        while (end + 1) % 12 in asked:
            end = (end + 1) % 12
        said.append(MONTHS[start] if start == end else f"{MONTHS[start]} to {MONTHS[end]}")
    return " and ".join(said)


class HalfMonth(Record):
    """A day of one half month in a bed: light from the sun, hours of the lamp and of any light.

    ``day_seen_h`` is the day as plants see it: all but the longest dark.
    """

    sun_mol_m2_d: float
    sun_h: float
    lamp_h: float
    light_h: float
    day_seen_h: float


class CropNeed(Record):
    """What one wanted crop asks of a zone's light a day, and the lamp hours of each month that would do.

    ``enough_h`` is for growing well, ``best_h`` for its target; None where no lamp can give that.
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
    """One zone over the twelve months: light of sun and lamp, hours, and what the crops ask.

    ``lit`` and ``up`` hold when lamp and sun shine in each half month, minutes of the timer's clock.
    ``needed_h`` are the lamp hours with which every wanted crop gets its best, None where no lamp can.
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
