"""What is otherwise than in the plan before, and why."""

from collections import Counter
from collections.abc import Sequence
from datetime import date

from cropcal.planning.carry import Group, Way
from cropcal.planning.kept import Kept, Plot
from cropcal.planning.worktime import Worktime
from cropcal.records.again import Revision
from cropcal.records.plan import Batch

Part = tuple[Group, Way, list[Plot]]

SUITS = "to suit what stands now"


def revisions(
    before: Sequence[Batch],
    stand: Sequence[Kept],
    made: Sequence[Batch],
    parts: Sequence[Part],
    groups: Sequence[Group],
    time: Worktime,
) -> tuple[Revision, ...]:
    """Return what changed, by day: batches that go another way, new sowings, and those that are dropped."""
    now = {batch.id: batch for batch in made}
    old = {batch.id: batch for batch in before}
    begun = {one.was.id for one in stand}
    found: list[Revision] = []
    for one in stand:
        mine = [part for part in parts if part[0].kept is one]
        going = _cuts_to_come(mine, time)
        found += _of_kept(one, now[one.was.id], mine, [group for group in groups if group.kept is one], going)
    lost = {one.was.want for one in stand if any(plot.lost and plot.gone_on is None for plot in one.plots)}
    for batch in made:
        if batch.id not in begun and batch.id not in old:
            why = "in place of what was lost" if batch.want in lost else ""
            found.append(_one(batch, "new", now=batch.sow_on, sites=batch.sites, why=why))
    for batch in before:
        if batch.id in begun:
            continue
        after = now.get(batch.id)
        if after is None:
            found.append(_one(batch, "dropped", before=batch.sow_on, sites=batch.sites))
        else:
            found += _moved_cuts(batch, _days(batch), _days(after), "to suit what stands now")
    return tuple(sorted(found, key=lambda row: (row.now or row.before or date.max, row.batch, row.what)))


def _one(
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


def _cuts_to_come(parts: Sequence[Part], time: Worktime) -> Counter[date]:
    """Return how many sites are cut on each day to come."""
    found: Counter[date] = Counter()
    for _, way, plots in parts:
        for day in way.cuts:
            found[time.date_of(day)] += len(plots)
    return found


def _of_kept(
    one: Kept, now: Batch, parts: Sequence[Part], groups: Sequence[Group], cuts: Counter[date]
) -> list[Revision]:
    """Return what became different with a batch that was sown."""
    was, found = one.was, []
    if one.extra:
        return []
    if one.late_d:
        found.append(_one(was, "sown", was.sow_on, one.story.sown_on, was.sites, "noted in the journal"))
    lost = [plot for plot in one.plots if plot.lost and plot.gone_on is None]
    for on in sorted({plot.ended for plot in lost if plot.ended}):
        reasons = [entry.why for entry in one.story.noted if entry.event == "lost" and entry.on == on]
        count = sum(plot.ended == on for plot in lost)
        found.append(_one(was, "lost", now=on, sites=count, why=", ".join(filter(None, reasons))))
    why = _why(one, now)
    sooner = (
        SUITS if now.transplant_on and was.transplant_on and now.transplant_on < was.transplant_on else why
    )
    if now.transplant_on != was.transplant_on and was.transplant_on and now.transplant_on:
        told = "noted in the journal" if not one.waits else sooner
        found.append(_one(was, "transplant", was.transplant_on, now.transplant_on, was.sites, told))
    going = [plot for _, _, plots in parts for plot in plots]
    planned = Counter(day for plot in going for day in plot.left)
    found += _moved_cuts(was, planned, cuts, why)
    given_up = sum(len(group.plots) for group in groups) - len(going)
    if given_up:
        why = "not expected to get ready in time" if not any(group.ways for group in groups) else "no room"
        found.append(_one(was, "given up", sites=given_up, why=why))
    return found


def _why(one: Kept, now: Batch) -> str:
    """Return why jobs to come of a batch moved."""
    if one.late_d > 0:
        return f"sown {one.late_d} day{'s' if one.late_d > 1 else ''} late"
    if now.ready_from_low_80 > one.was.ready_from_low_80 or now.ready_from > one.was.ready_from:
        return "slower than planned"
    if now.ready_from_low_80 < one.was.ready_from_low_80 or now.ready_from < one.was.ready_from:
        return "faster than planned"
    return SUITS


def _days(batch: Batch) -> Counter[date]:
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
        _one(
            batch,
            "cut",
            before=gone[0] if gone else None,
            now=come[0] if come else None,
            sites=max(len(gone), len(come)),
            why=why,
        )
    ]
