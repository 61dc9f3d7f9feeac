"""What is expected in seasons with luck, and the chance of each week, in words."""

from collections.abc import Mapping, Sequence
from statistics import median

from cropcal.records.chances import Expected, Habit, SowMore
from cropcal.records.plan import Supply
from cropcal.show import text
from cropcal.show.wording import crop_name, want_name, week_of


def expected_sentence(expected: Expected) -> str:
    """Return how many weekly targets are likely to be met, with the range of four seasons in five."""
    if expected.weeks == 1:
        return f"The one weekly target is {_met_how_often(1 - expected.short_want_weeks)}."
    short = expected.short_want_weeks
    if short < SHORT_IS_NOTHING:
        return f"All {expected.weeks} weekly targets are likely to be met."
    met = text.plain(expected.weeks - short, 0)
    low, high = (
        text.plain(expected.weeks - end, 0) for end in (expected.short_high_80, expected.short_low_80)
    )
    between = f"; {low} to {high} in four seasons out of five" if low != high else ""
    return f"About {met} of {expected.weeks} weekly targets will be met{between}."


SHORT_IS_NOTHING = 0.05
"""Expected short weeks below which nothing is said of them."""


def _met_how_often(chance: float) -> str:
    if chance >= 1 - SHORT_IS_NOTHING:
        return "almost certain to be met"
    return "almost never met" if chance < SHORT_IS_NOTHING else f"met in {text.odds(chance)} seasons"


def expected_section(expected: Expected | None, names: Mapping[str, str]) -> str:
    """Return what is expected of each want, then of all: surplus, cells, work."""
    if expected is None or not expected.wants:
        return ""
    rows = [
        (
            want_name(want.label, names),
            str(want.weeks),
            text.plain(want.short_weeks, 1),
            f"{text.plain(want.short_weeks_low_80, 1)} - {text.plain(want.short_weeks_high_80, 1)}",
        )
        for want in expected.wants
    ]
    table = text.table(("wanted crop", "weeks", "missed, about", "4 in 5 seasons"), rows, "lrrr")
    return f"{table}\n{text.wrap(work_sentence(expected))}"


def work_sentence(expected: Expected) -> str:
    """Return how it was reckoned, what is too much, and the work of it."""
    return (
        f"From {expected.seasons} simulated seasons, in which growth, light, seed and plants vary and"
        " some plants"
        " die; half a week's amount missed counts as half a week."
        f" {_surplus(expected.surplus_want_weeks)} is cut but not eaten."
        f" {expected.cells} cells or sites are sown; sowing, moving and cutting take"
        f" {_minutes(expected.minutes_a_week)} a week (assumed)."
    )


def _minutes(minutes: float) -> str:
    whole = round(minutes)
    return "under a minute" if whole < 1 else f"about {whole} minute{'s' if whole > 1 else ''}"


def _surplus(weeks: float) -> str:
    if weeks < 0.5:
        return "Hardly anything"
    return "About a week's worth" if weeks < 1.5 else f"About {text.plain(weeks, 0)} weeks' worth"


def habit_sentence(habit: Habit, names: Mapping[str, str], weekday: str) -> str:
    """Return what is sown of one want: "Basil: sow 3 each Monday, 5 in each of the first two weeks"."""
    crop = crop_name(habit.crop, names)
    often = f", cut {habit.cuts} times" if habit.cuts > 1 else ""
    if habit.on:
        return f"{crop}: sow {habit.number} on {', '.join(map(text.day, habit.on))}{often}"
    every = f"each {weekday}" if habit.every_weeks == 1 else f"every {habit.every_weeks} weeks, on {weekday}"
    more = ""
    if habit.more:
        first = habit.number + habit.more if habit.every_weeks == 1 else habit.more
        extra = "" if habit.every_weeks == 1 else " more"
        more = f", {first}{extra} in each of the first two weeks"
    return f"{crop}: sow {habit.number} {every}{more}{often}"


def habits_section(habits: Sequence[Habit], names: Mapping[str, str], weekday: str) -> str:
    """Return the steady rule, a line a want; "" for a free plan."""
    return text.bullets(habit_sentence(habit, names, weekday) for habit in habits) if habits else ""


def surest_and_least_sure(weeks: Sequence[Supply], names: Mapping[str, str]) -> str:
    """Return each want's usual chance and its least sure week.

    Parameters
    ----------
    weeks
        The weeks that count.
    names
        Slug of a crop -> its name.
    """
    by_want: dict[int, list[tuple[float, Supply]]] = {}
    for row in weeks:
        if row.chance is not None:
            by_want.setdefault(row.want, []).append((row.chance, row))
    rows = []
    for chances in by_want.values():
        least, week = min(chances, key=lambda pair: (round(pair[0], 1), pair[1].week))
        rows.append(
            (
                want_name(week.label, names),
                text.odds(median(chance for chance, _ in chances)),
                text.odds(least),
                text.span(*week_of(week.week)),
            )
        )
    headers = ("wanted crop", "most weeks", "riskiest", "in the week")
    return text.table(headers, rows, "llll") if rows else ""


def sow_more_lines(rows: Sequence[SowMore], names: Mapping[str, str]) -> list[str]:
    """Return what to sow besides for weeks that are not sure, the largest gain first."""
    return [
        f"{want_name(row.label, names)}, {text.span(*week_of(row.week))}: {text.odds(row.chance_before)}."
        f" Sow {row.cells} more {crop_name(row.crop, names)} on {text.day(row.on)}:"
        f" {text.odds(row.chance_after)}"
        for row in sorted(rows, key=lambda row: row.chance_before - row.chance_after)
    ]


def rule_line(habits: Sequence[Habit], names: Mapping[str, str]) -> str:
    """Return the steady rule in one line, for the week's sheet."""
    each = [
        f"{habit.number} {crop_name(habit.crop, names)}"
        + (" a week" if habit.every_weeks == 1 else f" every {habit.every_weeks} weeks")
        for habit in habits
        if not habit.on
    ]
    return f"The steady rule: sow {', '.join(each)}." if each else ""
