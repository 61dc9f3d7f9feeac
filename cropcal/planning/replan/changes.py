"""What is otherwise than in the plan before, and why."""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date

from cropcal.planning.candidates.work_calendar import WorkCalendar
from cropcal.planning.replan.continuations import Continuation, PlotGroup
from cropcal.planning.replan.standing import StandingBatch, StandingPlot
from cropcal.records.plan import Batch
from cropcal.records.replan import Revision

Part = tuple[PlotGroup, Continuation, list[StandingPlot]]

NOTED, BESIDES, NOT_READY = "noted in the journal", "sown besides the plan", "not ready when looked at"
SUITS, SLOWER, FASTER = "to suit what stands now", "slower than planned", "faster than planned"

INSTEAD_D = 14
"""Days between a sowing that is dropped and a new one that stands for it, at most (assumed)."""


def plan_changes(
    before: Sequence[Batch],
    stand: Sequence[StandingBatch],
    made: Sequence[Batch],
    parts: Sequence[Part],
    groups: Sequence[PlotGroup],
    time: WorkCalendar,
) -> tuple[Revision, ...]:
    """Return what changed, by day: batches that go another way, new sowings, and those that are dropped.

    Where no plan was before, no sowing is new.
    """
    now = {batch.id: batch for batch in made}
    old = {batch.id: batch for batch in before}
    begun = {one.was.id for one in stand}
    found: list[Revision] = []
    for one in stand:
        mine = [part for part in parts if part[0].kept is one]
        going = _cuts_to_come(mine, time)
        found += _batch_changes(
            one, now[one.was.id], mine, [group for group in groups if group.kept is one], going
        )
    lost = {one.was.want for one in stand if any(plot.lost and plot.gone_on is None for plot in one.plots)}
    pace = _changed_pace(
        (one.was.crop, _why(one, now[one.was.id])) for one in stand if one.standing and not one.extra
    )
    dropped = [batch for batch in before if batch.id not in begun and batch.id not in now]
    new = [batch for batch in made if old and batch.id not in begun and batch.id not in old]
    instead = _replacements(dropped, new)
    for batch in new:
        why = "in place of what was lost" if batch.want in lost else pace.get(batch.crop, SUITS)
        why = next((f"in place of {gone}" for gone, come in instead.items() if come == batch.id), why)
        found.append(_revision(batch, "new", now=batch.sow_on, sites=batch.sites, why=why))
    for batch in dropped:
        why = pace.get(batch.crop, SUITS) + (f": {instead[batch.id]} instead" if batch.id in instead else "")
        found.append(_revision(batch, "dropped", before=batch.sow_on, sites=batch.sites, why=why))
    for batch in before:
        if batch.id not in begun and batch.id in now:
            after, why = now[batch.id], pace.get(batch.crop, SUITS)
            days = batch.transplant_on, after.transplant_on
            found += [_revision(batch, "transplant", *days, after.sites, why)] if days[0] != days[1] else []
            found += _moved_cuts(batch, _sites_by_cut_day(batch), _sites_by_cut_day(after), why)
    return tuple(sorted(found, key=lambda row: (row.now or row.before or date.max, row.batch, row.what)))


def _changed_pace(told: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Return why sowings of a crop change, where what stands of it grows at another speed than planned."""
    return {crop: why for crop, why in told if why in (SLOWER, FASTER)}


def _replacements(dropped: Sequence[Batch], new: Sequence[Batch]) -> dict[str, str]:
    """Return which new sowing of the same crop and want stands for which dropped one: the nearest by day."""
    near = sorted(
        (abs((come.sow_on - gone.sow_on).days), gone.id, come.id)
        for gone in dropped
        for come in new
        if (come.want, come.crop) == (gone.want, gone.crop)
    )
    found: dict[str, str] = {}
    for away, gone_id, come_id in near:
        if away <= INSTEAD_D and gone_id not in found and come_id not in found.values():
            found[gone_id] = come_id
    return found


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
    """Return how many sites are cut on each day to come."""
    found: Counter[date] = Counter()
    for _, way, plots in parts:
        for day in way.cuts:
            if day < time.days:
                found[time.date_of(day)] += len(plots)
    return found


def _batch_changes(
    one: StandingBatch, now: Batch, parts: Sequence[Part], groups: Sequence[PlotGroup], cuts: Counter[date]
) -> list[Revision]:
    """Return what became different with a batch that was sown."""
    was, found = one.was, []
    going = [plot for _, _, plots in parts for plot in plots]
    if one.extra:
        out = _given_up(one, groups, going)
        return [*out, *([_revision(was, "cut", None, min(cuts), len(going), BESIDES)] if cuts else [])]
    if one.late_d:
        found.append(_revision(was, "sown", was.sow_on, one.story.sown_on, was.sites, NOTED))
    lost = [plot for plot in one.plots if plot.lost and plot.gone_on is None]
    for on in sorted({plot.ended for plot in lost if plot.ended}):
        reasons = [entry.why for entry in one.story.noted if entry.event == "lost" and entry.on == on]
        count = sum(plot.ended == on for plot in lost)
        found.append(
            _revision(was, "lost", now=on, sites=count, why=", ".join(filter(None, reasons)) or NOTED)
        )
    why = _why(one, now) if cuts or not parts else "not ready before the plan ends"
    sooner = (
        SUITS if now.transplant_on and was.transplant_on and now.transplant_on < was.transplant_on else why
    )
    if now.transplant_on != was.transplant_on and was.transplant_on and now.transplant_on:
        told = NOTED if not one.waits else sooner
        found.append(_revision(was, "transplant", was.transplant_on, now.transplant_on, was.sites, told))
    planned = Counter(day for plot in going for day in plot.left)
    found += _moved_cuts(was, planned, cuts, why)
    return [*found, *_given_up(one, groups, going)]


def _given_up(
    one: StandingBatch, groups: Sequence[PlotGroup], going: Sequence[StandingPlot]
) -> list[Revision]:
    """Return how many sites of a batch are not gone on with, and why."""
    count = sum(len(group.plots) for group in groups) - len(going)
    why = "no room" if any(group.ways for group in groups) else "not expected to get ready in time"
    return [_revision(one.was, "given up", sites=count, why=why)] if count else []


def _why(one: StandingBatch, now: Batch) -> str:
    """Return why jobs to come of a batch moved."""
    if one.story.not_ready_on and one.story.not_ready_on >= one.was.ready_from:
        return NOT_READY
    if one.late_d > 0:
        return f"sown {one.late_d} day{'s' if one.late_d > 1 else ''} late"
    if now.ready_from_low_80 > one.was.ready_from_low_80 or now.ready_from > one.was.ready_from:
        return SLOWER
    if now.ready_from_low_80 < one.was.ready_from_low_80 or now.ready_from < one.was.ready_from:
        return FASTER
    return SUITS


def _sites_by_cut_day(batch: Batch) -> Counter[date]:
    found: Counter[date] = Counter()
    for harvest in batch.harvests:
        found[harvest.on] += harvest.sites
    return found


def _moved_cuts(batch: Batch, old: Counter[date], new: Counter[date], why: str) -> list[Revision]:
    """Return the first day of cutting that changed, and how many sites are cut on another day."""
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
