"""Checks of hours: the lamp's, the other loads', and the rates'."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any, Final

from cropcal.problems import Problem
from cropcal.reading.draft import Draft, Part, sound
from cropcal.records.base import MINUTES_PER_DAY, WEEKDAYS
from cropcal.records.space import Load, Rate

MINUTES_PER_WEEK: Final = 7 * MINUTES_PER_DAY
WHOLE_DAY: Final = (0, MINUTES_PER_DAY)


def one_day_length(draft: Draft) -> Iterator[Problem]:
    """Ask that a zone gives its hours of light once: as stretches or as their length."""
    for part in draft.zones:
        path = (*part.path, "photoperiod_h")
        if path in draft.source.spots and (*part.path, "lit") in draft.source.spots:
            yield draft.source.problem(path, "lit or photoperiod_h, not both", "leave this one out")


def one_air(draft: Draft) -> Iterator[Problem]:
    """Ask that a zone gives its air as one temperature or as two, not both ways."""
    for part in draft.zones:
        path = (*part.path, "air_c")
        others = [(*part.path, key) for key in ("lamp_on_air_c", "lamp_off_air_c")]
        if path in draft.source.spots and any(other in draft.source.spots for other in others):
            expected = "air_c alone, or lamp_on_air_c and lamp_off_air_c"
            yield draft.source.problem(path, expected, "leave this one out")


def lit_apart(draft: Draft) -> Iterator[Problem]:
    """Ask that no two stretches of one list overlap: a lamp can't be switched on twice."""
    lists: list[tuple[tuple[Part[Any], ...], str]] = [
        (draft.zones, "lit"),
        (draft.loads, "on"),
        (draft.rates, "hours"),
    ]
    for parts, key in lists:
        for part in sound(parts, key):
            stretches: Sequence[tuple[int, int]] = getattr(part.record, key) or ()
            for (_, one), (place, other) in combinations(enumerate(stretches), 2):
                if _meet(_in_week(one, WEEKDAYS), _in_week(other, WEEKDAYS)):
                    path = (*part.path, key, place)
                    yield draft.source.problem(path, "stretches that do not overlap", "join the two into one")


def one_way_to_run(draft: Draft) -> Iterator[Problem]:
    """Ask that a load says in exactly one way when it runs."""
    for part in sound(draft.loads, "always", "hours_per_day", "on", "on_minutes", "every_minutes"):
        load, source = part.record, draft.source
        ways = _ways(load)
        if len(ways) != 1:
            expected = "one of always, hours_per_day, on, or on_minutes with every_minutes"
            yield source.problem(part.path, expected, found=" and ".join(ways) or "none of them")
        elif (load.on_minutes is None) != (load.every_minutes is None):
            there, lacking = ("every", "on") if load.on_minutes is None else ("on", "every")
            path = (*part.path, f"{there}_minutes")
            yield source.problem(
                path, f"{lacking}_minutes beside {there}_minutes", found=f"only {there}_minutes"
            )
        elif (
            load.on_minutes is not None
            and load.every_minutes is not None
            and load.on_minutes > load.every_minutes
        ):
            expected = f"at most every_minutes, which is {load.every_minutes:g}"
            yield source.problem((*part.path, "on_minutes"), expected, "are the two swapped?")


def _ways(load: Load) -> list[str]:
    ways = ["always"] if load.always else []
    ways += ["hours_per_day"] if load.hours_per_day is not None else []
    ways += ["on"] if load.on is not None else []
    return ways + (["on_minutes"] if load.on_minutes is not None or load.every_minutes is not None else [])


def one_base_rate(draft: Draft) -> Iterator[Problem]:
    """Ask for one rate that applies whenever no other does."""
    if (
        draft.tariff is None
        or "rate" in draft.tariff.bad
        or not draft.unsure.isdisjoint({"tariff", "tariff.rate"})
    ):
        return
    if ("tariff", "blocks") in draft.source.spots or any(
        part.bad & {"hours", "days", "months"} for part in draft.rates
    ):
        return
    bases = [part for part in draft.rates if part.record.is_base]
    if not bases:
        expected = "a [[tariff.rate]] without hours, days and months, for all other times"
        yield draft.source.problem(("tariff",), expected, found="no base rate")
    for part in bases[1:]:
        line = draft.source.where(bases[0].path).line
        expected = "one base rate: give this one hours, days or months"
        yield draft.source.problem(
            part.path, expected, f"the first is on line {line}", found="a second base rate"
        )


def rates_apart(draft: Draft) -> Iterator[Problem]:
    """Ask that no two overriding rates apply at once: it would be a guess which counts."""
    rates = [part for part in sound(draft.rates, "hours", "days", "months") if not part.record.is_base]
    for one, other in combinations(rates, 2):
        months = set(one.record.months or range(1, 13)) & set(other.record.months or range(1, 13))
        if months and _meet(_week(one.record), _week(other.record)):
            line = draft.source.where(one.path).line
            yield draft.source.problem(
                other.path,
                "overriding rates that never apply at once",
                f"share out hours, days or months with the one on line {line}",
                found=f'a rate over the rate "{one.record.name}"',
            )


def _week(rate: Rate) -> list[tuple[int, int]]:
    """Return when a rate applies, in minutes of a week; a stretch counts by the day it begins."""
    days = rate.days if rate.days is not None else WEEKDAYS
    stretches = rate.hours if rate.hours is not None else (WHOLE_DAY,)
    return [minutes for stretch in stretches for minutes in _in_week(stretch, days)]


def _in_week(stretch: tuple[int, int], days: Sequence[str]) -> list[tuple[int, int]]:
    """Return a stretch of some days as minutes of a week, cut where the week ends."""
    start, end = stretch
    length = (end - start) % MINUTES_PER_DAY or MINUTES_PER_DAY
    minutes = []
    for day in days:
        first = WEEKDAYS.index(day) * MINUTES_PER_DAY + start % MINUTES_PER_DAY
        last = first + length
        minutes.append((first, min(last, MINUTES_PER_WEEK)))
        if last > MINUTES_PER_WEEK:
            minutes.append((0, last - MINUTES_PER_WEEK))
    return minutes


def _meet(one: list[tuple[int, int]], other: list[tuple[int, int]]) -> bool:
    return any(a < d and c < b for a, b in one for c, d in other)
