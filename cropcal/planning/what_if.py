"""Why a plan is no better: what is full when, what would help, and the steady rule beside it."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from cropcal.planning.candidates.first_weeks import first_harvest_weeks
from cropcal.planning.candidates.prepare import Prepared, prepare
from cropcal.planning.candidates.work_calendar import DAYS_PER_WEEK, WorkCalendar
from cropcal.planning.choices import PlanMaker
from cropcal.planning.growth.pace import Paces
from cropcal.planning.luck.drawn import TOLD
from cropcal.planning.luck.told import expected
from cropcal.planning.outcome import steady_rows
from cropcal.planning.planner import SolveOptions, plan, warnings
from cropcal.planning.realise import PlanBuilder
from cropcal.planning.same_sowings import Comparison, Grown, sowings_of
from cropcal.planning.what_helps import Tell, what_helps
from cropcal.records.chances import Expected
from cropcal.records.crop import CropTables
from cropcal.records.outlook import Course, Full, Occupied, Outlook
from cropcal.records.space import Space


def what_if(
    space: Space,
    tables: CropTables,
    effort: SolveOptions | None = None,
    paces: Paces | None = None,
    written: Grown | None = None,
    *,
    anew: bool = False,
    tell: Tell | None = None,
) -> Outlook:
    """Return what limits a plan of this season with no standing crops, and what would help.

    Parameters
    ----------
    space, tables, paces
        The space, its crops, and what was learned of them.
    effort
        For the plans that are made.
    written
        The plan that was written for this space, if it is of the whole season; else one is made.
    anew
        Whether each change is planned for anew; else it gets the same sowings.
    tell
        Called before each new plan with how many changes are done, and of how many.
    """
    effort = effort or SolveOptions()
    space = space.model_copy(update={"growing": ()})
    ready = prepare(space, tables, paces, open_end=space.horizon is not None)
    space, time = ready.space, ready.time
    first_harvests = first_harvest_weeks(
        space, tables.crops, ready.assessment, ready.task.columns, ready.serving
    )
    counted = ready.wanted.counted[[want.is_numbered for want in space.wants], : space.settings.weeks]
    outlook = Outlook(
        place=space.place.name,
        start=space.settings.start,
        weeks=space.settings.weeks,
        currency=space.tariff.currency if space.tariff else None,
        want_weeks=int((counted > 0).sum()),
        first_weekday=int(time.work_days[0] + time.start.weekday()) % 7 if len(time.work_days) else 0,
    )
    if not ready.task.columns.count:
        return outlook.model_copy(update={"nothing_grows": warnings(ready, tables, first_harvests)})

    def made(changed: Space, known: Paces | None) -> Grown:
        result = plan(changed, tables, effort, known)
        cut_short = result.searched is not None and result.searched.stopped
        return Grown(result.batches, result.sites, cut_short)

    grown = written if written and written.all_sown_within(space) else made(space, paces)
    land = ready.assessment.land
    comparison = Comparison(ready, tables, paces or {}, sowings_of(grown, land))
    helps = what_helps(
        comparison,
        made if anew else None,
        effort.stop or (lambda: False),
        tell,
    )
    builder = PlanBuilder(
        space, ready.assessment, ready.candidates, ready.wanted, ready.serving, None, ready.per_week
    )
    rule = PlanMaker(builder, ready.task, stop=effort.stop).steady()
    ruled = rule.plan.told
    courses = (
        Course(name="plan", expected=_expected(comparison), sowings=len(grown.batches)),
        Course(name="steady rule", expected=ruled.expected, sowings=len(ruled.batches)),
    )
    return outlook.model_copy(
        update={
            "written": grown is written,
            "cut_short": grown.cut_short,
            "full": _full(ready, grown),
            "more": helps.rows,
            "not_tried": helps.not_tried,
            "seasons": comparison.seasons,
            "steady": steady_rows(space, ready.even, first_harvests, ready.wanted),
            "occupied": area_shares(space, grown),
            "courses": courses,
            "habits": rule.habits,
        }
    )


def _expected(comparison: Comparison) -> Expected:
    """Return what is expected of the plan's sowings, from as many seasons as a plan is told by."""
    ready = comparison.ready
    scene = comparison.scene(ready.space, comparison.at_most(TOLD))
    drawn = scene.drawn(comparison.sown)
    weeks = ready.space.settings.weeks
    return expected(drawn, ready.space.wants, ready.wanted, ready.per_week, weeks, today=0)


def _full(ready: Prepared, grown: Grown) -> tuple[Full, ...]:
    """Return the weeks in which each place and nursery is full on some day."""
    land, time, clean_d = ready.assessment.land, ready.time, ready.space.settings.clean_days
    time = replace(time, weeks=ready.space.settings.weeks)
    rows = []
    for place in land.places:
        uses = [use for use in grown.sites if use.bed == place.bed.name and use.site in place.sites]
        stays = [(time.day_of(use.held_from), time.day_of(use.held_until) + clean_d, 1) for use in uses]
        rows.append(_row(place.label, stays, len(place.sites), time))
    for bed in land.nurseries:
        stays = [
            (time.day_of(batch.sow_on), time.day_of(batch.planted_on), max(batch.cells, batch.sites))
            for batch in grown.batches
            if batch.nursery == bed.name
        ]
        rows.append(_row(f"{bed.name}, cells", stays, bed.site_count, time))
    return tuple(rows)


def _row(what: str, stays: Iterable[tuple[int, int, int]], size: int, time: WorkCalendar) -> Full:
    """Return when a place is full, from (first day, day after the last, number) of all that stands there."""
    change = np.zeros(time.days + 1, dtype=np.int64)
    for first, end, number in stays:
        change[np.clip([first, end], 0, time.days)] += (number, -number)
    held = np.cumsum(change)[: time.days]
    weeks = np.unique(np.flatnonzero(held >= size) // DAYS_PER_WEEK)
    return Full(
        what=what,
        weeks=tuple(time.date_of(int(week) * DAYS_PER_WEEK) for week in weeks),
        held_share=float(np.minimum(held, size).mean() / size),
    )


def area_shares(space: Space, grown: Grown) -> tuple[Occupied, ...]:
    """Return the sites that each want with a weekly number takes, at the yield and days of a site in a plan.

    Sites held = sites begun a day x days on the site (Little 1961, Operations Research 9:383-387, from
    memory), which holds for every stretch that begins and ends alike. Clean days count. A want of which
    nothing is grown is left out.
    """
    want_of = {batch.id: batch.want for batch in grown.batches}
    rows = []
    for index, want in enumerate(space.wants):
        uses = [use for use in grown.sites if want_of.get(use.batch) == index]
        amount = sum(batch.amount for batch in grown.batches if batch.want == index)
        if want.per_week is None or not uses or amount <= 0:
            continue
        site_days = sum((use.held_until - use.held_from).days + space.settings.clean_days for use in uses)
        per_site, days = amount / len(uses), site_days / len(uses)
        rows.append(
            Occupied(
                want=index,
                label=want.label,
                per_week=want.per_week,
                per_site=per_site,
                unit=want.counted_in,
                days=days,
                sites=want.per_week / per_site * days / DAYS_PER_WEEK,
            )
        )
    return tuple(rows)
