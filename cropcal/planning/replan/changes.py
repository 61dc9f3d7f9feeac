"""Differences from the previous plan, with reasons."""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date

from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.replan.continuations import Continuation, PlotGroup
from cropcal.planning.replan.standing import StandingBatch, StandingPlot
from cropcal.records.plan import Batch
from cropcal.records.replan import Revision

Part = tuple[PlotGroup, Continuation, list[StandingPlot]]

NOTED, BESIDES, NOT_READY = "noted in the journal", "sown outside the plan", "not ready when looked at"
INSTEAD = "to replace what was lost"
SUITS, SLOWER, FASTER = "to suit the plants there now", "slower than planned", "faster than planned"

INSTEAD_D = 14
"""Most days between a dropped sowing and the new one that replaces it (assumed)."""


def plan_changes(
    before: Sequence[Batch],
    standing_batches: Sequence[StandingBatch],
    made: Sequence[Batch],
    parts: Sequence[Part],
    groups: Sequence[PlotGroup],
    time: WorkCalendar,
    reached: date = date.max,
) -> tuple[Revision, ...]:
    """Return the changes by day: batches that changed, new sowings, and dropped ones.

    Without a previous plan no sowing is new, nor is one from the day on that the previous plan reached.
    """
    now = {batch.id: batch for batch in made}
    old = {batch.id: batch for batch in before}
    begun = {standing.planned.id for standing in standing_batches}
    changes: list[Revision] = []
    for standing in standing_batches:
        parts_of_batch = [part for part in parts if part[0].batch is standing]
        going = _cuts_to_come(parts_of_batch, time)
        changes += _batch_changes(
            standing,
            now[standing.planned.id],
            parts_of_batch,
            [group for group in groups if group.batch is standing],
            going,
        )
    lost = {
        standing.planned.want
        for standing in standing_batches
        if any(plot.lost and plot.gone_on is None for plot in standing.plots)
    }
    pace = _changed_pace(
        (standing.planned.crop, _why(standing, now[standing.planned.id]))
        for standing in standing_batches
        if standing.standing and not standing.extra
    )
    dropped = [batch for batch in before if batch.id not in begun and batch.id not in now]
    new = [batch for batch in made if old and batch.id not in begun and batch.id not in old]
    new = [batch for batch in new if batch.sow_on < reached]
    replaced_by = _replacements(dropped, new)
    for batch in new:
        why = INSTEAD if batch.want in lost else pace.get(batch.crop, SUITS)
        why = next((f"in place of {gone}" for gone, come in replaced_by.items() if come == batch.id), why)
        changes.append(_revision(batch, "new", now=batch.sow_on, sites=batch.sites, why=why))
    for batch in dropped:
        why = pace.get(batch.crop, SUITS) + (
            f": {replaced_by[batch.id]} instead" if batch.id in replaced_by else ""
        )
        changes.append(_revision(batch, "dropped", before=batch.sow_on, sites=batch.sites, why=why))
    for batch in before:
        if batch.id not in begun and batch.id in now:
            after = now[batch.id]
            more = batch.want in lost and after.sites > batch.sites
            why = INSTEAD if more else pace.get(batch.crop, SUITS)
            days = batch.transplant_on, after.transplant_on
            changes += [_revision(batch, "transplant", *days, after.sites, why)] if days[0] != days[1] else []
            changes += _moved_cuts(batch, _sites_by_cut_day(batch), _sites_by_cut_day(after), why)
    return tuple(sorted(changes, key=lambda row: (row.now or row.before or date.max, row.batch, row.what)))


