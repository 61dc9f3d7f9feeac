"""What goes with a bill beside its lines: its range, what the written plan saves, bills that were noted."""

from collections.abc import Iterable
from datetime import date, timedelta
from pathlib import Path

from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK
from cropcal.planning.history.past_settings import as_it_was, with_current_settings
from cropcal.planning.power.bill import bill, year_days
from cropcal.planning.power.bill_range import bill_range
from cropcal.planning.power.noted_bills import bill_notes, held_against
from cropcal.planning.schedule.empty_beds import DarkDays, dark_days
from cropcal.records.journal import Entry
from cropcal.records.plan import BillLine
from cropcal.records.space import Space
from cropcal.records.tariff import NotedBill
from cropcal.records.written_plan import Bills, PlanPower, WrittenPlan
from cropcal.season.beside import Noted, noted
from cropcal.season.load import fingerprint
from cropcal.season.opened import opened


def standing_plan(path: Path, journal: Noted) -> WrittenPlan | None:
    """Return the written plan, None if there is none that can be read, or space.toml changed since."""
    plan = None if journal.plan_problems else journal.plan()
    return plan if plan and plan.space_sha256 == fingerprint(path, space_only=True) else None


def dark_of(space: Space, plan: WrittenPlan | None) -> DarkDays:
    """Return the days of a written plan on which the lamp of a zone is off, since nothing grows there."""
    if plan is None or plan.start is None or plan.until is None:
        return {}
    weeks = ((plan.until - plan.start).days + 1) // DAYS_PER_WEEK
    settings = space.settings.model_copy(update={"start": plan.start, "weeks": weeks})
    return dark_days(space.model_copy(update={"settings": settings}), plan.sites, plan.batches)


def bill_as_noted(path: Path, entry: Entry) -> NotedBill | None:
    """Return a bill that was just noted, held against the computed one; None if another counts for its month.

    Raises
    ------
    SpaceError
        If the space or a file beside it has mistakes.
    """
    journal = noted(path)
    space = opened(path).ready()
    return next((bill for bill in noted_beside(path, journal, space) if bill.id == entry.id), None)


def planned_bill(space: Space, path: Path, *, year: bool) -> tuple[BillLine, ...]:
    """Return the bill of the planned weeks or of twelve months, lamps off as the written plan has it."""
    plan = standing_plan(path, noted(path))
    first = space.settings.start
    days = year_days(first) if year else space.settings.weeks * DAYS_PER_WEEK
    return bill(space, first, days, dark_of(space, plan))


def noted_beside(path: Path, journal: Noted, space: Space) -> tuple[NotedBill, ...]:
    """Return the bills noted beside a space, each held against the computed one."""
    events = journal.journal.events
    if not any(event.event == "bill" for event in events):
        return ()
    return noted_bills(space, events, dark_of(space, standing_plan(path, journal)))


def plan_power(
    space: Space, plan: WrittenPlan, dark: DarkDays, first: date, days: int, lines: Iterable[BillLine]
) -> PlanPower:
    """Return what a written plan saves over some days against lamps that are always on, and its choices."""
    lines = tuple(lines)
    always_on = bill(space, first, days) if dark else lines
    after = first + timedelta(days=days)
    priced = space.tariff is not None
    return PlanPower(
        dark_d={zone: n for zone, off in dark.items() if (n := sum(first <= day < after for day in off))},
        saved_kwh=sum(line.kwh for line in always_on) - sum(line.kwh for line in lines),
        saved_cost=_cost(always_on) - _cost(lines) if priced else None,
        choices=plan.choices,
    )


def bills_of(
    space: Space, journal: Noted, plan: WrittenPlan | None, lines: Iterable[BillLine], days: int
) -> Bills:
    """Return what goes with the lines of a bill over some days from the start of the space's plan."""
    first, dark = space.settings.start, dark_of(space, plan)
    return Bills(
        range=bill_range(space, first, days, dark),
        year=bill_range(space, first, year_days(first), dark),
        plan=plan_power(space, plan, dark, first, days, lines) if plan else None,
        noted=noted_bills(space, journal.journal.events, dark),
    )


def _cost(lines: Iterable[BillLine]) -> float:
    return sum(line.cost or 0.0 for line in lines)


def noted_bills(space: Space, events: Iterable[Entry], dark: DarkDays) -> tuple[NotedBill, ...]:
    """Return each bill that was noted, held against the space as it was in the middle of its month."""
    begun = space.history.begun if space.history else None
    since = begun.on if begun else space.first_day
    return tuple(
        held_against(_as_in(space, note.entry.on.replace(day=15)), note, since, dark)
        for note in bill_notes(events)
    )


def _as_in(space: Space, on: date) -> Space:
    """Return the space with the settings that held on a day."""
    history = space.history
    if history is None or not history.held:
        return space
    held = with_current_settings(history.held, history.now)
    old = [row for row in held if row.since is None or row.since <= on][-1:]
    return as_it_was(space, old[0], history.now) if old and old[0] is not held[-1] else space
