"""Jobs as a grower works: sowings are firm; moving and cutting have a range, and go by what stands."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date

from cropcal.records.plan import Batch, Job

OLDEST_FIRST = "the oldest first, into any free site"
LEAVE_SOME = "leave some if the week has enough"


def as_queue(jobs: Iterable[Job], batches: Iterable[Batch], one_light: Collection[str]) -> tuple[Job, ...]:
    """Return the jobs with the days between which each is likely, and what to go by.

    Parameters
    ----------
    jobs
        Jobs on their middle days.
    batches
        Their batches, with the ranges of drawn seasons.
    one_light
        Beds whose sites are alike: there a plant goes into any free site.
    """
    of = {batch.id: batch for batch in batches}
    return tuple(_queued(job, of, one_light) if job.batch in of else job for job in jobs)


def _queued(job: Job, batches: Mapping[str, Batch], one_light: Collection[str]) -> Job:
    batch = batches[job.batch]
    if job.job == "transplant":
        free = job.bed in one_light and batch.sites_each == 1
        note = f"{job.note}; {OLDEST_FIRST}" if free else job.note
        return job.model_copy(update={"likely": batch.moved_80, "any_site": free, "note": note})
    if job.job != "cut":
        return job
    ends = [harvest for harvest in batch.harvests if harvest.on == job.on]
    likely = _span([harvest.on_80 for harvest in ends])
    last = all(harvest.cut == max(cut.cut for cut in batch.harvests) for harvest in ends)
    notes = [job.note, LEAVE_SOME] if job.unit == "heads" and (job.amount or 0) > 1 else [job.note]
    if last and batch.ready_until > job.on:
        notes.append(f"cut all by {batch.ready_until.day} {batch.ready_until:%b}")
    return job.model_copy(update={"likely": likely, "note": "; ".join(filter(None, notes))})


def _span(ranges: Iterable[tuple[date, date] | None]) -> tuple[date, date] | None:
    known = [days for days in ranges if days is not None]
    return (min(first for first, _ in known), max(last for _, last in known)) if known else None
