"""What ``why`` prints: what is full, what one more would bring, and the plan beside the steady rule."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from cropcal.records.outlook import Outlook
from cropcal.show import text
from cropcal.show.terminal.chances import expected_sentence, habits_section
from cropcal.show.terminal.plan import (
    NOTHING_GROWS,
    STEADY_TITLE,
    WEEKDAY_NAMES,
    nothing_grows,
    steady_table,
)
from cropcal.show.wording import want_name

NAMES = {"plan": "this plan", "steady rule": "the steady rule"}


def why(outlook: Outlook, names: Mapping[str, str]) -> str:
    """Return the whole screen; ``names`` is slug of a crop -> its name."""
    head = text.wrap(f"{outlook.place}: {outlook.weeks} weeks from {text.day_year(outlook.start)}")
    if outlook.nothing_grows:
        return f"{head}\n{text.wrap(NOTHING_GROWS)}\n" + nothing_grows(outlook.nothing_grows)
    return (
        f"{head}\n"
        f"{text.wrap(_first(outlook))}\n"
        + text.section("What is full", _full(outlook))
        + text.section("What one more would bring", _more(outlook))
        + text.section(STEADY_TITLE, steady_table(outlook.steady, names))
        + text.section("Sites that each want takes up", _occupied(outlook, names))
        + text.section("The plan and the steady rule, in the same luck", _courses(outlook, names))
    )


def _first(outlook: Outlook) -> str:
    short, least = outlook.forecast_short_want_weeks, outlook.bound_want_weeks
    if not outlook.want_weeks:
        return "No amounts are wanted, so nothing can fall short."
    expected = f"Looked at as if nothing grew yet. {expected_sentence(outlook.courses[0].expected)}"
    if short < 0.005:
        return f"{expected} If everything grew as forecast, none would be missed."
    proven = "" if outlook.proven else " The search was cut short: a better plan may exist."
    return (
        f"{expected} If everything grew as forecast, it would miss {text.plain(short, 1)};"
        f" no plan could then miss less than {text.plain(least, 1)}.{proven}"
    )


def _full(outlook: Outlook) -> str:
    rows = [
        (row.what, f"{row.held_share:.0%}", f"{len(row.weeks)} of {outlook.weeks}", _stretches(row.weeks))
        for row in outlook.full
    ]
    return text.table(("what", "held", "weeks full", "when"), rows, "lrrw") if rows else ""


def _stretches(weeks: Sequence[date]) -> str:
    """Return Mondays in a row as stretches of days: "4 Jan - 14 Feb, 1-7 Mar"."""
    runs: list[list[date]] = []
    for week in weeks:
        if runs and week - runs[-1][-1] == timedelta(days=7):
            runs[-1].append(week)
        else:
            runs.append([week])
    stretches = [text.span(run[0], run[-1] + timedelta(days=6)) for run in runs]
    return (
        ", ".join(stretches[:3]) + (f" and {len(stretches) - 3} more" if len(stretches) > 3 else "")
        if stretches
        else "never"
    )


def _more(outlook: Outlook) -> str:
    if not outlook.more:
        return text.wrap("Nothing: no site, cell, lamp hour or work day more would bring anything.")
    rows = [
        (row.what, text.plain(row.cured_want_weeks, 2), f"+{text.plain(row.even_shares * 100, 0)} %")
        for row in sorted(outlook.more, key=lambda row: (-row.cured_want_weeks, -row.even_shares, row.what))
    ]
    heads = ("one more", "short weeks cured, at most", "even supply")
    small = text.wrap(
        "even supply: what could come every week; +100 % is as much more as one want asks for a week."
    )
    return f"{text.table(heads, rows, 'lrr')}\n\n{small}"


def _occupied(outlook: Outlook, names: Mapping[str, str]) -> str:
    """Return a sentence for each want: its amount a week, days on a site, and the sites that makes."""
    return text.bullets(
        f"{want_name(row.label, names)}: {text.amount(row.per_week, row.unit)} a week; a site brings"
        f" {text.amount(row.per_site, row.unit)} and is held {text.plain(row.days, 0)} days:"
        f" {text.plain(row.sites, 1)} sites all the time"
        for row in outlook.occupied
    )


def _courses(outlook: Outlook, names: Mapping[str, str]) -> str:
    rows = [
        (
            NAMES[course.name],
            text.plain(course.expected.short_want_weeks, 1),
            text.plain(course.expected.surplus_want_weeks, 1),
            str(course.expected.cells),
            str(course.sowings),
            text.plain(course.expected.minutes_a_week, 0),
        )
        for course in outlook.courses
    ]
    heads = ("", "weeks missed", "weeks too much", "cells sown", "sowings", "minutes a week")
    rule = habits_section(outlook.habits, names, WEEKDAY_NAMES[outlook.first_weekday])
    small = text.wrap("weeks: one want in one week is 1. The steady rule as a plan: cropcal plan --steady")
    return f"{text.table(heads, rows, 'lrrrrr')}\n\n{rule}\n{small}"