def _changed_pace(reasons: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return the reason by crop where its standing batches grow faster or slower than planned."""
    return {crop: why for crop, why in reasons if why in (SLOWER, FASTER)}


def _replacements(dropped: Sequence[Batch], new: Sequence[Batch]) -> dict[str, str]:
    """Return the new sowing that replaces each dropped one of the same crop and want: the nearest by day."""
    near = sorted(
        (abs((come.sow_on - gone.sow_on).days), gone.id, come.id)
        for gone in dropped
        for come in new
        if (come.want, come.crop) == (gone.want, gone.crop)
    )
    replaced_by: dict[str, str] = {}
    for away, gone_id, come_id in near:
        if away <= INSTEAD_D and gone_id not in replaced_by and come_id not in replaced_by.values():
            replaced_by[gone_id] = come_id
    return replaced_by


def _revision(
    batch: Batch,
    what: str,
    before: date | None = None,
    now: date | None = None,
    sites: int = 0,
    why: str = "",
) -> Revision:
    return Revision.model_validate(
        {
            "batch": batch.id, "crop": batch.crop, "what": what, "before": before, "now": now,
            "sites": sites, "why": why,
        }
    )  # fmt: skip


def _cuts_to_come(parts: Sequence[Part], time: WorkCalendar) -> Counter[date]:
    """Return the sites cut on each future day."""
    sites_cut: Counter[date] = Counter()
    for _, way, plots in parts:
        for day in way.cuts:
            if day < time.days:
                sites_cut[time.date_of(day)] += len(plots)
    return sites_cut


def _batch_changes(
    standing: StandingBatch,
    now: Batch,
    parts: Sequence[Part],
    groups: Sequence[PlotGroup],
    cuts: Counter[date],
) -> list[Revision]:
    """Return the changes of a batch that was sown."""
    was, changes = standing.planned, []
    plots_continued = [plot for _, _, plots in parts for plot in plots]
    if standing.extra:
        out = _given_up(standing, groups, plots_continued)
        return [
            *out,
            *([_revision(was, "cut", None, min(cuts), len(plots_continued), BESIDES)] if cuts else []),
        ]
    if standing.late_d:
        changes.append(_revision(was, "sown", was.sow_on, standing.history.sown_on, was.sites, NOTED))
    lost = [plot for plot in standing.plots if plot.lost and plot.gone_on is None]
    for on in sorted({plot.ended for plot in lost if plot.ended}):
        reasons = [entry.why for entry in standing.history.noted if entry.event == "lost" and entry.on == on]
        count = sum(plot.ended == on for plot in lost)
        changes.append(
            _revision(was, "lost", now=on, sites=count, why=", ".join(filter(None, reasons)) or NOTED)
        )
    why = _why(standing, now) if cuts or not parts else "not ready before the plan ends"
    sooner = (
        SUITS if now.transplant_on and was.transplant_on and now.transplant_on < was.transplant_on else why
    )
    if now.transplant_on != was.transplant_on and was.transplant_on and now.transplant_on:
        transplant_why = NOTED if not standing.waits else sooner
        changes.append(
            _revision(was, "transplant", was.transplant_on, now.transplant_on, was.sites, transplant_why)
        )
    planned = Counter(day for plot in plots_continued for day in plot.left)
    changes += _moved_cuts(was, planned, cuts, why)
    return [*changes, *_given_up(standing, groups, plots_continued)]


def _given_up(
    standing: StandingBatch, groups: Sequence[PlotGroup], continued: Sequence[StandingPlot]
) -> list[Revision]:
    """Return the sites of a batch that are given up, and why."""
    count = sum(len(group.plots) for group in groups) - len(continued)
    why = "no room" if any(group.ways for group in groups) else "not expected to get ready in time"
    return [_revision(standing.planned, "given up", sites=count, why=why)] if count else []


def _why(standing: StandingBatch, now: Batch) -> str:
    """Return why future jobs of a batch moved."""
    if standing.history.not_ready_on and standing.history.not_ready_on >= standing.planned.ready_from:
        return NOT_READY
    if standing.late_d > 0:
        return f"sown {standing.late_d} day{'s' if standing.late_d > 1 else ''} late"
    if (
        now.ready_from_low_80 > standing.planned.ready_from_low_80
        or now.ready_from > standing.planned.ready_from
    ):
        return SLOWER
    if (
        now.ready_from_low_80 < standing.planned.ready_from_low_80
        or now.ready_from < standing.planned.ready_from
    ):
        return FASTER
    return SUITS


def _sites_by_cut_day(batch: Batch) -> Counter[date]:
    sites_cut: Counter[date] = Counter()
    for harvest in batch.harvests:
        sites_cut[harvest.on] += harvest.sites
    return sites_cut


def _moved_cuts(batch: Batch, old: Counter[date], new: Counter[date], why: str) -> list[Revision]:
    """Return the first cut day that changed, and the sites that are cut on another day."""
    gone, come = sorted((old - new).elements()), sorted((new - old).elements())
    if not gone and not come:
        return []
    return [
        _revision(
            batch,
            "cut",
            before=gone[0] if gone else None,
            now=come[0] if come else None,
            sites=max(len(gone), len(come)),
            why=why,
        )
    ]
