"""Checks of hours: the lamp's, and the other loads'."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any, Final

from cropcal.problems import Problem
from cropcal.reading.space.draft import Draft, Part, readable_parts
from cropcal.records.base import MINUTES_PER_DAY, WEEKDAYS
from cropcal.records.space import Load

MINUTES_PER_WEEK: Final = 7 * MINUTES_PER_DAY


def one_day_length(draft: Draft) -> Iterator[Problem]:
    """Ask that a zone gives its hours of light once: as stretches or as their length."""
    for part in draft.zones:
        path = (*part.path, "photoperiod_h")
        if path in draft.source.spots and (*part.path, "lit") in draft.source.spots:
            yield draft.source.problem(path, "lit or photoperiod_h, not both", "leave this one out")


def stretches_do_not_overlap(draft: Draft) -> Iterator[Problem]:
    """Ask that no two stretches of one list overlap: a lamp can't be switched on twice."""
    lists: list[tuple[tuple[Part[Any], ...], str]] = [
        (draft.zones, "lit"),
        (draft.loads, "on"),
        (draft.rates, "hours"),
    ]
    for parts, key in lists:
        for part in readable_parts(parts, key):
            stretches: Sequence[tuple[int, int]] = getattr(part.record, key) or ()
            for (_, first), (place, second) in combinations(enumerate(stretches), 2):
                if overlap(in_week(first, WEEKDAYS), in_week(second, WEEKDAYS)):
                    path = (*part.path, key, place)
                    yield draft.source.problem(path, "stretches that do not overlap", "join the two into one")


def some_time_not_quiet(draft: Draft) -> Iterator[Problem]:
    """Ask that no day is quiet throughout: a timer does the same every day."""
    for part in readable_parts(draft.zones, "quiet"):
        quiet = [
            minutes
            for rule in part.record.quiet
            for hours in rule.hours
            for minutes in in_week(hours, rule.days)
        ]
        taken = {minute for first, last in quiet for minute in range(first, last)}
        for number, day in enumerate(WEEKDAYS):
            if taken.issuperset(range(number * MINUTES_PER_DAY, (number + 1) * MINUTES_PER_DAY)):
                expected = "some time of each day that is not quiet"
                found, hint = f"24 quiet hours on {day}", "the timer does the same every day"
                yield draft.source.problem((*part.path, "quiet"), expected, hint, found=found)
                break


def one_way_to_run(draft: Draft) -> Iterator[Problem]:
    """Ask that a load says in exactly one way when it runs."""
    for part in readable_parts(draft.loads, "always", "hours_per_day", "on", "on_minutes", "every_minutes"):
        load, source = part.record, draft.source
        ways = _running_keys(load)
        if len(ways) != 1:
            if ways:
                wrong = f"{' and '.join(ways)} each say when it runs"
                cure = "keep one of them"
            else:
                wrong = "it does not say when it runs"
                cure = "add always = true, hours_per_day, on, or on_minutes with every_minutes"
            yield source.fault(part.path, wrong, cure)
        elif (load.on_minutes is None) != (load.every_minutes is None):
            there, lacking = ("every", "on") if load.on_minutes is None else ("on", "every")
            path = (*part.path, f"{there}_minutes")
            yield source.problem(
                path, f"{lacking}_minutes as well as {there}_minutes", found=f"only {there}_minutes"
            )
        elif (
            load.on_minutes is not None
            and load.every_minutes is not None
            and load.on_minutes > load.every_minutes
        ):
            expected = f"at most every_minutes, which is {load.every_minutes:g}"
            yield source.problem((*part.path, "on_minutes"), expected, "are the two swapped?")


def _running_keys(load: Load) -> list[str]:
    ways = ["always"] if load.always else []
    ways += ["hours_per_day"] if load.hours_per_day is not None else []
    ways += ["on"] if load.on is not None else []
    return ways + (["on_minutes"] if load.on_minutes is not None or load.every_minutes is not None else [])


def in_week(stretch: tuple[int, int], days: Sequence[str]) -> list[tuple[int, int]]:
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


def overlap(first: list[tuple[int, int]], second: list[tuple[int, int]]) -> bool:
    """Return whether any stretch of one list overlaps one of the other."""
    return any(a < d and c < b for a, b in first for c, d in second)
