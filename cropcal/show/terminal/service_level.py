"""The chance that wanted weeks are met, and the service level, in words."""

from collections.abc import Mapping, Sequence
from statistics import median

from cropcal.records.chances import Service
from cropcal.records.plan import Supply
from cropcal.show import text
from cropcal.show.wording import want_name, week_of

UNSURE_SHOWN = 8


def surest_and_least_sure(weeks: Sequence[Supply], names: Mapping[str, str]) -> str:
    """Return each want's usual chance and its least sure week; weeks planned short are left out.

    Parameters
    ----------
    weeks
        The weeks that count.
    names
        Slug of a crop -> its name.
    """
    by_want: dict[int, list[tuple[float, Supply]]] = {}
    for row in weeks:
        if row.chance is not None and row.short <= 0:
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
    headers = ("wanted crop", "most weeks", "least sure", "in the week")
    return text.table(headers, rows, "llll") if rows else ""


def service_reached(level: Service) -> str:
    """Return how many weeks reach the service level, and what that takes, in a sentence or two."""
    more = f"{level.cells_more} spare seedling{'s' if level.cells_more != 1 else ''}"
    sentence = (
        f"You ask for {text.percent(level.asked)}. {level.reached} of {level.weeks} wanted weeks reach it,"
        f" {level.before} would without spare seedlings. It takes {more}."
    )
    if level.stopped:
        sentence += " It was stopped, or the time was up, before every week was tried."
    return sentence


def service_section(level: Service | None, names: Mapping[str, str]) -> str:
    """Return what the service level takes, and the weeks that stay below it; "" without one."""
    if level is None:
        return ""
    sentence = service_reached(level)
    lowest = sorted(level.unsure, key=lambda row: (row.chance, row.week))[:UNSURE_SHOWN]
    rows = [
        (
            text.span(*week_of(row.week)),
            want_name(row.label, names),
            text.percent(row.chance),
            row.why,
        )
        for row in lowest
    ]
    table = text.table(("least sure", "wanted crop", "chance", "why"), rows, "llrl")
    left = len(level.unsure) - len(rows)
    parts = [text.wrap(sentence), *(["", table] if rows else [])]
    return "\n".join([*parts, *([f"and {left} more below it: see plan.json"] if left else [])])
