"""How sure the wanted weeks of a plan are, in words."""

from collections.abc import Mapping, Sequence
from statistics import median

from cropcal.records.plan import Supply
from cropcal.records.service import Service
from cropcal.show import text
from cropcal.show.wording import want_name, week_of

UNSURE_SHOWN = 8


def sure(weeks: Sequence[Supply], names: Mapping[str, str]) -> str:
    """Return how sure each want is, and its least sure week; weeks that are short already are left out.

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
    for mine in by_want.values():
        least, week = min(mine, key=lambda one: (round(one[0], 1), one[1].week))
        rows.append(
            (
                want_name(week.label, names),
                text.odds(median(chance for chance, _ in mine)),
                text.odds(least),
                text.span(*week_of(week.week)),
            )
        )
    headers = ("wanted crop", "most weeks", "least sure", "in the week")
    return text.table(headers, rows, "llll") if rows else ""


def asked(found: Service, currency: str | None) -> str:
    """Return in a sentence or two how many weeks reach the chance that was asked for, and what that takes."""
    sites, sowings = found.sites_more, found.sowings_more
    more = [f"{sites} more sites in {sowings} more sowings", f"{found.cells_more} more nursery cells"]
    if found.cost_more > 0:
        cost = text.money(found.cost_more, currency) if currency else text.kwh(found.cost_more)
        more.append(f"{cost} more power while they stand")
    said = (
        f"You ask for {text.percent(found.asked)}. {found.reached} of {found.weeks} wanted weeks reach it,"
        f" {found.before} would in the plan for the middle. It takes {', '.join(more)}."
    )
    if found.stopped:
        said += " It was stopped, or the time was up, before every week was tried."
    return said


def service(found: Service | None, names: Mapping[str, str], currency: str | None) -> str:
    """Return what it takes to meet weeks with the chance that was asked for, and which stay below it."""
    if found is None:
        return ""
    said = asked(found, currency)
    lowest = sorted(found.unsure, key=lambda row: (row.chance, row.week))[:UNSURE_SHOWN]
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
    left = len(found.unsure) - len(rows)
    parts = [text.wrap(said), *(["", table] if rows else [])]
    return "\n".join([*parts, *([f"and {left} more below it: see plan.json"] if left else [])])
