"""What ``why`` prints: what would help, what is full, and the plan beside the steady rule."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from cropcal.records.base import WEEKDAYS
from cropcal.records.outlook import LEAST_GAIN, SURE_SE, OneMore, Outlook
from cropcal.show import text
from cropcal.show.terminal.chances import expected_sentence, habits_section
from cropcal.show.terminal.plan import (
    NOTHING_GROWS,
    STEADY_TITLE,
    WEEKDAY_NAMES,
    nothing_grows,
    steady_table,
)
from cropcal.show.wording import crop_name, want_name

NAMES = {"plan": "this plan", "steady rule": "steady rule"}
WORSE = (
    "Worse, because these sowings were chosen for the space as it is",
    "Worse, though planned anew",
)
"""Said of what harms with the same sowings, and with new ones."""
CUT_SHORT = (
    "Time ran out before every search had finished (see --time-limit), so a plan may be weeks from its best."
)
LEAST_KWH = 0.05
"""kWh a month below which no more power is shown."""


def why(outlook: Outlook, names: Mapping[str, str], anew: str) -> str:
    """Return the whole screen.

    Parameters
    ----------
    outlook
        What is known.
    names
        Slug of a crop -> its name.
    anew
        The command that plans anew for each change.
    """
    head = text.wrap(f"{outlook.place}: {outlook.weeks} weeks from {text.day_year(outlook.start)}")
    if outlook.nothing_grows:
        return f"{head}\n{text.wrap(NOTHING_GROWS)}\n" + nothing_grows(outlook.nothing_grows)
    return (
        f"{head}\n"
        f"{text.wrap(verdict(outlook))}\n"
        + text.section("What would help", what_helps(outlook, names, anew))
        + text.section("What is full", _full(outlook))
        + text.section(STEADY_TITLE, steady_table(outlook.steady, names))
        + text.section("Sites that each wanted crop takes up", _occupied(outlook, names))
        + text.section("The plan and the steady rule, with the same luck", _courses(outlook, names))
    )


def verdict(outlook: Outlook) -> str:
    """Return how many weekly targets are likely to be met, by which plan."""
    if not outlook.want_weeks:
        return "No amounts were asked for, so nothing can fall short."
    what = "plan as it was first written" if outlook.written else "space"
    likely = expected_sentence(outlook.courses[0].expected)
    return f"This looks at the {what}, as if nothing were sown yet. {likely}"


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


def what_helps(outlook: Outlook, names: Mapping[str, str], anew: str) -> str:
    """Return the table of what would help, best first, then what would not, and what would harm."""
    if not outlook.want_weeks:
        return ""
    if outlook.courses[0].expected.short_want_weeks < LEAST_GAIN:
        return text.wrap("Nothing: hardly any week is expected to be missed.")
    stopped = text.wrap(f"Stopped: {outlook.not_tried} more were not tried.") if outlook.not_tried else ""
    if not outlook.more:
        return stopped
    planned = any(row.anew for row in outlook.more)
    sowings = "sowings planned anew for each" if planned else "the same sowings"
    helps = [row for row in outlook.more if row.helps]
    harms = [row for row in outlook.more if row.harms]
    others = [row for row in outlook.more if not row.helps and not row.harms and row.kind != "fan"]
    hardly = [row for row in others if not row.is_nothing]
    fans = [row for row in outlook.more if row.kind == "fan" and row.better_for and not row.helps]
    parts = [
        _gains(helps, outlook, names, sowings)
        if helps
        else text.wrap(f"Nothing that was tried helps with {sowings}."),
        _listed(f"Hardly any help, with {sowings}", hardly, names),
        _listed(f"No help at all, with {sowings}", [row for row in others if row.is_nothing], names),
        _listed(WORSE[planned], harms, names),
        *(
            text.wrap(
                f"A small fan over the leaves in {row.subject} would suit {_crops(row.better_for, names)}"
                " better (see cropcal light). The seasons above do not count burnt tips."
            )
            for row in fans
        ),
    ]
    if outlook.cut_short or any(row.cut_short for row in outlook.more):
        parts.append(text.wrap(CUT_SHORT))
    if not planned:
        parts.append(text.wrap(f"A new plan would make better use of more room or time (slow): {anew}"))
    return "\n\n".join(part for part in (*parts, stopped) if part)


def _gains(rows: Sequence[OneMore], outlook: Outlook, names: Mapping[str, str], sowings: str) -> str:
    shown = [
        (
            change(row, names),
            gain(row),
            cost_of(row, outlook.currency),
        )
        for row in rows
    ]
    table = text.table(("one more", "weeks fewer missed", "power a month"), shown, "wrr")
    later = "" if rows[0].anew else " (where plants grow faster, all a little later if need be)"
    small = text.wrap(
        f"With {sowings}{later}, in {outlook.seasons} simulated seasons with the same luck before and after."
        " ± is how far chance alone could move it. Buying seed, plants or lamps comes on top of the power."
    )
    return f"{table}\n\n{small}"


def gain(row: OneMore) -> str:
    """Return a gain with its error, to the digit to which it is known."""
    error = max(SURE_SE * row.gain_se, 0.01)
    digits = 1 if error >= 0.095 else 2
    return f"{row.gain_want_weeks:.{digits}f} ± {error:.{digits}f}"


def _listed(title: str, rows: Sequence[OneMore], names: Mapping[str, str]) -> str:
    listed = "; ".join(change(row, names) for row in rows)
    return text.wrap(f"{title}: {listed}.") if rows else ""


def change(row: OneMore, names: Mapping[str, str]) -> str:
    """Return a change in words, with the crops that it suits less."""
    return f"{_change(row, names)}{_warned(row, names)}"


def _change(row: OneMore, names: Mapping[str, str]) -> str:
    subject = row.subject
    match row.kind:
        case "site":
            return f"a site in {subject}"
        case "cells":
            return f"{text.plain(row.after - row.before, 0)} cells in {subject}"
        case "work day":
            return f"{WEEKDAY_NAMES[WEEKDAYS.index(subject)]} as a work day too, the best one to add"
        case "lamp hour":
            return f"an hour of light in {subject} ({text.hours(row.after)})"
        case "watts":
            light = f"{text.ppfd(row.umol_before or 0)} to {text.ppfd(row.umol_after or 0)} µmol/m²/s"
            return f"{text.plain(row.after - row.before, 0)} W of lamp over {subject} ({light})"
        case "fan":
            return f"a fan that moves the leaves in {subject}"
        case "quicker crop":
            instead, days = crop_name(row.crop or "", names), f"{row.after:.0f} days, not {row.before:.0f}"
            return f"{instead} for {want_name(subject, names)} ({days})"
    bought = f" ({row.young_plants} to buy)" if row.young_plants else ""
    return f"young plants of {want_name(subject, names)}{bought}"


def _warned(row: OneMore, names: Mapping[str, str]) -> str:
    return f", but it suits {_crops(row.worse_for, names)} less" if row.worse_for else ""


def _crops(slugs: Sequence[str], names: Mapping[str, str]) -> str:
    return " and ".join(crop_name(slug, names) for slug in slugs)


def cost_of(row: OneMore, currency: str | None) -> str:
    """Return the power that a change takes more a month, in money where there is a tariff."""
    if abs(row.kwh_a_month) < LEAST_KWH:
        return "no more"
    if row.cost_a_month is None:
        return f"{text.kwh(row.kwh_a_month)} kWh"
    return text.money(row.cost_a_month, currency)


def _occupied(outlook: Outlook, names: Mapping[str, str]) -> str:
    """Return a sentence for each want: its amount a week, days on a site, and the sites that makes."""
    return text.bullets(
        f"{want_name(row.label, names)}: {text.amount(row.per_week, row.unit)} a week; each site yields"
        f" {text.amount(row.per_site, row.unit)} and is in use for {text.plain(row.days, 0)} days:"
        f" {text.amount(row.sites, 'sites')} all the time"
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
    heads = ("", "weeks missed", "weeks uneaten", "cells sown", "sowings", "minutes a week")
    rule = habits_section(outlook.habits, names, WEEKDAY_NAMES[outlook.first_weekday])
    small = text.wrap(
        "weeks: one wanted crop in one week counts as 1. The steady rule as a plan: cropcal plan --steady"
    )
    return f"{text.table(heads, rows, 'lrrrrr')}\n\n{rule}\n{small}"
